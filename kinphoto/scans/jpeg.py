"""How a JPEG file is put together (ITU T.81, annex B): its segments, and where its picture ends."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import NamedTuple

Data = bytes | mmap
SCAN, END, COMMENT = 0xDA, 0xD9, 0xFE
_BLOCK = 1 << 17
"""Bytes that are searched at once: few enough to stay in the processor's cache."""


class BrokenJpegError(Exception):
    """It does not hold together; the words say how."""


class Segment(NamedTuple):
    """A marker with what belongs to it, up to the next one: of a scan also its coded pixels."""

    marker: int
    start: int
    end: int


def segments(data: Data, known_end: int = 0) -> Iterator[Segment]:
    """The segments after the first two bytes, to the end of the picture, if it has one. Where that end is known, the
    first scan goes on to there, whatever else of the picture comes between. Raises BrokenJpegError."""
    if data[:2] != b"\xff\xd8":
        raise BrokenJpegError("it is not a JPEG")
    at = 2
    while at < len(data) - 1:
        try:
            while data[at + 1] == 0xFF:  # fill bytes may stand before a marker (B.1.1.2)
                at += 1
            marker = data[at + 1]
            if data[at] != 0xFF:
                raise BrokenJpegError("the JPEG is damaged")
            if marker == END:
                yield Segment(END, at, at + 2)
                return
            end = at + 2 + struct.unpack_from(">H", data, at + 2)[0]
        except (IndexError, struct.error) as problem:
            raise BrokenJpegError("the JPEG is damaged") from problem
        if end > len(data):
            raise BrokenJpegError("the JPEG is cut off")
        if marker == SCAN:
            is_known = end <= known_end - 2 and data[known_end - 2 : known_end] == b"\xff\xd9"
            end = known_end - 2 if is_known else _next_marker(data, end)
        yield Segment(marker, at, end)
        at = end


def picture_end(path: str | Path) -> int:
    """How many bytes of a JPEG file are its picture, where there is nothing but the picture between its first scan and
    there; 0 where that cannot be said. Telephones and scanners append previews, films and more after it."""
    seen = False
    try:
        with Path(path).open("rb") as file, mmap(file.fileno(), 0, access=ACCESS_READ) as data:
            for marker, _, end in segments(data):
                if marker == END:
                    return end if seen else 0
                if seen and is_about(marker):
                    return 0
                seen = seen or marker == SCAN
    except (BrokenJpegError, ValueError):
        pass  # an empty file cannot be mapped
    return 0


def is_about(marker: int) -> bool:
    """Whether a segment is a comment or what a program has to say, rather than the picture."""
    return 0xE0 <= marker <= 0xEF or marker == COMMENT


def _next_marker(data: Data, at: int) -> int:
    """Where the coded pixels that begin here end: at the next marker that is not part of them (0xFF00 is a byte of
    pixels, and 0xFFD0 to 0xFFD7 say where decoding can begin anew)."""
    import numpy as np

    for start in range(at, len(data), _BLOCK):
        block = np.frombuffer(data, np.uint8, min(_BLOCK + 1, len(data) - start), start)
        places = np.flatnonzero(block[:-1] == 0xFF)
        after = block[places + 1]
        real = (after != 0) & (after != 0xFF) & ((after < 0xD0) | (after > 0xD7))
        if real.any():
            return start + int(places[real.argmax()])
    return len(data)

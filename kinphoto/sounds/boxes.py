"""Sound in the boxes of ISO/IEC 14496-12 (M4A): what tracks there are, how long they play, and a copy of the file with
nothing in it but what is needed to play it."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, NamedTuple

_HOLD_OTHERS = frozenset((
    b"moov", b"trak", b"mdia", b"minf", b"stbl", b"edts", b"dinf", b"mvex", b"moof", b"traf", b"mfra",
))  # fmt: skip
_TIMES = frozenset((b"mvhd", b"tkhd", b"mdhd"))
_TO_PLAY = frozenset((
    b"ftyp", b"styp", b"mdat", b"smhd", b"nmhd", b"dref", b"stsd", b"stts", b"stsc", b"stsz", b"stz2", b"stco", b"co64",
    b"ctts", b"stss", b"sgpd", b"sbgp", b"elst", b"mehd", b"trex", b"mfhd", b"tfhd", b"tfdt", b"trun", b"sidx",
    b"tfra", b"mfro",
))  # fmt: skip
_NAME_AT = 24  # bytes into a `hdlr` box's content, after which a name stands
_BLOCK = 1 << 16


class Box(NamedTuple):
    """A box: its kind, and where its head, its content and its end are."""

    kind: bytes
    start: int
    content: int
    end: int


def boxes(file: BinaryIO, start: int, end: int) -> Iterator[Box]:
    """The boxes between two places, each before those inside it. Anything that is not a box ends them."""
    at = start
    while at + 8 <= end:
        file.seek(at)
        size, kind = struct.unpack(">I4s", file.read(8))
        content = at + 8
        if size == 1:
            (size,) = struct.unpack(">Q", file.read(8).ljust(8, b"\0"))
            content = at + 16
        elif size == 0:
            size = end - at
        if at + size > end or at + size < content:
            return
        yield Box(kind, at, content, at + size)
        if kind in _HOLD_OTHERS:
            yield from boxes(file, content, at + size)
        at += size


def handlers(path: Path) -> list[bytes]:
    """What each track is: `soun`, `vide`, `text`."""
    with path.open("rb") as file:
        return [_read(file, box, 8, 4) for box in boxes(file, 0, _size(file)) if box.kind == b"hdlr"]


def seconds_of(path: Path) -> float | None:
    """How long it plays, as its movie header says."""
    with path.open("rb") as file:
        for box in boxes(file, 0, _size(file)):
            if box.kind == b"mvhd":
                head = _read(file, box, 0, 32).ljust(32, b"\0")
                scale, length = struct.unpack(">IQ", head[20:32]) if head[0] else struct.unpack(">II", head[12:20])
                return round(length / scale, 2) if scale and length else None
    return None


def strip(path: Path) -> bool:
    """Take everything out of a file, in its place, that is not needed to play it: names, places, days, pictures. False
    where it has tracks other than sound, whose words stand among the sound."""
    if set(handlers(path)) != {b"soun"}:
        return False
    with path.open("r+b") as file:
        last = 0
        for box in list(boxes(file, 0, _size(file))):
            if box.kind in _TIMES:
                _zero_times(file, box)
            elif box.kind == b"hdlr":
                _zero(file, min(box.content + _NAME_AT, box.end), box.end)
            elif box.kind not in _HOLD_OTHERS | _TO_PLAY:
                file.seek(box.start + 4)
                file.write(b"free")
                _zero(file, box.content, box.end)
            last = max(last, box.end)
        file.truncate(last)
    return True


def _zero_times(file: BinaryIO, box: Box) -> None:
    """When it was made and changed: two numbers after the version and the flags."""
    wide = _read(file, box, 0, 1) == b"\1"
    _zero(file, box.content + 4, min(box.content + (20 if wide else 12), box.end))


def _zero(file: BinaryIO, start: int, end: int) -> None:
    file.seek(start)
    while start < end:
        start += file.write(bytes(min(_BLOCK, end - start)))


def _read(file: BinaryIO, box: Box, at: int, count: int) -> bytes:
    file.seek(box.content + at)
    return file.read(max(0, min(count, box.end - box.content - at)))


def _size(file: BinaryIO) -> int:
    return file.seek(0, 2)

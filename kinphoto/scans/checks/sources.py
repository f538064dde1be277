"""What the checks read of a scan: all of it made smaller, and some of it at full size.

A JPEG of 35 megapixels takes less than half as long to decode at an eighth of its size, where the finest detail is not
computed. What needs every pixel (sharpness, grain, compression) needs it in a few places only; but the code of a JPEG
can only be followed from its start, so these are taken from its first rows.
"""

from __future__ import annotations

import io
from typing import Any, BinaryIO, Protocol

from PIL import Image

from kinphoto.scans.picture import eight_bits

REDUCED_EDGE = 800
"""Pixels that the longer edge of the smaller picture has at least, where the scan has them."""
SMALL = 2000
"""A scan whose longer edge has no more pixels is small enough to be decoded whole."""

_BASELINE = (0xC0, 0xC1)
_FRAMES = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}
_SCAN = 0xDA


class StoredScan(Protocol):
    """A scan as it is stored, in eight bits."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height at full size."""

    @property
    def reduced(self) -> Image.Image:
        """The whole picture (mode L or RGB) at full size or smaller."""

    @property
    def averaged(self) -> bool:
        """Whether its levels are means of several pixels."""

    def first_rows(self, rows: int) -> Image.Image:
        """`rows` rows from the top, in grey, at full size; more where that is no easier."""


class InMemory:
    """A picture with all its pixels."""

    averaged = False

    def __init__(self, image: Image.Image) -> None:
        self.reduced = eight_bits(image)
        self.size = self.reduced.size

    def first_rows(self, rows: int) -> Image.Image:
        """`rows` rows from the top, in grey."""
        return self.reduced.crop((0, 0, self.size[0], rows)).convert("L")


class JpegFile:
    """A JPEG that was decoded smaller (`reduced`); its `file` is read once more for the first rows."""

    averaged = True

    def __init__(self, file: BinaryIO, size: tuple[int, int], reduced: Image.Image) -> None:
        self.size, self.reduced, self._file = size, reduced, file

    def first_rows(self, rows: int) -> Image.Image:
        """`rows` rows from the top, in grey; all rows where they do not come one after the other."""
        at = lines_of_jpeg(self._file)
        shorter = at is not None and rows < self.size[1]
        self._file.seek(0)
        file: Any = _Shorter(self._file, at, rows) if at is not None and shorter else self._file
        with Image.open(file, formats=("JPEG",)) as image:
            image.draft("L", image.size)
            image.load()
            return image if image.mode == "L" else eight_bits(image).convert("L")


class _Shorter(io.RawIOBase):
    """A JPEG with another number in the place of its header that counts its lines."""

    def __init__(self, file: BinaryIO, at: int, rows: int) -> None:
        self._file, self._at, self._lines = file, at, rows.to_bytes(2)

    def read(self, size: int = -1) -> bytes:
        """The next bytes."""
        start = self._file.tell()
        data = self._file.read(size)
        for k, byte in enumerate(self._lines):
            if start <= (place := self._at + k) < start + len(data):
                data = data[: place - start] + bytes((byte,)) + data[place - start + 1 :]
        return data

    def seek(self, place: int, whence: int = io.SEEK_SET) -> int:
        """Go there."""
        return self._file.seek(place, whence)

    def tell(self) -> int:
        """Where it is."""
        return self._file.tell()


def lines_of_jpeg(file: BinaryIO) -> int | None:
    """Where the frame header of a JPEG (ITU-T T.81, B.2.2) counts its lines, in two bytes: with a smaller number there
    it decodes to that many of its first rows. None where the rows do not follow each other in the file, as in a
    progressive one."""
    at, frame, components = 2, 0, 0
    while True:
        file.seek(at)
        head = file.read(10)
        if len(head) < 10 or head[0] != 0xFF:
            return None
        marker = head[1]
        if marker == 0xFF:  # any marker may be preceded by fill bytes
            at += 1
            continue
        if marker in _FRAMES:
            if marker not in _BASELINE:
                return None
            frame, components = at + 5, head[9]
        elif marker == _SCAN:
            # Where each channel has a scan by itself, they come one after the other.
            return frame if frame and head[4] == components else None
        at += 2 + int.from_bytes(head[2:4])

"""Directories of tags as TIFF 6.0 and EXIF have them, read and written as they are: a value is bytes of a type.

Both byte orders, and BigTIFF, whose offsets are eight bytes long.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from mmap import mmap
from typing import NamedTuple

SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
"""Bytes of one value of each type."""
SHORT, LONG, RATIONAL, UNDEFINED, ASCII, BYTE, LONG8 = 3, 4, 5, 7, 2, 1, 16
_MOST = 4096
"""More tags than a directory that is not broken has."""


class Tag(NamedTuple):
    """A value as it is stored."""

    type: int
    amount: int
    raw: bytes


Directory = Mapping[int, Tag]


class BrokenError(Exception):
    """The directories of a file do not hold together."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How numbers are stored: the byte order (`<` or `>`), and whether offsets are long (BigTIFF)."""

    order: str
    big: bool = False

    @classmethod
    def of(cls, head: bytes) -> tuple[Layout, int]:
        """The layout of a file that begins like this, and where its first directory is. Raises BrokenError."""
        order = {b"II": "<", b"MM": ">"}.get(head[:2], "")
        try:
            version = struct.unpack(f"{order}H", head[2:4])[0] if order else 0
            if version == 42:
                return cls(order), struct.unpack(f"{order}I", head[4:8])[0]
            if version == 43 and struct.unpack(f"{order}HH", head[4:8]) == (8, 0):
                return cls(order, True), struct.unpack(f"{order}Q", head[8:16])[0]
        except struct.error:
            pass
        raise BrokenError("it is not a TIFF")

    @property
    def offset(self) -> str:
        """How struct names an offset."""
        return f"{self.order}{'Q' if self.big else 'I'}"

    @property
    def width(self) -> int:
        """Bytes of an offset."""
        return 8 if self.big else 4

    def header(self, first: int) -> bytes:
        """The first bytes of a file whose first directory is at `first`."""
        mark = b"II" if self.order == "<" else b"MM"
        if self.big:
            return mark + struct.pack(f"{self.order}HHHQ", 43, 8, 0, first)
        return mark + struct.pack(f"{self.order}HI", 42, first)

    def read(self, data: bytes | mmap, at: int) -> tuple[dict[int, Tag], int]:
        """The directory at an offset, and the offset of the next one (0 for none). Raises BrokenError."""
        number, entry = (f"{self.order}Q", 20) if self.big else (f"{self.order}H", 12)
        found: dict[int, Tag] = {}
        try:
            count = struct.unpack_from(number, data, at)[0]
            if count > _MOST:
                raise BrokenError("too many tags")
            at += struct.calcsize(number)
            for place in range(at, at + count * entry, entry):
                tag, kind = struct.unpack_from(f"{self.order}HH", data, place)
                amount = struct.unpack_from(self.offset, data, place + 4)[0]
                size = SIZES.get(kind, 0) * amount
                start = place + 4 + self.width
                if size > self.width:
                    start = struct.unpack_from(self.offset, data, start)[0]
                if size and start + size <= len(data):
                    found[tag] = Tag(kind, amount, bytes(data[start : start + size]))
            return found, struct.unpack_from(self.offset, data, at + count * entry)[0]
        except struct.error as problem:
            raise BrokenError("cut off") from problem

    def write(self, tags: Directory, at: int) -> bytes:
        """A directory of these tags, followed by their longer values, for this place in a file; no other follows it."""
        number = struct.pack(f"{self.order}{'Q' if self.big else 'H'}", len(tags))
        size = len(number) + len(tags) * (12 + (8 if self.big else 0)) + self.width
        entries, values = [number], bytearray()
        for tag in sorted(tags):
            kind, count, raw = tags[tag]
            held = raw.ljust(self.width, b"\0")
            if len(raw) > self.width:
                held = struct.pack(self.offset, at + size + len(values))
                values += raw + b"\0" * (len(raw) % 2)
            entries.append(struct.pack(f"{self.order}HH", tag, kind) + struct.pack(self.offset, count) + held)
        return b"".join((*entries, struct.pack(self.offset, 0), bytes(values)))

    def numbers(self, tag: Tag) -> list[int]:
        """The values of a tag of whole numbers."""
        letter = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}[tag.type]
        return list(struct.unpack(f"{self.order}{tag.amount}{letter}", tag.raw))

    def shorts(self, *values: int) -> Tag:
        """Numbers below 65,536."""
        return Tag(SHORT, len(values), struct.pack(f"{self.order}{len(values)}H", *values))

    def longs(self, *values: int) -> Tag:
        """Numbers, as offsets are stored."""
        kind = LONG8 if self.big else LONG
        return Tag(kind, len(values), struct.pack(f"{self.order}{len(values)}{'Q' if self.big else 'I'}", *values))

    def rational(self, value: float) -> Tag:
        """A number to a hundredth."""
        return Tag(RATIONAL, 1, struct.pack(f"{self.order}II", round(value * 100), 100))


def ascii_(text: str) -> Tag:
    """Text, with the zero that ends it."""
    raw = text.encode("ascii", "replace") + b"\0"
    return Tag(ASCII, len(raw), raw)

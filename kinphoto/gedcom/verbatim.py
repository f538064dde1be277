"""A tree file record by record with every byte unchanged, to be written again with some lines added.

`decode` and `records` interpret a tree and correct its faults; here nothing is corrected. All encodings of trees but
UTF-16 keep digits, blanks and tags as in ASCII, so that records can be found in the bytes themselves. UTF-16 is
converted to UTF-8 and back, including stray halves of letters.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from kinphoto.gedcom import decode
from kinphoto.gedcom.encodings import codec
from kinphoto.gedcom.package import opened

_BOUNDARY = re.compile(rb"(?<=[\r\n])(?=[ \t]*0+[ \t])")
_FIRST = re.compile(rb"(?:\xef\xbb\xbf)?\s*0+[ \t]+(?:(@[^@\r\n]+@)[ \t]*)?(\w*)")
_LINE_END = re.compile(rb"\r\n|\r|\n")
_BELOW = {level: re.compile(rb"(?<=[\r\n])(?=[ \t]*0*%d[ \t])" % level) for level in (1, 2)}
_UNPAIRED = "surrogatepass"


@dataclass(frozen=True, slots=True)
class Piece:
    """One record: its pointer (with its @, b"" for none), its tag, and all its bytes up to the next record."""

    pointer: bytes
    tag: bytes
    text: bytes

    @property
    def is_person(self) -> bool:
        """Whether it is the record of a person, with a pointer."""
        return self.tag == b"INDI" and bool(self.pointer)


class Verbatim:
    """A file read unchanged, with what is needed to add lines: its line end and its letters."""

    def __init__(self, source: decode.TreeFile) -> None:
        self.source = source
        self.wide = source.encoding.startswith("UTF-16")
        found = next((_LINE_END.search(piece.text) for piece in self.pieces()), None)
        self.end = found[0] if found else b"\n"

    def pieces(self) -> Iterator[Piece]:
        """Every record in order; their texts together are the file."""
        rest = b""
        for block in self._blocks():
            *whole, rest = _BOUNDARY.split(rest + block)
            yield from map(_piece, whole)
        if rest:
            yield _piece(rest)

    def _blocks(self) -> Iterator[bytes]:
        held = b""
        with opened(self.source.path) as file:
            while block := held + file.read(decode.BLOCK):
                if not self.wide:
                    yield block
                    continue
                even = len(block) & ~1
                if not even:  # half a letter at the very end, which means nothing
                    break
                yield self._narrow(block[:even])
                held = block[even:]

    def _narrow(self, block: bytes) -> bytes:
        return block.decode(codec(self.source.encoding), _UNPAIRED).encode("utf-8", _UNPAIRED)

    def stored(self, pieces: Iterable[bytes]) -> Iterator[bytes]:
        """Pieces of the text as they are stored in a file of this encoding."""
        for piece in pieces:
            yield (
                piece.decode("utf-8", _UNPAIRED).encode(codec(self.source.encoding), _UNPAIRED) if self.wide else piece
            )

    def line(self, text: str) -> bytes:
        """A line to add to a record. Raises UnicodeEncodeError when this encoding does not have its letters."""
        return self._letters(text) + self.end

    def _letters(self, text: str) -> bytes:
        if text.isascii() or self.wide:
            return text.encode()
        if self.source.encoding == "ASCII":
            return text.encode("ascii")
        if self.source.encoding != "ANSEL":
            return text.encode(codec(self.source.encoding))
        data = unicodedata.normalize("NFD", text).encode("gedcom")
        if unicodedata.normalize("NFC", data.decode("gedcom")) != text:  # a file's name must not change
            raise UnicodeEncodeError("gedcom", text, 0, len(text), "would be changed")
        return data

    def text(self, data: bytes) -> str:
        """Some bytes of the file as text."""
        if data.isascii():
            return data.decode()
        if self.source.encoding == "ANSEL":
            return unicodedata.normalize("NFC", data.decode("gedcom", "replace"))
        return data.decode("utf-8" if self.wide else codec(self.source.encoding), "replace")


def below(text: bytes, level: int = 1) -> list[bytes]:
    """A record's (or at level 2 a structure's) own lines, then each of its substructures."""
    return _BELOW[level].split(text)


def same_lines(one: bytes, other: bytes) -> bool:
    """Whether two texts differ only in blanks and line ends."""
    return [line.strip() for line in _LINE_END.split(one)] == [line.strip() for line in _LINE_END.split(other)]


def _piece(text: bytes) -> Piece:
    found = _FIRST.match(text)
    return Piece(b"", b"", text) if found is None else Piece(found[1] or b"", found[2], text)

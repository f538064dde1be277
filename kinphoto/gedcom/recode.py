"""The same tree in UTF-8, for when its own encoding lacks letters of what is to be written into it."""

from __future__ import annotations

import re
from pathlib import Path

from kinphoto.gedcom import decode
from kinphoto.gedcom.verbatim import Verbatim

_HEAD = re.compile(rb"\n(?=[ \t]*0+[ \t])")
_CHAR = re.compile(rb"(?<=\n)[ \t]*1[ \t]+CHAR\b[^\n]*\n(?:[ \t]*2[ \t][^\n]*\n)*")
_UTF_8 = b"1 CHAR UTF-8\n"


def recoded(file: Verbatim, seven: bool, into: Path) -> decode.TreeFile:
    """Write the lines of a file, as they are read, to `into` in UTF-8 with the same line ends.

    The header says so: in GEDCOM 5.5.1 its CHAR line is replaced or added; GEDCOM 7 is always UTF-8.
    """
    with into.open("wb") as out:
        for number, block in enumerate(decode.blocks(file.source, lambda *_: None)):
            if number == 0 and not seven:
                block = _declared(block)
            out.write(block.replace(b"\n", file.end) if file.end != b"\n" else block)
    return decode.examine(into)


def _declared(block: bytes) -> bytes:
    """The first block of a file, whose header names UTF-8."""
    end = _HEAD.search(block)
    head, rest = (block[: end.end()], block[end.end() :]) if end else (block, b"")
    if _CHAR.search(head):
        return _CHAR.sub(_UTF_8, head, count=1) + rest
    return head + _UTF_8 + rest

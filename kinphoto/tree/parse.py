"""One record at a time through python-gedcom, with as little work as can be.

The parser takes some microseconds a line and leaves rings of references behind; for a tree of a hundred thousand
people that is most of the time an import takes. So it is only given the lines something is read from, as text that is
decoded already, and what it built is taken apart as soon as it was used.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial
from itertools import repeat
from typing import Any, NamedTuple

from gedcom.parser import GedcomFormatViolationError, Parser

from kinphoto.tree import records
from kinphoto.tree.records import Record, Warnings
from kinphoto.tree.tags import PASSED_OVER

_DEEP = re.compile(r"\n(?:3 (?!QUAY|PHRASE|ADOP)|[4-9] |\d\d+ )[^\n]*")
"""What stands deeper than level 2 and is of no use here: the words of citations, coordinates of places ..."""


_SPILLED = re.compile(rb"\n\d+ [a-z0-9]")
"""Text that looks like a line because it begins with a number ("2 sons and a daughter")."""


class _Elements(NamedTuple):
    """What the parser made of a record."""

    roots: list[Any]

    def below(self) -> list[Any]:
        """What stands at level 1."""
        return [element for root in self.roots for element in root.get_child_elements()]


class RecordParser:
    """Parses the lines of a record into elements of python-gedcom."""

    def __init__(self) -> None:
        self._parser = Parser()
        self._record = Record(0, "", "", b"")
        self._written: list[str] = []  # its lines, once somebody asks for one

    def items(self, record: Record, warn: Warnings) -> Iterator[tuple[Any, int]]:
        """The elements of level 1 with what hangs below them, and the line of each. A record that breaks the grammar
        is mended, with warnings. Each record's elements are good until the last of them was passed."""
        self._record, self._written = record, []
        elements, lines = self._sound(record) or self._mended(record, warn)
        yield from zip(elements.below(), lines, strict=True)
        _take_apart(elements.roots)

    def words(self, record: Record, warn: Warnings) -> str:
        """The value of a record's first line, as long as it goes on."""
        elements, _ = self._sound(record) or self._mended(record, warn)
        value = str(elements.roots[0].get_multi_line_value()) if elements.roots else ""
        _take_apart(elements.roots)
        return value

    def line_below(self, line: int, tag: str, value: str) -> int:
        """The line of the present record, somewhere below `line`, that has this tag and value; else `line` itself."""
        self._written = self._written or self._record.text.decode().split("\n")
        for number in range(line + 1, self._record.line + len(self._written)):
            written = self._written[number - self._record.line]
            level, _, rest = written.strip().partition(" ")
            if level == "1":
                break
            if rest.split() == [tag, *value.split()]:
                return number
        return line

    def _sound(self, record: Record) -> tuple[_Elements, list[int]] | None:
        """A record that obeys the grammar."""
        if _SPILLED.search(record.text):
            return None
        try:
            places = self._parse(record.text.decode())
        except (GedcomFormatViolationError, ValueError):  # a ValueError is a level of thousands of digits
            return None
        roots = self._parser.get_root_child_elements()
        return (_Elements(roots), [record.line + at for at in places]) if len(roots) == 1 else None

    def _mended(self, record: Record, warn: Warnings) -> tuple[_Elements, list[int]]:
        tidy, numbers = records.tidied(record, warn)
        places = self._parse("".join(tidy))
        return _Elements(self._parser.get_root_child_elements()), [numbers[at] for at in places]

    def _parse(self, text: str) -> list[int]:
        """Have a record parsed; returns how far below its first line those of level 1 stand."""
        used, places = _of_use(text)
        self._parser.parse(repeat(_Lines(used), len(used)))
        return places


class _Lines:
    """Lines that are text already, for the parser, which has each thing it is given decode itself.

    One object stands for all of them and hands out the next at every call; a fifth of the parser's work is saved.
    """

    __slots__ = ("decode",)

    def __init__(self, lines: list[str]) -> None:
        # called with the name of an encoding, this becomes next(lines, name): the next line, as long as there is one
        self.decode = partial(next, iter(lines))


def _of_use(text: str) -> tuple[list[str], list[int]]:
    """The lines of a record without what nothing is taken from, and how far below the first those of level 1 stood."""
    first, *structures = text.split("\n1 ")
    used, places, at = [first], [], first.count("\n") + 1
    for structure in structures:
        if structure[:4] not in PASSED_OVER:
            deep = structure.find("\n3 ")
            well_hung = deep >= 0 and "\n2 " in structure[:deep]  # else the level jumps, and that is for the parser
            used.append(_DEEP.sub("", structure) if well_hung else structure)
            places.append(at)
        at += structure.count("\n") + 1
    return _lines("\n1 ".join(used)), places


def _lines(text: str) -> list[str]:
    """Lines with their line feed, which is all that ends one."""
    if not text:
        return []
    lines = text.splitlines(keepends=True)
    if len(lines) != text.count("\n") + (not text.endswith("\n")):
        lines = [line + "\n" for line in text.removesuffix("\n").split("\n")]
    if not lines[-1].endswith("\n"):
        lines[-1] += "\n"
    return lines


def _take_apart(elements: list[Any]) -> None:
    """Empty the lists of what hangs below each, all the way down, so that they vanish at once: an element and what
    hangs below it refer to each other, and would wait for the collector of cycles."""
    for element in elements:
        below = element.get_child_elements()
        if below:
            _take_apart(below)
    elements.clear()

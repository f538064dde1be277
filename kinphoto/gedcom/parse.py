"""From the text of a record to its lines, each with those below it.

The elements are those of python-gedcom. Its parser takes some microseconds for each line, though, and a tree of a
hundred thousand people has millions: the grammar of a line is the same in every version of GEDCOM, and one expression
takes a whole record apart. The lines are the same (a test compares), and each knows its number. A record whose line or
level breaks the grammar is repaired first, line by line (`records.tidied`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import count

from gedcom.element.element import Element

from kinphoto.gedcom import records
from kinphoto.gedcom.records import Record, Warnings

_LINE = re.compile(r"^(0|[1-9]\d{0,2}) (?:@[^@\n]+@ |(?![a-z0-9]))([A-Za-z0-9_]+)(?: (.*))?$", re.ASCII | re.MULTILINE)
"""Level, tag and value. Text that only looks like a line because it begins with a number ("2 sons and a daughter") does
not count; tags begin with a capital or an underscore."""


class Item(Element):
    """A line of a record as an element of python-gedcom: its tag, its value as written ("" for none), the lines
    below it, and `line`, its number in the file.

    It does not know the line above it, so that no reference cycles are left behind.
    """

    def __init__(self, level: int, tag: str, value: str, line: int) -> None:
        super().__init__(level, "", tag, value, multi_line=False)
        self.line = line

    tag = property(Element.get_tag)
    value = property(Element.get_value)
    below = property(Element.get_child_elements)
    text = property(Element.get_multi_line_value)
    """The value with its continuation in CONC and CONT."""

    def has(self, tag: str) -> bool:
        """Whether a line with this tag is below."""
        return any(item.tag == tag for item in self.below)

    def value_of(self, tag: str) -> str:
        """The value of the first line with this tag below, stripped; "" when there is none."""
        return next((item.value.strip() for item in self.below if item.tag == tag), "")


def items(record: Record, warn: Warnings) -> list[Item]:
    """The lines of level 1. A record that breaks the grammar is repaired, with warnings."""
    return [item for root in _roots(record, warn) for item in root.below]


def words(record: Record, warn: Warnings) -> str:
    """The value of a record's first line, with its continuation."""
    roots = _roots(record, warn)
    return roots[0].text if roots else ""


def _roots(record: Record, warn: Warnings) -> list[Item]:
    """The lines of level 0; a correct record has one."""
    roots = _nested(record.text.decode(), count(record.line))
    if roots is not None and len(roots) == 1:
        return roots
    tidy, numbers = records.tidied(record, warn)
    return _nested("".join(tidy), numbers) or []


def _nested(text: str, numbers: Iterable[int]) -> list[Item] | None:
    """The lines of level 0 with all others below them; None where one breaks the grammar. `numbers` are those of the
    lines."""
    found = _LINE.findall(text)
    if len(found) != text.count("\n") + (not text.endswith("\n")):
        return None
    places: list[list[Item]] = [[]]  # for each level, the list for its next line
    for number, (level, tag, value) in zip(numbers, found, strict=False):
        depth = int(level)
        if depth >= len(places):
            return None
        item = Item(depth, tag, value, number)
        places[depth].append(item)
        places[depth + 1 :] = (item.below,)
    return places[0]

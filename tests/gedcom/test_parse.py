"""Taking records apart, beside python-gedcom, another reader of the same grammar."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import corpus
import pytest
from gedcom.parser import GedcomFormatViolationError, Parser
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.gedcom import decode, parse, records
from kinphoto.gedcom.records import Record, Warnings

LINE = st.tuples(
    st.integers(1, 4),
    st.sampled_from(["", "", "", "@I1@ ", "@I 1@ ", "@ä@ "]),
    st.sampled_from(["NAME", "DATE", "_UID", "CONC", "CONT", "A", "INDI", "OBJE", "Date", "SEX2"]),
    st.sampled_from(["", "", " ", "  two blanks ", " a value", " @F1@", " \ttab", " 2 NOTE", " \x0b\x85\u2028", " ß"]),
)
"""Level, pointer, tag and value with the blanks between them."""


def theirs(text: str) -> list[Any] | None:
    """What python-gedcom makes of the lines of one record; None when they break its grammar."""
    parser = Parser()
    try:
        parser.parse(io.BytesIO(text.encode()))
    except GedcomFormatViolationError:
        return None
    roots = parser.get_root_child_elements()
    return [_plain(each) for each in roots[0].get_child_elements()] if len(roots) == 1 else None


def _plain(element: Any) -> tuple[Any, ...]:
    below = [_plain(each) for each in element.get_child_elements()]
    return element.get_tag(), element.get_value(), element.get_multi_line_value(), below


def ours(item: parse.Item) -> tuple[Any, ...]:
    """The same of one of our lines."""
    return item.tag, item.value, item.text, [ours(each) for each in item.below]


def lines_of(items: list[parse.Item]) -> list[int]:
    """The numbers of all lines, in order."""
    return [number for item in items for number in (item.line, *lines_of(item.below))]


@given(st.lists(LINE, max_size=8))
def test_against_python_gedcom(lines: list[tuple[int, str, str, str]]) -> None:
    """A record that obeys the grammar is as python-gedcom reads it, line by line, with nothing to warn of."""
    text, above = "0 @I1@ INDI\n", 0
    for level, *rest in lines:
        above = min(level, above + 1)
        text += f"{above} {''.join(rest)}\n"
    warn = Warnings()
    found = parse.items(Record(7, "@I1@", "INDI", text.encode()), warn)
    assert [ours(item) for item in found] == theirs(text)
    assert lines_of(found) == list(range(8, 8 + len(lines)))
    assert not warn.count


@pytest.mark.parametrize("name", [name for name in corpus.trees() if name.endswith(".ged")])
def test_corpus_against_python_gedcom(name: str, tmp_path: Path) -> None:
    """Every sound record of the corpus is as python-gedcom reads it."""
    path = tmp_path / name
    path.write_bytes(corpus.trees()[name])
    for record in records.split(decode.blocks(decode.examine(path), Warnings()), Warnings()):
        expected = theirs(record.text.decode())
        assert expected is None or [ours(item) for item in parse.items(record, Warnings())] == expected


def test_line_numbers_of_a_mended_record() -> None:
    """Lines keep the numbers they have in the file where others are left out or moved."""
    text = b"0 @I1@ INDI\n\n1 BIRT\n3 DATE 1900\nmore words\n1 NOTE 2\n2 sons and a daughter\n"
    warn = Warnings()
    birth, note = parse.items(Record(11, "@I1@", "INDI", text), warn)
    assert (birth.tag, birth.line, note.line) == ("BIRT", 13, 16)
    assert lines_of(birth.below) == [14, 15]
    assert note.text == "2\n2 sons and a daughter"
    assert {line for line, _ in warn.kept} == {12, 14, 15, 17}

"""Records that break the grammar, and what is made of them."""

from __future__ import annotations

import pytest

from kinphoto.gedcom import records
from kinphoto.gedcom.records import Record, Warnings, split, tidied


def cut(text: str, size: int = 1000, warn: Warnings | None = None) -> list[Record]:
    """The records of a text given in blocks of whole lines."""
    lines = text.encode().splitlines(keepends=True)
    return list(split([b"".join(lines[at : at + size]) for at in range(0, len(lines), size)], warn or Warnings()))


def tidy(text: str) -> tuple[str, list[int], list[tuple[int, str]]]:
    """One record's lines made sound, their numbers, and the warnings."""
    warn = Warnings()
    lines, numbers = tidied(cut(text)[0], warn)
    return "".join(lines), numbers, warn.kept


@pytest.mark.parametrize("size", [1, 2, 3, 100])
def test_records_keep_their_line_numbers(size: int) -> None:
    """However the blocks fall."""
    found = cut("0 HEAD\n1 GEDC\n0 @I1@ INDI\n1 NAME A\n2 GIVN A\n0 TRLR\n", size)
    assert [(r.line, r.pointer, r.tag) for r in found] == [(1, "", "HEAD"), (3, "@I1@", "INDI"), (6, "", "TRLR")]
    assert found[1].text == b"0 @I1@ INDI\n1 NAME A\n2 GIVN A\n"


def test_indented_and_blank_lines() -> None:
    """Both are put right, and named once for the whole file."""
    text, numbers, warnings = tidy("  0 @I1@ INDI\n\n    1 NAME A\n      2 GIVN A\n\n    1 SEX F\n")
    assert text == "0 @I1@ INDI\n1 NAME A\n2 GIVN A\n1 SEX F\n"
    assert numbers == [1, 3, 4, 6]
    assert [line for line, _ in warnings] == [1, 2]


def test_a_value_that_runs_on_without_a_level() -> None:
    """It goes on with the text before it."""
    text, _, warnings = tidy("0 @I1@ INDI\n1 NOTE She went\nto sea\nand came back\n2 CONT in 1900\n1 SEX F\n")
    assert text == ("0 @I1@ INDI\n1 NOTE She went\n2 CONT to sea\n2 CONT and came back\n2 CONT in 1900\n1 SEX F\n")
    assert [line for line, _ in warnings] == [3, 4]


def test_a_level_that_jumps_comes_down() -> None:
    """A line hangs below the one before it, no deeper."""
    text, _, warnings = tidy("0 @I1@ INDI\n1 BIRT\n4 DATE 1900\n")
    assert text == "0 @I1@ INDI\n1 BIRT\n2 DATE 1900\n"
    assert warnings == [(3, "the level jumps from 1 to 4; read as 2")]


@pytest.mark.parametrize(("limit", "most"), [("LONGEST", 100), ("MOST_LINES", 6)])
@pytest.mark.parametrize("size", [1, 3, 100])
def test_of_a_record_too_long_to_be_one_the_beginning_is_kept(
    monkeypatch: pytest.MonkeyPatch, limit: str, most: int, size: int
) -> None:
    """However long it goes on, memory holds no more of it; the records behind it keep their lines."""
    monkeypatch.setattr(records, limit, most)
    warn = Warnings()
    found = cut("0 HEAD\n0 @I1@ INDI\n" + "1 NOTE x\n" * 20 + "0 @I2@ INDI\n1 NAME B\n0 TRLR\n", size, warn)
    assert [(r.line, r.pointer) for r in found] == [(1, ""), (2, "@I1@"), (23, "@I2@"), (25, "")]
    assert 4 < found[1].text.count(b"\n") < 15
    assert [(line, "line 2" in text) for line, text in warn.kept] == [(2, True)]


def test_text_that_begins_with_a_number_is_no_line() -> None:
    """Neither a small number nor a nought in front of running text makes a level."""
    text, numbers, warnings = tidy("0 @I1@ INDI\n1 NOTE They had\n2 sons, and\n0 regrets\n1 SEX F\n")
    assert text == "0 @I1@ INDI\n1 NOTE They had\n2 CONT 2 sons, and\n2 CONT 0 regrets\n1 SEX F\n"
    assert (numbers, [line for line, _ in warnings]) == ([1, 2, 3, 4, 5], [3, 4])


def test_warnings_are_counted_beyond_what_is_kept() -> None:
    """A file with a fault on every line does not fill the memory either."""
    warn = Warnings(most=3)
    for line in range(10):
        warn(line, "odd")
    assert (len(warn.kept), warn.count) == (3, 10)

"""Numbers and lists in a sentence."""

from __future__ import annotations

import pytest

from kinphoto.phrases import counted, in_one_line, listed, opening, printable, sized


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 photographs"), (1, "1 photograph"), (2, "2 photographs"), (1200, "1,200 photographs")]
)
def test_one_is_not_many(number: int, words: str) -> None:
    """One photograph, and any other number of photographs."""
    assert counted(number, "photograph") == words


@pytest.mark.parametrize(
    ("size", "words"), [(0, "0 kB"), (2_600, "3 kB"), (1_500_000, "2 MB"), (22e6, "22 MB"), (1.44e9, "1.4 GB")]
)
def test_sizes_are_never_nothing_in_a_larger_unit(size: float, words: str) -> None:
    """With the prefixes of the SI; a small disk is not of 0.0 GB."""
    assert sized(size) == words


def test_some_words_take_no_s() -> None:
    """The word for many is given where it is not made with an s."""
    assert counted(2, "person", "people") == "2 people"
    assert counted(1, "person", "people") == "1 person"


@pytest.mark.parametrize(
    ("words", "said"),
    [((), ""), (("Ada",), "Ada"), (("Ada", "Tom"), "Ada and Tom"), (("Ada", "Tom", "Ruth"), "Ada, Tom and Ruth")],
)
def test_a_list_ends_with_and(words: tuple[str, ...], said: str) -> None:
    """Commas between them, "and" before the last."""
    assert listed(words) == said


def test_a_clause_begins_a_sentence() -> None:
    """Its first letter alone is made a capital; nothing stays nothing."""
    assert opening("the death of Ada Marsh") == "The death of Ada Marsh"
    assert opening("") == ""


def test_what_a_terminal_obeys_is_written_out() -> None:
    """Each control is shown as its number; ordinary letters of any script, tabs and line ends stay as they are."""
    assert printable("Ada\x1b[31m") == "Ada\\x1b[31m"
    assert printable("\x9b2J\u202eA\udcff") == "\\x9b2J\\u202eA\\xff"
    assert printable("Łucja עדה\u200f\t\r\nnext") == "Łucja עדה\u200f\t\nnext"


def test_a_name_in_one_line_and_words_in_one() -> None:
    """The end of a line is written out in what must be found again, and a stroke in what was said."""
    assert in_one_line("tin\nof\tletters\r\n") == "tin\\x0aof\tletters\\x0a"
    assert in_one_line("“Skerry Point\r\n1924” in a\nb.jpg") == "“Skerry Point / 1924” in a\\x0ab.jpg"

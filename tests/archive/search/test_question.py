"""One line of text as somebody would say it: the words that are looked for, and the years."""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.archive.search.question import SMALL_WORDS, SearchQuery, otherwise, understood, without, without_years
from kinphoto.reason.model.span import iso


def years(text: str) -> tuple[str, int | None, int | None]:
    """The words that remain, and the first and last year."""
    words, days = understood(SearchQuery(text=text))
    if days is None:
        return " ".join(words), None, None
    first, last = (None if day is None else date.fromordinal(day).year for day in (days.first, days.last))
    return " ".join(words), first, last


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("harbour 1931", ("harbour", 1931, 1931)),
        ("harbour 1930s", ("harbour", 1930, 1939)),
        ("harbour 1920 - 1930", ("harbour", 1920, 1930)),
        ("harbour in the thirties", ("harbour", 1930, 1939)),
        ("harbour, early thirties", ("harbour", 1930, 1934)),
        ("about 1930 harbour", ("harbour", 1925, 1935)),
        ("harbour before 1930", ("harbour", None, 1930)),
        ("harbour since 1930", ("harbour", 1930, None)),
        ("harbour 1931 or 32", ("harbour", 1931, 1932)),
        ("harbour 1931?", ("harbour", 1931, 1931)),
        ("Hafen in den dreißiger Jahren", ("hafen", 1930, 1939)),
        ("Hafen um 1930", ("hafen", 1925, 1935)),
        ("before 1930 after 1920", ("", 1920, 1930)),
        ("harbour 0012", ("harbour 0012", None, None)),
        ("Ada Marsh, née Berg", ("ada marsh berg", None, None)),
        ("Ada 1066", ("ada", 1066, 1066)),
        ("Ada 9995s", ("ada", 9995, 9999)),
    ],
)
def test_years_are_said_as_people_say_them(said: str, expected: tuple[str, int | None, int | None]) -> None:
    """As in the dates of photographs; "about" reaches five years either way (*ours*)."""
    assert years(said) == expected


@pytest.mark.parametrize("said", ["Whitsun 1931", "summer 1931", "May 1931"])
def test_what_is_finer_than_a_year_may_stand_in_words(said: str) -> None:
    """May is a name as well, and Whitsun is written on backs: the word is looked for, and the year."""
    assert years(said) == (said.split()[0].lower(), 1931, 1931)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("ferry 12 May 1931", [("ferry", "1931-05-12", "1931-05-12")]),
        ("summer 1931", [("", "1931-06-01", "1931-08-31")]),
        ("pictures of Ada", [("of ada", None, None)]),
        ("Ada 1931", []),
    ],
)
def test_where_nothing_is_found_it_may_mean_something_else(
    said: str, meant: list[tuple[str, str | None, str | None]]
) -> None:
    """A date finer than a year as days, and "pictures" left out."""
    read = list(otherwise(SearchQuery(text=said)))
    assert [(" ".join(words), iso(days.first) if days else None, iso(days.last) if days else None)
            for words, days in read] == meant  # fmt: skip


def test_years_that_are_chosen_narrow_those_that_are_typed() -> None:
    """Those of the fields beside the line."""
    words, days = understood(SearchQuery(text="harbour 1920s", since=1925))
    assert words == ["harbour"]
    assert days is not None
    assert days.first == date(1925, 1, 1).toordinal()
    assert days.last == date(1929, 12, 31).toordinal()


def test_the_line_without_its_years_is_as_it_was_typed() -> None:
    """So that it can still be read as what somebody is to another."""
    assert without_years("my Grandmother in the 1930s") == "my Grandmother"


def test_small_words_are_left_out_where_there_are_others() -> None:
    """Somebody may look for nothing else."""
    assert without(["the", "ferry"], SMALL_WORDS) == ["ferry"]
    assert without(["the"], SMALL_WORDS) == ["the"]


def test_a_page_that_was_pasted_is_looked_for_word_by_word() -> None:
    """Without reading it for dates, which would take long."""
    words, days = understood(SearchQuery(text="harbour " * 100_000 + "1931"))
    assert len(words) == 100_000
    assert days == understood(SearchQuery(text="1931"))[1]

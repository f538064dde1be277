"""Dates in the words on a back are found, and nothing else is."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates_in_text import MOST_FOUND, find_dates, parse_said, read_date

TODAY = date(2026, 3, 1)

# Backs as families write them, invented; which words are a date was decided by reading them.
BACKS = [
    ("Skerry Point, Whitsun 1900, with Aunt Ida", ["Whitsun 1900"]),
    ("Sommer 1908, Tante Ida war 1910 hier", ["Sommer 1908", "1910"]),
    ("Kriegsweihnacht 1916 in Erfurt. Anna, geb. 1890", ["Kriegsweihnacht 1916"]),
    ("No. 1924, Haus 12, Mai 1908", ["Mai 1908"]),
    ("in den zwanziger Jahren", ["in den zwanziger Jahren"]),
    ("1912 feet high, 9x12, K1924, Tel. 1924-33", []),
    ("Πάσχα 1912, σπίτι", ["1912"]),
    ("Пасха 1912, дом", ["Пасха 1912"]),
    ("Whitsun 1900 and Easter 1901", ["Whitsun 1900", "Easter 1901"]),
    ("Tom (left), Summer of 1931?", ["Summer of 1931?"]),
    ("Ida um 12 Uhr, 3 dogs, 5 kids", []),
    ("May Marsh 1924", ["1924"]),
    ("Weihnachten\n1931", ["Weihnachten 1931"]),
    ("Erinnerung an den 12ten August 1908.", ["an den 12ten August 1908"]),
    ("the war memorial", []),
    ("taken before the war", ["taken before the war"]),
    ("Bible of 1790, seat 1823", []),
    ("Ada in 2050", []),
    ("Ada b. 1890, aged 1912", []),
    ("It was not 1930 but 1931", ["1931"]),
    ("never in 1930, nicht im Mai 1931", []),
    ("Hull, not after 1930", ["not after 1930"]),
    ("Hull, nicht vor 1930", ["nicht vor 1930"]),
    ("Whitsun 1931, or was it 32?", ["Whitsun 1931, or was it 32?"]),
    ("Whitsun 1905, or was it 12/8/1905?", ["Whitsun 1905", "12/8/1905?"]),
    ("Ida, 6 years before the war", ["6 years before the war"]),
    ("Ida says by Christmas 1930", ["by Christmas 1930"]),
    ("I'd say 1931, give or take two years", ["1931, give or take two years"]),
    ("in front of the Edwardian house", []),
    ("late Victorian, by the look of it", ["late Victorian"]),
    ("she was nineteen, her sister twenty-four", []),
    ("back in nineteen twenty-four", ["in nineteen twenty-four"]),
    ("", []),
    ("   \n ", []),
    ("12 12 12 5 5 5", []),
    ("19241924 1924192419241924", []),
]


@pytest.mark.parametrize(("text", "expected"), BACKS)
def test_dates_on_backs(text: str, expected: list[str]) -> None:
    """Each date in order, the longest words that are one, and where they stand."""
    found = find_dates(text, TODAY)
    assert [one.text for one in found] == expected
    for one in found:
        assert " ".join(text[one.start :].split()).startswith(one.text)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("before they moved in '52", ["'52", "before '52"]),
        ("after Dad came home in 1946", ["1946", "after 1946"]),
        ("nachdem sie 1932 umgezogen sind", ["1932", "after 1932"]),
        ("before lunch. 1931", ["1931"]),
        ("Named after her aunt; June 1931", ["June 1931"]),
    ],
)
def test_a_date_in_a_clause_is_asked_about(text: str, choices: list[str]) -> None:
    """The picture may have been taken before the day that "before" leads to: nobody is told only the day itself."""
    (found,) = find_dates(text, TODAY)
    assert [reading.date for reading in found.readings] == choices
    assert found.certain is (len(choices) == 1)


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("before they moved in '52", "Did you mean “'52” or “before '52”?"),
        ("the summer Oma turned 70", "Give an age together with the name"),
        ("a sunny day", "Write it like 1931"),
    ],
)
def test_words_that_are_no_date_as_a_whole(text: str, remedy: str) -> None:
    """The error names the dates among them, each as it can be typed; a time of life is an age and no date."""
    with pytest.raises(InvalidValueError) as caught:
        parse_said(text, TODAY)
    assert remedy in str(caught.value)


def test_readings_are_worded() -> None:
    """What it is read as; or what it could be, each as it can be recorded."""
    (one,) = find_dates("Ada, Aug. 1900", TODAY)
    assert one.certain
    assert [(r.date, r.words) for r in one.readings] == [("Aug. 1900", "August 1900")]
    (one,) = find_dates("Ada, 12/8/1900", TODAY)
    assert not one.certain
    assert [r.date for r in one.readings] == ["12 August 1900", "8 December 1900"]
    (one,) = find_dates("May 31, at sea", TODAY)  # the year 1931, or the 31st of some May
    assert (one.certain, [r.date for r in one.readings]) == (False, ["May 1931"])


def test_a_day_that_cannot_be_is_named_with_the_reason() -> None:
    """Written with a month, it is a date all the same; a number alone is not."""
    (old,) = find_dates("12 May 1799", TODAY)
    (late,) = find_dates("3 June 2050", TODAY)
    assert "no photographs from before 1826" in old.problem
    assert "in the future" in late.problem
    (never,) = find_dates("Ida, 31. Februar 1912", TODAY)
    assert never.problem.startswith('there is no such date as "31 FEB 1912"')
    assert (old.readings, late.readings, never.readings) == ((), (), ())


def test_a_typed_date_is_read_the_same_way() -> None:
    """It has one reading, several, or a problem that says what to write."""
    assert [r.words for r in read_date("Pfingsten 1900", TODAY).readings] == ["between 2 and 4 June 1900"]
    assert len(read_date("12/8/1900", TODAY).readings) == 2
    assert "Write it like 1931" in read_date("soon", TODAY).problem


@pytest.mark.parametrize(
    "piece", ["1900 ", "31 may ", "12 ", "a", "May ", "1/2/", "the war ", "Пасха ", "(", "'", "12.8.08 ", "um vor "]
)
def test_ten_thousand_letters(piece: str) -> None:
    """Whatever is pasted is looked through, and no more is offered than somebody can choose from."""
    assert len(find_dates((piece * 10_000)[:10_000], TODAY)) <= MOST_FOUND


@given(st.text(st.sampled_from("0123456789 .,/-'?()\nMaiAugvordemKriegЖ’"), max_size=60))
@settings(max_examples=150, deadline=None)
def test_whatever_is_offered_can_be_recorded(text: str) -> None:
    """Every reading is a date with one meaning."""
    for one in find_dates(text, TODAY):
        for reading in one.readings:
            assert read_date(reading.date, TODAY).certain, reading

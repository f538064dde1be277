"""The days of feasts, against published tables and an independent implementation."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from convertdate.holidays import easter as independent_easter

from kinphoto.gedcom.feasts import FEASTS, days_of
from kinphoto.gedcom.languages import LANGUAGES

# Easter Sundays as the printed tables have them, from memory: among them the earliest and the latest there can be.
EASTER_SUNDAYS = [
    "1818-03-22", "1886-04-25", "1900-04-15", "1905-04-23", "1908-04-19", "1912-04-07", "1913-03-23", "1916-04-23",
    "1931-04-05", "1943-04-25", "1945-04-01", "1954-04-18", "2000-04-23", "2008-03-23",
]  # fmt: skip


@pytest.mark.parametrize("sunday", EASTER_SUNDAYS)
def test_easter_sunday_as_printed_tables_have_it(sunday: str) -> None:
    """Good Friday and Easter Monday are the days around it."""
    day = date.fromisoformat(sunday)
    assert days_of("Easter Sunday", day.year) == (day, day)
    assert days_of("Easter", day.year) == (day - timedelta(2), day + timedelta(1))


def test_every_easter_against_convertdate() -> None:
    """From the first photograph to the end of the century, both algorithms agree."""
    for year in range(1826, 2101):
        found = days_of("Easter Sunday", year)
        assert found is not None
        assert found[0] == date(*(int(part) for part in independent_easter(year)))


# Days of almanacs and newspapers, from memory; the weekday follows from the calendar.
ALMANAC = [
    ("Whit Sunday", 1900, "1900-06-03", "Sunday"),
    ("Whit Monday", 1900, "1900-06-04", "Monday"),
    ("Ascension", 1900, "1900-05-24", "Thursday"),
    ("Corpus Christi", 1900, "1900-06-14", "Thursday"),
    ("Good Friday", 1912, "1912-04-05", "Friday"),
    ("Easter Monday", 1916, "1916-04-24", "Monday"),  # the rising in Dublin began on it
    ("Rose Monday", 1914, "1914-02-23", "Monday"),
    ("Ash Wednesday", 1945, "1945-02-14", "Wednesday"),  # the day after the first night of the air raids on Dresden
    ("Low Sunday", 1930, "1930-04-27", "Sunday"),
    ("Passion Sunday", 1912, "1912-03-24", "Sunday"),
    ("Mothering Sunday", 1940, "1940-03-03", "Sunday"),
    ("Muttertag", 1923, "1923-05-13", "Sunday"),  # the first in Germany
    ("Muttertag", 1932, "1932-05-08", "Sunday"),  # as early as it can be
    ("Trinity Sunday", 1953, "1953-05-31", "Sunday"),
    ("Advent Sunday", 1914, "1914-11-29", "Sunday"),
    ("Advent Sunday", 1933, "1933-12-03", "Sunday"),  # as late as it can be
    ("fourth Advent Sunday", 1933, "1933-12-24", "Sunday"),
    ("Totensonntag", 1914, "1914-11-22", "Sunday"),
    ("August Bank Holiday", 1914, "1914-08-03", "Monday"),
]


@pytest.mark.parametrize(("feast", "year", "day", "weekday"), ALMANAC)
def test_days_of_almanacs(feast: str, year: int, day: str, weekday: str) -> None:
    """Each feast is on the day it was."""
    expected = date.fromisoformat(day)
    assert f"{expected:%A}" == weekday
    assert days_of(feast, year) == (expected, expected)


def test_every_feast_has_days_in_order() -> None:
    """In any year; and before the Gregorian calendar there is no answer instead of a wrong one."""
    for name in FEASTS:
        for year in (1583, 1826, 1900, 1931, 1964, 1965, 2024, 4099):
            found = days_of(name, year)
            assert found is not None
            assert timedelta(0) <= found[1] - found[0] <= timedelta(60), name
        assert days_of(name, 1500) is None
        assert days_of(name, 5000) is None


def test_every_feast_that_a_language_names_is_known() -> None:
    """A slip in a table would make its words unreadable."""
    for language in LANGUAGES.values():
        assert set(language.feasts) <= set(FEASTS)

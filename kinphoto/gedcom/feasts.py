"""The days of feasts: the movable ones follow Easter, whose date comes from `dateutil`, or the fourth Sunday of Advent.

Each runs from the first to the last day that its name can mean. Western churches, but those named Orthodox. Offsets
from Easter Sunday are those of the Roman calendar (Ascension is the fortieth day, Pentecost the fiftieth, both
counting Easter itself).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from dateutil.easter import EASTER_ORTHODOX, easter

_Days = Callable[[int], tuple[date, date]]
_GREGORIAN_EASTER = 1583
"""The first Easter by the Gregorian rule."""


def days_of(feast: str, year: int) -> tuple[date, date] | None:
    """The first and last day of a feast of `FEASTS`; None for a year before the rule it follows."""
    if year < _GREGORIAN_EASTER or year > LATEST:
        return None
    return FEASTS[feast](year)


def _around_easter(first: int, last: int | None = None) -> _Days:
    """From this many days after Easter Sunday to that many."""

    def days(year: int) -> tuple[date, date]:
        sunday = easter(year)
        return sunday + timedelta(first), sunday + timedelta(first if last is None else last)

    return days


def _orthodox(first: int, last: int | None = None) -> _Days:
    """The same of the Easter of the Orthodox church, by the Julian calendar."""

    def days(year: int) -> tuple[date, date]:
        sunday = easter(year, EASTER_ORTHODOX)
        return sunday + timedelta(first), sunday + timedelta(first if last is None else last)

    return days


def _fixed(month: int, day: int) -> _Days:
    return lambda year: (date(year, month, day), date(year, month, day))


def _advent(sunday: int) -> _Days:
    """A Sunday of Advent, 1 to 4; 0 is the one before. The fourth is the last Sunday before Christmas Day."""

    def days(year: int) -> tuple[date, date]:
        fourth = date(year, 12, 24) - timedelta((date(year, 12, 24).weekday() + 1) % 7)
        found = fourth - timedelta(weeks=4 - sunday)
        return found, found

    return days


def _carnival(year: int) -> tuple[date, date]:
    """The weeks from the day after Epiphany to Shrove Tuesday."""
    return date(year, 1, 7), easter(year) - timedelta(47)


def _second_sunday_of_may(year: int) -> tuple[date, date]:
    eighth = date(year, 5, 8)
    sunday = eighth + timedelta(6 - eighth.weekday())
    return sunday, sunday


def _august_bank_holiday(year: int) -> tuple[date, date]:
    """The first Monday of August until 1964, at the end of the month since then."""
    monday = date(year, 8, 1) + timedelta(-date(year, 8, 1).weekday() % 7)
    return (monday, monday) if year < 1965 else (date(year, 8, 25), date(year, 9, 2))


_OLD_STYLE = 1918
"""The last New Year that Russia counted by the Julian calendar."""
LATEST = 4099
"""The last year for which the rule of Easter is defined in `dateutil`."""
FEASTS: dict[str, _Days] = {
    "New Year": _fixed(1, 1),
    "Epiphany": _fixed(1, 6),
    "Candlemas": _fixed(2, 2),
    "carnival": _carnival,
    "Rose Monday": _around_easter(-48),
    "Shrove Tuesday": _around_easter(-47),
    "Ash Wednesday": _around_easter(-46),
    "Mothering Sunday": _around_easter(-21),
    "Passion Sunday": _around_easter(-14),
    "Palm Sunday": _around_easter(-7),
    "Holy Week": _around_easter(-7, -1),
    "Maundy Thursday": _around_easter(-3),
    "Good Friday": _around_easter(-2),
    "Holy Saturday": _around_easter(-1),
    "Easter": _around_easter(-2, 1),
    "Easter Sunday": _around_easter(0),
    "Easter Monday": _around_easter(1),
    "Easter week": _around_easter(0, 6),
    "Low Sunday": _around_easter(7),
    "Ascension": _around_easter(39),
    "Whitsun": _around_easter(48, 50),
    "Whit Sunday": _around_easter(49),
    "Whit Monday": _around_easter(50),
    "Whit Tuesday": _around_easter(51),
    "Whit week": _around_easter(49, 55),
    "Trinity Sunday": _around_easter(56),
    "Corpus Christi": _around_easter(60),
    "May Day": _fixed(5, 1),
    "Muttertag": _second_sunday_of_may,
    "Empire Day": _fixed(5, 24),
    "Midsummer": lambda year: (date(year, 6, 19), date(year, 6, 26)),
    "Peter and Paul": _fixed(6, 29),
    "Independence Day": _fixed(7, 4),
    "August Bank Holiday": _august_bank_holiday,
    "Assumption": _fixed(8, 15),
    "Sedantag": _fixed(9, 2),
    "Michaelmas": _fixed(9, 29),
    "Reformation Day": _fixed(10, 31),
    "Halloween": _fixed(10, 31),
    "All Saints": _fixed(11, 1),
    "All Souls": _fixed(11, 2),
    "Bonfire Night": _fixed(11, 5),
    "Martinmas": _fixed(11, 11),
    "Thanksgiving": lambda year: (date(year, 11, 20), date(year, 11, 30)),
    "Totensonntag": _advent(0),
    "Advent": lambda year: (_advent(1)(year)[0], date(year, 12, 24)),
    "Advent Sunday": _advent(1),
    "second Advent Sunday": _advent(2),
    "third Advent Sunday": _advent(3),
    "fourth Advent Sunday": _advent(4),
    "St Nicholas": _fixed(12, 6),
    "Christmas": lambda year: (date(year, 12, 20), date(year + 1, 1, 6)),
    "Christmas Eve": _fixed(12, 24),
    "Christmas Day": _fixed(12, 25),
    "Boxing Day": _fixed(12, 26),
    "New Year's Eve": _fixed(12, 31),
    "Orthodox New Year": lambda year: (date(year, 1, 1), date(year, 1, 14 if year <= _OLD_STYLE else 1)),
    "Orthodox Easter": _orthodox(-2, 1),
    "Orthodox Trinity": _orthodox(49),
}
"""By the English name that the tables of `languages` use."""

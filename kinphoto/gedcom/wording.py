"""A date in plain English for a family member."""

from __future__ import annotations

from datetime import date
from enum import Enum, auto
from math import hypot, sqrt

from kinphoto.gedcom.calendars import month_length, year_month_day, years_later
from kinphoto.reason.model.span import DAYS_PER_YEAR, WIDENED, Dated, Shape

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
"""As they are shown; what is read has its own (`calendars.py`, `languages.py`)."""

_FORMS = {"calculated": "{} (calculated)", "about": "about {}", "estimated": "about {} (estimated)"}
"""The words for widened dates."""


def words(dated: Dated) -> str:
    """The date in plain English; for a date without days its original words, or "no date"."""
    text = certain(dated)
    return f"perhaps {text}" if dated.doubtful else text


def certain(dated: Dated) -> str:
    """The same without the doubt that was stated about it."""
    return _in_words(dated.as_stated)


class DateManner(Enum):
    """How the words for a date go on: what may stand before them."""

    PERIOD = auto()
    """It is a day, month, year or decade, and something was "on" or "in" it."""
    ABOUT = auto()
    """It is about one."""
    REST = auto()
    """It has a preposition of its own: "between 1900 and 1905", "before 1914"."""


def manner(dated: Dated) -> DateManner:
    """How the words for a date go on."""
    stated = dated.as_stated
    first, last = stated.span.first, stated.span.last
    if first is None and last is None:
        text = _own_words(stated)
        if text.startswith("about"):
            return DateManner.ABOUT
        return (
            DateManner.REST if not text or text.startswith(("before", "after", "between", "no ")) else DateManner.PERIOD
        )
    if first is None or last is None:
        return DateManner.REST
    kind = "calculated"
    if stated.shape is Shape.ABOUT and stated.centre is not None:
        kind, first, last = _about_which(stated, first, last)
    if not _period(first, last):
        return DateManner.REST
    return DateManner.PERIOD if kind == "calculated" else DateManner.ABOUT


def _own_words(dated: Dated) -> str:
    return dated.words.strip().removeprefix("(").removesuffix(")")


def _in_words(dated: Dated) -> str:
    first, last = dated.span.first, dated.span.last
    if first is None:
        return _own_words(dated) or "no date" if last is None else f"before {_end(last)}"
    if last is None:
        return f"after {_start(first)}"
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        return _about(dated, first, last)
    return _within(first, last)


def _about(dated: Dated, first: int, last: int) -> str:
    kind, first, last = _about_which(dated, first, last)
    period = _period(first, last)
    return _FORMS[kind].format(period) if period else f"roughly {_between(first, last)}"


def _about_which(dated: Dated, first: int, last: int) -> tuple[str, int, int]:
    """How a widened date was stated, and the days that were stated."""
    deviation = (dated.spread or 0.0) / DAYS_PER_YEAR
    length = (last - first) / DAYS_PER_YEAR
    kind = min(WIDENED, key=lambda k: abs(hypot(WIDENED[k][1], _own(length - 2 * WIDENED[k][0])) - deviation))
    years = WIDENED[kind][0]
    first, last = years_later(first, years), years_later(last, -years)
    if last - first < 3:  # a day; 29 February may have moved
        first = last = int(dated.centre or first)
    return kind, first, last


def _own(years: float) -> float:
    """The standard deviation that a span of more than a year adds to an approximate date."""
    return years / sqrt(12) if years > 1.01 else 0.0


def _within(first: int, last: int) -> str:
    """A day, month, year or decade, anything else as a range."""
    return _period(first, last) or _between(first, last)


def _period(first: int, last: int) -> str:
    """A day, month, year or decade; "" for anything else."""
    if first == last:
        return day(first)
    (y1, m1, d1), (y2, m2, d2) = year_month_day(first), year_month_day(last)
    if d1 != 1 or d2 != month_length(y2, m2):
        return ""
    if (m1, m2) == (1, 12):
        if y1 == y2:
            return _year(y1)
        if y1 > 0 and y1 % 10 == 0 and y2 == y1 + 9:
            return f"the {y1}s"
    return f"{MONTHS[m1 - 1]} {_year(y1)}" if (y1, m1) == (y2, m2) else ""


def _between(first: int, last: int) -> str:
    (y1, m1, d1), (y2, m2, d2) = year_month_day(first), year_month_day(last)
    if d1 == 1 and d2 == month_length(y2, m2) and y1 == y2:
        return f"between {MONTHS[m1 - 1]} and {MONTHS[m2 - 1]} {_year(y1)}"
    if (y1, m1) == (y2, m2):
        return f"between {d1} and {day(last)}"
    return f"between {_start(first)} and {_end(last)}"


def day(ordinal: int) -> str:
    """One day: "2 May 1917"."""
    year, month, of_month = year_month_day(ordinal)
    return f"{of_month} {MONTHS[month - 1]} {_year(year)}"


def month(ordinal: int) -> str:
    """The month a day falls in: "May 1917"."""
    year, month, _ = year_month_day(ordinal)
    return f"{MONTHS[month - 1]} {_year(year)}"


def month_words(text: str) -> str:
    """ "May 2026" for "2026-05"."""
    return month(date.fromisoformat(f"{text}-01").toordinal())


def year(ordinal: int) -> str:
    """The year a day falls in: "1917", "44 B.C."."""
    return _year(year_month_day(ordinal)[0])


def _start(first: int) -> str:
    """The first day of a year is called by its year, the first of a month by its month."""
    year, month, of_month = year_month_day(first)
    if (month, of_month) == (1, 1):
        return _year(year)
    return f"{MONTHS[month - 1]} {_year(year)}" if of_month == 1 else day(first)


def _end(last: int) -> str:
    """The last day of a year is called by its year, the last of a month by its month."""
    year, month, of_month = year_month_day(last)
    if (month, of_month) == (12, 31):
        return _year(year)
    return f"{MONTHS[month - 1]} {_year(year)}" if of_month == month_length(year, month) else day(last)


def _year(year: int) -> str:
    return str(year) if year > 0 else f"{1 - year} B.C."

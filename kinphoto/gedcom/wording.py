"""A date in plain English for a family member."""

from __future__ import annotations

from math import hypot, sqrt

from kinphoto.gedcom.calendars import MONTH_NAMES, month_length, year_month_day, years_later
from kinphoto.reason.model.span import DAYS_PER_YEAR, WIDENED, Dated, Shape

_FORMS = {"calculated": "{} (calculated)", "about": "about {}", "estimated": "about {} (estimated)"}
"""The words for widened dates."""


def words(dated: Dated) -> str:
    """The date in plain English; for a date without days its original words, or "no date"."""
    text = _in_words(dated.as_stated)
    return f"perhaps {text}" if dated.doubtful else text


def _in_words(dated: Dated) -> str:
    first, last = dated.span.first, dated.span.last
    if first is None:
        own_words = dated.words.strip().removeprefix("(").removesuffix(")")
        return own_words or "no date" if last is None else f"before {_end(last)}"
    if last is None:
        return f"after {_start(first)}"
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        return _about(dated, first, last)
    return _within(first, last)


def _about(dated: Dated, first: int, last: int) -> str:
    deviation = (dated.spread or 0.0) / DAYS_PER_YEAR
    length = (last - first) / DAYS_PER_YEAR
    kind = min(WIDENED, key=lambda k: abs(hypot(WIDENED[k][1], _own(length - 2 * WIDENED[k][0])) - deviation))
    years, form = WIDENED[kind][0], _FORMS[kind]
    first, last = years_later(first, years), years_later(last, -years)
    if last - first < 3:  # a day; 29 February may have moved
        first = last = int(dated.centre or first)
    text = _within(first, last)
    return f"roughly {text}" if text.startswith("between") else form.format(text)


def _own(years: float) -> float:
    """The standard deviation that a span of more than a year adds to an approximate date."""
    return years / sqrt(12) if years > 1.01 else 0.0


def _within(first: int, last: int) -> str:
    """A day, month, year or decade, anything else as a range."""
    if first == last:
        return day(first)
    (y1, m1, d1), (y2, m2, d2) = year_month_day(first), year_month_day(last)
    whole_months = d1 == 1 and d2 == month_length(y2, m2)
    if whole_months and (m1, m2) == (1, 12):
        if y1 == y2:
            return _year(y1)
        if y1 > 0 and y1 % 10 == 0 and y2 == y1 + 9:
            return f"the {y1}s"
    if whole_months and (y1, m1) == (y2, m2):
        return f"{MONTH_NAMES[m1 - 1]} {_year(y1)}"
    if whole_months and y1 == y2:
        return f"between {MONTH_NAMES[m1 - 1]} and {MONTH_NAMES[m2 - 1]} {_year(y1)}"
    if (y1, m1) == (y2, m2):
        return f"between {d1} and {day(last)}"
    return f"between {_start(first)} and {_end(last)}"


def day(ordinal: int) -> str:
    """One day: "2 May 1917"."""
    year, month, of_month = year_month_day(ordinal)
    return f"{of_month} {MONTH_NAMES[month - 1]} {_year(year)}"


def year(ordinal: int) -> str:
    """The year a day falls in: "1917", "44 B.C."."""
    return _year(year_month_day(ordinal)[0])


def _start(first: int) -> str:
    """The first day of a year is called by its year, the first of a month by its month."""
    year, month, of_month = year_month_day(first)
    if (month, of_month) == (1, 1):
        return _year(year)
    return f"{MONTH_NAMES[month - 1]} {_year(year)}" if of_month == 1 else day(first)


def _end(last: int) -> str:
    """The last day of a year is called by its year, the last of a month by its month."""
    year, month, of_month = year_month_day(last)
    if (month, of_month) == (12, 31):
        return _year(year)
    return f"{MONTH_NAMES[month - 1]} {_year(year)}" if of_month == month_length(year, month) else day(last)


def _year(year: int) -> str:
    return str(year) if year > 0 else f"{1 - year} B.C."

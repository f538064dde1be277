"""Days and spans of days: the small vocabulary every other module of `reason` is written in.

A *day* is an integer, the proleptic Gregorian ordinal (`datetime.date.toordinal`: 1 January of year 1 is day 1).
A `Span` runs from a first possible to a last possible day, both inclusive; `None` leaves an end open. A `Dated`
is a span together with how likelihood is spread inside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from math import ceil, floor, sqrt

DAYS_PER_YEAR = 365.2425
"""Mean length of a Gregorian year in days (400 years hold 146,097)."""


def at_least(years: float) -> int:
    """The fewest days that `years` years can last, over any leap pattern (one to two days loose)."""
    return floor(DAYS_PER_YEAR * years) - 2


def at_most(years: float) -> int:
    """The most days that `years` years can last, over any leap pattern (one to two days loose)."""
    return ceil(DAYS_PER_YEAR * years) + 1


def iso(day: int | None) -> str | None:
    """ISO 8601 form of a day, None for an open end."""
    if day is None:
        return None
    return date.fromordinal(min(max(day, 1), date.max.toordinal())).isoformat()


def year_of(day: int) -> int:
    """The Gregorian year a day falls in, clipped to 1..9999."""
    return date.fromordinal(min(max(day, 1), date.max.toordinal())).year


@dataclass(frozen=True, slots=True)
class Span:
    """First to last possible day, inclusive; None is an open end."""

    first: int | None = None
    last: int | None = None

    @property
    def empty(self) -> bool:
        """True when no day is possible."""
        return self.first is not None and self.last is not None and self.first > self.last

    @property
    def bounded(self) -> bool:
        """True when neither end is open."""
        return self.first is not None and self.last is not None

    def meet(self, other: Span) -> Span:
        """The days in both."""
        first = (
            other.first if self.first is None else self.first if other.first is None else max(self.first, other.first)
        )
        last = other.last if self.last is None else self.last if other.last is None else min(self.last, other.last)
        return Span(first, last)

    def hull(self, other: Span) -> Span:
        """The shortest span that contains both."""
        first = None if self.first is None or other.first is None else min(self.first, other.first)
        last = None if self.last is None or other.last is None else max(self.last, other.last)
        return Span(first, last)

    def moved(self, days: int) -> Span:
        """The same, this many days later."""
        return Span(None if self.first is None else self.first + days, None if self.last is None else self.last + days)


def span_of_years(first: int | None, last: int | None) -> Span:
    """From 1 January of year `first` to 31 December of year `last`."""
    return Span(
        None if first is None else date(first, 1, 1).toordinal(),
        None if last is None else date(last, 12, 31).toordinal(),
    )


def whole_years(span: Span) -> Span:
    """The calendar years that these days fall in; an open end stays open."""
    return span_of_years(
        None if span.first is None else year_of(span.first), None if span.last is None else year_of(span.last)
    )


SAME_YEAR = Span(-365, 365)
"""How many days two days of one calendar year can be apart; as a lapse since an event: in its year."""


class Shape(StrEnum):
    """How likelihood is spread inside a span (the table "Dates as spans" of docs/method.md): `density.of_date`."""

    FLAT = "flat"
    """Every day alike: a day, a month, a year, a range, a period of one event."""
    ABOUT = "about"
    """Mostly normal about `centre` with standard deviation `spread`, else flat over the span: ABT, CAL, EST, INT."""
    BEFORE = "before"
    """Open at the start: the prior from the family or the laws, cut."""
    AFTER = "after"
    """Open at the end: the prior from the family or the laws, cut."""
    DOUBTFUL = "doubtful"
    """A date with a question mark: most of it as it was stated, the rest some years off (`doubted`)."""


@dataclass(frozen=True, slots=True)
class Dated:
    """A span with a shape. `centre` is a day and `spread` a standard deviation in days; for ABOUT and DOUBTFUL alone.

    `words` are the date as somebody wrote it. `doubtful` is True where there was a question mark. `stated` is the date
    as it was written, where doubt has widened it since (`doubted`).
    """

    span: Span
    shape: Shape = Shape.FLAT
    centre: float | None = None
    spread: float | None = None
    words: str = ""
    doubtful: bool = False
    stated: Dated | None = None

    @property
    def as_stated(self) -> Dated:
        """The date before doubt widened it: what a reader is shown."""
        return self.stated or self


WIDENED = {"calculated": (5, 1.2), "about": (10, 2.5), "estimated": (25, 6.0)}
"""By how many years each way an approximate date is widened, and its standard deviation in years. Judgements of the
project (docs/method.md)."""
DOUBT_SPREAD, DOUBT_REACH = 1.5 * DAYS_PER_YEAR, 10
"""How far a doubtful date may be off: what doubt adds to its standard deviation (days), and the most it is off by
(years). Judgements of the project."""


def doubted(date_: Dated) -> Dated:
    """A date that may be some years off: because of a question mark, or of who remembers it. Its span is much wider."""
    first, last = date_.span.first, date_.span.last
    reach = Span(
        None if first is None else first - at_most(DOUBT_REACH), None if last is None else last + at_most(DOUBT_REACH)
    )
    if date_.shape is Shape.ABOUT and date_.spread:
        return replace(date_, span=reach, spread=date_.spread + DOUBT_SPREAD, stated=date_)
    centre, spread = None, DOUBT_SPREAD
    if first is not None and last is not None:
        centre, spread = (first + last) / 2, DOUBT_SPREAD + (last + 1 - first) / sqrt(12)
    return replace(date_, span=reach, shape=Shape.DOUBTFUL, centre=centre, spread=spread, stated=date_)

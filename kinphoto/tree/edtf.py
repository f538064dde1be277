"""Dates in the Extended Date/Time Format (ISO 8601-2; the Library of Congress's levels 0 to 2).

The `edtf` package knows the grammar; here its objects become spans. It is slow to load and to parse (some
milliseconds a date), so that this module is imported only when a date is nothing simpler.

Approximate (`~`) and uncertain and approximate (`%`) dates are read like GEDCOM's ABT, an uncertain one (`?`) as it
stands but doubtful. `[a..b]` and `a/b` are a first and a last day, sets the span from the first to the last member,
seasons those of the northern hemisphere.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import edtf

from kinphoto.errors import InvalidValueError
from kinphoto.reason.span import Dated, Shape, Span
from kinphoto.tree.calendars import LAST_YEAR, day_number, month_length
from kinphoto.tree.dates import approximate

_LOOKS = re.compile(r"[\[{]?[-?~%.,/\dXYEST:Z+ ]+[\]}]?")
_RANGE = re.compile(r"[\[{]([^,]*)\.\.([^,]*)[\]}]")
_SEASON = re.compile(r"(-?\d{4}-(?:2[1-9]|3\d|4[01]))([?~%])")
_OVER_NEW_YEAR = ("24", "28", "30")  # winter, northern winter, southern summer


def looks_like(text: str) -> bool:
    """Whether a text holds nothing but what EDTF is made of."""
    return _LOOKS.fullmatch(text.strip()) is not None and any(c.isdigit() or c == "X" for c in text)


def read(text: str) -> Dated | None:
    """The date, or None when the grammar does not know it.

    Raises InvalidValueError for years beyond 9999 either way, and for a date without any end.
    """
    value = "".join(text.split())
    between = _RANGE.fullmatch(value)
    if between is not None:  # the package knows such ranges of years only
        parts = [None if end == "" else _parse(end) for end in between.groups()]
        if parts == [None, None] or False in parts:
            return None
        found = _joined(*[Dated(Span()) if part is None else _dated(part, text) for part in parts])
    else:
        season = _SEASON.fullmatch(value)
        parsed = _parse(season[1] if season else value)
        if parsed is False:
            return None
        found = _dated(parsed, text)
        if season is not None:
            found = _qualified(found, approximate_=season[2] != "?", uncertain=season[2] != "~")
    if found.span == Span():
        raise InvalidValueError(f'the date "{text}" says nothing', remedy="Give a year at least on one side.")
    return replace(found, words=text)


def _parse(value: str) -> Any:
    """An object of the `edtf` package, or False."""
    try:
        return edtf.parse_edtf(value)
    except edtf.EDTFParseException:
        return False


def _dated(parsed: Any, text: str) -> Dated:
    if isinstance(parsed, edtf.Interval):
        return _joined(_end(parsed.lower, text), _end(parsed.upper, text))
    if isinstance(parsed, edtf.OneOfASet | edtf.MultipleDates):
        return _set_of(parsed, text)
    return _qualified(
        Dated(Span(_day(parsed, False, text), _day(parsed, True, text))),
        approximate_=_is(parsed, "is_approximate", "is_uncertain_and_approximate"),
        uncertain=_is(parsed, "is_uncertain", "is_uncertain_and_approximate"),
    )


def _end(part: Any, text: str) -> Dated:
    """One end of an interval; `..` and nothing at all are both open, since neither says when."""
    return Dated(Span()) if isinstance(part, edtf.UnspecifiedIntervalSection) else _dated(part, text)


def _is(parsed: Any, *flags: str) -> bool:
    return any(getattr(parsed, flag, False) for flag in flags)


def _qualified(dated: Dated, *, approximate_: bool, uncertain: bool) -> Dated:
    if approximate_ and dated.span.first is not None and dated.span.last is not None:
        dated = approximate(dated.span.first, dated.span.last)
    return replace(dated, doubtful=uncertain)


def _joined(lower: Dated, upper: Dated) -> Dated:
    """From the beginning of one to the end of the other."""
    first, last = lower.span.first, upper.span.last
    shape = Shape.BEFORE if first is None else Shape.AFTER if last is None else Shape.FLAT
    return Dated(Span(first, last), shape, doubtful=lower.doubtful or upper.doubtful)


def _set_of(parsed: Any, text: str) -> Dated:
    """From the first to the last member of a set."""
    low, high = parsed.lower_strict(), parsed.upper_strict()
    first = None if isinstance(low, float) else _number(tuple(low[:3]), text)
    last = None if isinstance(high, float) else _number(tuple(high[:3]), text)
    return _joined(Dated(Span(first, None)), Dated(Span(None, last)))


def _day(parsed: Any, last: bool, text: str) -> int:
    """First or last day of anything that is one date."""
    if isinstance(parsed, edtf.UncertainOrApproximate):
        return _day(parsed.date, last, text)
    if getattr(parsed, "season", None) in _OVER_NEW_YEAR:
        return _over_new_year(parsed, last, text)
    if getattr(parsed, "significant_digits", None):
        limit = parsed.upper_fuzzy() if last else parsed.lower_fuzzy()
    else:
        limit = parsed.upper_strict() if last else parsed.lower_strict()
    return _number(tuple(limit[:3]), text)


def _over_new_year(parsed: Any, last: bool, text: str) -> int:
    """ "Winter 1924" may be the beginning of 1924 or the winter that began in it."""
    year = int(parsed.year)
    return _number((year + 1, 2, month_length(year + 1, 2)) if last else (year, 1, 1), text)


def _number(limit: tuple[int, ...], text: str) -> int:
    year, month, day = limit
    if abs(year) > LAST_YEAR:
        raise InvalidValueError(
            f'the year of "{text}" is beyond those this program counts in', remedy="Give a year from 1 to 9999."
        )
    return day_number(year, month, min(day, month_length(year, month)))

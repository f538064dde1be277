"""Dates in the Extended Date/Time Format (ISO 8601-2; the Library of Congress's levels 0 to 2).

The `edtf` package knows the grammar of a single date; here its objects become spans. Intervals, sets and months or days
with an unspecified digit (`1923-06-0X`) are taken apart here, because the package reads few of them.

Approximate (`~`) and uncertain and approximate (`%`) dates are read like GEDCOM's ABT, uncertain ones (`?`) as they are
but doubtful. `[a..b]` and `a/b` are a first and a last day, sets the span from the first to the last member, seasons
those of the northern hemisphere.
"""

from __future__ import annotations

import re
import string
from dataclasses import replace
from itertools import product
from typing import Any

import edtf

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.approximate import approximate
from kinphoto.gedcom.calendars import LAST_YEAR, day_number, month_length
from kinphoto.reason.model.span import Dated, Shape, Span

_LOOKS = re.compile(r"[\[{]?[-?~%.,/\dXYEST:Z+ ]+[\]}]?")
_LONGEST = 200
"""Characters of the longest date that is read."""
_SET = re.compile(r"\[(.*)\]|\{(.*)\}")
_SEASON = re.compile(r"(-?\d{4}-(?:2[1-9]|3\d|4[01]))([?~%])")
_SIGNIFICANT = re.compile(r"(?P<year>\d{1,9})(?:E(?P<zeros>\d{1,3}))?S(?P<exact>\d+)")
"""A year with only its first digits exact: 1950S2."""
_OVER_NEW_YEAR = ("24", "28", "30")  # winter, northern winter, southern summer
_MASKED = re.compile(
    r"(?P<q1>[?~%]?)(?P<year>-?[\dX]{4})(?P<q2>[?~%]?)-(?P<q3>[?~%]?)(?P<month>[\dX]{2})(?P<q4>[?~%]?)"
    r"(?:-(?P<q5>[?~%]?)(?P<day>[\dX]{2})(?P<q6>[?~%]?))?"
)
_HUGE = re.compile(r"Y-?\d+E\d{2,}.*")  # would be written out in full by the package
_ENDLESS = Dated(Span())


def looks_like(text: str) -> bool:
    """Whether a text holds nothing but characters of EDTF."""
    plain = text.strip()
    return (
        len(plain) <= _LONGEST and _LOOKS.fullmatch(plain) is not None and any(c.isdigit() or c == "X" for c in plain)
    )


def read(text: str) -> Dated | None:
    """The date, or None when the grammar does not know it.

    Raises InvalidValueError for years beyond 9999 either way, and for a date without any end.
    """
    value = "".join(text.split())
    one_of = _SET.fullmatch(value)
    if one_of is not None:
        found = _set(one_of[1] if one_of[1] is not None else one_of[2], text)
    elif "/" in value:
        found = _between(value.split("/"), text)
    else:
        found = _single(value, text)
    if found is None:
        return None
    if found.span == Span():
        raise _unbounded_error(text)
    return replace(found, words=text)


def _set(members: str, text: str) -> Dated | None:
    """From the beginning of the first to the end of the last member; a member may be a range, open on one side."""
    found = [
        _between(member.split(".."), text) if ".." in member else _single(member, text) for member in members.split(",")
    ]
    if None in found:
        return None
    known = [dated for dated in found if dated is not None]
    firsts, lasts = [d.span.first for d in known], [d.span.last for d in known]
    lower = Span(None if None in firsts else min(first for first in firsts if first is not None), None)
    upper = Span(None, None if None in lasts else max(last for last in lasts if last is not None))
    return replace(_joined(Dated(lower), Dated(upper)), doubtful=any(d.doubtful for d in known))


def _between(ends: list[str], text: str) -> Dated | None:
    """From the beginning of one date to the end of another; `..` and an empty end are both open."""
    if len(ends) != 2:
        return None
    lower, upper = (_ENDLESS if end in ("", "..") else _single(end, text) for end in ends)
    return None if lower is None or upper is None else _joined(lower, upper)


def _single(value: str, text: str) -> Dated | None:
    """One date, without intervals and sets."""
    if "XXXX" in value:
        raise _unbounded_error(text)
    masked = _MASKED.fullmatch(value) if "X" in value else None
    if masked is not None:
        return _masked(masked)
    if "X" in value and "-" in value[1:]:  # the package prints its exceptions
        return None
    exact = _SIGNIFICANT.search(value)
    if exact is not None and not 1 <= int(exact["exact"]) <= len(exact["year"]) + int(exact["zeros"] or 0):
        return None  # a year has no more digits that can be exact than it has, and the package divides by zero
    season = _SEASON.fullmatch(value)
    parsed = _parse(season[1] if season else value, text)
    if parsed is None or isinstance(parsed, edtf.Interval | edtf.OneOfASet | edtf.MultipleDates):
        return None
    found = _dated(parsed, text)
    if season is not None:
        found = _qualified(found, approximate_=season[2] != "?", uncertain=season[2] != "~")
    return found


def _masked(found: re.Match[str]) -> Dated | None:
    """A date with unspecified digits: from the first to the last day it can mean."""
    year, month, day = found["year"], found["month"], found["day"] or "XX"
    first, last = (_outermost_day(year, month, day, step) for step in (1, -1))
    if first is None or last is None:
        return None
    marks = {found[f"q{number}"] for number in range(1, 7)}
    return _qualified(
        Dated(Span(first, last)), approximate_=not marks.isdisjoint("~%"), uncertain=not marks.isdisjoint("?%")
    )


def _outermost_day(year: str, month: str, day: str, step: int) -> int | None:
    """The first (`step` 1) or last (-1) day with these digits, X for any; None when there is none."""
    sign = -1 if year.startswith("-") else 1
    each = [string.digits if digit == "X" else digit for digit in year.lstrip("-")]
    years = sorted(sign * int("".join(digits)) for digits in product(*each))
    for y in years[::step]:
        for m in range(1, 13)[::step]:
            if _fits(month, m):
                for d in range(1, month_length(y, m) + 1)[::step]:
                    if _fits(day, d):
                        return day_number(y, m, d)
    return None


def _fits(digits: str, number: int) -> bool:
    """Whether a number has these digits, X for any."""
    written = f"{number:0{len(digits)}d}"
    return all(wanted in ("X", found) for wanted, found in zip(digits, written, strict=True))


def _parse(value: str, text: str) -> Any:
    """An object of the `edtf` package, or None."""
    if _HUGE.fullmatch(value):
        raise _out_of_range_error(text)
    try:
        return edtf.parse_edtf(value)
    except Exception:  # its grammar raises ParseException; the objects built from it can fail in other ways
        return None


def _dated(parsed: Any, text: str) -> Dated:
    return _qualified(
        Dated(Span(_day(parsed, False, text), _day(parsed, True, text))),
        approximate_=_is(parsed, "is_approximate", "is_uncertain_and_approximate"),
        uncertain=_is(parsed, "is_uncertain", "is_uncertain_and_approximate"),
    )


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


def _day(parsed: Any, last: bool, text: str) -> int:
    """The first or last day of a single date."""
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
        raise _out_of_range_error(text)
    return day_number(year, month, min(day, month_length(year, month)))


def _unbounded_error(text: str) -> InvalidValueError:
    return InvalidValueError(f'the date "{text}" names no year', remedy="Give a year on at least one side.")


def _out_of_range_error(text: str) -> InvalidValueError:
    return InvalidValueError(f'the year of "{text}" is out of range', remedy="Give a year from 1 to 9999.")

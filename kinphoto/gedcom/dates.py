"""Dates as people write them, read as a span of days and a shape of likelihood.

Trees write GEDCOM dates, spreadsheets and people also EDTF and everyday English. All become a `Dated`. Results are
cached by the text, since a tree repeats its dates.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import lru_cache
from textwrap import shorten
from typing import Any, NamedTuple

from ged4py.calendar import CalendarDate
from ged4py.date import DateValue, DateValueTypes

from kinphoto.errors import ImpossibleDateError, InvalidValueError, UnclearDateError
from kinphoto.gedcom import edtf, on_photographs, spelling, vernacular
from kinphoto.gedcom.approximate import WIDENING, approximate
from kinphoto.gedcom.calendars import MONTHS, days_of, year_month_day
from kinphoto.gedcom.wording import words
from kinphoto.reason.model.span import Dated, Shape, Span

_PERHAPS = re.compile(r"^(?:PERHAPS|PROBABLY|MAYBE|POSSIBLY|PRESUMABLY)\b ?|\s*\(\?\)$|[ ?]+$")
_WRAPPED = re.compile(r"\[([^\[\].,]*|[^\[\]]*[A-Z][^\[\]]*)\]|\(([^()]*)\)")
_PLAIN_DAY = re.compile(r"(\d{1,2}) ([A-Z]{3}) (\d{4})")
_MONTHS = {name: number for number, name in enumerate(MONTHS, 1)}
_LONGEST = 200
"""Letters of the longest date."""
_REMEDY = on_photographs.REMEDY


class ParsedDate(NamedTuple):
    """A date as read, and a warning about it ("" when all is well)."""

    dated: Dated
    warning: str = ""


class _NoSuchDateError(Exception):
    """A day, month or year that no calendar has. Never leaves this module."""


class _BackwardsError(Exception):
    """A range whose second date comes before its first. `turned` is the range with the two swapped."""

    def __init__(self, turned: Dated) -> None:
        super().__init__(turned)
        self.turned = turned


@lru_cache(maxsize=1 << 14)
def read_gedcom(text: str) -> ParsedDate:
    """Read the value of a GEDCOM DATE line (5.5.1 or 7.0).

    What cannot be read is kept as words with an open span; `warning` then says why. A phrase in brackets is standard
    and gets no warning.
    """
    dated = _plain_day(text)
    if dated is not None:
        return ParsedDate(dated)
    value = spelling.standard(text)
    try:
        dated = _read(value, text)
        if dated is not None:
            return ParsedDate(dated)
        dated = _read_human(value, text) or _read_human(spelling.two_days(value), text) or _read_edtf_inside(text)
    except _NoSuchDateError as problem:
        return ParsedDate(_phrase(text), f'there is no such date as "{problem}"; kept as text')
    except _BackwardsError as problem:
        return ParsedDate(problem.turned, f'"{text}" ends before it begins; the two dates were swapped')
    if dated is not None:
        return ParsedDate(dated, f'"{text}" is not a standard date; understood as {words(dated)}')
    if not value or (value.startswith("(") and value.endswith(")")):
        return ParsedDate(_phrase(text))
    return ParsedDate(_phrase(text), f'the date "{text}" cannot be understood; kept as text')


@lru_cache(maxsize=1 << 13)
def parse_date(text: str, shown: str | None = None) -> Dated:
    """Read a date that a person gave: GEDCOM, EDTF, or everyday English such as "about 1900".

    `shown` is what the person wrote, where `text` is not. Raises InvalidValueError when it is none of them, is a phrase
    without a date, or names a day that never was.
    """
    shown = text if shown is None else shown
    _refuse_long(text)
    wrapped = _WRAPPED.fullmatch(text.strip().upper())
    value = spelling.standard(next(part for part in wrapped.groups() if part is not None) if wrapped else text)
    backwards = InvalidValueError(f'the date "{shown}" ends before it begins', remedy="Put the earlier date first.")
    try:
        dated = _read(value, text) or _read_plain_iso(value, text) or _read_edtf(text) or _read_human(value, text)
    except _NoSuchDateError as problem:
        raise ImpossibleDateError(f'there is no such date as "{problem}"', remedy=_REMEDY) from problem
    except _BackwardsError as problem:
        raise backwards from problem
    if dated is None:
        on_photographs.refuse_incomplete(value, shown)
        what = f'the date "{shown}" cannot be understood' if value else "the date is empty"
        raise InvalidValueError(what, remedy=_REMEDY)
    if dated.span.empty:
        raise backwards
    return dated


def parse_photograph_date(text: str, today: date) -> Dated:
    """Read a date that a person gave for a photograph, in any of these ways or as people say it: "the thirties".

    Raises UnclearDateError when it has several meanings, ImpossibleDateError when it is entirely before photography or
    after `today`, InvalidValueError when it is not a date; each with what was probably meant.
    """
    _refuse_long(text)
    try:
        dated = parse_date(on_photographs.in_full(text, today), text)
    except UnclearDateError as unclear:
        dated = _only_possible(text, unclear, today)
    first, last = dated.span.first, dated.span.last
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        first = last = int(dated.centre)
    if first is not None and first > today.toordinal():
        raise _impossible(text, first, "that is in the future", today)
    if last is not None and last < date(on_photographs.FIRST_YEAR, 1, 1).toordinal():
        raise _impossible(text, last, f"there are no photographs from before {on_photographs.FIRST_YEAR}", today)
    return replace(dated, words=text)


def _refuse_long(text: str) -> None:
    if len(text) > _LONGEST:
        what = f'"{shorten(text[:_LONGEST], 50, placeholder=" …")}" is too long for a date'
        raise InvalidValueError(what, remedy=_REMEDY)


def _only_possible(text: str, unclear: UnclearDateError, today: date) -> Dated:
    """The one choice that can be: "Xmas '26" is 1926 until Christmas 2026. Raises UnclearDateError where several can,
    InvalidValueError where none does."""
    possible = {}
    for choice in unclear.choices:
        with suppress(InvalidValueError):
            possible[choice] = parse_photograph_date(choice, today)
    if not possible:
        raise InvalidValueError(f'the date "{text}" cannot be understood', remedy=_REMEDY)
    if len(possible) == 1 and not unclear.otherwise:
        return next(iter(possible.values()))
    if len(possible) == len(unclear.choices):
        raise unclear
    raise UnclearDateError(text, list(possible), otherwise=unclear.otherwise, remedy=unclear.remedy)


def _impossible(text: str, day: int, why: str, today: date) -> ImpossibleDateError:
    meant = on_photographs.meant_instead(year_month_day(day)[0], today)
    return ImpossibleDateError(f'"{text}" cannot be: {why}', remedy=f"Did you mean {meant}?" if meant else _REMEDY)


def _plain_day(text: str) -> Dated | None:
    """A day such as 2 MAY 1917, the commonest date in a tree, without using the whole grammar."""
    found = _PLAIN_DAY.fullmatch(text)
    month = _MONTHS.get(found[2]) if found else None
    if found is None or month is None:
        return None
    try:
        exact = date(int(found[3]), month, int(found[1])).toordinal()
    except ValueError:
        return None
    return Dated(Span(exact, exact), words=text)


def _phrase(text: str) -> Dated:
    return Dated(Span(), words=text)


def _read(value: str, text: str) -> Dated | None:
    """A date value of GEDCOM 5.5.1 in capitals; None when it is something else."""
    if "/" in value:  # a dual year was replaced by a year already
        return None
    try:
        parsed: Any = DateValue.parse(value)
    except ValueError:  # an unknown calendar
        return None
    kind = parsed.kind
    if kind is DateValueTypes.PHRASE or not all(_month_is_known(date) for date in parsed.key()):
        return None
    if kind in (DateValueTypes.RANGE, DateValueTypes.PERIOD):
        return _range(_days(parsed.date1), _days(parsed.date2), text)
    first, last = _days(parsed.date)
    if kind in WIDENING:
        return approximate(first, last, kind, text)
    if kind in (DateValueTypes.BEFORE, DateValueTypes.TO):
        return Dated(Span(None, last), Shape.BEFORE, words=text)
    if kind in (DateValueTypes.AFTER, DateValueTypes.FROM):
        return Dated(Span(first, None), Shape.AFTER, words=text)
    return Dated(Span(first, last), words=text)


def _month_is_known(written: CalendarDate) -> bool:
    return written.month is None or written.month_num is not None


def _range(one: tuple[int, int], other: tuple[int, int], text: str) -> Dated:
    """First day of `one` to last day of `other`. Raises _BackwardsError."""
    span = Span(one[0], other[1])
    if span.empty:
        raise _BackwardsError(Dated(Span(other[0], one[1]), words=text))
    return Dated(span, words=text)


def _days(written: CalendarDate) -> tuple[int, int]:
    """First to last day of one written date. Raises _NoSuchDateError."""
    year = 1 - written.year if written.bc else written.year
    days = days_of(written.calendar, year, written.month_num, written.day) if written.year else None
    if days is None:
        raise _NoSuchDateError(written.original)
    return days


def _read_human(value: str, text: str) -> Dated | None:
    """What people write instead of GEDCOM, including a question mark after it or "perhaps" before it."""
    english = vernacular.in_english(value)
    sure = _PERHAPS.sub("", _PERHAPS.sub("", english))
    plain = spelling.human(sure)
    dated = _read(plain, text) or (_about(plain[4:], text) if plain.startswith("ABT ") else None)
    return dated if dated is None or sure == english else replace(dated, doubtful=True)


def _about(rest: str, text: str) -> Dated | None:
    """ "About" more than GEDCOM has a word for: a decade, a range, a season."""
    inner = _read(spelling.human(rest), text)
    if inner is None or inner.shape is not Shape.FLAT or inner.span.first is None or inner.span.last is None:
        return inner
    return approximate(inner.span.first, inner.span.last, text=text)


def _read_plain_iso(value: str, text: str) -> Dated | None:
    """A whole ISO day, common in spreadsheets, without loading the EDTF grammar."""
    whole = len(value) == 10 and value.replace("-", "").isdigit()
    return _read(spelling.human(value), text) if whole else None


def _read_edtf_inside(text: str) -> Dated | None:
    """EDTF in a tree file; one that says nothing, or ends before it begins, does not count as a date."""
    try:
        dated = _read_edtf(text)
    except InvalidValueError:
        return None
    return None if dated is None or dated.span.empty else dated


def _read_edtf(text: str) -> Dated | None:
    """EDTF, whose grammar is slow to load and rarely needed."""
    return edtf.read(text) if edtf.looks_like(text) else None

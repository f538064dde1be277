"""The calendars of a GEDCOM date, each turned into days of one line: proleptic Gregorian ordinals.

`convertdate` knows the calendars; this module adds what family trees need: a date may lack its day or its month and
then covers all of them, and a day that never was (31 February) is not a date. Years are astronomical: 0 is 1 B.C., -1
is 2 B.C.
"""

from __future__ import annotations

import calendar as civil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from convertdate import french_republican, hebrew, julian
from ged4py.calendar import CalendarType

_JULIAN_DAY_OF_ORDINAL_0 = 1721424.5  # 31 December of 1 B.C., midnight
_CYCLE_YEARS, _CYCLE_DAYS = 400, 146097  # after 400 years the Gregorian calendar repeats itself
LAST_YEAR = 9999
MONTH_NAMES = "January February March April May June July August September October November December".split()
MONTHS = tuple(name[:3].upper() for name in MONTH_NAMES)
"""The months as GEDCOM writes them."""


def day_number(year: int, month: int, day: int) -> int:
    """The ordinal of a proleptic Gregorian day of any year. Raises ValueError when there is no such day."""
    cycles = 0 if 1 <= year <= LAST_YEAR else (year - 2000) // _CYCLE_YEARS
    return date(year - cycles * _CYCLE_YEARS, month, day).toordinal() + cycles * _CYCLE_DAYS


def year_month_day(day: int) -> tuple[int, int, int]:
    """The proleptic Gregorian year, month and day of an ordinal, of any year."""
    cycles = 0 if 1 <= day <= date.max.toordinal() else (day - 730_000) // _CYCLE_DAYS
    found = date.fromordinal(day - cycles * _CYCLE_DAYS)
    return found.year + cycles * _CYCLE_YEARS, found.month, found.day


def month_length(year: int, month: int) -> int:
    """Days in a month of the Gregorian calendar."""
    return civil.monthrange(2000 + year % _CYCLE_YEARS, month)[1]


def years_later(day: int, years: int) -> int:
    """The same day of the year `years` years later (earlier when negative); 29 February may become the 28th."""
    year, month, of_month = year_month_day(day)
    return day_number(year + years, month, min(of_month, month_length(year + years, month)))


ERAS = {
    "明治": ((1868, 1, 25), (1912, 7, 29)), "大正": ((1912, 7, 30), (1926, 12, 24)),
    "昭和": ((1926, 12, 25), (1989, 1, 7)),
    "平成": ((1989, 1, 8), (2019, 4, 30)), "令和": ((2019, 5, 1), (LAST_YEAR, 12, 31)),
}  # fmt: skip
"""The first and last days of Japanese eras, from memory; the first year of each is the one when it began."""
REPUBLIC_OF_CHINA = ("民國", "民国", "中華民國", "中华民国")
_BEFORE_REPUBLIC = 1911
_LATEST_NEW_YEAR = 51
"""Days of January and February on which a lunisolar year may still end."""
_LUNISOLAR_MEIJI = 5
"""The last year of Meiji whose months were of the lunisolar calendar; 1 January 1873 was the first day of the sixth."""


def days_of_era(era: str, year: int, month: int | None = None, day: int | None = None) -> tuple[int, int] | None:
    """First to last day of a year, a month or a day of an era of Japan or of the Republic of China; None where the era
    had no such day, and for a month of a lunisolar year, whose own days may be in the Gregorian year after it."""
    if era in REPUBLIC_OF_CHINA:
        return days_of(CalendarType.GREGORIAN, _BEFORE_REPUBLIC + year, month, day) if year >= 1 else None
    begin, end = (day_number(*limit) for limit in ERAS[era])
    lunisolar = era == "明治" and year <= _LUNISOLAR_MEIJI
    if year < 1 or (lunisolar and month is not None):
        return None
    days = days_of(CalendarType.GREGORIAN, ERAS[era][0][0] + year - 1, month, day)
    if days is None or days[0] > end or days[1] < begin:
        return None
    if lunisolar:
        return max(days[0], begin), days[1] + (_LATEST_NEW_YEAR if year < _LUNISOLAR_MEIJI else 0)
    return max(days[0], begin), min(days[1], end)


@dataclass(frozen=True, slots=True)
class _Rules:
    """How one calendar counts: months are numbered 1.. in the order of its year."""

    day: Callable[[int, int, int], int]
    months: Callable[[int], int]
    length: Callable[[int, int], int]
    first_year: int
    last_year: int


def _julian_day(year: int, month: int, day: int) -> int:
    return int(julian.to_jd(year, month, day) - _JULIAN_DAY_OF_ORDINAL_0)


def _french_day(year: int, month: int, day: int) -> int:
    return int(french_republican.to_jd(year, month, day) - _JULIAN_DAY_OF_ORDINAL_0)


def _french_length(year: int, month: int) -> int:
    return 30 if month < 13 else 6 if french_republican.leap(year) else 5


def _hebrew_month(year: int, month: int) -> int:
    """convertdate counts months from Nisan; the year, and GEDCOM, begin with Tishri."""
    in_order: list[int] = [*range(hebrew.TISHRI, hebrew.year_months(year) + 1), *range(hebrew.NISAN, hebrew.TISHRI)]
    return in_order[month - 1]


def _hebrew_day(year: int, month: int, day: int) -> int:
    new_year = int(hebrew.to_jd(year, hebrew.TISHRI, 1) - _JULIAN_DAY_OF_ORDINAL_0)
    return new_year + sum(_hebrew_length(year, m) for m in range(1, month)) + day - 1


def _hebrew_length(year: int, month: int) -> int:
    return int(hebrew.month_length(year, _hebrew_month(year, month)))


_RULES = {
    CalendarType.GREGORIAN: _Rules(day_number, lambda _: 12, month_length, -LAST_YEAR, LAST_YEAR),
    CalendarType.JULIAN: _Rules(_julian_day, lambda _: 12, julian.month_length, -LAST_YEAR, LAST_YEAR),
    CalendarType.FRENCH_R: _Rules(_french_day, lambda _: 13, _french_length, 1, 300),
    CalendarType.HEBREW: _Rules(_hebrew_day, hebrew.year_months, _hebrew_length, 1, LAST_YEAR),
}


def days_of(
    calendar: CalendarType, year: int, month: int | None = None, day: int | None = None
) -> tuple[int, int] | None:
    """First to last day of a year, a month or a day of `calendar`; None when there is no such date.

    Months are numbered in the order of GEDCOM. A Hebrew year of twelve months has one Adar, under either of its names.
    """
    rules = _RULES[calendar]
    if not rules.first_year <= year <= rules.last_year:
        return None
    months = rules.months(year)
    if calendar is CalendarType.HEBREW and months == 12 and month is not None and month > 6:
        month -= 1  # ADS is ADR, and what follows moves up
    if month is None:
        return rules.day(year, 1, 1), rules.day(year, months, rules.length(year, months))
    if not 1 <= month <= months:
        return None
    length = rules.length(year, month)
    if day is None:
        return rules.day(year, month, 1), rules.day(year, month, length)
    if not 1 <= day <= length:
        return None
    exact = rules.day(year, month, day)
    return exact, exact

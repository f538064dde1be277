"""Everyday dates, in capitals and in English, as GEDCOM: "SUMMER 1931", "EARLY 1930S", "WHITSUN 1900".

These mean the same in a tree and on a photograph. What only somebody with a photograph in their hands can mean, such as
"the thirties", is in `on_photographs`; other languages are put into English by `vernacular`. The years behind the words
are judgements of the project, listed in a table of docs/method.md. Seasons are those of the northern hemisphere, as in
`edtf`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from kinphoto.gedcom import feasts
from kinphoto.gedcom.calendars import MONTHS, month_length
from kinphoto.gedcom.vernacular import PLAIN

_SEASONS = {"SPRING": (3, 5), "SUMMER": (6, 8), "AUTUMN": (9, 11)}
_PARTS = {"EARLY": 0, "MID": 1, "LATE": 2}
_OF_A_MONTH = ((1, 10), (11, 20), (21, 31))
_OF_A_SEASON = ((-1, 1), (0, 2), (1, 3))
"""From the middle of the month this many months after the season begins: each part is two months long."""
_OF_A_YEAR = ((1, 4), (5, 8), (9, 12))
_OF_A_DECADE = ((0, 4), (3, 7), (5, 9))
_OF_A_CENTURY = ((0, 30), (40, 60), (70, 99))
_EARLY_HUNDREDS = 14
""" "Early 1900s" are the first fifteen years, whether a decade or a century is meant."""


def in_gedcom(text: str) -> str:
    """The date in GEDCOM; anything else stays as it was."""
    for pattern, convert in _FORMS:
        found = pattern.fullmatch(text)
        if found is not None:
            return convert(found)
    return text


def _ends(text: str) -> tuple[str, str] | None:
    """The first and the last date of one that is a range in GEDCOM, or that date twice; None for anything else."""
    plain = in_gedcom(text)
    found = _RANGE.fullmatch(plain)
    return (found["first"], found["last"]) if found else (plain, plain) if PLAIN.fullmatch(plain) else None


def _on_one_side(found: re.Match[str]) -> str:
    """ "Before Christmas 1930": like a year or a month, what is named may be meant too."""
    ends = _ends(found["rest"])
    if ends is None:
        return found[0]
    inclusive = ends[1] if found["side"] in ("BEF", "TO") else ends[0]
    if found["rest"][-2:] == "0S" and found["side"] in ("BEF", "AFT"):  # nobody says "before the thirties" of 1935
        inclusive = ends[0] if found["side"] == "BEF" else ends[1]
    return f"{found['side']} {inclusive}"


def _between(found: re.Match[str]) -> str:
    """ "Between Easter 1930 and summer 1931"."""
    first, last = _ends(found["first"]), _ends(found["last"])
    return found[0] if first is None or last is None else f"BET {first[0]} AND {last[1]}"


def _years(first: int, last: int) -> str:
    return f"BET {first} AND {last}"


def _season(found: re.Match[str]) -> str:
    year = int(found["year"])
    first, last = _SEASONS[found["season"]]
    return f"BET {MONTHS[first - 1]} {year} AND {MONTHS[last - 1]} {year}"


def _two_seasons(found: re.Match[str]) -> str:
    """ "Spring/summer 1931"; a winter that comes second begins in that year."""
    year, last = int(found["year"]), found["other"]
    first = MONTHS[_SEASONS[found["season"]][0] - 1]
    end = f"FEB {year + 1}" if last == "WINTER" else f"{MONTHS[_SEASONS[last][1] - 1]} {year}"
    return f"BET {first} {year} AND {end}"


def _winter(found: re.Match[str]) -> str:
    """One that began or ended in that year."""
    year = int(found["year"])
    return f"BET DEC {year - 1} AND FEB {year + 1}"


def _feast(found: re.Match[str]) -> str:
    days = feasts.days_of(_FEASTS[found["feast"]], int(found["year"]))
    if days is None:
        return found[0]
    first, last = (_day(day) for day in days)
    return first if first == last else f"BET {first} AND {last}"


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _part_of_a_month(found: re.Match[str]) -> str:
    first, last = _OF_A_MONTH[_PARTS[found["part"]]]
    month, year = found["month"], int(found["year"])
    if not year:
        return found[0]
    last = min(last, month_length(year, MONTHS.index(month) + 1))
    return f"BET {first} {month} {year} AND {last} {month} {year}"


def _part_of_a_season(found: re.Match[str]) -> str:
    first, last = (_SEASONS[found["season"]][0] + months for months in _OF_A_SEASON[_PARTS[found["part"]]])
    return f"BET 16 {MONTHS[first - 1]} {found['year']} AND 15 {MONTHS[last - 1]} {found['year']}"


def _part_of_a_year(found: re.Match[str]) -> str:
    first, last = _OF_A_YEAR[_PARTS[found["part"]]]
    return f"BET {MONTHS[first - 1]} {found['year']} AND {MONTHS[last - 1]} {found['year']}"


def _part_of_a_decade(found: re.Match[str]) -> str:
    start, part = int(found["year"]), _PARTS[found["part"]]
    if start % 100:
        first, last = _OF_A_DECADE[part]
    else:
        first, last = (0, _EARLY_HUNDREDS) if part == 0 else _OF_A_CENTURY[part]
    return _years(start + first, start + last)


def _part_of_a_century(found: re.Match[str]) -> str:
    start = 100 * (int(found["number"]) - 1)
    first, last = _OF_A_CENTURY[_PARTS[found["part"]]] if found["part"] else (0, 99)
    return _years(start + first, start + last)


def _decade(found: re.Match[str]) -> str:
    return _years(int(found["year"]), int(found["year"]) + 9)


def _decades(found: re.Match[str]) -> str:
    first, last = int(found["year"]), found["other"]
    return _years(first, (int(last) if len(last) == 4 else first // 100 * 100 + int(last)) + 9)


_RANGE = re.compile(r"BET (?P<first>.+) AND (?P<last>.+)")
_YEAR = r"(?P<year>\d{4})"
_DECADE = r"(?P<year>\d{3}0)S"
_PART = r"(?P<part>EARLY|MID|LATE)[ -](?:THE )?"
_MONTH = f"(?P<month>{'|'.join(MONTHS)})"
_FEASTS = {name.upper(): name for name in sorted(feasts.FEASTS, key=len, reverse=True)}
_FEAST = f"(?P<feast>{'|'.join(_FEASTS)})"
_SEASON = f"(?P<season>{'|'.join(_SEASONS)})"
_FORMS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str]], ...] = tuple(
    (re.compile(form), convert)
    for form, convert in (
        (rf"{_SEASON} {_YEAR}", _season),
        (rf"{_YEAR} {_SEASON}", _season),
        (rf"{_SEASON} ?(?:/|-|–|OR|AND) ?(?P<other>{'|'.join(_SEASONS)}|WINTER) {_YEAR}", _two_seasons),
        (rf"(?:{_PART})?WINTER {_YEAR}", _winter),
        (rf"{_YEAR} WINTER", _winter),
        (rf"{_FEAST} {_YEAR}", _feast),
        (rf"{_YEAR} {_FEAST}", _feast),
        (rf"{_PART}{_MONTH} {_YEAR}", _part_of_a_month),
        (rf"{_PART}{_SEASON} {_YEAR}", _part_of_a_season),
        (rf"{_PART}{_YEAR}", _part_of_a_year),
        (rf"{_PART}{_DECADE}", _part_of_a_decade),
        (rf"(?:{_PART})?(?P<number>\d\d) CENTURY", _part_of_a_century),
        (_DECADE, _decade),
        (r"(?P<side>BEF|AFT|TO|FROM) (?P<rest>[A-Z].+|\d{3}0S)", _on_one_side),
        (_RANGE.pattern, _between),
        (rf"{_DECADE} ?(?:-|–|—|/|OR|TO|AND) ?(?P<other>(?:\d\d)?\d0)S", _decades),
    )
)

"""Dates that somebody gives for a photograph: what only they can mean, and what is refused with a better suggestion.

In a tree "05" is the year 5 and "1904/5" the English year that ended in March; on the back of a photograph they are
1905 and either year. What has two meanings is refused with both, since whoever types it knows which. All texts are in
capitals here, as in `spelling`.
"""

from __future__ import annotations

import re
from datetime import date
from functools import partial
from typing import Protocol

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.calendars import MONTH_NAMES, MONTHS, month_length

FIRST_YEAR = 1826
"""The year of the oldest surviving photograph from nature."""
WAYS = "1931, June 1931, 12 June 1931, about 1931, 1931?, the 1930s, before 1914 or 1930 to 1935"
REMEDY = f"Write it like {WAYS}."

_NAMES = dict(zip(MONTHS, MONTH_NAMES, strict=True))
_MONTH = (
    r"(?P<month>JAN(?:UARY)?|FEB(?:RUARY)?|MAR(?:CH)?|APR(?:IL)?|MAY|JUNE?|JULY?|AUG(?:UST)?|SEPT?(?:EMBER)?|"
    r"OCT(?:OBER)?|NOV(?:EMBER)?|DEC(?:EMBER)?)\.?"
)
_DECADES = {
    "TWENTIES": 20, "THIRTIES": 30, "FORTIES": 40, "FIFTIES": 50, "SIXTIES": 60, "SEVENTIES": 70, "EIGHTIES": 80,
    "NINETIES": 90, "TEENS": 10,
}  # fmt: skip
_CLOSE = 3
"""Years that "shortly before" lasts (a judgement of the project)."""
_LONGEST_RANGE = 50
"""The longest range with a shortened end, in years: 1923-21 is a season in EDTF."""
_LONG_AGO, _EARLIEST_DECADE, _LATEST_DECADE = 60, 20, 80
""" '60 may be 1860; but "the sixties" means the 1960s, while the 1910s, 1890s and 1990s have to be given in full."""


def in_full(text: str, today: date) -> str:
    """The date with its years in full and a single meaning, for `dates.parse_date`.

    Raises InvalidValueError for what is not a date, and for what has two meanings.
    """
    value = " ".join(text.upper().replace("’", "'").split()).rstrip(".,;!")
    for pattern, remedy in _REFUSED:
        if pattern.search(value):
            raise InvalidValueError(f'"{text}" is not a date', remedy=remedy)
    value = _war(value, text)
    for pattern, change in _CHANGES:
        value = pattern.sub(change if isinstance(change, str) else partial(change, text=text, today=today), value)
    return value


def meant_instead(year: int, today: date) -> str:
    """The years that somebody may have meant by an impossible one: "1905", "1850 or 1950"."""
    near = [century + year % 100 for century in ((1900,) if year >= today.year else (1800, 1900, 2000))]
    return " or ".join(str(other) for other in near if FIRST_YEAR <= other <= today.year and other != year)


def _year(two: str, text: str, today: date) -> int:
    """The year behind two digits. Raises InvalidValueError where it can be two."""
    short = int(two)
    if short > today.year % 100 and short < _LONG_AGO:
        return 1900 + short
    century = 2000 if short <= today.year % 100 else 1800
    both = " or ".join(str(year) for year in sorted((century + short, 1900 + short)))
    raise InvalidValueError(f'"{text}" could be {both}', remedy="Write the year in full.")


def _two_digits(found: re.Match[str], text: str, today: date) -> str:
    return f"{found['before']}{_year(found['two'], text, today)}"


def _decade(found: re.Match[str], text: str, today: date) -> str:
    """ "The thirties", "30s": those of the last century, where no other is likely."""
    word = found["word"]
    ten = _DECADES[word] if word in _DECADES else int(found["tens"])
    if _EARLIEST_DECADE <= ten <= _LATEST_DECADE:
        return f"{1900 + ten}S"
    other = f"the 18{ten}s or the 19{ten}s" if ten > _LATEST_DECADE else f"the 19{ten:02}s or the 20{ten:02}s"
    raise InvalidValueError(f'"{text}" could be {other}', remedy="Write the decade in full.")


def _day_month_year(found: re.Match[str], text: str, today: date) -> str:
    """ "12.6.31": with dots the day comes first; with slashes it is unclear unless one number is above 12."""
    one, other, year = int(found["one"]), int(found["other"]), found["year"]
    full = int(year) if len(year) == 4 else _year(year, text, today)
    orders = [(one, other)] if found["mark"] == "." and other <= 12 else [(one, other), (other, one)]
    days = list(dict.fromkeys(f"{day} {MONTHS[month - 1]} {full}" for day, month in orders if 1 <= month <= 12))
    if len(days) == 2:
        both = " or ".join(_day_in_words(day) for day in days)
        raise InvalidValueError(f'"{text}" could be {both}', remedy="Write the month as a word.")
    return days[0] if days else found[0]


def _day_in_words(day: str) -> str:
    number, month, year = day.split()
    return f"{number} {_NAMES[month]} {year}"


def _month_and_number(found: re.Match[str], text: str, today: date) -> str:
    """ "Aug. 05", "Dec. 25": a day or a year; "Jun 31" cannot be a day."""
    month, number = _NAMES[found["month"][:3]], found["number"]
    if int(number) > month_length(1904, MONTHS.index(found["month"][:3]) + 1):
        return f"{found['month'][:3]} {_year(number, text, today)}"
    years = [1900 + int(number)] + ([2000 + int(number)] if int(number) <= today.year % 100 else [])
    say = " or ".join(f"{month} {year}" for year in years)
    raise InvalidValueError(
        f'"{text}" does not give the year in full',
        remedy=f"Write {say}, or the day with its year: {int(number)} {month} 1931.",
    )


def _digit_missing(found: re.Match[str], text: str, today: date) -> str:
    """ "190?", "19--": with digits that nobody can read."""
    known = found["three"] or found["two"]
    return f"BET {known:0<4} AND {known:9<4}"


def _either_year(found: re.Match[str], text: str, today: date) -> str:
    """ "1904/5" is either year, "1914/18" and "1930-35" the years between."""
    first, short = int(found["year"]), found["short"]
    number = int(short)
    last = first - first % 10 ** len(short) + number
    last += 10 ** len(short) if last <= first else 0
    standard = found["mark"] == "-" and len(short) == 2 and number <= 12  # a month, as EDTF writes it
    if standard or last - first > _LONGEST_RANGE:
        return found[0]
    if last > first + 1 and (number <= 12 or (found["mark"] == "-" and 21 <= number <= 24)):
        other = f"{_NAMES[MONTHS[number - 1]]} {first}" if 1 <= number <= 12 else f"a season of {first}"
        raise InvalidValueError(
            f'"{text}" could be {first} to {last} or {other}',
            remedy="Write both years in full, or the month as a word.",
        )
    return f"{found['before']}{first}-{last}"


def _too_short(found: re.Match[str], text: str, today: date) -> str:
    missing = f"Write {found[0]}? if a digit cannot be read. " if len(found[0]) == 3 else ""
    raise InvalidValueError(f'"{text}" is not a year that a photograph can have', remedy=missing + REMEDY)


def _war(value: str, text: str) -> str:
    """The years of the named wars. Raises InvalidValueError for "the war"."""
    if re.fullmatch(r"BETWEEN THE (?:TWO )?(?:WORLD )?WARS|INTER-?WAR(?: YEARS)?", value):
        return "BET 1918 AND 1939"
    value = re.sub(
        r"\b(?:THE )?(?:FIRST WORLD WAR|GREAT WAR|WORLD WAR (?:I|1|ONE)|WW ?(?:I|1))\b(?! ?I)", "\N{BULLET}1", value
    )
    value = re.sub(r"\b(?:THE )?(?:SECOND WORLD WAR|WORLD WAR (?:II|2|TWO)|WW ?(?:II|2))\b", "\N{BULLET}2", value)
    found = re.fullmatch(r"(?:(BEFORE|AFTER|DURING|IN|PRE|POST)[ -])?\N{BULLET}([12])", value)
    if found is not None:
        first, last = ((1914, 1918), (1939, 1945))[int(found[2]) - 1]
        when = {"BEFORE": f"BEF {first}", "PRE": f"BEF {first}", "AFTER": f"AFT {last}", "POST": f"AFT {last}"}
        return when.get(found[1] or "", f"BET {first} AND {last}")
    if "\N{BULLET}" in value or re.search(r"\b(?:PRE|POST)?-?WAR(?:TIME)?\b", value):
        raise InvalidValueError(
            f'"{text}" names no years', remedy="Write them: 1914 to 1918, 1939 to 1945, before 1914, about 1946."
        )
    return value


def _winter(found: re.Match[str], text: str, today: date) -> str:
    year = int(found["year"])
    return f"BET DEC {year} AND FEB {year + 1}"


def _close_to(found: re.Match[str], text: str, today: date) -> str:
    year = int(found["year"])
    return f"BET {year - _CLOSE} AND {year}" if found["side"] == "BEFORE" else f"BET {year} AND {year + _CLOSE}"


_REFUSED = tuple(
    (re.compile(pattern), remedy)
    for pattern, remedy in (
        (r"^(?:\?+|UNKNOWN|UNDATED|NOT KNOWN|NO DATE|N\.? ?D|NONE|-+)$",
         "Leave the date out, and write what you know in words (--text)."),
        (r"\bWHEN\b.*\b(?:WAS|WERE)\b",
         "Give an age together with the name: kinphoto link K00001 “Ada Marsh” --stated-age 7."),
        (r"\b(?:AGO|YESTERDAY|TODAY|TOMORROW|LAST|RECENTLY)\b", REMEDY),
    )
)  # fmt: skip


class _Change(Protocol):
    def __call__(self, found: re.Match[str], /, text: str, today: date) -> str: ...


_CHANGES: tuple[tuple[re.Pattern[str], str | _Change], ...] = tuple(
    (re.compile(pattern), change)
    for pattern, change in (
        (r"(?<!\d)(?:(?P<three>\d{3})[?_–-]|(?P<two>\d\d)(?:\?\?|__|--|––))(?!\S)", _digit_missing),
        (r"^(?:THE )?(1[78])00'?S$", r"BET \g<1>00 AND \g<1>99"),
        (r"^(?:WINTER|HIVER) (?P<year>\d{4})\s?[/–-]\s?(?P<next>\d\d|\d{4})$", _winter),
        (r"^(?:A FEW YEARS|SHORTLY|JUST|SOON) (?P<side>BEFORE|AFTER) (?P<year>\d{4})$", _close_to),
        (r"(?<=\d{4})\s?\.\.+\s?(?=\d{4}$)", "-"),
        (r"^(\d{4}):?(\d\d):?(\d\d)$", r"\1-\2-\3"),
        (r"(?:\bTHE )?(?<!\d)(?P<word>'?(?P<tens>\d0)'?S|TWENTIES|THIRTIES|FORTIES|FIFTIES|SIXTIES|SEVENTIES|EIGHTIES|"
         r"NINETIES|TEENS)\b", _decade),
        (r"(?:\bDIE )?(?<!\d)(?P<word>(?P<tens>\d0)ER)(?: JAHRE)?\b", _decade),
        (r"^TURN OF THE (?:(?:20TH|TWENTIETH) )?CENTURY$", "BET 1895 AND 1905"),
        (r"^(?P<one>\d{1,2})(?P<mark>[./-])\s?(?P<other>\d{1,2})(?P=mark)\s?'?(?P<year>\d{4}|\d\d)$", _day_month_year),
        (r"(?P<before>)'(?P<two>\d\d)(?!\d)", _two_digits),
        (rf"(?P<before>^(?:\d{{1,2}}(?:ST|ND|RD|TH)? (?:OF )?{_MONTH}|{_MONTH.replace('?P<month>', '?:')} "
         r"\d{1,2}(?:ST|ND|RD|TH)?),? )(?P<two>\d\d)$", _two_digits),
        (r"(?P<before>^(?:SPRING|SUMMER|AUTUMN|FALL|WINTER|CHRISTMAS|X-?MAS|EASTER) (?:OF )?)(?P<two>\d\d)$",
         _two_digits),
        (r"(?P<before>^(?:ABOUT|AROUND|CIRCA|CA\.?|C\.?|BEFORE|AFTER|IN) ?)(?P<two>\d\d)$", _two_digits),
        (rf"^{_MONTH} (?P<number>\d{{1,2}})(?:ST|ND|RD|TH)?$", _month_and_number),
        (r"^(?P<before>)(?P<two>\d\d)(?=\??$)", _two_digits),
        (r"^(?:\d|\d{3})$", _too_short),
        (r"(?P<before>^(?:ABOUT|AROUND|CIRCA|CA\.?|C\.?|~)? ?)(?P<year>\d{4})\s?(?P<mark>[/–—-])\s?"
         r"(?P<short>\d{1,2})(?=\??$)", _either_year),
    )
)  # fmt: skip

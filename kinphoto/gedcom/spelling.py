"""The spellings of a date, changed to the one that is parsed: GEDCOM 5.5.1.

GEDCOM 7.0 writes calendars and eras as words; people write "c. 1900", "1900?", "1900-1905" or "1 January 1900" where
the standard has ABT, a phrase, BET and JAN. Those of 7.0 are standard; the others are read with a warning.
"""

from __future__ import annotations

import re

from kinphoto.gedcom import spoken, vernacular
from kinphoto.gedcom.calendars import MONTHS

_CALENDAR_WORD = re.compile(r"(?<![@#\w])(GREGORIAN|JULIAN|FRENCH_R|HEBREW)\s+")
_ESCAPE = re.compile(r"@#D([A-Z_ ]+?)@\s*")
_ESCAPE_FIRST = re.compile(r"^(@#D[A-Z ]+@ )((?:ABT|CAL|EST|INT|BEF|AFT|FROM|TO|BET) )")
_ERA = re.compile(r"\s*\b(?:BCE|B\.C\.E\.|BC|B\.C\.?)(?=\s|$)")
_DUAL = re.compile(r"(?<![\d/])(\d{3,4})/(\d{1,2})(?![\d/])")
_ISO_DAY = re.compile(r"\b(?P<year>\d{4})[-/.](?P<month>\d\d)[-/.](?P<day>\d\d)\b")
_NUMBERED_MONTH = re.compile(r"^(?P<day>)(?P<month>\d{1,2})[/.](?P<year>\d{4})$")
_DOTTED_DAY = re.compile(r"\b(?P<day>\d{1,2})\.\s?(?P<month>\d{1,2})\.\s?(?P<year>\d{4})\b")
_SLASHED_DAY = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_SHORT_YEARS = re.compile(r"^(\d\d)(\d\d)\s?[-–—/]\s?(\d\d)$")
_DECADE = re.compile(r"^(\d{3})0S$")
_WEEKDAY = re.compile(rf"^(?:{'|'.join(vernacular.WEEKDAYS)}) ")
_DAYS_OF_A_MONTH = re.compile(r"^(\d{1,2})\.? ?(?:[-–—/&+]|AND|TO) ?(\d{1,2}) ([A-Z]{3}) (\d{4})$")
_MONTHS_OF_A_YEAR = re.compile(r"^([A-Z]{3})\s?[-–—/]\s?([A-Z]{3}) (\d{4})$")
_TWICE = re.compile(r"^(?:ABT|EST|CAL) (?=(?:ABT|BEF|AFT|BET|EST|CAL) )")
_JOINED = (
    (re.compile(r"^(\d{1,2})-([A-Z]{3})-(\d{4})$"), r"\1 \2 \3"),
    (re.compile(r"^([A-Z]{3})[-/](\d{4})$"), r"\1 \2"),
    (re.compile(r"^(ABT|BEF|AFT|EST|CAL)(?=\d)"), r"\1 "),
    (re.compile(r"^A\.?D\.? (?=\d)|(?<=\d) A\.?D\.?$"), ""),
    (re.compile(r"(?<=[A-Z]{3} )(\d{4})/(\d{4})$"), lambda m: m[2] if int(m[2]) == int(m[1]) + 1 else m[0]),
)
_YEARS = re.compile(r"^(\d{4})\s*(?:-|–|—|\bTO\b|/)\s*(\d{4})$")
_AT = re.compile(r"^(?:SOME ?TIME )?(?:(?:IN|ON|DURING|AT) (?:THE )?|THE )(?=[\dA-Z])")
_WORDS = (
    (
        re.compile(
            r"^(?:(?:C|CA|ABT|APPROX)\.\s*|~\s*|(?:CA|CIRCA|ABOUT|AROUND|APPROXIMATELY|APPROX|ROUGHLY)(?:\s+|(?=\d)))"
            r"(?:THE )?(?=[\d@A-Z])"
        ),
        "ABT ",
    ),
    (re.compile(r"^(\d{4}) (?:CA\.?|CIRCA|APPROX\.?)$"), r"ABT \1"),
    (re.compile(r"^C\s*(?=\d)"), "ABT "),
    (re.compile(r"^(?:BEFORE|BEF\.|BY|<)\s*"), "BEF "),
    (re.compile(r"^(?:AFTER|AFT\.|>)\s*"), "AFT "),
    (re.compile(r"^SINCE\s+"), "FROM "),
    (re.compile(r"^(?:UNTIL|TILL)\s+"), "TO "),
    (re.compile(r"^(?:BETWEEN|BTW\.?|BET\.)\s+"), "BET "),
    (re.compile(r"^(?:EST\.|ESTIMATED)\s*"), "EST "),
    (re.compile(r"^(?:CAL\.|CALC\.?|CALCULATED)\s*"), "CAL "),
)


def standard(text: str) -> str:
    """A date value in capitals with single blanks, 7.0 spellings turned into those of 5.5.1, and a dual year
    (1699/00) into the later year."""
    text = " ".join(text.upper().split())
    if text.isalnum() or not _needs_more(text):
        return text
    text = _CALENDAR_WORD.sub(lambda m: f"@#D{m[1].replace('_', ' ')}@ ", text)
    text = _ESCAPE.sub(lambda m: f"@#D{m[1].replace('_', ' ')}@ ", text)
    text = _ESCAPE_FIRST.sub(r"\2\1", text)
    text = _ERA.sub(" B.C.", text)
    return _DUAL.sub(later_year, text)


def _needs_more(text: str) -> bool:
    return any(mark in text for mark in ("@", "/", ".", "BC", "JULIAN", "GREG", "FRENCH", "HEBREW"))


def later_year(dual: re.Match[str]) -> str:
    """1699/00 is 1700; a pair that is not of successive years is not a dual year and stays as it is."""
    following = int(dual[1]) + 1
    return str(following) if following % 10 ** len(dual[2]) == int(dual[2]) else dual[0]


def human(text: str) -> str:
    """The same for the commonest ways to write a date, in English and the languages of `vernacular`;
    anything else stays as it was. `text` has gone through `standard`."""
    english = vernacular.in_english(" ".join(text.split()).replace(",", ""))
    text = _AT.sub("", _WEEKDAY.sub("", english).replace(" OF ", " "))
    for pattern, word in _WORDS:
        text = pattern.sub(word, text)
    for pattern, plain in _JOINED:
        text = pattern.sub(plain, text)
    for pattern in (_ISO_DAY, _NUMBERED_MONTH, _DOTTED_DAY):
        text = pattern.sub(_with_month_name, text)
    text = re.sub(r"\b([A-Z]{3}) (\d{1,2}) (\d{4})\b", r"\2 \1 \3", text)  # May 2 1917
    text = re.sub(r"^BET (.+?) ?(?:-|–|—|&|TO) ?(.+)$", r"BET \1 AND \2", text)
    text = _TWICE.sub("", re.sub(r"^(BEF|AFT) (?:ABT|C\.|CA\.?|CIRCA|ABOUT)\s*", r"\1 ", text))
    text = _DECADE.sub(r"BET \g<1>0 AND \g<1>9", text)
    text = _SHORT_YEARS.sub(_short_years, text)
    text = _MONTHS_OF_A_YEAR.sub(r"BET \1 \3 AND \2 \3", text)
    text = _DAYS_OF_A_MONTH.sub(r"BET \1 \3 \4 AND \2 \3 \4", text)
    return spoken.in_gedcom(_YEARS.sub(r"BET \1 AND \2", text))


def two_days(text: str) -> str:
    """3/4/1900 is 3 April to some and 4 March to others: the span of both, or the only one that exists; else as it
    was."""
    found = _SLASHED_DAY.fullmatch(text)
    if found is None:
        return text
    one, other, year = int(found[1]), int(found[2]), found[3]
    days = [
        f"{day} {MONTHS[month - 1]} {year}" for month, day in sorted({(one, other), (other, one)}) if 1 <= month <= 12
    ]
    return days[0] if len(days) == 1 else f"BET {days[0]} AND {days[1]}" if days else text


def _with_month_name(found: re.Match[str]) -> str:
    month, day = int(found["month"]), found["day"].lstrip("0") or found["day"][:1]
    return f"{day} {MONTHS[month - 1]} {found['year']}".lstrip() if 1 <= month <= 12 else found[0]


def _short_years(found: re.Match[str]) -> str:
    """1914-18 is 1914 to 1918. (1900-05 may also mean May 1900, which is within that.)"""
    century, first, last = found[1], found[2], found[3]
    if int(last) > int(first):
        return f"BET {century}{first} AND {century}{last}"
    month = int(last)
    return f"{MONTHS[month - 1]} {century}{first}" if 1 <= month <= 12 else found[0]

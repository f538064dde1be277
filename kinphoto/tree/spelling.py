"""The spellings of a date, brought to the one that is parsed: GEDCOM 5.5.1.

GEDCOM 7.0 writes calendars and eras as words; people write "c. 1900", "1900?", "1900-1905" or "1 January 1900" where
the standard wants ABT, a phrase, BET and JAN. The first are as good as the standard; the second are read too, and
the tree's keeper is told how.
"""

from __future__ import annotations

import re

MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")

_CALENDAR_WORD = re.compile(r"(?<![@#\w])(GREGORIAN|JULIAN|FRENCH_R|HEBREW)\s+")
_ESCAPE = re.compile(r"@#D([A-Z_ ]+?)@\s*")
_ESCAPE_FIRST = re.compile(r"^(@#D[A-Z ]+@ )((?:ABT|CAL|EST|INT|BEF|AFT|FROM|TO|BET) )")
_ERA = re.compile(r"\s*\b(?:BCE|B\.C\.E\.|BC|B\.C\.?)(?=\s|$)")
_DUAL = re.compile(r"(?<![\d/])(\d{3,4})/(\d{1,2})(?![\d/])")
_MONTH_NAME = re.compile(
    r"\b(JAN)(?:UARY)?\b\.?|\b(FEB)(?:RUARY)?\b\.?|\b(MAR)(?:CH)?\b\.?|\b(APR)(?:IL)?\b\.?|\b(JUNE?)\b\.?|\b(JULY?)\b\.?"
    r"|\b(AUG)(?:UST)?\b\.?|\b(SEP)(?:T|TEMBER)?\b\.?|\b(OCT)(?:OBER)?\b\.?|\b(NOV)(?:EMBER)?\b\.?|\b(DEC)(?:EMBER)?\b\.?"
)
_ISO_DAY = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")
_YEARS = re.compile(r"^(\d{4})\s*(?:-|–|—|\bTO\b|/)\s*(\d{4})$")
_WORDS = (
    (re.compile(r"^(?:C\.|CA\.?|CIRCA|ABOUT|AROUND|ABT\.|~)\s*(?=[\d@A-Z])"), "ABT "),
    (re.compile(r"^C\s*(?=\d)"), "ABT "),
    (re.compile(r"^(?:BEFORE|BEF\.|BY|<)\s*"), "BEF "),
    (re.compile(r"^(?:AFTER|AFT\.|SINCE|>)\s*"), "AFT "),
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
    return _DUAL.sub(_later_year, text)


def _needs_more(text: str) -> bool:
    return any(mark in text for mark in ("@", "/", ".", "BC", "JULIAN", "GREG", "FRENCH", "HEBREW"))


def _later_year(dual: re.Match[str]) -> str:
    """1699/00 is 1700; anything but the next year is no dual year and stays as it is."""
    following = int(dual[1]) + 1
    return str(following) if following % 10 ** len(dual[2]) == int(dual[2]) else dual[0]


def human(text: str) -> str:
    """The same for the most common ways in which people write a date (in English); what is none of them comes back
    as it was. `text` has gone through `standard`."""
    text = text.replace(" OF ", " ").replace(",", "")
    for pattern, word in _WORDS:
        text = pattern.sub(word, text)
    text = _MONTH_NAME.sub(lambda m: next(g for g in m.groups() if g)[:3], text)
    text = _ISO_DAY.sub(_iso_day, text)
    text = re.sub(r"\b(\d{1,2})(?:ST|ND|RD|TH)\b", r"\1", text)
    text = re.sub(r"\b([A-Z]{3}) (\d{1,2}) (\d{4})\b", r"\2 \1 \3", text)  # May 2 1917
    text = re.sub(r"^BET (.+?) ?(?:-|–|—|&|TO) ?(.+)$", r"BET \1 AND \2", text)
    return _YEARS.sub(r"BET \1 AND \2", text)


def _iso_day(found: re.Match[str]) -> str:
    month = int(found[2])
    return f"{int(found[3])} {MONTHS[month - 1]} {found[1]}" if 1 <= month <= 12 else found[0]

"""Ages as people give them: "7", "25-30", "about 30", "6m", "6m-2", "under 2", "60+"."""

from __future__ import annotations

import re

from kinphoto.errors import InvalidValueError

OLDEST = 122
"""Completed years of the longest documented life (docs/method.md); nobody can be said to be older."""

_NUMBER = r"(\d+(?:[.,]\d+)?)\s*(m|months?|y|years?)?"
_ONE = re.compile(rf"(?:exactly\s+)?{_NUMBER}(?:\s+exactly)?")
_RANGE = re.compile(rf"{_NUMBER}\s*(?:-|–|to|\.\.)\s*{_NUMBER}")
_ABOUT = re.compile(rf"(?:about|around|circa|c\.|ca\.?|~)\s*{_NUMBER}")
_UNDER = re.compile(rf"(?:under|below|<)\s*{_NUMBER}")
_OVER = re.compile(rf"(?:over|>)\s*{_NUMBER}|{_NUMBER}\s*\+")


def parse_age(text: str) -> tuple[float, float]:
    """The completed years, lowest and highest (both inclusive), that somebody means by `text`.

    Months are parts of a year ("6m" is 0.5). "about 30" is a tenth each way, at least one year; "under 2" ends at the
    last completed year before it. Raises InvalidValueError for anything else and for ages nobody reaches.
    """
    low, high = _read(" ".join(text.casefold().split()), text)
    if low > high:
        low, high = high, low
    if high > OLDEST:
        raise InvalidValueError(
            f"nobody is known to have reached {high:g}",
            where=f"age '{text}'",
            remedy="Give the age in years, like 25-30.",
        )
    return low, high


def _read(plain: str, text: str) -> tuple[float, float]:
    if found := _RANGE.fullmatch(plain):
        first, first_unit, last, last_unit = found.groups()
        both = last_unit if first_unit is None and (last_unit or "").startswith("m") else first_unit  # 6-18m
        return _years(first, both), _years(last, last_unit)
    if found := _ONE.fullmatch(plain):
        years = _years(*found.groups())
        return years, years
    if found := _ABOUT.fullmatch(plain):
        years = _years(*found.groups())
        give = max(years / 10, 1.0) if years >= 2 else years / 3
        return max(years - give, 0.0), years + give
    if found := _UNDER.fullmatch(plain):
        years = _years(*found.groups())
        return 0.0, years - 1 if years > 1 else years / 2
    if found := _OVER.fullmatch(plain):
        number, unit = (found[1], found[2]) if found[1] else (found[3], found[4])
        return _years(number, unit), float(OLDEST)
    raise InvalidValueError(
        "this is no age", where=f"age '{text}'", remedy="Give years like 7, 25-30 or about 30, or months like 6m."
    )


def _years(number: str, unit: str | None) -> float:
    value = float(number.replace(",", "."))
    return value / 12 if unit and unit.startswith("m") else value

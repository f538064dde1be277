"""Ages as people give them: "7", "seven", "25-30", "about 30", "7ish", "6m", "under 2", "60+", "baby", "thirties"."""

from __future__ import annotations

import re

from kinphoto.archive.catalogue.ages_in_languages import in_english
from kinphoto.archive.catalogue.vocabulary import AGES, AGES_UNCLEAR, DECADES, NUMBERS, TENS, nearest
from kinphoto.archive.catalogue.vocabulary import plain as _without_article
from kinphoto.errors import InvalidValueError

OLDEST = 122
"""Completed years of the longest documented life (docs/method.md); nobody can be said to be older."""

_UNIT = r"(?:(years?|yrs?|yo?|months?|mos?|m|weeks?|wks?|w|days?|d)\b\.?)?(?:\s*old)?"
_NUMBER = rf"(\d+(?:[.,]\d+)?)\s*{_UNIT}"
_ONE = re.compile(rf"(?:(?:exactly|just(?:\s+turned)?)\s+)?{_NUMBER}(?:\s+exactly)?")
_RANGE = re.compile(
    rf"(?:(?:between|from|about|around)\s+)?{_NUMBER}\s*(?:-|–|to|,?\s*or(?:\s+(?:maybe|perhaps))?|,?\s*(?:maybe|perhaps)|,\s|and|/|\.\.)\s*"
    rf"{_NUMBER}(?:\s*-?ish|\s+or\s+so)?"
)
_ABOUT = re.compile(
    rf"(?:(?:about|around|circa|c\.|ca\.?|~|roughly|approximately|approx\.?|some|maybe|perhaps|probably)\s*{_NUMBER}\s*\??"
    rf"|{_NUMBER}\s*(?:-?\s*ish|or\s+so|\?))"
)
_NEARLY = re.compile(rf"(?:nearly|almost|not\s+quite)\s*{_NUMBER}")
_UNDER = re.compile(rf"(?:under|below|less\s+than|younger\s+than|not\s+yet|<)\s*{_NUMBER}")
_OVER = re.compile(
    rf"(?:(?:over|above|more\s+than|older\s+than|at\s+least|>)\s*{_NUMBER}|{_NUMBER}\s*(?:\+|(?:or|and)\s+(?:over|older|more)))"
)
_DECADE = re.compile(r"(?:(early|mid|middle|late)[\s-]+)?(\d0)'?s")
_DECADE_PART = {None: (0, 9), "early": (0, 3), "mid": (4, 6), "middle": (4, 6), "late": (7, 9)}
_TWO_AGES = re.compile(r"\b(\d\d?),(\d\d)\b")
_YEARS_AND_MONTHS = re.compile(r"(\d+) ?(?:years?|yrs?|y),? ?(?:and )?(\d+) ?(?:months?|mos?|m)\b")
_UNSAID = re.compile(r"^(?:aged?|at the age of)\s+|^(?:in\s+)?(?:his|her|their|the)\s+|^in\s+")

_TEN = "|".join(TENS)
_TO_NINETEEN = "|".join(sorted(NUMBERS, key=len, reverse=True))
_COMPOUND = re.compile(rf"\b({_TEN})(?:[ -]?(one|two|three|four|five|six|seven|eight|nine))?(?=\b|ish|s\b)")
_SINGLE = re.compile(rf"\b({_TO_NINETEEN})(?=\b|ish)")
_TENTHS = re.compile(rf"\b({'|'.join(DECADES)})\b")


def parse_age(text: str) -> tuple[float, float]:
    """The completed years, lowest and highest (both inclusive), that somebody means by `text`.

    Months are parts of a year ("6m" is 0.5). "about 30" is a tenth each way, in whole years and at least one; "under 2"
    ends at the last completed year before it; "baby" and the like mean what `vocabulary.AGES` says. Raises
    InvalidValueError for anything else, for words that mean another age to everybody, and for ages nobody reaches.
    """
    low, high = _read(_in_figures(text), text)
    if low > high:
        low, high = high, low
    if high > OLDEST:
        raise InvalidValueError(
            f"nobody is known to have reached {high:g}",
            where=f"age '{text}'",
            remedy="Give the age in years, like 25-30.",
        )
    return low, high


def _in_figures(text: str) -> str:
    """The same in lower case with its numbers in figures: "about seventy-five" is "about 75", "her thirties" "30s"."""
    plain = " ".join(text.casefold().replace("’", "'").split())
    plain = _UNSAID.sub("", in_english(_TWO_AGES.sub(r"\1-\2", plain)))
    plain = _TENTHS.sub(lambda found: f"{DECADES[found[1]]}s", plain)
    plain = _COMPOUND.sub(lambda found: str(TENS[found[1]] + NUMBERS.get(found[2] or "", 0)), plain)
    plain = _SINGLE.sub(lambda found: str(NUMBERS[found[1]]), plain)
    plain = re.sub(r"\b(?:a|1) hundred(?: and (\d+))?\b", lambda found: str(100 + int(found[1] or 0)), plain)
    plain = re.sub(r"\bhalf a year\b", "6 months", plain)
    plain = re.sub(r"\ba (?=year\b|month\b|week\b|day\b)", "1 ", plain)
    plain = re.sub(r"(\d+)(?: and a half|( years?) and a half|\s*½| 1/2)", r"\1.5\2", plain)
    plain = _YEARS_AND_MONTHS.sub(lambda found: f"{int(found[1]) + int(found[2]) / 12:.4f} years", plain)
    return re.sub(r"\b(\d0)(?:-| )?(?:something|odd)\b", r"\1s", plain)


def _read(plain: str, text: str) -> tuple[float, float]:
    words = _without_article(plain)
    if words in AGES:
        return AGES[words]
    if found := _RANGE.fullmatch(plain):
        first, first_unit, last, last_unit = found.groups()
        both = last_unit if first_unit is None and not _is_years(last_unit) else first_unit  # 6-18m
        return _years(first, both), _years(last, last_unit)
    if found := _ONE.fullmatch(plain):
        years = _years(*found.groups())
        return years, years
    if found := _DECADE.fullmatch(plain):
        first_of_part, last_of_part = _DECADE_PART[found[1]]
        return float(int(found[2]) + first_of_part), float(int(found[2]) + last_of_part)
    if found := _ABOUT.fullmatch(plain):
        years = _either(found)
        give = max(years / 10 + 0.5, 1.0) // 1 if years >= 2 else years / 3
        return max(years - give, 0.0), years + give
    if found := _NEARLY.fullmatch(plain):
        years = _years(*found.groups())
        return max(years - 1, 0.0) if years > 1 else years / 2, years
    if found := _UNDER.fullmatch(plain):
        years = _years(*found.groups())
        return 0.0, years - 1 if years > 1 else years / 2
    if found := _OVER.fullmatch(plain):
        return _either(found), float(OLDEST)
    raise _unclear(words, text)


def _unclear(words: str, text: str) -> InvalidValueError:
    """The error for words that are not an age, or not a definite one."""
    example = AGES_UNCLEAR.get(words)
    if example is not None:
        return InvalidValueError(
            "that means a different age to everybody", where=f"age '{text}'", remedy=f"Give years, such as {example}."
        )
    near = [] if re.search(r"\d", words) else nearest(words, {word: word for word in (*AGES, *NUMBERS, *TENS)}, 1)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    return InvalidValueError(
        "not an age", where=f"age '{text}'", remedy=f"{hint}Give years like 7, 25-30 or about 30, or months like 6m."
    )


def _either(found: re.Match[str]) -> float:
    """The age, in whichever of two places of a pattern it is."""
    number, unit, other_number, other_unit = found.groups()
    return _years(number or other_number, unit if number else other_unit)


def _is_years(unit: str | None) -> bool:
    return unit is None or unit.startswith("y")


def _years(number: str, unit: str | None) -> float:
    value = float(number.replace(",", "."))
    if _is_years(unit):
        return value
    return value / {"m": 12, "w": 365.25 / 7, "d": 365.25}[(unit or "")[0]]

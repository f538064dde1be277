"""What a language has words for, and what its table in `languages` is put together from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kinphoto.gedcom.calendars import MONTHS


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """One language. A day's ending is that of an ordinal number (12th), a decade's that of "1930s"."""

    months: tuple[str, ...]
    """Twelve, each with its older names and abbreviations."""
    genitives: Mapping[str, str] = field(default_factory=dict)
    """GEDCOM's months of words that are names of people too ("Maja 1931"): months after a day or a part alone."""
    unclear_months: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    """Names that stood for different months in different places: whoever gives one is asked."""
    weekdays: tuple[str, ...] = ()
    """Seven, from Monday. They are left out, or decide between two readings."""
    seasons: Mapping[str, str] = field(default_factory=dict)
    feasts: Mapping[str, str] = field(default_factory=dict)
    """Named as in `feasts.FEASTS`."""
    parts: Mapping[str, str] = field(default_factory=dict)
    """Early, mid, late: of a month, a season, a year, a decade, a century."""
    joined: Mapping[str, str] = field(default_factory=dict)
    """The same written as the beginning of a season's name: Spätsommer."""
    decades: Mapping[str, str] = field(default_factory=dict)
    wars: Mapping[str, str] = field(default_factory=dict)
    times: Mapping[str, str] = field(default_factory=dict)
    """Named as in `known_times`: what everybody remembered without its year."""
    centuries: Mapping[int, str] = field(default_factory=dict)
    """What a year in words begins with: nineteen, nineteen hundred and."""
    numbers: tuple[str, ...] = ()
    """From 1 to 99, as they end a year in words: oh five, twenty-four."""
    years_are_one_word: bool = False
    about: str = ""
    before: str = ""
    after: str = ""
    since: str = ""
    until: str = ""
    either: str = ""
    """What stands between two dates where one of them is meant."""
    denied: str = ""
    """Before a date: words that say it is not meant."""
    clauses: Mapping[str, str] = field(default_factory=dict)
    """Before, after, since, until: as they begin a clause that a date stands in, "before they moved in 1952"."""
    perhaps: str = ""
    within: str = ""
    """In, at, on, during: they say nothing more than the date after them."""
    counted: str = ""
    """A year where years are counted: two years before."""
    article: str = ""
    """The, and what stands between a part and the whole."""
    year: str = ""
    """Names a year as one: "anno 1898"."""
    day_endings: str = ""
    decade_endings: str = ""
    century: str = ""
    undated: str = ""
    relative: str = ""
    """What counts from a day that nobody knows any more: yesterday, last year."""
    no_years_after: str = ""
    """Words after which a number is not a date of the picture: "No. 1924", "born 1890"."""
    no_years_before: str = ""
    """The same of the word after it: "1912 feet"."""
    phrases: tuple[tuple[str, str], ...] = ()
    """Whatever depends on its context, as regular expressions on a date in capitals without accents."""


def counted(years: str, sides: str, numbers: str, article: str = "") -> tuple[tuple[str, str], ...]:
    """The phrases for "two years before": numbers as words, from one on, become figures."""
    return tuple(
        (rf"^(?:{number}) (?:{years}) ({sides}) {article}(?=\S)", rf"{figure} YEARS \1 ")
        for figure, number in enumerate(numbers.split(), 1)
    )


def between_day_and_year(twelve: str) -> tuple[tuple[str, str], ...]:
    """The phrases for months' short forms that are other words elsewhere: in "5 sie 1931" it is August."""
    return tuple(
        (rf"(?<=\b\d )(?:{short})\b\.? (?=\d{{4}}\b)|(?<=\b\d\d )(?:{short})\b\.? (?=\d{{4}}\b)", f"{month} ")
        for month, short in zip(MONTHS, twelve.split(), strict=True)
    )


ENGLISH_NUMBERS = "A|ONE|THE TWO THREE FOUR FIVE SIX SEVEN EIGHT NINE TEN"
GERMAN_NUMBERS = "EIN|DAS ZWEI DREI VIER FUNF SECHS SIEBEN ACHT NEUN ZEHN"


def give_or_take(marks: str, years: str, numbers: str, several: str) -> tuple[tuple[str, str], ...]:
    """The phrases for "1931, give or take two years"; a few are three."""
    each = [*enumerate(numbers.split(), 1), (3, several)]
    said = tuple(
        (rf"^(.+\d),? (?:{marks}) ?(?:{number})(?: (?:{years}))?$", rf"\1 GIVE OR TAKE {figure}")
        for figure, number in each
    )
    return (*said, (rf"^(.+\d),? (?:{marks}) ?(\d{{1,2}})(?: (?:{years}))?$", r"\1 GIVE OR TAKE \2"))


def english_numbers() -> tuple[str, ...]:
    """Oh one to ninety-nine."""
    units = "one two three four five six seven eight nine".split()
    teens = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
    tens = "twenty thirty forty fifty sixty seventy eighty ninety".split()
    below_ten = tuple(f"oh {unit}|o {unit}|{unit}" for unit in units)
    return (*below_ten, *teens, *(f"{ten} {unit}".strip() for ten in tens for unit in ("", *units)))


def german_numbers() -> tuple[str, ...]:
    """Eins to neunundneunzig, with the "und" that some put before them."""
    units = "ein zwei drei vier fünf sechs sieben acht neun".split()
    teens = "zehn elf zwölf dreizehn vierzehn fünfzehn sechzehn siebzehn achtzehn neunzehn".split()
    tens = "zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig".split()
    alone = ("eins", *units[1:], *teens, *(f"{unit}und{ten}" if unit else ten for ten in tens for unit in ("", *units)))
    return tuple(f"{number}|und{number}" for number in alone)

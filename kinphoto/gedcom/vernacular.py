"""Dates in the words of the tables of `languages`, put into the English that `spelling`, `spoken` and `on_photographs`
read.

All languages are read at once: nobody says which one a back is written in, and a family writes in several. Words are in
capitals without accents here. A month becomes GEDCOM's (AUG), a Roman month number too ("12.VIII.1908").
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import cache, lru_cache

from kinphoto.gedcom import east_asian, old_style
from kinphoto.gedcom.calendars import MONTHS
from kinphoto.gedcom.language import Language
from kinphoto.gedcom.languages import LANGUAGES

WEEKDAYS = ("MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY")
CAPITALS = "A-ZЀ-ЯҐ"
"""What a folded word is made of, in Latin and Cyrillic letters, for a regular expression."""
ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")


def fold(text: str) -> str:
    """In capitals, without accents."""
    apart = unicodedata.normalize("NFD", text.upper().replace("Ø", "O").replace("Æ", "AE").replace("Ł", "L"))
    apart = apart.replace("’", "'").replace("ʼ", "'")
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def _bare(text: str) -> str:
    """Folded, and without the marks of ordinal numbers ("1.", French "1er")."""
    return re.sub(r"\b(\d{1,2})(?:\. ?|º |°)(?=[^\W\d_])|\b(1)ER (?=[A-Z])", r"\1\2 ", fold(text))


def words(group: str) -> list[str]:
    """The alternatives of a group of a table, folded."""
    return [_bare(word) for word in group.split("|") if word]


def _everywhere(name: str) -> list[str]:
    """The words of one group in all languages."""
    return [word for language in LANGUAGES.values() for word in words(getattr(language, name))]


def any_of(alternatives: Iterable[str]) -> str:
    """A regular expression for any of these, the longest first; the dots of abbreviations may be missing."""
    longest_first = sorted(set(alternatives), key=lambda word: (-len(word), word))
    return "|".join(re.escape(word).replace(r"\.\ ", r"\.? ?").replace(r"\.", r"\.?") for word in longest_first)


def _terms(language: Language) -> Iterator[tuple[str, str]]:
    """Words that mean the same wherever they stand, each with its English."""
    for number, group in enumerate(language.months):
        yield from ((word, MONTHS[number]) for word in words(group))
    tables = language.seasons, language.feasts, language.parts, language.decades, language.wars, language.times
    for table in tables:
        for english, group in table.items():
            yield from ((word, english.upper()) for word in words(group))
    for part, beginnings in language.joined.items():
        for season, group in language.seasons.items():
            for beginning in words(beginnings):
                yield from ((beginning + word, f"{part} {season}".upper()) for word in words(group))
    yield from ((word, "CENTURY") for word in words(language.century))


@cache
def terms() -> dict[str, str]:
    """The English of every word that means the same everywhere."""
    return {word: english for language in LANGUAGES.values() for word, english in _terms(language)}


@cache
def unclear_months() -> dict[str, tuple[int, ...]]:
    """The months that a name has stood for."""
    return {fold(name): months for one in LANGUAGES.values() for name, months in one.unclear_months.items()}


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str], ...]:
    """What is changed once the words are English: context, what stands before a date, what says nothing more."""
    nothing = rf"(?:(?:{any_of([*_everywhere('article'), *_everywhere('within')])})\.? )"
    years = any_of(_everywhere("year"))
    century = r"(?:CENTURY|W|В)(?![^\W_])\.?"
    days, decades = any_of(_everywhere("day_endings")), any_of(_everywhere("decade_endings"))
    changes = [(rf"(?<!\d)(\d{{1,3}}0)(?:{decades})(?![^\W\d_])", r"\1S"), (rf"\b(\d{{1,2}})(?:{days})\b\.?", r"\1")]
    changes += [
        (rf"((?<!\d)\d{{1,2}}|EARLY|MID|LATE) {word}(?![^\W_])\.?", rf"\1 {month}")
        for word, month in _genitives().items()
    ]
    changes += [(rf"(?<=[\d?]),? (?:{any_of(_everywhere('either'))})\.? (?=\S)", " OR ")]
    changes += [
        (rf"\b{roman} {century}|\bCENTURY {roman}\b", f"{number} CENTURY")
        for roman, number in (("XIX", 19), ("XX", 20))
    ]
    changes += [phrase for language in LANGUAGES.values() for phrase in language.phrases]
    changes += [
        (r"^(\d{4}) OR (\d{4})$", r"BETWEEN \1 AND \2"),
        (r"^(\d\d)(\d\d) OR '?(\d\d)$", r"BETWEEN \1\2 AND \1\3"),
        (rf"^({_NAMED}) (\d{{4}}) OR (?:\1 )?(\d{{4}})$", r"BETWEEN \1 \2 AND \1 \3"),
        (rf"^({_NAMED}) (\d\d)(\d\d) OR (?:\1 )?'?(\d\d)$", r"BETWEEN \1 \2\3 AND \1 \2\4"),
    ]
    changes += [(rf"^(\d{{4}})(?:,? {nothing}+| \()({_NAMED})\)?$", r"\2 \1")]
    changes += [(r"^(BETWEEN|FROM) (\d\d)(\d\d) (AND|TO) '?(\d\d)$", r"\1 \2\3 \4 \2\5")]
    changes += [(rf"(?<![A-Z]){nothing}*(?<![A-Z])(?<!NEW )(?:{years})\.? (?=\d{{4}}\b)", "")]
    changes += [(rf"(?<![A-Z]){nothing}*(?<![A-Z])(?<!NEW )(?:{years})\.? '?(?=\d\d$)", "'")]
    changes += [
        (rf"^(?:(?:{any_of(_everywhere(group))})(?:\. ?| ))+{nothing}*(?=\S)", f"{group.upper()} ")
        for group in ("about", "before", "after", "since", "until")
    ]
    changes += [(rf"\b(EARLY|MID|LATE)[ -]{nothing}*(?=\S)", r"\1 "), (rf"^{nothing}+(?=['\dA-Z])", "")]
    changes += [(r"^(BEFORE|UNTIL) BETWEEN .+ AND (.+)$", r"\1 \2"), (r"^(AFTER|SINCE) BETWEEN (.+) AND .+$", r"\1 \2")]
    return tuple((re.compile(pattern), english) for pattern, english in changes)


@cache
def _term_pattern() -> re.Pattern[str]:
    return re.compile(rf"(?<![^\W_])(?<!')(?:{any_of(terms())})(?!'|[^\W_])\.?")


@cache
def _prefixes() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """ "Perhaps", and a day of the week, before the rest of a date."""
    of_week = [language.weekdays for language in LANGUAGES.values() if language.weekdays]
    days = [f"(?P<D{number}>{any_of(word for each in of_week for word in words(each[number]))})" for number in range(7)]
    perhaps = rf"^(?:{any_of(_everywhere('perhaps'))})\.? (?=\S)"
    return re.compile(perhaps), re.compile(
        rf"^(?:(?:{any_of(_everywhere('within'))}) )?(?:{'|'.join(days)})(?:\., ?|[.,] ?| )(?=\S)"
    )


_CYRILLIC = re.compile("[Ѐ-ӿ]")


@cache
def _genitives() -> dict[str, str]:
    """The months of words that are names of people too."""
    return {fold(word): month for one in LANGUAGES.values() for word, month in one.genitives.items()}


@cache
def _cyrillic_months() -> dict[str, str]:
    """The words for months in Cyrillic letters."""
    return {word: month for word, month in terms().items() if month in MONTHS and _CYRILLIC.match(word)}


@cache
def side_or_weekday() -> re.Pattern[str]:
    """A word before a day that is a weekday in one language and a side in another: German and Polish "do"."""
    days = {word for each in LANGUAGES.values() for group in each.weekdays for word in words(group)}
    return re.compile(rf"^(?:{any_of(days & sides())}) (?=\d{{1,2}}(?!\d))")


_NAMED = "(?:(?:EARLY|MID|LATE) )?(?:{})".format(
    any_of(
        [*MONTHS, *(each.upper() for language in LANGUAGES.values() for each in (*language.seasons, *language.feasts))]
    )
)
"""A month, a season or a feast, and a part of it."""
PLAIN = re.compile(rf"(?:(?:\d{{1,2}} )?(?:{'|'.join(MONTHS)}) )?\d{{4}}")
"""A day, a month or a year in GEDCOM."""
_ROMAN = re.compile(
    rf"(?<![A-Z\d])(?:(\d{{1,2}})(?:[./-] ?| ))?({any_of(ROMAN)})(?:[./-] ?| )(?='?(?:\d{{4}}|\d\d)(?!\d))"
)

_ROMAN_AFTER_YEAR = re.compile(rf"^(?P<year>\d{{4}})\. ?(?P<month>{any_of(ROMAN)})\. ?(?P<day>\d{{1,2}})(?=\.?$)")


@lru_cache(maxsize=1 << 10)
def in_english(text: str) -> str:
    """A date in capitals with the words of every language turned into English ones; other words stay."""
    text = _with_years_in_figures(_bare(east_asian.in_english(text)))
    text = _ROMAN_AFTER_YEAR.sub(_day_after_year, text)
    text = _ROMAN.sub(_roman_month, text)
    if _CYRILLIC.search(text):
        text = old_style.in_new_style(text, _cyrillic_months(), _genitives())
    perhaps, weekday = _prefixes()
    if found := perhaps.match(text):
        return f"PERHAPS {in_english(text[found.end() :])}"
    if side_or_weekday().match(text):  # `on_photographs` asks which is meant
        return text
    day = ""
    if (found := weekday.match(text)) and not _term_pattern().match(text) and found[0].rstrip() not in sides():
        number = next(number for number in range(7) if found[f"D{number}"])
        day, text = f"{WEEKDAYS[number]} ", text[found.end() :]
    text = _term_pattern().sub(_english, text)
    if PLAIN.fullmatch(text):  # the commonest by far
        return day + text
    for pattern, english in _patterns():
        text = pattern.sub(english, text)
    return day + text


def _english(found: re.Match[str]) -> str:
    word = found[0].removesuffix(".")
    known = terms()
    english = known.get(word) or known.get(found[0])
    return english if english is not None else _without_dots(word)


def _without_dots(word: str) -> str:
    """The English of a word that was written with other dots and blanks than in its table."""
    plain = re.sub(r"[. ]", "", word)
    return next((english for known, english in terms().items() if re.sub(r"[. ]", "", known) == plain), word)


def _years_in_words(language: Language) -> tuple[dict[str, str], dict[str, str]]:
    """What a year in words of one language begins with, and ends with, each with its figures."""
    begin = {word: str(century) for century, group in language.centuries.items() for word in words(group)}
    end = {word: f"{number:02}" for number, group in enumerate(language.numbers, 1) for word in words(group)}
    return begin, end


@cache
def _year_patterns() -> tuple[tuple[re.Pattern[str], dict[str, str], dict[str, str]], ...]:
    """For each language that has years in words: what they look like, and the two halves of their figures."""
    found = []
    for language in LANGUAGES.values():
        if language.centuries:
            begin, end = _years_in_words(language)
            between = "" if language.years_are_one_word else "[ -]"
            first, second = (any_of(half).replace(r"\ ", "[ -]") for half in (begin, end))
            pattern = rf"(?<![A-Z])(?P<begin>{first})(?:{between}(?P<end>{second}))?(?![A-Z])"
            found.append((re.compile(pattern), begin, end))
    return tuple(found)


def _with_years_in_figures(text: str) -> str:
    """ "Nineteen twenty-four" as 1924. "Nineteen" and "nineteen five" stay: they may be an age."""
    for pattern, begin, end in _year_patterns():

        def figures(found: re.Match[str], begin: dict[str, str] = begin, end: dict[str, str] = end) -> str:
            first, second = (half and half.replace("-", " ") for half in found.group("begin", "end"))
            short = "HUND" not in first
            if short and (second is None or (end[second] < "10" and " " not in second)):
                return found[0]
            return begin[first] + (end[second] if second else "00")

        text = pattern.sub(figures, text)
    return text


@cache
def beginnings_of_years() -> frozenset[str]:
    """The words that a year in words begins with; the whole year where it is one word."""
    found: set[str] = set()
    for language in LANGUAGES.values():
        begin, end = _years_in_words(language)
        if language.years_are_one_word:
            found.update(first + second for first in begin for second in ("", *end))
        else:
            found.update(first for first in begin if " " not in first)
    return frozenset(found)


def _roman_month(found: re.Match[str]) -> str:
    return f"{found[1] + ' ' if found[1] else ''}{MONTHS[ROMAN.index(found[2])]} "


def _day_after_year(found: re.Match[str]) -> str:
    """The Hungarian "1931. V. 5."."""
    return f"{found['day']} {MONTHS[ROMAN.index(found['month'])]} {found['year']}"


@cache
def vocabulary() -> frozenset[str]:
    """Every single word that can be part of a date, folded and without dots: what a search in a text looks for."""
    groups = (
        "about before after since until either perhaps within article year century day_endings decade_endings".split()
    )
    known = [*terms(), *unclear_months(), *_genitives(), *(word for name in groups for word in _everywhere(name))]
    known += beginnings_of_years()
    for language in LANGUAGES.values():
        if not language.years_are_one_word:
            known += [word for half in _years_in_words(language) for word in half]
        known += [word for group in language.weekdays for word in words(group)]
        known += [word for pattern, _ in language.phrases for word in re.findall(rf"[{CAPITALS}]{{2,}}", pattern)]
    known += "BETWEEN AND FROM TO OR SHORTLY JUST".split()
    return frozenset(part for word in known for part in re.findall(r"[^\W\d_]+", word))


def years() -> list[str]:
    """The words that name a year as one."""
    return _everywhere("year")


@cache
def denying() -> frozenset[str]:
    """The words that say of the date after them that it is not meant."""
    return frozenset(_everywhere("denied"))


@cache
def within() -> frozenset[str]:
    """The words that say nothing more than the date after them."""
    return frozenset(_everywhere("within"))


@cache
def sides() -> frozenset[str]:
    """The single words that make the date after them mean before, after, since or until it."""
    found = [word for group in ("before", "after", "since", "until") for word in _everywhere(group)]
    return frozenset(word for word in found if " " not in word)


@cache
def clauses() -> dict[str, str]:
    """The side that each word names which begins a clause: "nachdem" is "after"."""
    each = [(side, word) for one in LANGUAGES.values() for side, group in one.clauses.items() for word in words(group)]
    return {word: side for side, word in each}


@cache
def counted() -> frozenset[str]:
    """The words for years that are counted."""
    return frozenset(_everywhere("counted"))


@cache
def not_years() -> tuple[frozenset[str], frozenset[str]]:
    """The words after which, and before which, a number is not a year."""
    after, before = (_everywhere(f"no_years_{side}") for side in ("after", "before"))
    return frozenset(after), frozenset(before)


@cache
def said_without_a_date() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """A text that says there is no date, and one that counts from a day nobody knows any more."""
    return (
        re.compile(rf"^(?:{any_of(_everywhere('undated'))}|\?+|-+)\.?$"),
        re.compile(rf"\b(?:{any_of(_everywhere('relative'))})\b(?!\.? \d{{4}}\b)"),
    )

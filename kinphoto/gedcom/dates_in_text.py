"""The dates in words that stand on a photograph: "Skerry Point, Whitsun 1900, with Aunt Ida".

They are found to be offered and never to be recorded unasked, so a number that may be a year is offered too. Each piece
of the text that consists of nothing but words and numbers of dates is read by `dates.parse_photograph_date`, the
longest first, like a date that somebody typed by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, lru_cache
from typing import Annotated

from kinphoto.errors import ImpossibleDateError, InvalidValueError, UnclearDateError
from kinphoto.gedcom import east_asian, known_times, vernacular
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.gedcom.wording import words
from kinphoto.reason.model.span import Dated

MOST_FOUND = 12
_MOST_TRIED = 600
"""Pieces of one text that are read, so that no text takes long."""
_LONGEST = 14
"""Words, numbers and marks of one date."""
_MOST_NUMBERS = 6
_CLAUSE = 60
"""Letters before a date within which its clause may begin."""
_TOKEN = re.compile(r"\d+|[^\W\d_]+|[^\w\s]|_")
_YEAR_IN_FIGURES = re.compile(r"(?<!9)99?([./-])99?\1'?99(?!9)|'99(?!9)|99[?_-]{2}|999[?_-]")
"""For a date whose digits are all nines: 12.8.08, '08, 19??, 190?."""
_MARKS = frozenset(".,/-–—'’?~&+±()[]")
_OPENS, _ENDS = frozenset("'’~(["), frozenset("?)].")


@dataclass(frozen=True, slots=True)
class DateReading:
    """One meaning of a date."""

    date: Annotated[str, "the date as it can be recorded"]
    words: Annotated[str, "what it is read as, in words"]


@dataclass(frozen=True, slots=True)
class DateFound:
    """A date in a text. It has one reading, several between which somebody has to choose, or none."""

    text: Annotated[str, "the words that are a date"]
    start: Annotated[int, "where they begin in the text, in letters"]
    readings: Annotated[tuple[DateReading, ...], "what it can mean; more than one is a question"]
    problem: Annotated[str, "why it cannot be when a photograph was taken, or cannot be read; empty otherwise"] = ""
    certain: Annotated[bool, "whether it can only have the one reading given"] = False
    impossible: Annotated[bool, "whether there was no such day, no photographs yet, or it is in the future"] = False


@dataclass(frozen=True, slots=True)
class _Token:
    text: str
    start: int
    end: int
    folded: str

    @property
    def number(self) -> bool:
        return self.folded[0].isdigit()

    @property
    def word(self) -> bool:
        return self.folded[0].isalpha()


@lru_cache(100)  # a search asks for those of its line again for each thing that the line may mean
def find_dates(text: str, today: date) -> tuple[DateFound, ...]:
    """The dates in a text, in order: at most `MOST_FOUND`."""
    text, found = _without_east_asian(text, today)
    budget = _MOST_TRIED
    for run in _runs(text):
        at = 0
        while at < len(run) and len(found) < MOST_FOUND and budget > 0:
            step = 1
            for count in range(min(_LONGEST, len(run) - at), 0, -1):
                piece = run[at : at + count]
                if not _may_be_a_date(piece) or _is_something_else(text, piece):
                    continue
                budget -= 1
                if (one := _read(text, piece, today)) is not None:
                    if not _is_denied(text, piece):
                        found.append(_in_its_clause(text, one, today))
                    step = count
                    break
            at += step
    return tuple(sorted(found, key=lambda one: one.start)[:MOST_FOUND])


def _without_east_asian(text: str, today: date) -> tuple[str, list[DateFound]]:
    """The text with strokes in place of its East Asian dates, and these: no blanks part their words."""
    found = []
    for start, end in east_asian.spans(text):
        one = read_date(text[start:end].strip(), today)
        if one.readings or one.impossible:
            found.append(replace(one, start=start))
            text = text[:start] + "|" * (end - start) + text[end:]
    return text, found[:MOST_FOUND]


def parse_said(text: str, today: date) -> Dated:
    """Read a date that a person gave for a photograph, like `parse_photograph_date`; where that cannot be done, the
    error names the dates among the words ("before they moved in 1952"). Raises the same."""
    try:
        return parse_photograph_date(text, today)
    except (UnclearDateError, ImpossibleDateError):
        raise
    except InvalidValueError as problem:
        among = [reading.date for one in find_dates(text, today) for reading in one.readings]
        if not among:
            raise
        meant = " or ".join(f"“{one}”" for one in dict.fromkeys(among))
        raise InvalidValueError(problem.what, remedy=f"Did you mean {meant}?") from problem


def _runs(text: str) -> Iterator[list[_Token]]:
    """The stretches of a text without any word that no date has."""
    run: list[_Token] = []
    known = vernacular.vocabulary()
    for match in _TOKEN.finditer(text):
        token = _Token(match[0], match.start(), match.end(), vernacular.fold(match[0]) or match[0])
        belongs = (
            len(token.text) <= 4
            if token.number
            else (token.folded in known or token.text in vernacular.ROMAN)
            if token.word
            else token.text in _MARKS
        )
        if belongs:
            run.append(token)
        elif run:
            yield run
            run = []
    if run:
        yield run


def _may_be_a_date(piece: list[_Token]) -> bool:
    """Whether it begins and ends as a date does and holds a year, or words that stand for years."""
    first, last = piece[0], piece[-1]
    if not (first.number or first.word or first.text in _OPENS) or not (last.number or last.word or last.text in _ENDS):
        return False
    if last.text == "." and not piece[-2:][0].word:
        return False
    numbers = [token for token in piece if token.number]
    if len(numbers) > _MOST_NUMBERS:
        return False
    if not numbers:  # "the war" by itself may be a war memorial
        bare = " ".join(token.folded for token in piece) in vernacular.terms()
        named = any(token.folded in _words_of_years() for token in piece)
        english = _english(piece)
        of_a_house = english in known_times.ADJECTIVES and last.folded == english  # "an Edwardian house"
        return named and not of_a_house and not (bare and english == "WARTIME")
    if numbers == [first] and any(
        token.folded in vernacular.counted() for token in piece[1:2]
    ):  # 6 years before the war
        return any(token.folded in _words_of_years() or len(token.text) == 4 for token in piece[2:])
    if any(len(token.text) == 4 for token in numbers):
        return True
    shape = "".join(
        "9" * len(token.text) if token.number else token.folded if not token.word else "w" for token in piece
    )
    in_figures = _YEAR_IN_FIGURES.search(shape.replace("’", "'"))
    named = any(token.folded in _names() or token.text in vernacular.ROMAN[1:] for token in piece if token.word)
    return in_figures is not None or (named and any(len(token.text) == 2 for token in numbers))


def _english(piece: list[_Token]) -> str:
    return vernacular.in_english(" ".join(token.folded for token in piece))


@cache
def _names() -> frozenset[str]:
    """Words beside which two digits can be a year."""
    return frozenset(
        part
        for term in (*vernacular.terms(), *vernacular.years())
        for part in re.findall(rf"[{vernacular.CAPITALS}]{{3,}}", term)
    )


@cache
def _words_of_years() -> frozenset[str]:
    """Words that stand for years without any number."""
    named = ("TEENS", "TWENTIES", "THIRTIES", "FORTIES", "FIFTIES", "SIXTIES", "SEVENTIES", "EIGHTIES", "NINETIES")
    times = ("WARTIME", "WORLD WAR", *known_times.NAMES)
    found = (
        part
        for term, english in vernacular.terms().items()
        if english in named or any(time in english for time in times)
        for part in re.findall(rf"[{vernacular.CAPITALS}]{{2,}}", term)
    )
    return vernacular.beginnings_of_years().union(found)


def _is_something_else(text: str, piece: list[_Token]) -> bool:
    """Whether its first number counts something, or is part of a longer word: "No. 1924", "1912 feet", "K1924"."""
    first, last = piece[0], piece[-1]
    outside = text[first.start - 1 : first.start] + text[last.end : last.end + 1]
    if any(letter.isalnum() or letter == "_" for letter in outside):
        return True
    # "or 12" of "or 12/8/1905"
    if last.number and len(last.text) < 3 and re.match(r"[./-]\d", text[last.end : last.end + 2]):
        return True
    after, before = vernacular.not_years()
    if first.number:
        words_before = re.search(r"([^\W\d_]+|[#*†£$])[.:]?\s*$", text[max(0, first.start - 30) : first.start])
        if words_before is not None and (vernacular.fold(words_before[1]) in after or words_before[1] == "#"):
            return True
    word_after = re.match(r"\s*([^\W\d_]+)", text[last.end : last.end + 30])
    return last.number and word_after is not None and vernacular.fold(word_after[1]) in before


def _is_denied(text: str, piece: list[_Token]) -> bool:
    """Whether the word before it says that this date is not meant ("not in 1930"), or that what is meant is on one side
    of it, in a way that cannot be read: it would have been part of the piece."""
    start = piece[0].start
    before = re.search(r"([^\W\d_]+)\s+$", text[max(0, start - 30) : start])
    return before is not None and vernacular.fold(before[1]) in vernacular.denying() | vernacular.sides()


def _in_its_clause(text: str, found: DateFound, today: date) -> DateFound:
    """ "Before they moved in 1952" may be 1952 or before it: both, for somebody to choose."""
    clause = re.search(r"[^.,;:!?()\n]*$", text[max(0, found.start - _CLAUSE) : found.start])
    earlier = re.findall(r"[^\W\d_]+", clause[0]) if clause else []
    side = next(
        (vernacular.clauses()[word] for word in map(vernacular.fold, earlier) if word in vernacular.clauses()), ""
    )
    if not side or len(found.readings) != 1:
        return found
    written = found.text.split()
    while vernacular.fold(written[0]) in vernacular.within():
        del written[0]
    each = [
        reading
        for before in ("", side)
        for reading in read_date(f"{before} {' '.join(written)}".strip(), today).readings
    ]
    return replace(found, readings=tuple(each), certain=False) if len(each) > 1 else found


def _read(text: str, piece: list[_Token], today: date) -> DateFound | None:
    start = piece[0].start
    written = " ".join(text[start : piece[-1].end].split())
    found = read_date(written, today)
    if found.readings:
        return replace(found, start=start)
    is_a_date = len([token for token in piece if token.number]) > 1 or any(token.folded in _names() for token in piece)
    return replace(found, start=start) if found.impossible and is_a_date else None


def read_date(written: str, today: date) -> DateFound:
    """What a date that somebody typed can mean; where it cannot be read, the problem that says why."""
    try:
        dated = parse_photograph_date(written, today)
    except UnclearDateError as unclear:
        each = tuple(DateReading(choice, words(parse_photograph_date(choice, today))) for choice in unclear.choices)
        return DateFound(written, 0, each)
    except InvalidValueError as problem:
        return DateFound(written, 0, (), str(problem), impossible=isinstance(problem, ImpossibleDateError))
    return DateFound(written, 0, (DateReading(written, words(dated)),), certain=True)

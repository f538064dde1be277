"""What is looked for: one line of text as somebody would say it, and what is chosen beside it.

"Clara and Lambert on the ferry, about 1930" asks for the words clara, lambert and ferry, and for the years around 1930.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, date
from functools import reduce

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.name_search import UNSAID
from kinphoto.archive.collection.container_pages import Missing
from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.gedcom.dates_in_text import DateFound, find_dates
from kinphoto.reason.model.span import Dated, Span, span_of_years, whole_years, year_of

_YEARS = re.compile(r"([1-9]\d{3})(?:(s)|\s*[-–/]\s*(\d{4}))?")
"""Also years before photography, and to come. A number that begins with 0 is that of a scan: harbour 0012."""

_LONGEST = 500
"""Letters of a line up to which years are looked for as people say them; in pasted text they are numbers."""

SMALL_WORDS = frozenset(fold(
    "a an the and or of at in on by to with from for as my our her his their "
    "der die das den dem des ein eine einen einem einer und oder am im an auf in bei beim mit vom von zu zum zur als "
    "mein meine meiner unser unsere unserer ihr ihre sein seine "
    "de het een en of op in bij met van te als mijn onze "
    "le la les un une des et ou du de au aux à en dans sur avec chez mon ma mes notre nos "
    "el los las una y o del al con en mi mis nuestra nuestro il lo gli e di da nel nella sul con mio mia "
    "os as um uma do dos das no na nos nas com meu minha "
    "den det en ett och och i på med av til til fra og min mitt vår hos"
).split())  # fmt: skip
"""Articles, prepositions and the like, which somebody says without looking for them, in the languages backs are mostly
written in (*ours*, from memory). In a name they count: Ada von Berg."""

PICTURES = frozenset(fold(
    "all every any picture pictures photo photos photograph photographs image images "
    "alle jedes bild bilder foto fotos fotografie fotografien aufnahme aufnahmen "
    "afbeelding afbeeldingen toutes tous photographie photographies todas todos tutte tutti imagen imágenes bilde "
    "billede billeder alla"
).split())  # fmt: skip
"""What everything here is: "all pictures of Clara" asks for Clara, unless the words themselves stand somewhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchQuery:
    """What is looked for; all of it has to match. `people` are all to be in the picture; `since` and `until` are years;
    `box` is a container (row id) with those inside it."""

    text: str = ""
    people: tuple[str, ...] = ()
    ancestors: str | None = None
    descendants: str | None = None
    box: int | None = None
    since: int | None = None
    until: int | None = None
    missing: Missing | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing is asked at all."""
        return self == SearchQuery()


def understood(question: SearchQuery, *, finer: bool = False) -> tuple[list[str], Span | None]:
    """The words of a question, folded, and the days its years mean; with `finer` also those of its months, seasons,
    feasts and days, which otherwise are words that may stand somewhere."""
    rest, said = _dates_apart(question.text, finer)
    days = said
    if question.since is not None or question.until is not None:
        first, last = (
            None if year is None else min(max(year, MINYEAR), MAXYEAR) for year in (question.since, question.until)
        )
        days = span_of_years(first, last) if said is None else said.meet(span_of_years(first, last))
    return without(fold(rest).split(), UNSAID), days


def otherwise(question: SearchQuery) -> Iterator[tuple[list[str], Span | None]]:
    """What else it may mean where nothing is found as it was said: "Whitsun 1931" by its date, "all pictures of Clara"
    without what everything is."""
    seen = [understood(question)]
    for words, days in (understood(question, finer=True), seen[0]):
        for meant in ((words, days), (without(words, PICTURES), days)):
            if meant not in seen:
                seen.append(meant)
                yield meant


def without_years(text: str) -> str:
    """What remains of a line when its years are taken out, as it was typed."""
    return " ".join(_dates_apart(text, finer=False)[0].split())


def without(words: Collection[str], unsaid: Collection[str]) -> list[str]:
    """The words without those that are not looked for; all of them where nothing else is there."""
    return [word for word in words if word not in unsaid] or list(words)


def _dates_apart(text: str, finer: bool) -> tuple[str, Span | None]:
    """The text without what it says of years, and the days that all of that means; with `finer` without all dates."""
    text = re.sub(r"\s*[-–]\s*(?=\d{4}\b)", "-", text)
    spans = []
    for found in reversed(find_dates(text, date.today()) if len(text) <= _LONGEST else ()):
        days = _days_of(found)
        if days is not None and (finer or whole_years(days) == days):
            spans.append(days)
            text = f"{text[: found.start]} {text[found.start + len(found.text) :]}"
    rest = []
    for token in text.split():
        if match := _YEARS.fullmatch(token):
            first = int(match[1])
            spans.append(span_of_years(first, min(first + 9, MAXYEAR) if match[2] else int(match[3] or first)))
        else:
            rest.append(token)
    return " ".join(rest), reduce(Span.meet, spans) if spans else None


def _days_of(found: DateFound) -> Span | None:
    """The days of a date that has one meaning."""
    if not found.certain:
        return None
    try:
        return _about(parse_photograph_date(found.readings[0].date, date.today()))
    except InvalidValueError:
        return None


def _about(dated: Dated) -> Span:
    """Its days; of a date that is "about" those that are likely, as far as two standard deviations."""
    if dated.centre is None or dated.spread is None:
        return dated.span
    first, last = (round(dated.centre + side * 2 * dated.spread) for side in (-1, 1))
    return dated.span.meet(span_of_years(year_of(first), year_of(last)))

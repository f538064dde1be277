"""Finding photographs, people and containers by one line of text, or by what is chosen: people, a line of descent, a
box, years, what is still missing. Conditions combine, and the whole query fits into an address.

Words that are all in one person's names mean that person; every other word has to be in the name of somebody in the
picture, in the name of a container it is in, or in the words on and about it. Years mean photographs that were likely
taken then, or can have been where nothing is likely.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Select, and_, func, or_, select

from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.catalogue.finding_people import find_relative, relatives_called
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.lives import lives, rows_of
from kinphoto.archive.catalogue.names import kept_names
from kinphoto.archive.catalogue.person_cards import PersonCard, count_pictures, person_cards
from kinphoto.archive.catalogue.privacy import Public, photographs_shown, public_view
from kinphoto.archive.catalogue.stories import Story, read_stories
from kinphoto.archive.catalogue.story_links import stories_about
from kinphoto.archive.collection.container_pages import Missing, lacks
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.collection.photograph_page import ContainerName
from kinphoto.archive.search.question import (
    PICTURES,
    SMALL_WORDS,
    SearchQuery,
    otherwise,
    understood,
    without,
    without_years,
)  # fmt: skip
from kinphoto.archive.search.quoting import Quote, quotes
from kinphoto.archive.search.word_index import WordList
from kinphoto.reason.model.span import Span
from kinphoto.store import kindred
from kinphoto.store import tables as t
from kinphoto.store.among import among

A_PAGE = 60
MOST_PEOPLE = 12
IN_MANY = 4
"""Photographs that somebody is in, about, where an archive is large: whether to look by people or by photographs."""
MANY = 1000
"""People whose photographs are more than those of a few years."""


@dataclass(frozen=True, slots=True)
class SearchResult:
    """A page of the photographs that match, from number `start` of `count` on, by best date and the undated last; and
    the people and containers that the words themselves mean. `chosen` are the people asked for by name."""

    photographs: tuple[PhotographCard, ...]
    start: int
    count: int
    people: tuple[PersonCard, ...]
    boxes: tuple[ContainerName, ...]
    chosen: tuple[PersonCard, ...]
    stories: tuple[Story, ...] = ()
    """Those with all the words, and about the people asked for; whatever the years or the box."""
    by_kinship: bool = False
    """Whether the words stand nowhere, and mean `people` by what they are to somebody."""

    @property
    def by_words(self) -> list[str]:
        """The codes of the photographs on or about which the words can stand."""
        return [] if self.by_kinship else [one.code for one in self.photographs]


def search(connection: Connection, question: SearchQuery, start: int = 0, *, for_anybody: bool = False) -> SearchResult:
    """The photographs that match, a page from number `start` on, and the people and containers that the words mean.
    With `for_anybody` as if there were only what anybody may see, and only the words that anybody may read: neither
    what is found, nor how much, nor an error reveals that there is more.

    Raises NotFoundError or AmbiguousError for people who are unclear.
    """
    public = public_view(connection, for_anybody)
    tried: list[_Search] = []
    for asked, years in _meanings(connection, question, public):
        ids, count = _page(
            connection, asked.photographs(question, years), years, question.missing, max(start, 0), public
        )
        tried.append(asked)
        if count or asked.related:
            break
    else:
        asked = tried[0]
    chosen = [asked.person(one) for one in question.people]
    meant = asked.cards_of(_among_many(connection, asked.meant(), ids))
    return SearchResult(
        tuple(cards(connection, ids, public).values()), max(start, 0), count, meant, tuple(asked.boxes_called()),
        asked.cards_of(chosen), asked.stories(chosen), by_kinship=bool(asked.related),
    )  # fmt: skip


def _meanings(
    connection: Connection, question: SearchQuery, public: Public | None
) -> Iterator[tuple[_Search, Span | None]]:
    """What the question may mean, with its days: the words as they were said, then what somebody is to the proband,
    then what else."""
    words, years = understood(question)
    yield _Search(connection, words, public), years
    if words and public is None and (related := _related(connection, question.text)):
        yield _Search(connection, words, public, related), years
    for words, years in otherwise(question):
        yield _Search(connection, words, public), years


def _related(connection: Connection, text: str) -> tuple[int, ...]:
    """Who is meant by what they are to the proband, "pictures of my grandmother, 1930s"; nobody for other words."""
    named = without_years(text).split()
    while named:
        if found := relatives_called(connection, " ".join(named)):
            return found.people
        if fold(named[0]) not in PICTURES | SMALL_WORDS:
            return ()
        del named[0]
    return ()


def quotes_for(
    connection: Connection, photographs: Collection[str], question: SearchQuery
) -> dict[str, tuple[Quote, ...]]:
    """For each of these photographs (codes) the words on and about it that a question asks for."""
    return quotes(connection, photographs, without(understood(question)[0], SMALL_WORDS))


@dataclass(frozen=True, slots=True)
class PhotographSet:
    """Photographs (row ids), and all that are in some containers: those need not be listed, and may be thousands."""

    boxes: set[int]
    photographs: set[int]


NOTHING = PhotographSet(set(), set())


@lru_cache(maxsize=10_000)
def _words(name: str) -> tuple[str, ...]:
    """The words of a container's name, folded."""
    return tuple(fold(name).split())


class _Search:
    """The look-ups of one query, each made once."""

    def __init__(
        self, connection: Connection, words: Sequence[str], public: Public | None, related: Collection[int] = ()
    ) -> None:
        """`related`: the people (row ids) that all the words together mean, whatever they are called."""
        self.connection = connection
        self.related = set(related)
        self.words = words
        self.public = public
        self.called = kept_names(connection, public)
        self._texts = WordList(connection)
        self._people = {
            word: set(self.called.ids[self.called.having(word, whole=word in SMALL_WORDS)].tolist()) for word in words
        }
        c = t.container.c
        self._boxes = [
            row
            for row in connection.execute(select(c.id, c.name, c.parent_id))
            if public is None or row.id in public.containers
        ]
        self._box_words = [(row.id, _words(row.name)) for row in self._boxes]

    def photographs(self, question: SearchQuery, years: Span | None) -> PhotographSet | None:
        """The photographs that fit everything but the years, or of these all those of the years; None for all."""
        groups = [{self.person(one)} for one in question.people]
        for one, walk in ((question.ancestors, kindred.ancestors), (question.descendants, kindred.descendants)):
            if one is not None:
                groups.append(set(walk(self.connection, self.person(one))))
        found = None
        for people in groups:
            found = PhotographSet(set(), self._with(people, found, years))
        for run in self.runs():
            found = self._of_run(run, found, years)
        return found if question.box is None else self._both(found, PhotographSet(self._within({question.box}), set()))

    def person(self, text: str) -> int:
        """The row id of the person meant. Raises NotFoundError or AmbiguousError."""
        return int(find_relative(self.connection, text, self.public)["id"])

    def runs(self) -> Sequence[Sequence[str]]:
        """The words in runs, the longest that one person's names hold together, else single ones; without small words
        that are in no name where there are others."""
        if self.related:
            return [self.words]
        found, at, words = [], 0, self.words
        while at < len(words):
            end = next((e for e in range(len(words), at + 1, -1) if self._called(words[at:e])), at + 1)
            found.append(words[at:end])
            at = end
        return [run for run in found if len(run) > 1 or run[0] not in SMALL_WORDS] or found

    def meant(self) -> list[int]:
        """The people whom all the words together mean, or else those that one of the runs means."""
        whole = self._called(self.words) if self.words else set()
        found = whole or {id_ for run in self.runs() for id_ in self._called(run)}
        return sorted(found)

    def boxes_called(self) -> Iterator[ContainerName]:
        """The containers in whose names all the words stand."""
        if self.words:
            called = set.intersection(*map(self._boxes_with, without(self.words, SMALL_WORDS)))
            yield from (ContainerName(row.id, row.name) for row in self._boxes if row.id in called)

    def stories(self, chosen: Sequence[int]) -> tuple[Story, ...]:
        """What was told with all the words: in it, or in the name of who told it or whom it is about."""
        if self.public is not None or not (self.words or chosen):
            return ()
        b, s, i = t.story_about.c, t.story.c, t.informant.c
        about = self.connection.execute(select(b.story_id, b.person_id).where(b.person_id.is_not(None))).all()
        told = select(s.id, i.name).join(t.informant, i.id == s.informant_id)
        tellers = [(id_, fold(name).split()) for id_, name in self.connection.execute(told)]
        named = self.called.identity.names
        found: set[int] | None = None
        for word in without(self.words, SMALL_WORDS):
            people = set(named(self._people[word])) if about else set()
            having = self._texts.told_with(word) | {row.story_id for row in about if row.person_id in people}
            having |= {id_ for id_, name in tellers if any(part.startswith(word) for part in name)}
            found = having if found is None else found & having
        for person in chosen:
            theirs = set(stories_about(self.connection, person=person))
            found = theirs if found is None else found & theirs
        return tuple(one for one in read_stories(self.connection, found or set()) if not one.withdrawn)

    def cards_of(self, people: Sequence[int]) -> tuple[PersonCard, ...]:
        """These people, those in the most pictures first, then the others in their order."""
        if not people:
            return ()
        pictures = count_pictures(self.connection, people, self.public)
        ranked = sorted(dict.fromkeys(people), key=lambda id_: (-pictures[id_], id_) if id_ in pictures else (0, 0))
        shown = ranked[:MOST_PEOPLE]
        lived = lives(self.connection, shown, self.called.identity)
        found = person_cards(self.connection, shown, PersonCard, self.public, lived, pictures)
        return tuple(found[id_] for id_ in shown)

    def _of_run(self, run: Sequence[str], among_these: PhotographSet | None, years: Span | None) -> PhotographSet:
        """Those of the photographs (None: all; those of other years may be left out) in which somebody has that name,
        or that have all the words on them or on their containers."""
        public = self.public is not None
        first, *more = (
            PhotographSet(self._within(self._boxes_with(word)), self._texts.having(word, for_anybody=public))
            for word in run
        )
        found = self._both(among_these, first)
        for fitting in more:
            found = self._both(found, fitting)
        return PhotographSet(found.boxes, found.photographs | self._with(self._called(run), among_these, years))

    def _called(self, run: Sequence[str]) -> set[int]:
        if self.related:
            return self.related
        return set.intersection(*(self._people[word] for word in run))

    def _with(self, people: Collection[int], among_these: PhotographSet | None, years: Span | None) -> set[int]:
        """Those of the photographs (None: all; those of other years may be left out) that any of these people is in."""
        everywhere = self.called.identity.names(people)
        if not everywhere:
            return set()
        a, e = t.appearance.c, t.estimate.c
        theirs = select(a.photograph_id).where(a.denied == 0, a.withdrawn == 0).distinct()
        # of many people: by the photographs, as adding nothing keeps the database from starting with the people
        many = theirs.where(among(self.connection, a.person_id + 0, everywhere))
        few = among_these is not None and not among_these.boxes
        if among_these is not None and few and len(among_these.photographs) < IN_MANY * len(everywhere):
            return {row[0] for row in rows_of(self.connection, many, a.photograph_id, among_these.photographs)}
        if years is not None and len(everywhere) > MANY:
            theirs = many.where(a.photograph_id.in_(select(e.photograph_id).where(taken_in(years))))
        else:
            theirs = theirs.where(among(self.connection, a.person_id, everywhere))
        return self._both(among_these, PhotographSet(set(), set(self.connection.scalars(theirs).all()))).photographs

    def _boxes_with(self, word: str) -> set[int]:
        return {id_ for id_, name in self._box_words if any(part.startswith(word) for part in name)}

    def _within(self, boxes: set[int]) -> set[int]:
        """These containers and those inside them."""
        return within({row.id: row.parent_id for row in self._boxes}, boxes)

    def _both(self, one: PhotographSet | None, other: PhotographSet) -> PhotographSet:
        """What fits both (None: everything)."""
        if one is None:
            return other
        photographs = one.photographs & other.photographs
        photographs |= self._lying_in(one.boxes, other.photographs) | self._lying_in(other.boxes, one.photographs)
        return PhotographSet(one.boxes & other.boxes, photographs)

    def _lying_in(self, boxes: set[int], photographs: set[int]) -> set[int]:
        """Those of the photographs that are in one of the containers."""
        p = t.photograph.c
        if not boxes or not photographs:
            return set()
        return {
            row[0]
            for row in rows_of(self.connection, select(p.id, p.container_id), p.id, photographs)
            if row[1] in boxes
        }


def _page(
    connection: Connection, fitting: PhotographSet | None, years: Span | None, missing: Missing | None, start: int,
    public: Public | None,
) -> tuple[list[int], int]:  # fmt: skip
    """The photographs of one page, and how many there are in all."""
    if fitting is not None and not fitting.boxes and not fitting.photographs:
        return [], 0
    p, e = t.photograph.c, t.estimate.c
    query: Select[Any] = select(p.id).select_from(t.photograph)
    query = query.outerjoin(t.estimate, e.photograph_id == p.id)
    if years is not None:
        query = query.where(taken_in(years))
    if missing is not None:
        query = query.where(lacks(missing, public))
    if fitting is not None:
        places = [among(connection, p.container_id, fitting.boxes)] if fitting.boxes else []
        query = query.where(or_(among(connection, p.id, fitting.photographs), *places))
    query = query.where(*photographs_shown(connection, p.id, public))
    ordered = query.order_by(e.best.is_(None), e.best, e.earliest.is_(None), e.earliest, p.id)
    rows = connection.execute(ordered.add_columns(func.count().over()).limit(A_PAGE).offset(start)).all()
    count = rows[0][1] if rows else (start and connection.scalar(query.with_only_columns(func.count()))) or 0
    return [row[0] for row in rows], count


def taken_in(years: Span) -> Any:
    """That a photograph is likely to have been taken in these days, or can have been where nothing is likely."""
    e = t.estimate.c
    first, last = func.coalesce(e.likely_from, e.earliest), func.coalesce(e.likely_to, e.latest)
    begins = [] if years.last is None else [first <= years.last]
    ends = [] if years.first is None else [last >= years.first]
    return and_(or_(e.best.is_not(None), e.state != "open"), *begins, *ends)


def _among_many(connection: Connection, people: Sequence[int], shown: Sequence[int]) -> Sequence[int]:
    """Out of very many people those in the photographs that are shown, if any are; all of them if they are few."""
    if len(people) <= MANY:
        return people
    a = t.appearance.c
    query = select(a.person_id).where(a.denied == 0, a.withdrawn == 0, among(connection, a.photograph_id, shown))
    seen = set(connection.scalars(query)).intersection(people)
    return sorted(seen) if seen else people

"""Finding photographs, people and containers by one line somebody types, or by what they choose: people, a line of
descent, a box, years, what is still wanting. What is asked combines, and the whole question fits into an address.

A run of words that one person's names hold together means that person; every other word stands in the name of somebody
in the picture, in the name of a container it lies in, or in the words on and about it. Years mean photographs that are
likely to have been taken then, or can have been where nothing is likely.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, and_, func, or_, select

from kinphoto.archive.boxes import Mounted, Wanting, lacks, mounted
from kinphoto.archive.finding import find_person
from kinphoto.archive.folding import fold
from kinphoto.archive.identity import same_as
from kinphoto.archive.lives import Life, lives, rows_of
from kinphoto.archive.mount import Box
from kinphoto.archive.people_search import Names
from kinphoto.archive.wordlist import WordList
from kinphoto.reason.span import Span
from kinphoto.store import kindred
from kinphoto.store import tables as t

A_PAGE = 60
MOST_PEOPLE = 12
_YEARS = re.compile(r"(\d{4})(?:(s)|\s*[-–/]\s*(\d{4}))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is looked for; everything given has to fit. `people` are all to be in the picture; `since` and `until` are
    years; `box` is a container (row id) with those inside it."""

    text: str = ""
    people: tuple[str, ...] = ()
    ancestors: str | None = None
    descendants: str | None = None
    box: int | None = None
    since: int | None = None
    until: int | None = None
    wanting: Wanting | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing is asked at all."""
        return self == Question()


@dataclass(frozen=True, slots=True)
class NamedPerson:
    """Somebody whose names fit the words."""

    id: str
    name: str
    life: Life
    pictures: int


@dataclass(frozen=True, slots=True)
class Found:
    """A page of the photographs that fit, from number `start` of `count` on, by best date and the undated last; and the
    people and containers that the words themselves mean. `chosen` are the people asked for by name."""

    photographs: tuple[Mounted, ...]
    start: int
    count: int
    people: tuple[NamedPerson, ...]
    boxes: tuple[Box, ...]
    chosen: tuple[NamedPerson, ...]


def search(connection: Connection, folder: Path, question: Question, start: int = 0) -> Found:
    """What fits. Raises NotFoundError or AmbiguousError for people who cannot be told."""
    words, years = understood(question)
    asked = _Asked(connection, folder)
    fitting = asked.photographs(words, question)
    ids, count = _page(connection, fitting, years, question.wanting, max(start, 0))
    chosen = [find_person(connection, one)["id"] for one in question.people]
    return Found(
        tuple(mounted(connection, ids)), max(start, 0), count,
        _named(connection, asked.meant(words)), tuple(asked.boxes_called(words)), _named(connection, chosen),
    )  # fmt: skip


def understood(question: Question) -> tuple[list[str], Span | None]:
    """The words of a question, folded, and the days its years mean."""
    words: list[str] = []
    first, last = question.since, question.until
    for token in re.sub(r"\s*[-–]\s*(?=\d{4}\b)", "-", question.text).split():
        match = _YEARS.fullmatch(token)
        if match is None:
            words += fold(token).split()
            continue
        begin = int(match[1])
        end = begin + 9 if match[2] else int(match[3] or begin)
        first = begin if first is None else max(first, begin)
        last = end if last is None else min(last, end)
    if first is None and last is None:
        return words, None
    days = Span(
        None if first is None else date(min(max(first, 1), 9999), 1, 1).toordinal(),
        None if last is None else date(min(max(last, 1), 9999), 12, 31).toordinal(),
    )
    return words, days


class _Asked:
    """One question's look-ups, each made once."""

    def __init__(self, connection: Connection, folder: Path) -> None:
        self.connection = connection
        self.others = same_as(connection)
        self._words = WordList(folder, connection)
        self._names = Names(connection, self.others)
        self._people: dict[str, set[int]] = {}
        c = t.container.c
        self._boxes = connection.execute(select(c.id, c.name, c.parent_id)).all()

    def photographs(self, words: Sequence[str], question: Question) -> set[int] | None:
        """The photographs that fit everything but the years; None for all of them."""
        sets = [self._of_run(run) for run in self.runs(words)]
        sets += [self._with({find_person(self.connection, one)["id"]}) for one in question.people]
        for one, walk in ((question.ancestors, kindred.ancestors), (question.descendants, kindred.descendants)):
            if one is not None:
                sets.append(self._with(walk(self.connection, find_person(self.connection, one)["id"])))
        if question.box is not None:
            sets.append(self._lying_in({question.box}))
        return set.intersection(*sets) if sets else None

    def runs(self, words: Sequence[str]) -> Iterator[Sequence[str]]:
        """The words in runs, the longest that one person's names hold together, else single ones."""
        at = 0
        while at < len(words):
            end = next((e for e in range(len(words), at + 1, -1) if self._called(words[at:e])), at + 1)
            yield words[at:end]
            at = end

    def meant(self, words: Sequence[str]) -> list[int]:
        """The people whom all the words together mean, or else those that one of the runs means."""
        whole = self._called(words) if words else set()
        found = whole or {id_ for run in self.runs(words) for id_ in self._called(run)}
        return sorted(found)

    def boxes_called(self, words: Sequence[str]) -> Iterator[Box]:
        """The containers in whose names all the words stand."""
        for row in self._boxes:
            name = fold(row.name).split()
            if words and all(any(part.startswith(word) for part in name) for word in words):
                yield Box(row.id, row.name)

    def _of_run(self, run: Sequence[str]) -> set[int]:
        named = self._with(self._called(run))
        texts = [self._words.having(word) | self._lying_in(self._boxes_with(word)) for word in run]
        return named | set.intersection(*texts)

    def _called(self, run: Sequence[str]) -> set[int]:
        for word in run:
            if word not in self._people:
                self._people[word] = set(self._names.all_of([[word]]))
        return set.intersection(*(self._people[word] for word in run))

    def _with(self, people: Collection[int]) -> set[int]:
        """The photographs any of these people is in."""
        everywhere = {*people, *(other for other, who in self.others.items() if who in people)}
        a = t.appearance.c
        query = select(a.person_id, a.photograph_id).where(a.denied == 0, a.withdrawn == 0)
        return {row[1] for row in rows_of(self.connection, query, a.person_id, everywhere)}

    def _boxes_with(self, word: str) -> set[int]:
        return {row.id for row in self._boxes if any(part.startswith(word) for part in fold(row.name).split())}

    def _lying_in(self, boxes: set[int]) -> set[int]:
        """The photographs in these containers and those inside them."""
        within, edge = set(boxes), set(boxes)
        while edge:
            edge = {row.id for row in self._boxes if row.parent_id in edge} - within
            within |= edge
        p = t.photograph.c
        return {row[1] for row in rows_of(self.connection, select(p.container_id, p.id), p.container_id, within)}


def _page(
    connection: Connection, fitting: set[int] | None, years: Span | None, wanting: Wanting | None, start: int
) -> tuple[list[int], int]:
    """The photographs of one page, and how many there are in all."""
    p, e = t.photograph.c, t.estimate.c
    query: Select[Any] = select(p.id, e.best, e.earliest).select_from(t.photograph)
    query = query.outerjoin(t.estimate, e.photograph_id == p.id)
    if years is not None:
        query = query.where(_taken_in(years))
    if wanting is not None:
        query = query.where(lacks(wanting))
    if fitting is not None:
        rows = sorted(rows_of(connection, query, p.id, fitting), key=_order)
        return [row[0] for row in rows[start : start + A_PAGE]], len(rows)
    count = connection.scalar(query.with_only_columns(func.count())) or 0
    ordered = query.order_by(e.best.is_(None), e.best, e.earliest.is_(None), e.earliest, p.id)
    return [row[0] for row in connection.execute(ordered.limit(A_PAGE).offset(start))], count


def _order(row: Any) -> tuple[bool, int, bool, int, int]:
    return row[1] is None, row[1] or 0, row[2] is None, row[2] or 0, row[0]


def _taken_in(years: Span) -> Any:
    """That a photograph is likely to have been taken in these days, or can have been where nothing is likely."""
    e = t.estimate.c
    first, last = func.coalesce(e.likely_from, e.earliest), func.coalesce(e.likely_to, e.latest)
    begins = [] if years.last is None else [first <= years.last]
    ends = [] if years.first is None else [last >= years.first]
    return and_(or_(e.best.is_not(None), e.state != "open"), *begins, *ends)


def _named(connection: Connection, ids: Sequence[int]) -> tuple[NamedPerson, ...]:
    """People with their lives and how many pictures they are in, those with most of them first."""
    p, a = t.person.c, t.appearance.c
    counts = (
        select(a.person_id, func.count(a.photograph_id.distinct()))
        .where(a.denied == 0, a.withdrawn == 0)
        .group_by(a.person_id)
    )
    pictures = {row[0]: row[1] for row in rows_of(connection, counts, a.person_id, set(ids))}
    best = sorted(ids, key=lambda id_: (-pictures.get(id_, 0), id_))[:MOST_PEOPLE]
    rows = {row[0]: row for row in rows_of(connection, select(p.id, p.code, p.name), p.id, set(best))}
    lived = lives(connection, set(best))
    return tuple(NamedPerson(rows[i][1], rows[i][2], lived[i], pictures.get(i, 0)) for i in best)

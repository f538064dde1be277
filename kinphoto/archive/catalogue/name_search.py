"""Finding people by what somebody types in one line: parts of names in any order, and years.

A word fits a person when it is part of any of their names, of what they were called, or of the surname of a man they
married, whatever the case and the accents. A year fits when it can have been one of their life. Only when nobody fits
are words of nearly the same spelling tried, so that a slip of the pen never hides who was really meant.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, or_, select, true

from kinphoto.archive.catalogue.by_kinship import ADDRESSES
from kinphoto.archive.catalogue.codes import formerly, row_of, with_code
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.privacy import Public

_YEARS = re.compile(r"\W*(\d{3,4})(?:\W+(\d{3,4}))?\W*")
UNSAID = frozenset(("nee", "geb", "geborene"))
"""Words between names that are not names: "Ada Marsh, née Berg"."""
_ADDRESS = ADDRESSES | {*fold("mr mrs miss ms dr old young little frau herr fräulein doktor").split()}
"""What somebody is called before their name, in English and German; a tree has them without."""
_NEAR = 0.75
"""The least similarity (Jaro and Winkler's, 0 to 1) of a word that may be the same name spelt otherwise."""
_AS_NEAR = 0.1
"""By how much it may be less than that of the nearest word."""
_ALTERNATIVES = 8


@dataclass(frozen=True, slots=True)
class Match:
    """Somebody found. `found_as` is the other name by which they were found, "" when it was the name they go by."""

    person_id: int
    found_as: str = ""


@dataclass(frozen=True, slots=True)
class Matches:
    """Who was found, best first; `similar` when there was no exact match and these have similar names."""

    people: tuple[Match, ...]
    lives: dict[int, Life]
    similar: bool = False


def search(connection: Connection, text: str, most: int | None = None, public: Public | None = None) -> Matches:
    """The people that fit all words and years of `text`; everybody when there are none. With `most`, those beyond that
    number may be left out; with `public` as if there were only the people it holds, without those of like spelling."""
    identity = read_identity(connection)
    words, years = understood(text)
    row = with_code(connection, t.person, text)
    if row is not None:
        found = {identity.of(row["id"]): ""}
        if public is not None and not public.people.issuperset(found):
            return Matches((), {})
        return Matches(tuple(Match(id_) for id_ in found), lives(connection, found, identity))
    names = Names(connection, identity, public)
    found = names.all_of([[word] for word in words])
    if most is not None and not years:
        found = _first_by_name(connection, found, words, most)
    lived = _alive_in(connection, found, years, identity)
    if lived or not words or public is not None:
        return Matches(_in_order(connection, found, lived, words, years), lived)
    if former := {identity.of(row["id"]): "" for row in formerly(connection, t.person, text)}:
        return Matches(tuple(Match(id_) for id_ in former), lives(connection, former, identity))
    near = names.nearest(words)
    found = names.all_of(near, whole=True) if all(near) else {}
    lived = _alive_in(connection, found, years, identity)
    return Matches(_most_alike(connection, found, lived, words), lived, similar=bool(lived))


def known_as(connection: Connection, text: str, public: Public | None = None) -> list[int]:
    """The people in whose names, nicknames and husbands' surnames all words of `text` stand, whole; nobody for none.

    One who turned out to be somebody else is that other.
    """
    words = [word for word in fold(text).split() if word not in UNSAID]
    names = Names(connection, read_identity(connection), public)
    return sorted(names.all_of([[word] for word in words], whole=True)) if words else []


def understood(text: str) -> tuple[list[str], list[int]]:
    """The words of names and the years of a line: "Ada Marsh 1890-1961" has two of each."""
    words: list[str] = []
    years: list[int] = []
    for token in text.split():
        match = _YEARS.fullmatch(token)
        if match:
            years += [int(year) for year in match.groups() if year]
        else:
            words += [word for word in fold(token).split() if word not in UNSAID]
    return words, years


def without_address(text: str) -> str:
    """The line without words such as "Aunt" or "Oma" before a name; unchanged where nothing else is left."""
    words = text.split()
    while words and all(one in _ADDRESS for one in fold(words[0]).split()):
        words.pop(0)
    return " ".join(words) or text


class Names:
    """Who has which word in a name; every answer maps people to the other name it stood in, "" for the first. With
    `public` only the people it holds are there, also as husbands."""

    def __init__(self, connection: Connection, identity: Identity, public: Public | None = None) -> None:
        self.connection = connection
        self.identity = identity
        self._people = None if public is None else public.people
        n = t.name.c
        self.nicknames = [
            (row.person_id, row.nickname, fold(row.nickname))
            for row in connection.execute(select(n.person_id, n.nickname).where(n.nickname != ""))
        ]

    def all_of(self, words: Sequence[Sequence[str]], whole: bool = False) -> dict[int, str]:
        """The people who have each of the words, or for each one of its alternatives; everybody for no words."""
        if not words:
            p = t.person.c
            everybody = self.connection.scalars(select(p.id).where(p.same_as_id.is_(None)))
            return dict.fromkeys(filter(self._shown, everybody), "")
        found, *more = [self._any_of(alternatives, whole) for alternatives in words]
        for other in more:
            found = {id_: _joined(as_, other[id_]) for id_, as_ in found.items() if id_ in other}
        return found

    def nearest(self, words: Sequence[str]) -> list[list[str]]:
        """For each word those of all names that are spelt most like it."""
        from rapidfuzz import process
        from rapidfuzz.distance import JaroWinkler

        folded = [*self.connection.scalars(select(t.name.c.folded).distinct()), *(name for *_, name in self.nicknames)]
        known = sorted({word for name in folded for word in name.split()})
        near = []
        for word in words:
            hits = process.extract(
                word, known, scorer=JaroWinkler.similarity, score_cutoff=_NEAR, limit=_ALTERNATIVES, processor=None
            )
            near.append([hit for hit, score, _ in hits if score >= hits[0][1] - _AS_NEAR])
        return near

    def everything(self) -> Iterable[tuple[int, str, str]]:
        """Everything anybody is called: the person, as which other name ("" for the one they go by), and it folded."""
        return self._called(())

    def _any_of(self, words: Sequence[str], whole: bool) -> dict[int, str]:
        found: dict[int, str] = {}
        for who, as_, folded in self._called(words):
            if _has(folded, words, whole) and found.get(who, as_) >= as_:  # the name they go by before all others
                found[who] = as_
        return found

    def _called(self, words: Sequence[str]) -> Iterable[tuple[int, str, str]]:
        """Names, nicknames and husbands' surnames, of the people they belong to in the end; those without any of the
        words may be left out."""
        n = t.name.c
        query = select(n.person_id, n.position, n.text, n.folded, n.surname).where(_fitting(words))
        rows = self.connection.execute(query).all()
        written = ((person_id, text if position else "", folded) for person_id, position, text, folded, _ in rows)
        married = self._married([(person_id, surname) for person_id, *_, surname in rows if surname], words)
        for person_id, as_, folded in (*written, *self.nicknames, *married):
            who = self.identity.of(person_id)
            if self._shown(who):
                if who != person_id:
                    as_ = as_ or row_of(self.connection, t.person, person_id)["name"]
                yield who, as_, folded

    def _married(self, surnames: Sequence[tuple[int, str]], words: Sequence[str]) -> Iterable[tuple[int, str, str]]:
        """Women, and those of the surnames of the men they married that have one of the words."""
        folded = {surname: fold(surname) for surname in {surname for _, surname in surnames}}
        fitting = {surname for surname, name in folded.items() if not words or _has(name, words, whole=False)}
        names: dict[int, list[str]] = defaultdict(list)
        for person_id, surname in surnames:
            if surname in fitting and self._shown(person_id):
                names[person_id].append(surname)
        p, wife, husband = t.person.c, t.partner.alias("wife"), t.partner.alias("husband")
        query = (
            select(husband.c.person_id, wife.c.person_id)
            .join(wife, (wife.c.family_id == husband.c.family_id) & (wife.c.person_id != husband.c.person_id))
            .join(t.person, (p.id == wife.c.person_id) & (p.sex != "M"))
        )
        for one, other in rows_of(self.connection, query, husband.c.person_id, names):
            for surname in names[one]:
                yield other, surname, folded[surname]

    def _shown(self, person_id: int) -> bool:
        return self._people is None or person_id in self._people


def _fitting(words: Sequence[str]) -> ColumnElement[bool]:
    return or_(*(t.name.c.folded.contains(word, autoescape=True) for word in words)) if words else true()


def _has(folded: str, words: Sequence[str], whole: bool) -> bool:
    """Whether one of the words is in a name: anywhere, or as one of its own words."""
    within = folded.split() if whole else folded
    return any(word in within for word in words)


def _joined(one: str, other: str) -> str:
    """Two other names of one person as one."""
    if not one or not other or one == other:
        return one or other
    return f"{one}, {other}"


def _alive_in(
    connection: Connection, found: Collection[int], years: Sequence[int], identity: Identity
) -> dict[int, Life]:
    """The lives of those found whose life can have had all these years in it."""
    lived = lives(connection, found, identity)
    return {id_: life for id_, life in lived.items() if all(life.covers(year) for year in years)}


def _first_by_name(connection: Connection, found: dict[int, str], words: Sequence[str], most: int) -> dict[int, str]:
    """Those of them who come first whenever they were born, with all namesakes of the last: so that the lives of the
    others need not be read."""
    if len(found) <= most:
        return found
    names = _first_names(connection, found)
    place = {id_: _place_of_name(*names.get(id_, ("", "")), words) for id_ in found}
    last = sorted(place.values())[max(most, 1) - 1]
    return {id_: as_ for id_, as_ in found.items() if place[id_] <= last}


def _place_of_name(surname: str, folded: str, words: Sequence[str]) -> tuple[int, str, str]:
    """Names that have words whole come first, then by surname and name."""
    return -len(set(words).intersection(folded.split())), surname, folded


def _in_order(
    connection: Connection, found: dict[int, str], lived: dict[int, Life], words: Sequence[str], years: Sequence[int]
) -> tuple[Match, ...]:
    """Those who were born or died in the years, then those whose name has whole words, then by surname and name."""
    names = _first_names(connection, lived)

    def place(id_: int) -> tuple[int, tuple[int, str, str], int, int]:
        turns = sum(lived[id_].turns(year) for year in years)
        begin = lived[id_].begin
        by_name = _place_of_name(*names.get(id_, ("", "")), words)
        return -turns, by_name, (begin.date.span.first or 0) if begin else 0, id_

    return tuple(Match(id_, found[id_]) for id_ in sorted(lived, key=place))


def _most_alike(
    connection: Connection, found: dict[int, str], lived: Collection[int], words: Sequence[str]
) -> tuple[Match, ...]:
    """Those whose name, or the one they were found as, is spelt most like the words."""
    from rapidfuzz import fuzz

    names, line = _first_names(connection, lived), " ".join(words)

    def place(id_: int) -> tuple[float, str, int]:
        surname, folded = names.get(id_, ("", ""))
        alike = fuzz.token_set_ratio(line, f"{folded} {fold(found[id_])}")
        return -alike, f"{surname} {folded}", id_

    return tuple(Match(id_, found[id_]) for id_ in sorted(lived, key=place))


def _first_names(connection: Connection, ids: Collection[int]) -> dict[int, tuple[str, str]]:
    """Surname and whole name, folded, of the name each goes by."""
    n = t.name.c
    query = select(n.person_id, n.surname, n.folded).where(n.position == 0)
    rows = list(rows_of(connection, query, n.person_id, ids))
    surnames = {surname: fold(surname) for surname in {row[1] for row in rows}}
    return {row[0]: (surnames[row[1]], row[2]) for row in rows}

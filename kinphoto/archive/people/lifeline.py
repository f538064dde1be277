"""One person's life with its pictures: when it began and ended, who stood around it, and where each picture lies in it.

Read by queries on indexes, so that a page of it costs the same in an archive of any size.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.catalogue.finding import find_person
from kinphoto.archive.catalogue.identity import same_as, with_others
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.privacy import Public, photographs_shown
from kinphoto.archive.collection.container_pages import PhotographCard, cards
from kinphoto.archive.people import births, kinship
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.store import kindred
from kinphoto.store import tables as t


class IdentityDoubt(StrEnum):
    """Why nobody is sure that it is this person in a picture."""

    RIVAL = "rival"
    """Another name is on the same face."""
    CONTESTED = "contested"
    """Somebody says that it is not."""
    ASIDE = "aside"
    """It does not fit with everything else known."""


@dataclass(frozen=True, slots=True)
class InPicture:
    """A photograph the person is in. `region` frames them (row id); `doubts` say why it may be somebody else."""

    photograph: PhotographCard
    region: int | None
    doubts: tuple[IdentityDoubt, ...]


@dataclass(frozen=True, slots=True)
class Relative:
    """Somebody of the family: `kin` says what they are to the person ("her sister"), `portrait` is a region (row id)
    that shows them, `generation` counts up (1 for parents) or down (-1 for children); 0 for the same generation."""

    id: str
    name: str
    life: Life
    kin: str
    generation: int
    pictures: int
    portrait: int | None


@dataclass(frozen=True, slots=True)
class EventShown:
    """An event of the tree: `id` is what withdrawing it takes, `date_text` the date as the tree has it."""

    id: str
    tag: str
    kind: str
    date_text: str
    place: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Lifeline:
    """A person with their life, family and pictures. `kin` tells what they are to the proband, "" for nothing;
    `beside` counts the pictures with each of those they are most often seen with; `suggested` is the birth that
    photographs suggest where the tree leaves it open."""

    id: str
    name: str
    other_names: tuple[str, ...]
    sex: str
    life: Life
    kin: str
    outside: bool
    gone: bool
    may_be_living: bool
    note: str
    events: tuple[EventShown, ...]
    pictures: tuple[InPicture, ...]
    family: tuple[Relative, ...]
    beside: tuple[tuple[Relative, int], ...]
    alone: int
    ancestors: int
    descendants: int
    suggested: BirthEstimate | None

    @property
    def unsure(self) -> tuple[InPicture, ...]:
        """The pictures nobody is sure of."""
        return tuple(one for one in self.pictures if one.doubts)

    @property
    def sure(self) -> tuple[InPicture, ...]:
        """The others."""
        return tuple(one for one in self.pictures if not one.doubts)


MOST_RELATIVES = 60
"""Relatives shown; those of the nearest generations first."""
NEAR_GENERATIONS = 3
MOST_BESIDE = 8


def lifeline(
    connection: Connection, person: str, aside: Collection[str] = (), public: Public | None = None
) -> Lifeline:
    """The person meant; `aside` are the statements that are set aside. Raises NotFoundError or AmbiguousError. With
    `public` as if there were only the photographs and people it holds."""
    row = find_person(connection, person, public)
    id_, others = row["id"], same_as(connection)
    everywhere = with_others({id_}, others)
    pictures = _pictures(connection, id_, everywhere, frozenset(aside), public)
    above, below = kindred.ancestors(connection, id_), kindred.descendants(connection, id_)
    near = _near(connection, id_, above, below, public)
    seen_with, alone = _beside(connection, everywhere, others)
    people = _People(connection, id_, {*near, *seen_with}, others, public)
    told = kinship.phrases(connection, [id_])
    return Lifeline(
        row["code"], row["name"], _other_names(connection, everywhere, row["name"]), row["sex"],
        lives(connection, {id_}, others)[id_], told.get(id_, ""), bool(row["outside"]), bool(row["gone"]),
        bool(may_be_living(connection, {id_})), row["note"], _events(connection, id_), pictures,
        tuple(people(who, generation) for who, generation in near.items()),
        tuple((people(who, 0), count) for who, count in seen_with.items()), alone,
        _in_pictures(connection, above), _in_pictures(connection, below),
        births.suggested(connection, [row["code"]]).get(row["code"]),
    )  # fmt: skip


def _pictures(
    connection: Connection, id_: int, people: set[int], aside: frozenset[str], public: Public | None
) -> tuple[InPicture, ...]:
    """In the order in which they were taken, undated ones last."""
    a = t.appearance.c
    query = select(a.id, a.photograph_id, a.region_id, a.denied).where(a.person_id.in_(people), a.withdrawn == 0)
    query = query.where(*photographs_shown(connection, a.photograph_id, public))
    named: dict[int, RowMapping] = {}
    denied: set[tuple[int, int | None]] = set()
    for row in connection.execute(query.order_by(a.id.desc())).mappings():
        if row["denied"]:
            denied.add((row["photograph_id"], row["region_id"]))
        else:
            named[row["photograph_id"]] = row
    rivals = _with_rivals(connection, {row["region_id"] for row in named.values() if row["region_id"]}, people)
    ids = list(named)
    codes = dict(_codes(connection, ids))
    found = {one.code: one for one in cards(connection, ids, public)}

    def doubts(row: RowMapping) -> Iterable[IdentityDoubt]:
        if row["region_id"] in rivals:
            yield IdentityDoubt.RIVAL
        if not denied.isdisjoint({(row["photograph_id"], row["region_id"]), (row["photograph_id"], None)}):
            yield IdentityDoubt.CONTESTED
        if f"A{row['id']}" in aside:
            yield IdentityDoubt.ASIDE

    shown = [InPicture(found[codes[i]], row["region_id"], tuple(doubts(row))) for i, row in named.items()]
    return tuple(sorted(shown, key=_taken))


def _taken(one: InPicture) -> tuple[bool, int, str]:
    e = one.photograph.estimate
    best = e.best if e else None
    return best is None, best or 0, one.photograph.code


def _codes(connection: Connection, ids: Collection[int]) -> Iterable[tuple[int, str]]:
    p = t.photograph.c
    return ((row[0], row[1]) for row in rows_of(connection, select(p.id, p.code), p.id, ids))


def _with_rivals(connection: Connection, regions: Collection[int], people: set[int]) -> set[int]:
    """Those of the regions on which somebody else is named, too."""
    a = t.appearance.c
    query = select(a.region_id, a.person_id).where(a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None))
    return {row[0] for row in rows_of(connection, query, a.region_id, regions) if row[1] not in people}


def _near(
    connection: Connection, id_: int, above: Mapping[int, int], below: Mapping[int, int], public: Public | None
) -> dict[int, int]:
    """The relatives to show with their generation: up, then the same (partners, siblings), then down."""
    up = {who: steps for who, steps in above.items() if steps <= NEAR_GENERATIONS}
    down = {who: -steps for who, steps in below.items() if steps <= NEAR_GENERATIONS}
    same = dict.fromkeys(_partners(connection, id_) + _siblings(connection, id_), 0)
    shown = [(who, n) for who, n in {**same, **up, **down}.items() if public is None or who in public.people]
    ranked = sorted(shown, key=lambda pair: abs(pair[1]))[:MOST_RELATIVES]
    return dict(sorted(ranked, key=lambda pair: -pair[1]))


def _partners(connection: Connection, id_: int) -> list[int]:
    m = t.partner.c
    families = select(m.family_id).where(m.person_id == id_)
    return list(
        connection.scalars(select(m.person_id).where(m.family_id.in_(families), m.person_id != id_).order_by(m.id))
    )


def _siblings(connection: Connection, id_: int) -> list[int]:
    k = t.parent_link.c
    parents = select(k.parent_id).where(k.child_id == id_, k.withdrawn == 0)
    query = select(k.child_id).where(k.parent_id.in_(parents), k.child_id != id_, k.withdrawn == 0).distinct()
    return list(connection.scalars(query))


def _beside(connection: Connection, people: set[int], others: Mapping[int, int]) -> tuple[dict[int, int], int]:
    """Who is most often in one picture with them and how often, and in how many they are alone."""
    a = t.appearance.c
    mine = select(a.photograph_id).where(a.person_id.in_(people), a.denied == 0, a.withdrawn == 0)
    query = select(a.photograph_id, a.person_id).where(a.photograph_id.in_(mine), a.denied == 0, a.withdrawn == 0)
    company: dict[int, set[int]] = defaultdict(set)
    peopled: set[int] = set()
    everywhere: set[int] = set()
    for photograph_id, who in connection.execute(query):
        everywhere.add(photograph_id)
        if who in people:
            continue
        peopled.add(photograph_id)
        if who is not None:
            company[others.get(who, who)].add(photograph_id)
    ranked = sorted(company.items(), key=lambda pair: (-len(pair[1]), pair[0]))[:MOST_BESIDE]
    return {who: len(where) for who, where in ranked}, len(everywhere - peopled)


class _People:
    """Relatives with what is shown of them, read together."""

    def __init__(
        self, connection: Connection, id_: int, people: Collection[int], others: dict[int, int], public: Public | None
    ) -> None:
        p = t.person.c
        query = select(p.id, p.code, p.name)
        self._named = {row[0]: (row[1], row[2]) for row in rows_of(connection, query, p.id, people)}
        self._lives = lives(connection, people, others)
        self._kin = kinship.kin_of(connection, id_, people)
        a = t.appearance.c
        seen = (
            select(a.person_id, func.count(a.photograph_id.distinct()), func.max(a.region_id))
            .where(a.denied == 0, a.withdrawn == 0, *photographs_shown(connection, a.photograph_id, public))
            .group_by(a.person_id)
        )
        self._seen = {row[0]: (row[1], row[2]) for row in rows_of(connection, seen, a.person_id, people)}

    def __call__(self, id_: int, generation: int) -> Relative:
        code, name = self._named[id_]
        pictures, portrait = self._seen.get(id_, (0, None))
        return Relative(code, name, self._lives[id_], self._kin.get(id_, ""), generation, pictures, portrait)


def _other_names(connection: Connection, people: set[int], name: str) -> tuple[str, ...]:
    n = t.name.c
    found = connection.scalars(select(n.text).where(n.person_id.in_(people)).order_by(n.position, n.id))
    return tuple(dict.fromkeys(text for text in found if text and text != name))


def _events(connection: Connection, id_: int) -> tuple[EventShown, ...]:
    """The events of this life and of their families, in the order of their dates."""
    e, m = t.event.c, t.partner.c
    families = select(m.family_id).where(m.person_id == id_)
    query = select(t.event).where((e.person_id == id_) | e.family_id.in_(families))
    rows = connection.execute(query.order_by(e.first.is_(None), e.first, e.position, e.id)).mappings()
    return tuple(
        EventShown(f"E{row['id']}", row["tag"], row["kind"], row["date_text"], row["place"], bool(row["withdrawn"]))
        for row in rows
    )


def _in_pictures(connection: Connection, people: Collection[int]) -> int:
    """In how many photographs any of these people is."""
    a = t.appearance.c
    query = select(a.person_id, a.photograph_id).where(a.denied == 0, a.withdrawn == 0)
    return len({row[1] for row in rows_of(connection, query, a.person_id, people)})

"""One person's life with its pictures: when it began and ended, their family, and when each picture was taken.

Read by queries on indexes, so that a page of it costs the same in an archive of any size.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.catalogue.finding_people import find_relative
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.person_cards import PersonCard, person_cards
from kinphoto.archive.catalogue.privacy import Public, photographs_shown, public_view
from kinphoto.archive.catalogue.rivals import read_with_rivals
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.dates.estimates import set_aside
from kinphoto.archive.people import births, kinship
from kinphoto.archive.people.pictures import with_any_of
from kinphoto.documents import INLINE, INTERNAL, OR_NULL, Key
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.store import kindred
from kinphoto.store import tables as t


class IdentityDoubt(StrEnum):
    """Why it is not certain that this person is in a picture."""

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
class Relative(PersonCard):
    """Somebody of the family. `portrait` is a region (row id) that shows them."""

    kin: Annotated[str, "what that person is to them, in words"]
    generation: Annotated[int, "1 for the parents' generation, -1 for the children's, 0 for their own"]
    portrait: Annotated[int | None, INTERNAL]


@dataclass(frozen=True, slots=True)
class EventShown:
    """An event of the tree."""

    id: Annotated[str, "an event's id, as `withdraw` takes it"]
    tag: Annotated[str, "its tag in GEDCOM"]
    kind: Annotated[str, "what it is, in words"]
    date_text: Annotated[str, "its date as the tree has it"]
    place: Annotated[str, "where it was"]
    withdrawn: Annotated[bool, "true when somebody withdrew it"]


@dataclass(frozen=True, slots=True)
class Lifeline:
    """A person with their life, family and pictures. `beside` counts the pictures with each of those they are most
    often seen with."""

    id: Annotated[str, "a person's id"]
    name: Annotated[str, "the name they go by"]
    other_names: Annotated[tuple[str, ...], "other names of theirs"]
    sex: Annotated[str, "`M`, `F`, `X` or `U` (unknown)"]
    life: Annotated[Life, INLINE]
    kin: Annotated[str, OR_NULL, "what they are to the proband, or null"]
    outside: Annotated[bool, "true for somebody outside the tree"]
    gone: Annotated[bool, "true for somebody who is no longer in the newest import of the tree"]
    may_be_living: Annotated[bool, "true when nothing shows that they are dead"]
    note: Annotated[str, "what was noted about them"]
    events: tuple[EventShown, ...]
    pictures: Annotated[tuple[InPicture, ...], INTERNAL]
    family: Annotated[tuple[Relative, ...], "their nearest family"]
    beside: Annotated[tuple[tuple[Relative, int], ...], INTERNAL]
    alone: Annotated[int, "in how many pictures they are the only one"]
    ancestors: Annotated[int, "how many ancestors of theirs the tree has"]
    descendants: Annotated[int, "how many descendants"]
    suggested: Annotated[
        BirthEstimate | None,
        Key("suggested_birth"),
        "the birth that photographs suggest, where the tree leaves it open; null otherwise",
    ]

    @property
    def codes(self) -> Annotated[list[str], Key("photographs"), "codes of the photographs they are in, by date"]:
        """The photographs they are in."""
        return [one.photograph.code for one in self.pictures]

    @property
    def unsure(self) -> tuple[InPicture, ...]:
        """The uncertain pictures."""
        return tuple(one for one in self.pictures if one.doubts)

    @property
    def sure(self) -> tuple[InPicture, ...]:
        """The others."""
        return tuple(one for one in self.pictures if not one.doubts)


MOST_RELATIVES = 60
"""Relatives shown; those of the nearest generations first."""
NEAR_GENERATIONS = 3
MOST_BESIDE = 8


def lifeline(connection: Connection, person: str, *, for_anybody: bool = False) -> Lifeline:
    """One person's life with its pictures and family. Raises NotFoundError or AmbiguousError. With `for_anybody` as if
    there were only what anybody may see."""
    public, aside = public_view(connection, for_anybody), set_aside(connection)
    row = find_relative(connection, person, public)
    id_, identity = row["id"], read_identity(connection)
    everywhere = set(identity.names([id_]))
    pictures = _pictures(connection, identity, everywhere, aside, public)
    above, below = kindred.ancestors(connection, id_), kindred.descendants(connection, id_)
    near = _near(connection, id_, above, below, public)
    seen_with, alone = _beside(connection, everywhere, identity)
    people = _People(connection, id_, {*near, *seen_with}, identity, public)
    kin = kinship.phrases(connection, [id_])
    return Lifeline(
        row["code"], row["name"], _other_names(connection, everywhere, row["name"]), row["sex"],
        lives(connection, {id_}, identity)[id_], kin.get(id_, ""), bool(row["outside"]), bool(row["gone"]),
        bool(may_be_living(connection, {id_})), row["note"], _events(connection, id_), pictures,
        tuple(people(who, generation) for who, generation in near.items()),
        tuple((people(who, 0), count) for who, count in seen_with.items()), alone,
        len(with_any_of(connection, above)), len(with_any_of(connection, below)),
        births.suggested(connection, [row["code"]]).get(row["code"]),
    )  # fmt: skip


def _pictures(
    connection: Connection, identity: Identity, people: set[int], aside: frozenset[str], public: Public | None
) -> tuple[InPicture, ...]:
    """In the order they were taken, undated ones last."""
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
    rivals = read_with_rivals(connection, {row["region_id"] for row in named.values() if row["region_id"]}, identity)
    found = cards(connection, named, public)

    def doubts(row: RowMapping) -> Iterable[IdentityDoubt]:
        if row["region_id"] in rivals:
            yield IdentityDoubt.RIVAL
        if not denied.isdisjoint({(row["photograph_id"], row["region_id"]), (row["photograph_id"], None)}):
            yield IdentityDoubt.CONTESTED
        if f"A{row['id']}" in aside:
            yield IdentityDoubt.ASIDE

    shown = [InPicture(found[i], row["region_id"], tuple(doubts(row))) for i, row in named.items()]
    return tuple(sorted(shown, key=_taken))


def _taken(one: InPicture) -> tuple[bool, int, str]:
    e = one.photograph.estimate
    best = e.best if e else None
    return best is None, best or 0, one.photograph.code


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


def _beside(connection: Connection, people: set[int], identity: Identity) -> tuple[dict[int, int], int]:
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
            company[identity.of(who)].add(photograph_id)
    ranked = sorted(company.items(), key=lambda pair: (-len(pair[1]), pair[0]))[:MOST_BESIDE]
    return {who: len(where) for who, where in ranked}, len(everywhere - peopled)


class _People:
    """Relatives with what is shown of them, read together."""

    def __init__(
        self, connection: Connection, id_: int, people: Collection[int], identity: Identity, public: Public | None
    ) -> None:
        self._cards = person_cards(connection, people, PersonCard, public, lives(connection, people, identity))
        self._kin = kinship.kin_of(connection, id_, people)
        a = t.appearance.c
        seen = select(a.person_id, func.max(a.region_id)).where(a.denied == 0, a.withdrawn == 0)
        seen = seen.where(*photographs_shown(connection, a.photograph_id, public)).group_by(a.person_id)
        self._portraits = {row[0]: row[1] for row in rows_of(connection, seen, a.person_id, people)}

    def __call__(self, id_: int, generation: int) -> Relative:
        kin, portrait = self._kin.get(id_, ""), self._portraits.get(id_)
        return Relative.of(self._cards[id_], kin=kin, generation=generation, portrait=portrait)


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

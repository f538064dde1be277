"""Brothers and sisters near in age: the people whom a likeness confuses most."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.faces.compared import birth_of
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.store import tables as t
from kinphoto.store.among import among

NEAR = 10.0
"""Years between two births up to which brothers and sisters are shown."""


@dataclass(frozen=True, slots=True)
class SiblingAge:
    """A brother or sister (row id), and how many years older they are; None where a birth is not known."""

    id: int
    years: float | None


def near_in_age(connection: Connection, people: Collection[int]) -> dict[int, list[SiblingAge]]:
    """The brothers and sisters (children of a parent of theirs) of each of these people, the oldest first; those born
    many years before or after are left out."""
    identity, k = read_identity(connection), t.parent_link.c
    names = identity.names(people)
    own = select(k.child_id, k.parent_id).where(k.withdrawn == 0, among(connection, k.child_id, names.keys()))
    parents: dict[int, set[int]] = defaultdict(set)
    for child, parent in connection.execute(own):
        parents[names[child]].add(parent)
    everybody = {parent for ids in parents.values() for parent in ids}
    children: dict[int, set[int]] = defaultdict(set)
    theirs = select(k.child_id, k.parent_id).where(k.withdrawn == 0, among(connection, k.parent_id, everybody))
    for child, parent in connection.execute(theirs):
        children[parent].add(identity.of(child))
    beside = {who: {child for parent in ids for child in children[parent]} - {who} for who, ids in parents.items()}
    lived = lives(connection, {*people, *(one for ones in beside.values() for one in ones)}, identity)
    born = {who: birth_of(life) for who, life in lived.items()}

    def near(who: int, other: int) -> SiblingAge:
        mine, that = born[who], born[other]
        return SiblingAge(other, None if mine is None or that is None else (mine - that) / DAYS_PER_YEAR)

    found = {who: [near(who, other) for other in others] for who, others in beside.items()}
    return {
        who: sorted(
            (one for one in ones if one.years is None or abs(one.years) <= NEAR),
            key=lambda one: (one.years is None, -(one.years or 0.0), one.id),
        )
        for who, ones in found.items()
    }

"""A person as one of many, in whatever list; and in how many pictures people are, as everybody counts it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple, Self, TypeVar

from sqlalchemy import Connection, func, literal, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.catalogue.privacy import Public, photographs_shown
from kinphoto.documents import INLINE
from kinphoto.store import tables as t


class Named(NamedTuple):
    """Somebody by their id and what they are called."""

    id: Annotated[str, "a person's id"]
    name: Annotated[str, "their name"]


@dataclass(frozen=True, slots=True)
class PersonCard:
    """What every list shows of a person; some show more."""

    id: Annotated[str, "`I12` as in the tree, `X7` for somebody outside it"]
    name: Annotated[str, "the name they go by"]
    sex: Annotated[str, "`M`, `F`, `X` or `U` (unknown)"]
    life: Annotated[Life, INLINE]
    pictures: Annotated[int, "how many photographs they are in, perhaps or for certain"]
    outside: Annotated[bool, "true for somebody outside the tree"]
    gone: Annotated[bool, "true for somebody who is no longer in the newest import of the tree"]
    note: Annotated[str, "what was noted about them"]

    @classmethod
    def of(cls, card: PersonCard, **more: Any) -> Self:
        """The same person in a list that shows `more`."""
        return cls(**{name: getattr(card, name) for name in PersonCard.__slots__}, **more)


Card = TypeVar("Card", bound=PersonCard)


def person_cards(
    connection: Connection,
    ids: Collection[int],
    kind: type[Card],
    public: Public | None = None,
    lived: Mapping[int, Life] | None = None,
    pictures: Mapping[int, int] | None = None,
) -> dict[int, Card]:
    """These people by their row ids, as cards of this `kind`. `lived` are their lives and `pictures` how many they are
    in, where these are known already. With `public` as if there were only the photographs it holds, and without notes.
    """
    wanted, p = set(ids), t.person.c
    lived = lives(connection, wanted, read_identity(connection)) if lived is None else lived
    pictures = count_pictures(connection, wanted, public) if pictures is None else pictures
    note = p.note if public is None else literal("")
    query = select(p.id, p.code, p.name, p.sex, p.outside, p.gone, note)
    return {
        id_: kind(code, name, sex, lived[id_], pictures.get(id_, 0), bool(outside), bool(gone), note)
        for id_, code, name, sex, outside, gone, note in rows_of(connection, query, p.id, wanted)
    }


def count_pictures(connection: Connection, ids: Collection[int], public: Public | None = None) -> dict[int, int]:
    """How many photographs each of these people is in; those in none are missing."""
    a = t.appearance.c
    query = (
        select(a.person_id, func.count(a.photograph_id.distinct()))
        .where(a.denied == 0, a.withdrawn == 0, a.person_id.is_not(None))
        .where(*photographs_shown(connection, a.photograph_id, public))
        .group_by(a.person_id)
    )
    return {row[0]: row[1] for row in rows_of(connection, query, a.person_id, ids)}

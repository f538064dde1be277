"""What an import of a tree did, or would do, in people: who is new, who is different, who is gone, and what is
uncertain."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.finding import life_words
from kinphoto.phrases import counted
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive.tree.doubts import MatchDoubt
    from kinphoto.archive.tree.plan import Plan
    from kinphoto.archive.tree.storing import Storing

_CHUNK = 500  # ids per IN list


@dataclass(frozen=True, slots=True)
class Merged:
    """Somebody who went up in another, with how many pictures came along."""

    code: str
    name: str
    into: str
    into_name: str
    pictures: int


@dataclass(frozen=True, slots=True)
class Uncertain:
    """Something that cannot be told of a person with pictures: why, and whom of the tree it is about, as (code, name).
    Their pictures are where they were. `text` says it in a sentence, with the years that tell namesakes apart; `joins`
    are the commands that make the person one with each of the others, where the keeper can say so."""

    code: str
    name: str
    pictures: int
    why: str
    others: tuple[tuple[str, str], ...]
    text: str
    joins: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Changed:
    """Somebody of whom something is different: "person", "names", "events", "family". `was` is the name they went by
    before, where it is another now, and `was_code` the pointer."""

    code: str
    name: str
    was_code: str
    was: str
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Gone:
    """Somebody who is not in the file any more; `pictures` is None for one who was removed."""

    code: str
    name: str
    pictures: int | None


@dataclass(frozen=True, slots=True)
class Listing:
    """Everybody concerned by an import."""

    added: tuple[tuple[str, str], ...]
    changed: tuple[Changed, ...]
    gone: tuple[Gone, ...]


def everybody(connection: Connection) -> dict[int, tuple[str, str]]:
    """Code and name of everybody in the tree, by row id."""
    p = t.person.c
    rows = connection.execute(select(p.id, p.code, p.name).where(p.outside == 0))
    return {id_: (code, name) for id_, code, name in rows}


def uncertain(connection: Connection, doubts: Sequence[MatchDoubt]) -> tuple[Uncertain, ...]:
    """The doubts with everybody's names."""
    if not doubts:
        return ()
    people, pictures = everybody(connection), pictures_of(connection, [doubt.person_id for doubt in doubts])
    ids = {code: id_ for id_, (code, _) in people.items()}
    return tuple(_uncertain(connection, doubt, people, ids, pictures.get(doubt.person_id, 0)) for doubt in doubts)


def _uncertain(
    connection: Connection, doubt: MatchDoubt, people: dict[int, tuple[str, str]], ids: dict[str, int], pictures: int
) -> Uncertain:
    code, name = people[doubt.person_id]
    others = [(other, people[ids[other]][1] if other in ids else "") for other in doubt.others]
    called = life_words(connection, [doubt.person_id, *(ids[other] for other in doubt.others if other in ids)])
    named = [called[ids[other]] for other in doubt.others if other != code and other in ids]
    joins = [f"kinphoto people same {quote(code)} {quote(other)}" for other in doubt.others] if doubt.open else []
    was = f", {doubt.was} before" if doubt.was else ""
    text = f"{called[doubt.person_id]}{was} ({counted(pictures, 'picture')}): {doubt.why}"
    text += f": {'; '.join(named)}" if named else ""
    if joins:
        text += f". If they are the same person: {joins[0]}" + "".join(f", or {other}" for other in joins[1:])
    return Uncertain(code, name, pictures, doubt.why, tuple(others), text, tuple(joins))


def listing(
    connection: Connection, before: dict[int, tuple[str, str]], done: Storing, plan: Plan, merged: Sequence[Merged]
) -> Listing:
    """Everybody concerned, after it is done; `before` is how they were. Who went up in another is not gone."""
    elsewhere = {one.code for one in merged}
    now = everybody(connection)
    stay = pictures_of(connection, [id_ for id_ in plan.gone if id_ in now])
    return Listing(
        tuple(sorted(now[id_] for id_ in now.keys() - before.keys())),
        tuple(_changed(before[id_], now[id_], done.changed[id_]) for id_ in sorted(done.changed)),
        tuple(
            Gone(*(now.get(id_) or before[id_]), stay.get(id_, 0) if id_ in now else None)
            for id_ in plan.gone
            if id_ not in now or now[id_][0] not in elsewhere
        ),
    )


def pictures_of(connection: Connection, ids: Collection[int]) -> dict[int, int]:
    """How many photographs each of these people is in; those in none are missing."""
    a, listed, found = t.appearance.c, sorted(set(ids)), dict[int, int]()
    query = select(a.person_id, func.count(a.photograph_id.distinct())).where(a.denied == 0, a.withdrawn == 0)
    for start in range(0, len(listed), _CHUNK):
        rows = connection.execute(query.where(a.person_id.in_(listed[start : start + _CHUNK])).group_by(a.person_id))
        found.update((person_id, count) for person_id, count in rows)
    return found


def _changed(was: tuple[str, str], now: tuple[str, str], what: set[str]) -> Changed:
    (code, name), (was_code, was_name) = now, was
    return Changed(
        code,
        name,
        was_code if was_code != code else "",
        was_name if was_name != name else "",
        tuple(sorted(what)),
    )

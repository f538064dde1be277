"""What an import of a tree did, or would do: who is new, who has changed, who is gone, and what is uncertain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING, Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.finding_people import life_words
from kinphoto.archive.catalogue.person_cards import Named, count_pictures
from kinphoto.documents import OR_NULL, Key
from kinphoto.phrases import counted
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive.tree.doubts import MatchDoubt
    from kinphoto.archive.tree.plan import Plan
    from kinphoto.archive.tree.storing import Storing


@dataclass(frozen=True, slots=True)
class Merged:
    """Somebody with pictures, or an informant, who was merged into somebody else."""

    code: Annotated[
        str, Key("id"), "somebody with pictures who was merged into somebody else, by the tree's identifiers"
    ]
    name: Annotated[str, "their name"]
    into: Annotated[str, "the id of that person"]
    into_name: Annotated[str, "the name of that person"]
    pictures: Annotated[int, "how many pictures moved with them"]


@dataclass(frozen=True, slots=True)
class Uncertain:
    """Something uncertain about a person with pictures, and the people of the tree it is about."""

    code: Annotated[
        str, Key("id"), "somebody with pictures about whom something is uncertain; the pictures stay where they are"
    ]
    name: Annotated[str, "their name"]
    pictures: Annotated[int, "how many pictures they are in"]
    why: Annotated[str, "what is uncertain"]
    others: Annotated[tuple[Named, ...], "the people of the tree it is about"]
    text: Annotated[str, "all of it in a sentence, with the years of each, to distinguish namesakes"]
    joins: Annotated[
        tuple[str, ...],
        "for each of the others, the command that says they are the same person; none where that cannot be said",
    ] = ()

    @property
    def without_joins(self) -> str:
        """The sentence without the commands, for where something else takes their place."""
        return self.text.removesuffix(_join_words(self.joins))


@dataclass(frozen=True, slots=True)
class Changed:
    """Somebody about whom something has changed."""

    code: Annotated[str, Key("id"), "who would change"]
    name: Annotated[str, "their name"]
    was_code: Annotated[str, Key("was_id"), OR_NULL, "their former id in the tree, if it would change"]
    was: Annotated[str, OR_NULL, "their former name, if it would change"]
    what: Annotated[tuple[str, ...], "`names`, `events`, `family` or `person` (sex, note, pointer)"]


@dataclass(frozen=True, slots=True)
class Gone:
    """Somebody who is no longer in the file."""

    code: Annotated[str, Key("id"), "who is no longer in the file"]
    name: Annotated[str, "their name"]
    pictures: Annotated[
        int | None, "how many pictures they are in, which is why they are kept; null for somebody who would be removed"
    ]


@dataclass(frozen=True, slots=True)
class Listing:
    """Everybody affected by an import."""

    added: Annotated[tuple[Named, ...], "who would be new"]
    changed: Annotated[tuple[Changed, ...], "those with other names or dates first"]
    gone: tuple[Gone, ...]


def everybody(connection: Connection) -> dict[int, Named]:
    """Code and name of everybody in the tree, by row id."""
    p = t.person.c
    rows = connection.execute(select(p.id, p.code, p.name).where(p.outside == 0))
    return {id_: Named(code, name) for id_, code, name in rows}


def uncertain(connection: Connection, doubts: Sequence[MatchDoubt]) -> tuple[Uncertain, ...]:
    """The doubts, with everybody's names."""
    if not doubts:
        return ()
    people, pictures = everybody(connection), count_pictures(connection, [doubt.person_id for doubt in doubts])
    ids = {code: id_ for id_, (code, _) in people.items()}
    return tuple(_uncertain(connection, doubt, people, ids, pictures.get(doubt.person_id, 0)) for doubt in doubts)


def _uncertain(
    connection: Connection, doubt: MatchDoubt, people: dict[int, Named], ids: dict[str, int], pictures: int
) -> Uncertain:
    code, name = people[doubt.person_id]
    others = [Named(other, people[ids[other]].name if other in ids else "") for other in doubt.others]
    called = life_words(connection, [doubt.person_id, *(ids[other] for other in doubt.others if other in ids)])
    named = [called[ids[other]] for other in doubt.others if other != code and other in ids]
    joins = [f"kinphoto people same {quote(code)} {quote(other)}" for other in doubt.others] if doubt.open else []
    was = f", formerly {doubt.was}" if doubt.was else ""
    text = f"{called[doubt.person_id]}{was} ({counted(pictures, 'picture')}): {doubt.why}"
    text += f": {'; '.join(named)}" if named else ""
    return Uncertain(code, name, pictures, doubt.why, tuple(others), text + _join_words(joins), tuple(joins))


def _join_words(joins: Sequence[str]) -> str:
    return f". If they are the same person: {', or '.join(joins)}" if joins else ""


def listing(
    connection: Connection, before: dict[int, Named], done: Storing, plan: Plan, merged: Sequence[Merged]
) -> Listing:
    """Everybody affected, after the import; `before` is the state before it. Whoever was merged is not gone."""
    elsewhere = {one.code for one in merged}
    now = everybody(connection)

    def plainly_first(id_: int) -> tuple[bool, int]:  # in a renumbered tree everybody has changed
        return done.changed[id_].isdisjoint(("names", "events")), id_

    stay = count_pictures(connection, [id_ for id_ in plan.gone if id_ in now])
    return Listing(
        tuple(sorted(now[id_] for id_ in now.keys() - before.keys())),
        tuple(_changed(before[id_], now[id_], done.changed[id_]) for id_ in sorted(done.changed, key=plainly_first)),
        tuple(
            Gone(*(now.get(id_) or before[id_]), stay.get(id_, 0) if id_ in now else None)
            for id_ in plan.gone
            if id_ not in now or now[id_][0] not in elsewhere
        ),
    )


def _changed(was: Named, now: Named, what: set[str]) -> Changed:
    (code, name), (was_code, was_name) = now, was
    return Changed(
        code,
        name,
        was_code if was_code != code else "",
        was_name if was_name != name else "",
        tuple(sorted(what)),
    )

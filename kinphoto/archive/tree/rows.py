"""The rows of a tree, written in batches through the journal: new ones inserted, existing ones changed only where the
file differs.

The columns are listed here, in the order of the tuples for the database.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import Connection, Table, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.tree.families import Members
from kinphoto.gedcom.read import Event, Family, PersonRecord
from kinphoto.store import tables as t
from kinphoto.store.session import Work

BATCH = 1000

PERSON = ("code", "outside", "gone", "sex", "name", "living", "uid", "note", "same_as_id")
NAME = ("person_id", "position", "kind", "text", "given", "surname", "nickname", "folded")
FAMILY = ("code", "gone")
PARTNER = ("family_id", "person_id", "position")
LINK = ("family_id", "child_id", "parent_id", "pedigree")
EVENT = (
    "person_id", "family_id", "tag", "kind", "position", "date_text", "first", "last", "shape", "centre", "spread",
    "doubtful", "place", "quality", "line",
)  # fmt: skip

Row = tuple[Any, ...]
T = TypeVar("T")


def in_batches(items: Iterable[T], size: int = BATCH) -> Iterator[list[T]]:
    """Lists of `size` items, the last one shorter."""
    going = iter(items)
    while batch := list(islice(going, size)):
        yield batch


def names_of(connection: Connection, ids: Iterable[int]) -> dict[int, str]:
    """Name and code of these people, by row id: "Ada Marsh (I12)"."""
    rows = _where_in(connection, t.person, ("name", "code"), "id", ids)
    return {id_: f"{name or 'somebody'} ({code})" for id_, (name, code) in rows}


def person_row(person: PersonRecord, code: str) -> Row:
    """The row of table person."""
    name = person.names[0].text if person.names else ""
    return (code, 0, 0, person.sex, name, person.living, person.uid or None, person.note)


def name_rows(person: PersonRecord, person_id: int) -> list[Row]:
    """The rows of table name."""
    return [
        (person_id, at, name.kind, name.text, name.given, name.surname, name.nickname, fold(name.text))
        for at, name in enumerate(person.names)
    ]


def event_rows(events: Sequence[Event], person_id: int | None, family_id: int | None) -> list[Row]:
    """The rows of table event; `position` counts within the same tag, since the file's first is the preferred one."""
    positions: dict[str, int] = {}
    rows = []
    for e in events:
        at = positions[e.tag] = positions.get(e.tag, -1) + 1
        d = e.date
        rows.append(
            (
                person_id, family_id, e.tag, e.kind, at, d.words, d.span.first, d.span.last, f"{d.shape}", d.centre,
                d.spread, int(d.doubtful), e.place, e.quality, e.line,
            )
        )  # fmt: skip
    return rows


def add_people(work: Work, people: Sequence[tuple[PersonRecord, str]]) -> range:
    """Insert people (each with a code) with their names and events; returns their ids in order."""
    ids = work.insert_many(t.person, PERSON, [(*person_row(person, code), None) for person, code in people])
    pairs = list(zip(ids, (person for person, _ in people), strict=True))
    work.insert_many(t.name, NAME, [row for id_, person in pairs for row in name_rows(person, id_)])
    work.insert_many(t.event, EVENT, [row for id_, person in pairs for row in event_rows(person.events, id_, None)])
    return ids


def revise_people(work: Work, people: Mapping[int, tuple[PersonRecord, str]]) -> dict[str, set[int]]:
    """Update the rows of people from the file; returns the ids of those who changed, by what changed: "person", "names"
    or "events"."""
    persons = {id_: person_row(person, code) for id_, (person, code) in people.items()}
    changed = _rewrite(work, t.person, PERSON[:-1], persons)
    names = [row for id_, (person, _) in people.items() for row in name_rows(person, id_)]
    events = [row for id_, (person, _) in people.items() for row in event_rows(person.events, id_, None)]
    return {
        "person": changed,
        "names": revise(work, t.name, NAME, names, "person_id", people, ("position",), "person_id"),
        "events": revise(work, t.event, EVENT, events, "person_id", people, ("tag", "position"), "person_id"),
    }


def rewrite_notes(work: Work, notes: Mapping[int, str]) -> set[int]:
    """Set the notes of people, by their ids; returns the ids of those whose note changed."""
    return _rewrite(work, t.person, ("note",), {id_: (note,) for id_, note in notes.items()})


def add_families(work: Work, families: Sequence[tuple[Family, str]]) -> range:
    """Insert families (each with a code) with their events; returns their ids in order."""
    ids = work.insert_many(t.family, FAMILY, [(code, 0) for _, code in families])
    pairs = zip(ids, families, strict=True)
    rows = [row for id_, (family, _) in pairs for row in event_rows(family.events, None, id_)]
    work.insert_many(t.event, EVENT, rows)
    return ids


def revise_families(work: Work, families: Mapping[int, tuple[Family, str]]) -> set[int]:
    """Update the rows of families from the file; returns the ids of those that changed."""
    changed = _rewrite(work, t.family, FAMILY, {id_: (code, 0) for id_, (_, code) in families.items()})
    events = [row for id_, (family, _) in families.items() for row in event_rows(family.events, None, id_)]
    return changed | revise(work, t.event, EVENT, events, "family_id", families, ("tag", "position"), "family_id")


def write_members(work: Work, families: Sequence[Members], again: bool) -> set[int]:
    """Write the partners and children of these families; `again` when there may be earlier rows. Returns the ids of
    people whose partners or parents changed."""
    partners = [(m.family_id, who, at) for m in families for at, who in enumerate(m.partners)]
    links = [(m.family_id, *link) for m in families for link in m.links]
    if not again:
        work.insert_many(t.partner, PARTNER, partners)
        work.insert_many(t.parent_link, LINK, links)
        return set()
    ids = [m.family_id for m in families]
    return revise(work, t.partner, PARTNER, partners, "family_id", ids, ("person_id",), "person_id") | revise(
        work, t.parent_link, LINK, links, "family_id", ids, ("child_id", "parent_id"), "child_id"
    )


def revise(
    work: Work,
    table: Table,
    columns: Sequence[str],
    wanted: Iterable[Row],
    owner: str,
    owners: Iterable[int],
    place: tuple[str, ...],
    touches: str,
) -> set[int]:
    """Make the rows of `owners` (column `owner`) the wanted ones, and return the ids in the column `touches` whose rows
    changed.

    A row keeps its id as long as there is one in its `place`. A new line number alone is not a change.
    """
    key = _getter(columns, (owner, *place))
    says = _getter(columns, [column for column in columns if column != "line"])
    touched_at = columns.index(touches)
    present = {key(row): (id_, row) for id_, row in _where_in(work.connection, table, columns, owner, owners)}
    new: list[Row] = []
    changed: list[dict[str, Any]] = []
    touched: set[int] = set()
    for values in wanted:
        id_, before = present.pop(key(values), (0, None))
        if before is None:
            new.append(values)
        elif says(before) != says(values):
            changed.append({"id": id_, **dict(zip(columns, values, strict=True))})
        else:
            continue
        touched.add(values[touched_at])
    work.rewrite(table, changed)
    work.delete(table, sorted(id_ for id_, _ in present.values()))
    for batch in in_batches(new):
        work.insert_many(table, columns, batch)
    return touched | {row[touched_at] for _, row in present.values()}


def remove(work: Work, table: Table, column: str, ids: Iterable[int]) -> None:
    """Delete the rows whose `column` is one of `ids`."""
    for batch in in_batches(ids):
        work.delete(table, sorted(id_ for id_, _ in _where_in(work.connection, table, (), column, batch)))


def _rewrite(work: Work, table: Table, columns: Sequence[str], wanted: Mapping[int, Row]) -> set[int]:
    """Set these columns of the rows with these ids; returns the ids of those that changed."""
    there = _where_in(work.connection, table, columns, "id", wanted)
    changed = {id_: wanted[id_] for id_, row in there if row != wanted[id_]}
    work.rewrite(table, [{"id": id_, **dict(zip(columns, row, strict=True))} for id_, row in changed.items()])
    return set(changed)


def _getter(columns: Sequence[str], names: Sequence[str]) -> Callable[[Row], Row]:
    """A function that returns the values of these columns, at least two, of a row."""
    return operator.itemgetter(*(columns.index(name) for name in names))


def _where_in(
    connection: Connection, table: Table, columns: Sequence[str], column: str, ids: Iterable[int]
) -> list[tuple[int, Row]]:
    """The id and these columns of the rows whose `column` is one of `ids`."""
    query = select(table.c.id, *(table.c[name] for name in columns))
    rows = (connection.execute(query.where(table.c[column].in_(batch))).all() for batch in in_batches(ids, 500))
    return [(row[0], tuple(row[1:])) for batch in rows for row in batch]

"""The rows of a tree, written in batches through the journal: new ones inserted, known ones changed only where the
file says something else.

Columns are spelled out once here, in the order of the tuples that go to the database.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import Connection, Table, select

from kinphoto.archive.folding import fold
from kinphoto.archive.tree_families import Members
from kinphoto.store import tables as t
from kinphoto.store.session import Work
from kinphoto.tree.read import Event, Family, Person

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

_AMONG_ITS_LIKE = operator.itemgetter("tag", "position")

Row = tuple[Any, ...]
T = TypeVar("T")


def in_batches(items: Iterable[T], size: int = BATCH) -> Iterator[list[T]]:
    """Lists of `size` items, the last one shorter."""
    going = iter(items)
    while batch := list(islice(going, size)):
        yield batch


def person_row(person: Person, code: str) -> Row:
    """The row of table person."""
    name = person.names[0].text if person.names else ""
    return (code, 0, 0, person.sex, name, person.living, person.uid or None, person.note)


def name_rows(person: Person, person_id: int) -> list[Row]:
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


def add_people(work: Work, people: Sequence[tuple[Person, str]]) -> range:
    """Insert people (each with the code to go by) with their names and events; returns their ids in order."""
    ids = work.insert_many(t.person, PERSON, [(*person_row(person, code), None) for person, code in people])
    pairs = list(zip(ids, (person for person, _ in people), strict=True))
    work.insert_many(t.name, NAME, [row for id_, person in pairs for row in name_rows(person, id_)])
    work.insert_many(t.event, EVENT, [row for id_, person in pairs for row in event_rows(person.events, id_, None)])
    return ids


def revise_people(work: Work, people: Mapping[int, tuple[Person, str]]) -> dict[str, set[int]]:
    """Bring the rows of people known already up to the file; returns the ids of those in whom something changed, by
    what it is: "person", "names" or "events"."""
    columns = PERSON[:-1]
    wanted = {id_: dict(zip(columns, person_row(person, code), strict=True)) for id_, (person, code) in people.items()}
    rows = _where_in(work.connection, t.person, "id", people)
    changed = [{"id": row["id"], **wanted[row["id"]]} for row in rows if _differs(row, wanted[row["id"]])]
    work.rewrite(t.person, changed)
    names = [row for id_, (person, _) in people.items() for row in name_rows(person, id_)]
    events = [row for id_, (person, _) in people.items() for row in event_rows(person.events, id_, None)]
    return {
        "person": {row["id"] for row in changed},
        "names": revise(work, t.name, NAME, names, "person_id", people, operator.itemgetter("position"), "person_id"),
        "events": revise(work, t.event, EVENT, events, "person_id", people, _AMONG_ITS_LIKE, "person_id"),
    }


def rewrite_people(work: Work, wanted: Sequence[Mapping[str, Any]]) -> set[int]:
    """Set columns of people (each mapping has the `id` and the same other keys); returns the ids of those that
    changed."""
    rows = {row["id"]: row for row in _where_in(work.connection, t.person, "id", [w["id"] for w in wanted])}
    changed = [w for w in wanted if _differs(rows[w["id"]], w)]
    work.rewrite(t.person, changed)
    return {w["id"] for w in changed}


def add_families(work: Work, families: Sequence[tuple[Family, str]]) -> range:
    """Insert families (each with the code to go by) with their events; returns their ids in order."""
    ids = work.insert_many(t.family, FAMILY, [(code, 0) for _, code in families])
    pairs = zip(ids, families, strict=True)
    rows = [row for id_, (family, _) in pairs for row in event_rows(family.events, None, id_)]
    work.insert_many(t.event, EVENT, rows)
    return ids


def revise_families(work: Work, families: Mapping[int, tuple[Family, str]]) -> set[int]:
    """Bring the rows of families known already up to the file; returns the ids of those that changed."""
    rows = _where_in(work.connection, t.family, "id", families)
    wanted = {id_: {"code": code, "gone": 0} for id_, (_, code) in families.items()}
    changed = [{"id": row["id"], **wanted[row["id"]]} for row in rows if _differs(row, wanted[row["id"]])]
    work.rewrite(t.family, changed)
    events = [row for id_, (family, _) in families.items() for row in event_rows(family.events, None, id_)]
    return {row["id"] for row in changed} | revise(
        work, t.event, EVENT, events, "family_id", families, _AMONG_ITS_LIKE, "family_id"
    )


def write_members(work: Work, families: Sequence[Members], again: bool) -> set[int]:
    """Write who the partners of these families are and whose children; `again` when there may be rows of before.
    Returns the ids of people who are partner or child of others than before."""
    partners = [(m.family_id, who, at) for m in families for at, who in enumerate(m.partners)]
    links = [(m.family_id, *link) for m in families for link in m.links]
    if not again:
        work.insert_many(t.partner, PARTNER, partners)
        work.insert_many(t.parent_link, LINK, links)
        return set()
    ids = [m.family_id for m in families]
    place = operator.itemgetter("child_id", "parent_id")
    return revise(
        work, t.partner, PARTNER, partners, "family_id", ids, operator.itemgetter("person_id"), "person_id"
    ) | revise(work, t.parent_link, LINK, links, "family_id", ids, place, "child_id")


def revise(
    work: Work,
    table: Table,
    columns: Sequence[str],
    wanted: Iterable[Row],
    owner: str,
    owners: Iterable[int],
    place: Callable[[Mapping[str, Any]], Hashable],
    touches: str,
) -> set[int]:
    """Make the rows that belong to `owners` (column `owner`) those that are wanted, and return which ids in the column
    `touches` have other rows now.

    A row keeps its id as long as there is one in its `place`. The line a row came from is not a reason to change it.
    """
    present = {(row[owner], place(row)): row for row in _where_in(work.connection, table, owner, owners)}
    new: list[Row] = []
    changed: list[dict[str, Any]] = []
    touched: set[int] = set()
    for values in wanted:
        row = dict(zip(columns, values, strict=True))
        before = present.pop((row[owner], place(row)), None)
        if before is None:
            new.append(values)
        elif _differs(before, row):
            changed.append({"id": before["id"], **row})
        else:
            continue
        touched.add(row[touches])
    work.rewrite(table, changed)
    work.delete(table, sorted(row["id"] for row in present.values()))
    for batch in in_batches(new):
        work.insert_many(table, columns, batch)
    return touched | {row[touches] for row in present.values()}


def remove(work: Work, table: Table, column: str, ids: Iterable[int]) -> None:
    """Delete the rows in which `column` is one of `ids`."""
    for batch in in_batches(ids):
        work.delete(table, sorted(row["id"] for row in _where_in(work.connection, table, column, batch)))


def _differs(row: Mapping[str, Any], wanted: Mapping[str, Any]) -> bool:
    return any(row[column] != value for column, value in wanted.items() if column != "line")


def _where_in(connection: Connection, table: Table, column: str, ids: Iterable[int]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for batch in in_batches(ids, 500):
        rows = connection.execute(select(table).where(table.c[column].in_(batch))).mappings()
        found.extend(dict(row) for row in rows)
    return found

"""Informants: who told us, who they are in the tree, how much each has told, and merging two names of one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, RowMapping, Table, func, select

from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class Informant:
    """Somebody who told us something."""

    name: Annotated[str, "the informant's name"]
    person: Annotated[str | None, "who that is in the tree, or null"]
    note: Annotated[str, "what was noted"]
    changed: Annotated[bool, "false when all of it was known"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None
    merged: Annotated[bool, "true when there was an informant of the new name already, and the two were merged"] = False


@dataclass(frozen=True, slots=True)
class InformantEntry:
    """One informant in a list."""

    name: Annotated[str, "the informant's name"]
    person: Annotated[str | None, "the id of that person in the tree, or null"]
    person_name: Annotated[str | None, "that person's name, or null"]
    note: Annotated[str, "what was noted"]
    statements: Annotated[int, "how many statements of theirs are in use, ages among them"]
    appearances: Annotated[int, "how many names on pictures"]
    last_said: Annotated[str, "when they last said one of these, UTC; empty for none"]


def informants(connection: Connection) -> tuple[InformantEntry, ...]:
    """All informants, in the order of their names."""
    rows = connection.execute(select(t.informant)).mappings().all()
    identity = read_identity(connection)
    who = {row["id"]: identity.of(row["person_id"]) for row in rows if row["person_id"] is not None}
    p = t.person.c
    people = {row.id: row for row in connection.execute(select(p.id, p.code, p.name).where(p.id.in_(who.values())))}
    statements, appearances = (_counts(connection, table) for table in (t.statement, t.appearance))
    entries = []
    for row in rows:
        person = people.get(who.get(row["id"], 0))
        said, seen = (counts.get(row["id"], (0, "")) for counts in (statements, appearances))
        entries.append(
            InformantEntry(
                row["name"], person.code if person else None, (person.name or person.code) if person else None,
                row["note"], said[0], seen[0], max(said[1], seen[1]),
            )
        )  # fmt: skip
    return tuple(sorted(entries, key=lambda entry: fold(entry.name)))


def names(connection: Connection) -> tuple[str, ...]:
    """What the informants are called, in order."""
    return tuple(sorted(connection.scalars(select(t.informant.c.name)), key=fold))


def add(work: Work, name: str, person: str | None = None, note: str | None = None) -> Informant:
    """Add an informant, or details about one. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    plain = _plain(name)
    who = None if person is None else find_person(work.connection, person)
    row = _named(work.connection, plain)
    if row is None:
        values = {"name": plain, "person_id": who["id"] if who else None, "note": (note or "").strip()}
        work.insert_one(t.informant, **values)
        work.what = f"added the informant {plain}"
        return Informant(plain, who["code"] if who else None, str(values["note"]), True, work.id)
    fresh: dict[str, object] = {}
    if who is not None and row["person_id"] != who["id"]:
        fresh["person_id"] = who["id"]
    if note is not None and row["note"] != note.strip():
        fresh["note"] = note.strip()
    if fresh:
        work.update(t.informant, [row["id"]], **fresh)
        work.what = f"added details about the informant {row['name']}"
    return _after(work, row["id"], changed=bool(fresh))


def rename(work: Work, old: str, new: str) -> Informant:
    """Give an informant another name. Where that is another informant's, the two are merged, with both notes.

    Raises NotFoundError when nobody is called `old`, InvalidValueError for no name, or when they are two people in the
    tree.
    """
    plain = _plain(new)
    row = _named(work.connection, _plain(old))
    if row is None:
        raise _unknown(work.connection, old)
    other = _named(work.connection, plain)
    if other is not None and other["id"] != row["id"]:
        return _merge(work, row, other)
    if row["name"] != plain:
        work.update(t.informant, [row["id"]], name=plain)
        work.what = f"renamed the informant {row['name']} to {plain}"
    return _after(work, row["id"], changed=row["name"] != plain)


def _merge(work: Work, row: RowMapping, into: RowMapping) -> Informant:
    """Make what `row` said that of `into`, who takes the place of both."""
    identity = read_identity(work.connection)
    people = {identity.of(each["person_id"]) for each in (row, into)} - {None}
    if len(people) > 1:
        raise InvalidValueError(
            f"{row['name']} and {into['name']} are two different people in the tree",
            remedy="If they are the same person, first say who: kinphoto informant NAME --person PERSON.",
        )
    for table in (t.statement, t.appearance, t.story):
        said = work.connection.scalars(select(table.c.id).where(table.c.informant_id == row["id"])).all()
        work.update(table, said, informant_id=into["id"])
    notes = "; ".join(dict.fromkeys(note for note in (into["note"], row["note"]) if note))
    fresh = {"person_id": into["person_id"] or row["person_id"], "note": notes}
    if any(into[key] != value for key, value in fresh.items()):
        work.update(t.informant, [into["id"]], **fresh)
    work.delete(t.informant, [row["id"]])
    work.what = f"merged the informant {row['name']} into {into['name']}"
    return _after(work, into["id"], changed=True, merged=True)


def _after(work: Work, informant_id: int, *, changed: bool, merged: bool = False) -> Informant:
    i = t.informant.c
    row = work.connection.execute(
        select(i.name, i.note, t.person.c.code)
        .outerjoin(t.person, t.person.c.id == i.person_id)
        .where(i.id == informant_id)
    ).one()
    return Informant(row.name, row.code, row.note, changed, work.id, merged)


def _plain(name: str) -> str:
    plain = " ".join(name.split())
    if not plain:
        raise InvalidValueError(
            "an informant needs a name", remedy='Give it in quotes: kinphoto informant "Aunt Edda".'
        )
    return plain


def _named(connection: Connection, name: str) -> RowMapping | None:
    """The informant of this name, letter case and accents aside: the very spelling before another."""
    rows = connection.execute(select(t.informant).order_by(t.informant.c.id)).mappings().all()
    alike = [row for row in rows if fold(row["name"]) == fold(name)]
    return next((row for row in alike if row["name"] == name), alike[0] if alike else None)


def _unknown(connection: Connection, name: str) -> NotFoundError:
    from rapidfuzz import fuzz, process

    names = {known: fold(known) for known in connection.scalars(select(t.informant.c.name))}
    near = [found for _, _, found in process.extract(fold(name), names, scorer=fuzz.ratio, score_cutoff=70, limit=3)]
    remedy = f"Did you mean {' or '.join(near)}?" if near else "To see them all: kinphoto informants."
    return NotFoundError(f"there is no informant called '{name}'", remedy=remedy)


def _counts(connection: Connection, table: Table) -> dict[int, tuple[int, str]]:
    """For each informant, how many rows of theirs are in use, and when the last was recorded."""
    c = table.c
    query = select(c.informant_id, func.count(), func.max(c.said_at)).where(c.informant_id.is_not(None))
    rows = connection.execute(query.where(c.withdrawn == 0).group_by(c.informant_id))
    return {informant_id: (count, last) for informant_id, count, last in rows}

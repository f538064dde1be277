"""What is known about the object, and who told: descriptions, containers, informants."""

from __future__ import annotations

from dataclasses import dataclass, fields

from sqlalchemy import select

from kinphoto.archive.desk import Desk, Row
from kinphoto.archive.finding import find_person
from kinphoto.archive.folding import fold
from kinphoto.errors import ChangedMeanwhileError, InvalidValueError
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """What somebody says about an object; None leaves a thing as it is, "" empties it."""

    title: str | None = None
    place: str | None = None
    note: str | None = None
    rights: str | None = None
    maker: str | None = None
    former_number: str | None = None
    container: str | None = None


@dataclass(frozen=True, slots=True)
class Described:
    """A photograph's code and what was set."""

    photograph: str
    given: dict[str, str]
    changed: bool
    change: int | None = None


@dataclass(frozen=True, slots=True)
class Informant:
    """Who told it, and who of the tree that is."""

    name: str
    person: str | None
    note: str
    changed: bool
    change: int | None = None


def describe(desk: Desk, photograph: str, said: Description, instead_of: Description | None = None) -> Described:
    """Set what was given; `instead_of` is what the person saw there when they changed it.

    Raises NotFoundError, AmbiguousError, InvalidValueError when nothing was given, and ChangedMeanwhileError when
    another has changed one of these things since.
    """
    row = desk.photograph(photograph)
    if instead_of is not None:
        _refuse_overwriting(desk, row, said, instead_of)
    given = {f.name: getattr(said, f.name) for f in fields(said)}
    given = {name: value.strip() for name, value in given.items() if value is not None}
    if not given:
        raise InvalidValueError("nothing was given to describe", remedy="Add --title, --place, --note or another.")
    fresh: dict[str, object] = {name: value for name, value in given.items() if name != "container"}
    if "container" in given:
        container, position = desk.place_in(given["container"], row["container_id"])
        if container != row["container_id"]:
            fresh |= {"container_id": container, "position": position}
    changed = desk.change(t.photograph, row, **fresh)
    desk.work.what = f"described {row['code']}: {', '.join(name.replace('_', ' ') for name in given)}"
    return Described(row["code"], given, changed)


def _refuse_overwriting(desk: Desk, row: Row, said: Description, seen: Description) -> None:
    """Refuse to replace words that the person has not seen, unless they are what is to be set."""
    for field in fields(said):
        wanted, was = getattr(said, field.name), getattr(seen, field.name)
        if wanted is None or was is None:
            continue
        present = _container_name(desk, row) if field.name == "container" else row[field.name]
        if " ".join(present.split()) not in (" ".join(was.split()), " ".join(wanted.split())):
            raise ChangedMeanwhileError(
                f"somebody else has changed the {field.name.replace('_', ' ')} of {row['code']} to “{present}” meanwhile",
                remedy=f"Yours was “{wanted}”. Look at it again, and save what it should be.",
            )


def _container_name(desk: Desk, row: Row) -> str:
    c = t.container.c
    return str(desk.connection.scalar(select(c.name).where(c.id == row["container_id"])) or "")


def informant(work: Work, name: str, person: str | None = None, note: str | None = None) -> Informant:
    """Make an informant known, or say more about one. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    plain = " ".join(name.split())
    if not plain:
        raise InvalidValueError(
            "an informant needs a name", remedy='Give it in quotes: kinphoto informant "Aunt Edda".'
        )
    who = None if person is None else find_person(work.connection, person)
    i = t.informant.c
    rows = work.connection.execute(select(t.informant)).mappings()
    row = next((r for r in rows if fold(r["name"]) == fold(plain)), None)
    if row is None:
        values = {"name": plain, "person_id": who["id"] if who else None, "note": (note or "").strip()}
        work.insert_one(t.informant, **values)
        work.what = f"noted the informant {plain}"
        return Informant(plain, who["code"] if who else None, str(values["note"]), True, work.id)
    fresh: dict[str, object] = {}
    if who is not None and row["person_id"] != who["id"]:
        fresh["person_id"] = who["id"]
    if note is not None and row["note"] != note.strip():
        fresh["note"] = note.strip()
    if fresh:
        work.update(t.informant, [row["id"]], **fresh)
        work.what = f"noted more about the informant {row['name']}"
    after = work.connection.execute(
        select(i.name, i.note, t.person.c.code)
        .outerjoin(t.person, t.person.c.id == i.person_id)
        .where(i.id == row["id"])
    ).one()
    return Informant(after.name, after.code, after.note, bool(fresh), work.id)

"""Whether faces are searched for: off until the keeper turns it on, and turning it off erases everything."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from sqlalchemy import Connection, Engine, func, select

from kinphoto.archive.catalogue.codes import row_of, with_id
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.faces.kept import details, faces_of, fronts, looked_at, matched, regions_of, searched
from kinphoto.errors import InvalidValueError
from kinphoto.faces.weights import is_installed, require
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class FacesState:
    """Whether faces are searched for, and how far the search has got."""

    on: Annotated[bool, "whether faces are searched for"]
    installed: Annotated[bool, "whether what the search needs is installed (`kinphoto[faces]`)"]
    since: Annotated[str, "the day on which it was turned on; empty while it is off"] = ""
    who: Annotated[str, "who turned it on"] = ""
    living: Annotated[bool, "whether faces of people who may be living are compared too"] = False
    compare: Annotated[bool, "whether faces are compared with each other"] = False
    searched: Annotated[int, "photographs whose front and details were searched"] = 0
    waiting: Annotated[int, "photographs that were not fully searched yet"] = 0
    faces: Annotated[int, "faces that were found"] = 0
    compared: Annotated[int, "how many of them are compared with others"] = 0
    left_out: Annotated[tuple[str, ...], "people whose faces are not compared, with their ids"] = ()


@dataclass(frozen=True, slots=True)
class FacesErased:
    """What was known of faces, erased."""

    erased: Annotated[bool, "false when there was nothing"]
    refused_frames: Annotated[int, "frames that you refused; they are kept, so that they are not offered again"]


@dataclass(frozen=True, slots=True)
class PersonLeftOut:
    """Somebody whose faces are not compared, or are again."""

    person: Annotated[str, "the person's id"]
    name: Annotated[str, "their name"]
    left_out: Annotated[bool, "false when their faces are compared again"]
    erased: Annotated[int, "how many descriptions of their faces were erased"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


def state(connection: Connection) -> FacesState:
    """Its state."""
    folder, people = folder_of(connection.engine), _left_out(connection)
    if not face_file.is_there(folder):
        return FacesState(False, is_installed(), left_out=people)
    with face_file.reading(folder) as file:
        switch = file.execute("SELECT * FROM switch").fetchone()
        done = searched(file)
        faces, compared = file.execute("SELECT sum(1 - drawn), count(descriptor) FROM face").fetchone()
    there = fronts(connection)
    waiting = {front.photograph_id for front, detail in details(connection, there) if looked_at(detail) not in done}
    here = [looked_at(front.scan) in done and front.photograph_id not in waiting for front in there]
    return FacesState(
        True, is_installed(), switch["since"], switch["who"], bool(switch["living"]), bool(switch["compare"]),
        sum(here), len(here) - sum(here), faces or 0, compared, people,
    )  # fmt: skip


def turn_on(engine: Engine, who: str, *, living: bool | None = None, compare: bool | None = None) -> FacesState:
    """Turn it on, or change what it may do; what is not given stays as it is (at first: faces of the living are not
    compared, those of others are).

    Raises InvalidValueError when nobody says that they turn it on, FacesNotInstalledError without `kinphoto[faces]`.
    """
    from kinphoto.store.session import reading

    require()
    folder = folder_of(engine)
    if not face_file.is_there(folder) and not who.strip():
        raise InvalidValueError(
            "it must be recorded who turns it on", remedy="Faces are biometric data: say who decided, with --by NAME."
        )
    face_file.create(folder)
    with face_file.writing(folder) as file:
        was = file.execute("SELECT * FROM switch").fetchone()
        kept = dict(was) if was else {"since": date.today().isoformat(), "who": who.strip(), "living": 0, "compare": 1}
        kept |= {key: int(value) for key, value in (("living", living), ("compare", compare)) if value is not None}
        file.execute("DELETE FROM switch")
        file.execute("INSERT INTO switch VALUES (:since, :who, :living, :compare)", kept)
        if not kept["compare"]:
            file.execute("UPDATE face SET descriptor = NULL")
    with reading(engine) as connection:
        return state(connection)


def turn_off(engine: Engine) -> FacesErased:
    """Erase every frame that is offered and every description of a face, and search no more. Names, frames that were
    accepted, and refusals are what a person said, and stay. Raises ArchiveError where it cannot be erased."""
    from kinphoto.store.session import reading

    erased = face_file.erase(folder_of(engine))
    with reading(engine) as connection:
        return FacesErased(erased, connection.scalar(select(func.count()).select_from(t.refused_frame)) or 0)


def leave_out(work: Work, person: str, *, take_back: bool = False) -> PersonLeftOut:
    """Erase the descriptions of somebody's faces, and make none again; or no longer so. Raises NotFoundError,
    AmbiguousError."""
    row = find_person(work.connection, person)
    u = t.uncompared_person.c
    identity = read_identity(work.connection)
    standing = [
        r.id for r in work.connection.execute(select(u.id, u.person_id)) if identity.of(r.person_id) == row["id"]
    ]
    erased = 0
    if take_back:
        work.delete(t.uncompared_person, standing)
        work.what = f"let faces of {with_id(row)} be compared again"
    elif not standing:
        work.insert_one(t.uncompared_person, person_id=row["id"], said_at=work.at)
        work.what = f"left faces of {with_id(row)} out of comparing"
    if not take_back:
        erased = _erase_faces_of(work.connection, row["id"])
    return PersonLeftOut(row["code"], row["name"], not take_back, erased, work.id)


def _erase_faces_of(connection: Connection, person_id: int) -> int:
    """Erase the descriptions of every face on which somebody is named; how many there were."""
    folder = folder_of(connection.engine)
    if not face_file.is_there(folder):
        return 0
    a, identity = t.appearance.c, read_identity(connection)
    query = select(a.photograph_id, a.region_id, a.person_id).where(a.region_id.is_not(None), a.person_id.is_not(None))
    regions = {r.region_id: r.photograph_id for r in connection.execute(query) if identity.of(r.person_id) == person_id}
    there = fronts(connection, set(regions.values()))
    framed = regions_of(connection, set(regions.values()))
    erased = 0
    with face_file.writing(folder) as file:
        found = faces_of(file, {front.sha256 for front in there})
        for front in there:
            pairs = matched(front, found.get(front.sha256, ()), framed[front.photograph_id])
            for face_id, region_id in pairs.items():
                if region_id in regions:
                    sql = "UPDATE face SET descriptor = NULL WHERE id = ? AND descriptor IS NOT NULL"
                    erased += file.execute(sql, [face_id]).rowcount
    return erased


def _left_out(connection: Connection) -> tuple[str, ...]:
    identity = read_identity(connection)
    people = {identity.of(id_) for id_ in connection.scalars(select(t.uncompared_person.c.person_id))}
    return tuple(sorted(with_id(row_of(connection, t.person, id_)) for id_ in people))

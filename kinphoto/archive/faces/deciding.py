"""What a person decides about faces that look alike: several are one person, some are not, a name is right."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.codes import with_id
from kinphoto.archive.catalogue.finding import is_row_id
from kinphoto.archive.collection.images import FacePicture, picture_of
from kinphoto.archive.faces.compared import ComparedFace, compared
from kinphoto.archive.faces.decisions import columns
from kinphoto.archive.faces.kept import faces_of, fronts
from kinphoto.archive.statements.appearances import Link, Linked, link_all
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted, listed
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work

_KEY = re.compile(r"[FR][0-9]{1,15}")


@dataclass(frozen=True, slots=True)
class FacesLaidApart:
    """Faces that are not the same person, or whose name is right."""

    faces: Annotated[tuple[str, ...], "the faces, `F12` or `R3`"]
    others: Annotated[tuple[str, ...], "the faces of somebody else; none when the name of `faces` is right"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when all of it had been said before"] = None


def name_together(work: Work, person: str, faces: Sequence[str], *, by: str | None = None) -> tuple[Linked, ...]:
    """Name these faces (F12, R3) of different photographs as one person, in one change, all or none.

    Raises NotFoundError for a face that is not there, and what naming a face raises.
    """
    wanted = _keys(faces)
    if not wanted:
        raise InvalidValueError("no face was chosen", remedy="Choose the faces of this person.")
    places = _places(work.connection, wanted)
    links = [
        Link(photograph=places[key].code, person=person, by=by,
             region=key if key.startswith("R") else ",".join(f"{side:.5f}" for side in places[key].box))
        for key in wanted
    ]  # fmt: skip
    return link_all(work, links)


def lay_apart(work: Work, faces: Sequence[str], others: Sequence[str] = ()) -> FacesLaidApart:
    """These faces are not of the person that the others are: they are no longer shown side by side. Without others: the
    name that a face has is right, however unlike it looks.

    Raises NotFoundError for a face that is not compared, InvalidValueError for none, or for one without a name where
    its name is said to be right.
    """
    one_side, other_side = _keys(faces), _keys(others)
    if not one_side:
        raise InvalidValueError("no face was left out", remedy="Take the tick off those that are somebody else.")
    places = _places(work.connection, [*one_side, *other_side])
    if other_side:
        _part(work, [places[key] for key in one_side], [places[key] for key in other_side])
    else:
        _confirm(work, [places[key] for key in one_side])
    return FacesLaidApart(tuple(one_side), tuple(other_side), work.id)


def _part(work: Work, ones: Sequence[ComparedFace], others: Sequence[ComparedFace]) -> None:
    said, stored = compared(work.connection).said, _stored(work.connection, [*ones, *others])
    rows = [
        {**columns(*stored[one.id]), **columns(*stored[other.id], "other_"), "said_at": work.at}
        for one in ones
        for other in others
        if one.id != other.id and not said.parts(one.id, other.id)
    ]
    if rows:
        work.insert(t.faces_apart, rows)
    codes = (listed(list(dict.fromkeys(face.code for face in side))) for side in (ones, others))
    work.what = "said that the {} in {} and in {} are not the same person".format(
        "faces" if len(ones) + len(others) > 2 else "two faces", *codes
    )


def _confirm(work: Work, faces: Sequence[ComparedFace]) -> None:
    said, stored = compared(work.connection).said, _stored(work.connection, faces)
    rows = []
    for face in faces:
        if face.person is None:
            raise InvalidValueError(
                f"{face.key} in {face.code} has no name to confirm",
                remedy=f"Say who it is not: kinphoto faces apart {face.key} --from FACE.",
            )
        if (face.id, face.person) not in said.right:
            rows.append({**columns(*stored[face.id]), "person_id": face.person, "said_at": work.at})
    if rows:
        work.insert(t.confirmed_name, rows)
    p = t.person.c
    people = work.connection.execute(select(t.person).where(p.id.in_({face.person for face in faces}))).mappings()
    where = listed(list(dict.fromkeys(face.code for face in faces)))
    work.what = f"said that {counted(len(faces), 'face')} in {where} {'is' if len(faces) == 1 else 'are'} "
    work.what += listed([with_id(row) for row in people])


def _stored(
    connection: Connection, faces: Sequence[ComparedFace]
) -> dict[int, tuple[str, tuple[float, float, float, float]]]:
    """The scan (SHA-256) of each of these faces, by its id, and its place there."""
    there = {front.photograph_id: front for front in fronts(connection, {face.photograph_id for face in faces})}
    return {
        face.id: (there[face.photograph_id].sha256, there[face.photograph_id].as_stored(face.box)) for face in faces
    }


def _keys(faces: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(text.strip().upper() for text in faces))


def _places(connection: Connection, keys: Sequence[str]) -> dict[str, ComparedFace]:
    """The faces of these ids. Raises NotFoundError."""
    places = {face.key: face for face in compared(connection).faces}
    for key in keys:
        if not _KEY.fullmatch(key) or key not in places:
            raise NotFoundError(
                f"there is no face '{key}' among those compared",
                remedy="See them: kinphoto faces alike. It may have a name by now.",
            )
    return places


def picture(connection: Connection, face: int) -> FacePicture:
    """The face with this number that is on offer (12 for `F12`), to be shown. Raises NotFoundError."""
    folder = folder_of(connection.engine)
    if is_row_id(face) and face_file.is_there(folder):
        with face_file.reading(folder) as file:
            row = file.execute("SELECT sha256 FROM face WHERE id = ?", [face]).fetchone()
            found = faces_of(file, [row["sha256"]]) if row else {}
        s = t.scan.c
        ids = connection.scalars(select(s.photograph_id).where(s.sha256.in_(list(found)))).all()
        for front in fronts(connection, ids):
            for one in found.get(front.sha256, ()):
                if one.id == face:
                    return FacePicture(face, front.shown(one.region), picture_of(front.scan))
    raise NotFoundError(f"there is no face F{face}", remedy="It may have been erased.")

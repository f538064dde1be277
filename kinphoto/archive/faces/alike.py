"""Faces without a name that look alike, laid side by side, and named faces that look like nobody of that name.

Both are for a person to look at. Nothing is concluded from them, and a doubt is never a conflict: a child does not look
like the grown-up, and brothers and sisters look alike.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.codes import with_id
from kinphoto.archive.catalogue.finding import is_row_id
from kinphoto.archive.catalogue.regions import Region
from kinphoto.archive.collection.images import FacePicture, picture_of
from kinphoto.archive.faces.kept import faces_of, fronts
from kinphoto.archive.faces.likeness import Compared, ComparedFace, compared, years_between
from kinphoto.archive.statements.appearances import Link, Linked, link_all
from kinphoto.documents import INTERNAL
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.faces.likeness import remaining
from kinphoto.reason.model.span import year_of
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work, reading

PAIRED = 0.45
"""Cosine from which two faces are laid side by side: one of two hundred pairs of strangers is so alike."""
TOGETHER = 0.36
"""The mean cosine between the faces of two groups from which they are laid together."""
UNLIKE = 0.12
"""A named face that is less like each other one of that name than strangers are on average (0.16) is told of."""
_OTHERS = 2  # so many others there have to be, taken so few years apart that half of a likeness would count
_COUNTS = 0.5
_CHUNK = 1000
_KEY = re.compile(r"[FR][0-9]{1,15}")


@dataclass(frozen=True, slots=True)
class FaceAlike:
    """A face beside others."""

    photograph: Annotated[str, "the photograph's code"]
    face: Annotated[str, "the id of the frame on offer, `F12`, or of the recorded face, `R3`"]
    year: Annotated[int | None, "about when it was taken; null when that is not known to within years"]
    box: Annotated[Region, INTERNAL] = (0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class DoubtfulName:
    """A named face that looks like no other of that name."""

    photograph: Annotated[str, "the photograph's code"]
    face: Annotated[str, "the face's id, `R3`"]
    person: Annotated[str, "who is named on it, with the id"]
    others: Annotated[tuple[FaceAlike, ...], "other faces of that name, taken not many years before or after"]


@dataclass(frozen=True, slots=True)
class LooksAlike:
    """What somebody may want to look at."""

    groups: Annotated[tuple[tuple[FaceAlike, ...], ...], "faces without a name that may be of one person, most first"]
    doubtful: Annotated[tuple[DoubtfulName, ...], "named faces that look like no other of that name"]


def alike(connection: Connection) -> LooksAlike:
    """Groups of unnamed faces that look alike, and doubtful names. Nothing while it is off."""
    everybody = compared(connection)
    groups = [tuple(_shown(everybody.faces[at]) for at in group) for group in _groups(everybody)]
    return LooksAlike(tuple(groups), tuple(_doubtful(connection, everybody)))


def _shown(face: ComparedFace) -> FaceAlike:
    return FaceAlike(face.code, face.key, None if face.day is None else year_of(int(face.day)), face.box)


def _groups(everybody: Compared) -> list[list[int]]:
    """The likest two first; groups grow together while they are alike on average and of different photographs."""
    faces = everybody.faces
    open_ = [at for at, face in enumerate(faces) if face.person is None and not face.settled]
    group_of = {at: [at] for at in open_}
    for one, other in _pairs(everybody, open_):
        mine, theirs = group_of[one], group_of[other]
        if mine is theirs:
            continue
        photographs = {faces[at].photograph_id for at in mine} & {faces[at].photograph_id for at in theirs}
        if (
            photographs
            or _laid_apart(everybody, mine, theirs)
            or (everybody.numbers[mine] @ everybody.numbers[theirs].T).mean() < TOGETHER
        ):
            continue
        mine += theirs
        for at in theirs:
            group_of[at] = mine
    groups = {id(group): group for group in group_of.values() if len(group) > 1}
    return sorted((sorted(group) for group in groups.values()), key=lambda group: (-len(group), group))


def _laid_apart(everybody: Compared, mine: Sequence[int], theirs: Sequence[int]) -> bool:
    """Whether somebody said of two of them that they are two people."""
    pairs = ((everybody.faces[one].id, everybody.faces[other].id) for one in mine for other in theirs)
    return bool(everybody.apart) and any((min(pair), max(pair)) in everybody.apart for pair in pairs)


def _pairs(everybody: Compared, places: Sequence[int]) -> list[tuple[int, int]]:
    """Every two of these that are alike, the likest first."""
    numbers, found = everybody.numbers[list(places)], []
    for start in range(0, len(places), _CHUNK):
        cosines = numbers[start : start + _CHUNK] @ numbers.T
        for row, column in np.argwhere(cosines >= PAIRED).tolist():
            if column > start + row:
                found.append((float(cosines[row, column]), places[start + row], places[column]))
    return [(one, other) for _, one, other in sorted(found, reverse=True)]


def _doubtful(connection: Connection, everybody: Compared) -> Iterator[DoubtfulName]:
    of_person: dict[int, list[int]] = defaultdict(list)
    for at, face in enumerate(everybody.faces):
        if face.person is not None:
            of_person[face.person].append(at)
    p = t.person.c
    rows = connection.execute(select(t.person).where(p.id.in_(list(of_person)))).mappings()
    words = {row["id"]: with_id(row) for row in rows}
    for person, places in of_person.items():
        born = everybody.born.get(person)
        for at in places:
            mine = everybody.faces[at]
            if (mine.id, mine.id) in everybody.apart:
                continue
            others = [
                other
                for other in places
                if everybody.faces[other].photograph_id != mine.photograph_id
                and remaining(*years_between(mine.day, everybody.faces[other].day, born)) >= _COUNTS
            ]
            if len(others) >= _OTHERS and (everybody.numbers[others] @ everybody.numbers[at]).max() < UNLIKE:
                shown = tuple(_shown(everybody.faces[other]) for other in others)
                yield DoubtfulName(mine.code, mine.key, words[person], shown)


def name_together(work: Work, person: str, faces: Sequence[str], *, by: str | None = None) -> tuple[Linked, ...]:
    """Name these faces (F12, R3) of different photographs as one person, in one change, all or none.

    Raises NotFoundError for a face that is not there, and what naming a face raises.
    """
    wanted = list(dict.fromkeys(text.strip().upper() for text in faces))
    if not wanted:
        raise InvalidValueError("no face was chosen", remedy="Choose the faces that are of this person.")
    places = {face.key: face for face in compared(work.connection).faces}
    for key in wanted:
        if not _KEY.fullmatch(key) or key not in places:
            raise NotFoundError(
                f"there is no face '{key}' that is compared", remedy="See them: kinphoto faces alike. It may be named."
            )
    links = [
        Link(photograph=places[key].code, person=person, by=by,
             region=key if key.startswith("R") else ",".join(f"{side:.5f}" for side in places[key].box))
        for key in wanted
    ]  # fmt: skip
    return link_all(work, links)


def lay_apart(engine: Engine, faces: Sequence[str], others: Sequence[str] = ()) -> LooksAlike:
    """These faces are not of the person that the others are: they are laid side by side no more. Without others: the
    name that a face has is right, however unlike it looks. It is forgotten with all the rest when it is turned off.

    Raises NotFoundError for a face that is not compared, InvalidValueError for none.
    """
    with reading(engine) as connection:
        places = {face.key: face.id for face in compared(connection).faces}
    one_side, other_side = (list(dict.fromkeys(text.strip().upper() for text in side)) for side in (faces, others))
    if not one_side:
        raise InvalidValueError("no face was left out", remedy="Take the tick off those that are somebody else.")
    for key in (*one_side, *other_side):
        if key not in places:
            raise NotFoundError(f"there is no face '{key}' that is compared", remedy="See them: kinphoto faces alike.")
    pairs = [(one, other) for one in one_side for other in other_side or [one]]
    rows = [sorted((places[one], places[other])) for one, other in pairs]
    with face_file.writing(folder_of(engine)) as file:
        file.executemany("INSERT OR IGNORE INTO apart VALUES (?, ?)", rows)
    with reading(engine) as connection:
        return alike(connection)


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

"""Whom a face is like, among the faces that have a name: one more hint when names are offered, never evidence.

Descriptors are read from `faces.db` into memory, and leave neither. Two faces of one photograph are never of one
person, so a face is compared with those of other photographs alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
from sqlalchemy import Connection, Engine, RowMapping, func, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import Life, lives
from kinphoto.archive.catalogue.regions import Region, overlap
from kinphoto.archive.faces.kept import faces_of, fronts, matched, of_one_face, refused_of, regions_of
from kinphoto.archive.faces.permitted import may_be_compared, named_in
from kinphoto.faces.likeness import weight
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

MENTIONED = 0.3
"""The weight from which a likeness is told in words."""


@dataclass(frozen=True, slots=True)
class ComparedFace:
    """A face that is described: its id in the file, its place as shown, the region it has, if any, and who is named on
    it, when that is one person. `settled`: it has several names, or was refused as nobody to be named."""

    id: int
    photograph_id: int
    code: str
    box: Region
    region_id: int | None
    person: int | None
    settled: bool
    day: float | None

    @property
    def key(self) -> str:
        """What it is called: that of the recorded face, else of the frame on offer."""
        return f"F{self.id}" if self.region_id is None else f"R{self.region_id}"


@dataclass(frozen=True, slots=True)
class Compared:
    """Every described face with its descriptor, in the same order, and when the named people were born."""

    faces: tuple[ComparedFace, ...]
    numbers: NDArray[np.float32]
    born: dict[int, float]
    apart: frozenset[tuple[int, int]] = frozenset()
    """Pairs of faces, the lower id first, of which somebody said that they are two people; a face with itself: that
    its name is right."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How much a likeness speaks for somebody, and the photograph of theirs that is the likest."""

    weight: float
    photograph: str


_NOBODY = Compared((), np.zeros((0, 128), dtype=np.float32), {})
_KEPT: WeakKeyDictionary[Engine, tuple[tuple[int, int, int], Compared]] = WeakKeyDictionary()


def compared(connection: Connection) -> Compared:
    """The described faces as they are now, kept in memory until something is changed."""
    folder = folder_of(connection.engine)
    if not face_file.is_there(folder):
        _KEPT.pop(connection.engine, None)
        return _NOBODY
    state = face_file.path_in(folder).stat()
    stamp = (connection.scalar(select(func.max(t.change.c.id))) or 0, state.st_mtime_ns, state.st_size)
    kept = _KEPT.get(connection.engine)
    if kept is None or kept[0] != stamp:
        kept = _KEPT[connection.engine] = stamp, _read(connection)
    return kept[1]


def _read(connection: Connection) -> Compared:
    with face_file.reading(folder_of(connection.engine)) as file:
        rows = {
            row["id"]: row for row in file.execute("SELECT id, sha256, descriptor FROM face WHERE descriptor NOT NULL")
        }
        switch = file.execute("SELECT * FROM switch").fetchone()
        if not rows or not switch["compare"]:
            return _NOBODY
        found = faces_of(file, {row["sha256"] for row in rows.values()})
        apart = frozenset((row["one"], row["other"]) for row in file.execute("SELECT one, other FROM apart"))
    there = [front for front in fronts(connection) if front.sha256 in found]
    ids = {front.photograph_id for front in there}
    allowed = may_be_compared(connection, there, found, living=bool(switch["living"]))
    framed, named, days = regions_of(connection, ids), named_in(connection, ids), _days(connection, ids)
    refused = refused_of(connection, set(found))
    faces: dict[int, ComparedFace] = {}
    for front in there:
        here = named.get(front.photograph_id, [])
        regions = matched(front, found[front.sha256], framed[front.photograph_id])
        for face in found[front.sha256]:
            if face.id not in rows or face.id not in allowed or face.id in faces:
                continue
            region = regions.get(face.id)
            people = {who for place, who in here if place is not None and place == region}
            faces[face.id] = ComparedFace(
                face.id, front.photograph_id, front.code, front.shown(face.region), region,
                next(iter(people)) if len(people) == 1 else None,
                len(people) > 1 or any(of_one_face(face.region, other) for other in refused.get(front.sha256, ())),
                days.get(front.photograph_id),
            )  # fmt: skip
    if not faces:
        return _NOBODY
    numbers = np.stack([np.frombuffer(rows[id_]["descriptor"], dtype="<f4") for id_ in faces])
    people = {face.person for face in faces.values() if face.person is not None}
    lived = lives(connection, people, read_identity(connection))
    born = {id_: day for id_, life in lived.items() if (day := _born(life)) is not None}
    return Compared(tuple(faces.values()), numbers, born, apart)


def _days(connection: Connection, photographs: set[int]) -> dict[int, float]:
    """When they were likely taken, where that is known to within some years."""
    e = t.estimate.c
    query = select(e.photograph_id, e.likely_from, e.likely_to).where(
        among(connection, e.photograph_id, photographs), e.likely_from.is_not(None), e.likely_to.is_not(None)
    )
    found = connection.execute(query)
    return {r.photograph_id: (r.likely_from + r.likely_to) / 2 for r in found if r.likely_to - r.likely_from < 20 * 366}


def _born(life: Life) -> float | None:
    span = life.begin.date.span if life.begin is not None else None
    known = [day for day in (span.first, span.last) if day is not None] if span is not None else []
    return sum(known) / len(known) if known else None


def likenesses(connection: Connection, photograph: RowMapping, region: str | None) -> dict[int, Likeness]:
    """Whom the face at `region` (an id, or left,top,width,height) of a photograph is like, or unlike, by row id; nobody
    while it is off, or where no face was found."""
    everybody = compared(connection)
    at = _place(everybody, photograph["id"], region)
    if at is None:
        return {}
    mine = everybody.faces[at]
    alike = everybody.numbers @ everybody.numbers[at]
    best: dict[int, Likeness] = {}
    for face, cosine in zip(everybody.faces, alike.tolist(), strict=True):
        if face.person is None or face.photograph_id == mine.photograph_id:
            continue
        worth = weight(cosine, *years_between(mine.day, face.day, everybody.born.get(face.person)))
        if face.person not in best or worth > best[face.person].weight:
            best[face.person] = Likeness(worth, face.code)
    return best


def years_between(one: float | None, other: float | None, born: float | None) -> tuple[float | None, float | None]:
    """The years between two pictures, and how old somebody was on the earlier one."""
    if one is None or other is None:
        return None, None
    youngest = None if born is None else (min(one, other) - born) / DAYS_PER_YEAR
    return abs(one - other) / DAYS_PER_YEAR, youngest


def _place(everybody: Compared, photograph_id: int, region: str | None) -> int | None:
    """The place of the face that is at a region."""
    if not region:
        return None
    here = [(at, face) for at, face in enumerate(everybody.faces) if face.photograph_id == photograph_id]
    plain = region.strip().upper()
    if plain.startswith("R"):
        return next((at for at, face in here if f"R{face.region_id}" == plain), None)
    try:
        left, top, width, height = (float(part) for part in plain.split(","))
    except ValueError:
        return None
    box = left, top, width, height
    fitting = [(overlap(face.box, box), at) for at, face in here if of_one_face(face.box, box)]
    return max(fitting)[1] if fitting else None


def phrase(found: Likeness | None, sex: str) -> str:
    """ "looks like her in K00012"; "" where it hardly speaks for them."""
    if found is None or found.weight < MENTIONED:
        return ""
    return f"looks like {({'F': 'her', 'M': 'him'}).get(sex, 'them')} in {found.photograph}"

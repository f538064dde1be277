"""Every face that may be compared, with its description, held in memory while people are named.

A name is offered at each stroke, and each name that is given changes who is on which face. So what was read is kept,
and of what has changed since only the photographs concerned are read again, found by the journal. Descriptions are read
from `faces.db` as they come and go, and are dropped from memory when the file is gone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from math import nan
from threading import RLock
from typing import TYPE_CHECKING, Any, NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.freshness import AS_OF, SINCE, stamp
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.lives import LONGEST, Life, lives
from kinphoto.archive.catalogue.names import last_change
from kinphoto.archive.catalogue.regions import Region
from kinphoto.archive.catalogue.settings import setting
from kinphoto.archive.faces.decisions import FaceDecisions, said_apart
from kinphoto.archive.faces.kept import (
    FramedScan,
    KeptFace,
    faces_of,
    fronts,
    matched,
    of_one_face,
    refused_of,
    regions_of,
)
from kinphoto.archive.faces.permitted import PEOPLE, BarredPeople, allowed_on, barred, named_in
from kinphoto.gedcom.calendars import years_later
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of
from kinphoto.store.session import rows_before

if TYPE_CHECKING:
    from numpy.typing import NDArray

_KNOWN_TO = 20 * 366  # days between which a photograph was taken, at most, for the years between two to be known
_MANY = 2000  # notes of the journal from which everything is read again
_TABLES = ("photograph", "scan", "region", "appearance", "refused_frame", "statement")
"""What decides which face is whose, beside the people themselves."""


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


@dataclass(frozen=True)
class ComparedFaces:
    """Every described face with its description, in the same order; when the named people were born; and what was said
    of faces that look alike or unlike."""

    faces: tuple[ComparedFace, ...]
    numbers: NDArray[np.float32]
    born: dict[int, float] = field(default_factory=dict)
    said: FaceDecisions = field(default_factory=FaceDecisions)

    @cached_property
    def named(self) -> NDArray[np.int64]:
        """The places of the faces with a name."""
        return np.array([at for at, face in enumerate(self.faces) if face.person is not None], dtype=np.int64)

    @cached_property
    def people(self) -> NDArray[np.int64]:
        """Who is named on each of the faces with a name."""
        return np.array([self.faces[at].person for at in self.named.tolist()], dtype=np.int64)

    @cached_property
    def days(self) -> NDArray[np.float64]:
        """When each face was photographed; nan where that is not known."""
        return np.array([nan if face.day is None else face.day for face in self.faces], dtype=np.float64)

    @cached_property
    def of_photograph(self) -> dict[int, list[int]]:
        """The places of the faces of each photograph (row id)."""
        found: dict[int, list[int]] = defaultdict(list)
        for at, face in enumerate(self.faces):
            found[face.photograph_id].append(at)
        return found


def compared(connection: Connection) -> ComparedFaces:
    """The described faces as they are now."""
    engine = connection.engine
    if not face_file.is_there(folder_of(engine)):
        _MEMORY.pop(engine, None)
        return _NOBODY
    memory = _MEMORY.setdefault(engine, _Memory())
    with memory.lock:
        return memory.brought_up_to_date(connection)


class _Placed(NamedTuple):
    """The faces of one photograph and what is recorded on it."""

    front: FramedScan
    faces: list[KeptFace]
    regions: dict[int, int]
    here: list[tuple[int | None, int]]
    refused: list[Region]


class _Dated(NamedTuple):
    """When a photograph was taken, where that is known to within some years; whether nobody in it can be living."""

    day: float | None
    long_ago: bool


_NOBODY = ComparedFaces((), np.zeros((0, 128), dtype=np.float32))
_UNDATED = _Dated(None, False)


class _Memory:
    """What was read of one archive, each part with the mark of what it was read from."""

    def __init__(self) -> None:
        self.lock = RLock()
        self._file: tuple[int, int, bytes] | None = None
        self._entry = self._people = self._said = -1
        self._kept: tuple[str | None, str | None, date] | None = None  # by which the estimates are known
        self._living = self._on = False
        self._rows: dict[int, int] = {}  # of a face (id), in the matrix
        self._matrix = _NOBODY.numbers
        self._found: dict[str, list[KeptFace]] = {}
        self._placed: dict[int, _Placed] = {}
        self._at: dict[str, list[int]] = {}
        self._estimates: dict[int, Any] = {}
        self._long_ago = 0
        self._dated: dict[int, _Dated] = {}
        self._barred = BarredPeople()
        self._named: set[int] = set()
        self._identity = Identity({})
        self._born: dict[int, float] = {}
        self._apart = FaceDecisions()
        self._made: dict[int, tuple[_Dated, list[ComparedFace]]] = {}
        self._whole = _NOBODY

    def brought_up_to_date(self, connection: Connection) -> ComparedFaces:
        """Read again what has changed."""
        now, kept = stamp(connection).entry, (setting(connection, AS_OF), setting(connection, SINCE), date.today())
        mark = face_file.revision(folder_of(connection.engine))
        if (mark, now, kept) == (self._file, self._entry, self._kept):
            return self._whole
        fresh = self._read_file(connection) if mark != self._file else set()
        people = self._people if now == self._entry else last_change(connection, PEOPLE)
        if now != self._entry:
            changed = None if self._entry < 0 or now < self._entry else _changed(connection, self._entry)
            if changed is None:
                fresh = set(self._found)
            else:
                photographs, scans = changed
                fresh |= scans | {self._placed[id_].front.sha256 for id_ in photographs if id_ in self._placed}
                s = t.scan.c
                fresh |= set(
                    connection.scalars(select(s.sha256).where(among(connection, s.photograph_id, photographs)))
                )
        identity = self._identity if people == self._people else read_identity(connection)
        if identity != self._identity:  # who is on which face depends on who turned out to be whom
            self._identity, fresh = identity, set(self._found)
        self._place(connection, fresh)
        self._date(connection, kept)
        touched = [self._placed[id_] for sha256 in fresh for id_ in self._at.get(sha256, ())]
        self._know_people(connection, people, touched)
        said = last_change(connection, FaceDecisions.TABLES) if now != self._entry else self._said
        if said != self._said or fresh:
            self._apart = said_apart(connection, self._found)
        self._file, self._entry, self._said = mark, now, said
        self._whole = self._put_together()
        return self._whole

    def _read_file(self, connection: Connection) -> set[str]:
        """Read the descriptions that have come and forget those that have gone; the scans on which they are."""
        with face_file.reading(folder_of(connection.engine)) as file:
            switch = file.execute("SELECT living, compare FROM switch").fetchone()
            self._on, self._living = bool(switch and switch["compare"]), bool(switch and switch["living"])
            there = dict(file.execute("SELECT id, front FROM face WHERE descriptor NOT NULL").fetchall())
            gone, new = self._rows.keys() - there.keys(), there.keys() - self._rows.keys()
            if not gone and not new:
                return set()
            touched = {there[id_] for id_ in new} | {
                sha256 for sha256, faces in self._found.items() if any(face.id in gone for face in faces)
            }
            for sha256 in touched:
                self._found.pop(sha256, None)
            self._found |= faces_of(file, touched & set(there.values()))
            kept = [id_ for id_ in self._rows if id_ not in gone]
            read = [
                (
                    id_,
                    np.frombuffer(file.execute("SELECT descriptor FROM face WHERE id = ?", [id_]).fetchone()[0], "<f4"),
                )
                for id_ in sorted(new)
            ]
        old = self._matrix[[self._rows[id_] for id_ in kept]]
        self._matrix = np.concatenate([old, *([np.stack([numbers for _, numbers in read])] if read else [])])
        self._rows = {id_: row for row, id_ in enumerate([*kept, *(id_ for id_, _ in read)])}
        return touched

    def _place(self, connection: Connection, scans: Collection[str]) -> None:
        """Put the faces of these scans (SHA-256) on their photographs."""
        if not scans:
            return
        s = t.scan.c
        ids = set(connection.scalars(select(s.photograph_id).where(among(connection, s.sha256, scans))))
        for sha256 in scans:
            ids.update(self._at.pop(sha256, ()))
        for id_ in ids:
            self._placed.pop(id_, None)
            self._made.pop(id_, None)
        there = [front for front in fronts(connection, ids) if front.sha256 in self._found]
        ids = {front.photograph_id for front in there}
        framed, named = regions_of(connection, ids), named_in(connection, ids)
        refused = refused_of(connection, {front.sha256 for front in there})
        for front in there:
            on = self._at.setdefault(front.sha256, [])
            if on:
                continue  # a scan that is the front of two photographs has its faces once
            on.append(front.photograph_id)
            faces = self._found[front.sha256]
            regions = matched(front, faces, framed.get(front.photograph_id, ()))
            self._placed[front.photograph_id] = _Placed(
                front, faces, regions, named.get(front.photograph_id, []), refused.get(front.sha256, [])
            )

    def _date(self, connection: Connection, kept: tuple[str | None, str | None, date]) -> None:
        e, missing = t.estimate.c, self._placed.keys() - self._dated.keys()
        if kept == self._kept and not missing:
            return
        long_ago = years_later(kept[2].toordinal(), -LONGEST)
        query = select(e.photograph_id, e.latest, e.likely_from, e.likely_to)
        rows = connection.execute(query.where(among(connection, e.photograph_id, self._placed.keys()))).all()
        now = {row[0]: row for row in rows}
        for id_ in self._placed:
            row = now.get(id_)
            if id_ not in self._dated or row != self._estimates.get(id_) or long_ago != self._long_ago:
                self._dated[id_] = _UNDATED if row is None else _dated(row[1], row[2], row[3], long_ago)
        self._estimates, self._long_ago, self._kept = now, long_ago, kept

    def _know_people(self, connection: Connection, mark: int, touched: Collection[_Placed]) -> None:
        """When the people who are named were born, and whose faces may not be compared."""
        if mark != self._people or self._living != self._barred.living_allowed:
            self._named, self._born, self._barred, self._made = set(), {}, BarredPeople(), {}
            touched = self._placed.values()
        new = {who for placed in touched for _, who in placed.here} - self._named
        if new or mark != self._people or self._living != self._barred.living_allowed:
            of_new = barred(connection, new, living=self._living)
            self._barred = replace(of_new, living=of_new.living | self._barred.living)
            lived = lives(connection, new, self._identity)
            self._born |= {id_: day for id_, life in lived.items() if (day := birth_of(life)) is not None}
            self._named |= new
            self._people = mark

    def _put_together(self) -> ComparedFaces:
        if not self._on:
            return _NOBODY
        faces: list[ComparedFace] = []
        for id_, placed in sorted(self._placed.items()):
            dated, made = self._dated[id_], self._made.get(id_)
            if made is None or made[0] is not dated:
                made = self._made[id_] = dated, self._faces(placed, dated)
            faces += made[1]
        numbers = self._matrix[[self._rows[face.id] for face in faces]] if faces else _NOBODY.numbers
        return ComparedFaces(tuple(faces), numbers, self._born, self._apart)

    def _faces(self, placed: _Placed, dated: _Dated) -> list[ComparedFace]:
        front, allowed = placed.front, allowed_on(placed, self._barred, long_ago=dated.long_ago)
        found = []
        for face in placed.faces:
            if face.id not in self._rows or face.id not in allowed:
                continue
            region = placed.regions.get(face.id)
            if region is None and face.drawn:
                continue  # whoever drew it has taken the frame away
            people = {who for place, who in placed.here if place is not None and place == region}
            found.append(
                ComparedFace(
                    face.id, front.photograph_id, front.code, front.shown(face.region), region,
                    next(iter(people)) if len(people) == 1 else None,
                    len(people) > 1 or any(of_one_face(face.region, other) for other in placed.refused),
                    dated.day,
                )
            )  # fmt: skip
        return found


_MEMORY: WeakKeyDictionary[Engine, _Memory] = WeakKeyDictionary()


def _changed(connection: Connection, since: int) -> tuple[set[int], set[str]] | None:
    """The photographs (row ids) and scans (SHA-256) with something changed after an entry of the journal; None where
    that is a lot."""
    r = t.change_row.c
    query = select(t.change_row).where(r.id > since, r.table_name.in_(_TABLES)).limit(_MANY)
    notes = connection.execute(query).mappings().all()
    if len(notes) == _MANY:
        return None
    photographs: set[int] = set()
    scans: set[str] = set()
    for note in notes:
        table = t.metadata.tables[note["table_name"]]
        own = ("id",) if table is t.photograph else ("photograph_id", "other_id", "sha256")
        columns = [column for column in own if column in table.c]
        present = select(*(table.c[name] for name in columns)).where(
            table.c.id.between(note["first_id"], note["last_id"])
        )
        rows = [*connection.execute(present).mappings(), *rows_before(note)]
        photographs.update(row[name] for row in rows for name in columns if name != "sha256" and row[name] is not None)
        scans.update(row["sha256"] for row in rows if "sha256" in columns)
    return photographs, scans


def _dated(latest: int, first: int | None, last: int | None, long_ago: int) -> _Dated:
    known = first is not None and last is not None and last - first < _KNOWN_TO
    return _Dated((first + last) / 2 if known else None, latest < long_ago)  # type: ignore[operator]


def birth_of(life: Life) -> float | None:
    """About on which day somebody was born."""
    span = life.begin.date.span if life.begin is not None else None
    known = [day for day in (span.first, span.last) if day is not None] if span is not None else []
    return sum(known) / len(known) if known else None

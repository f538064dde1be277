"""Whose faces may be compared: nobody's who was left out, and nobody's who may be living unless the keeper allows it.

A face without a name may be a living person's, unless the photograph was certainly taken longer ago than anybody lives.
It is asked anew each time, as people are named, die, and are left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Protocol

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.privacy import taken_long_ago
from kinphoto.archive.faces.kept import FramedScan, KeptFace, matched, regions_of
from kinphoto.reason.model.evidence import Role
from kinphoto.store import tables as t
from kinphoto.store.among import among

PEOPLE = ("person", "event", "family", "partner", "parent_link", "uncompared_person")
"""The tables that decide whose faces may be compared."""


@dataclass(frozen=True, slots=True)
class BarredPeople:
    """People whose faces may not be compared: who was left out, and who may be living, unless that is allowed."""

    left_out: frozenset[int] = frozenset()
    living: frozenset[int] = frozenset()
    living_allowed: bool = False


class OnPhotograph(Protocol):
    """The faces of a photograph, the region (row id) of those that have one, by the face's id, and who is named where
    in it (None: on no face)."""

    @property
    def faces(self) -> Sequence[KeptFace]: ...
    @property
    def regions(self) -> dict[int, int]: ...
    @property
    def here(self) -> Sequence[tuple[int | None, int]]: ...


@dataclass(frozen=True, slots=True)
class _Photograph:
    faces: Sequence[KeptFace]
    regions: dict[int, int]
    here: Sequence[tuple[int | None, int]]


def barred(connection: Connection, people: Collection[int], *, living: bool) -> BarredPeople:
    """Who of these people may not be compared; nobody for being alive where the `living` are allowed."""
    identity = read_identity(connection)
    out = {identity.of(id_) for id_ in connection.scalars(select(t.uncompared_person.c.person_id))}
    alive = frozenset() if living else frozenset(may_be_living(connection, people))
    return BarredPeople(frozenset(out), alive, living)


def allowed_on(photograph: OnPhotograph, barred: BarredPeople, *, long_ago: bool) -> set[int]:
    """The ids of the faces of a photograph that may be compared with others; `long_ago`: nobody in it can be living."""
    unplaced = any(region is None and who in barred.left_out for region, who in photograph.here)
    of_nobody = (long_ago or barred.living_allowed) and not unplaced
    allowed: set[int] = set()
    for face in photograph.faces:
        region = photograph.regions.get(face.id)
        on_it = {who for place, who in photograph.here if place is not None and place == region}
        if on_it.isdisjoint(barred.left_out | barred.living) if on_it else of_nobody:
            allowed.add(face.id)
    return allowed


def may_be_compared(
    connection: Connection, there: Sequence[FramedScan], found: dict[str, list[KeptFace]], *, living: bool
) -> set[int]:
    """The ids of the faces on these fronts that may be compared with others."""
    there = [front for front in there if found.get(front.sha256)]
    ids = {front.photograph_id for front in there}
    framed, named = regions_of(connection, ids), named_in(connection, ids)
    who = barred(connection, {who for rows in named.values() for _, who in rows}, living=living)
    long_ago = taken_long_ago(connection, ids, None)
    allowed: set[int] = set()
    for front in there:
        faces = found[front.sha256]
        regions = matched(front, faces, framed.get(front.photograph_id, ()))
        here = _Photograph(faces, regions, named.get(front.photograph_id, []))
        allowed |= allowed_on(here, who, long_ago=front.photograph_id in long_ago)
    return allowed


def frames_that_may_be_compared(connection: Connection, frames: dict[int, list[int]], *, living: bool) -> set[int]:
    """Those of the frames that people drew (row ids, by photograph) whose faces may be compared: somebody is on them,
    named or not, and nobody who may not be."""
    named = named_in(connection, set(frames))
    who = barred(connection, {who for rows in named.values() for _, who in rows}, living=living)
    long_ago = taken_long_ago(connection, set(frames), None)
    a = t.appearance.c
    on_faces = select(a.region_id).where(
        a.withdrawn == 0, a.denied == 0, a.role == Role.PRESENT, a.region_id.is_not(None)
    )
    somebody = set(connection.scalars(on_faces.where(among(connection, a.photograph_id, set(frames)))))
    allowed: set[int] = set()
    for photograph_id, ids in frames.items():
        faces = [KeptFace(id_, "", (0, 0, 1, 1), 0.0, drawn=True) for id_ in ids if id_ in somebody]
        here = _Photograph(faces, {id_: id_ for id_ in ids}, named.get(photograph_id, []))
        allowed |= allowed_on(here, who, long_ago=photograph_id in long_ago)
    return allowed


def named_in(connection: Connection, photographs: set[int]) -> dict[int, list[tuple[int | None, int]]]:
    """For each photograph the region (row id; None for nowhere) and the person of everybody named in it."""
    a, identity = t.appearance.c, read_identity(connection)
    query = select(a.photograph_id, a.region_id, a.person_id).where(
        a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None), among(connection, a.photograph_id, photographs)
    )
    named: dict[int, list[tuple[int | None, int]]] = defaultdict(list)
    for row in connection.execute(query):
        named[row.photograph_id].append((row.region_id, identity.of(row.person_id)))
    return named

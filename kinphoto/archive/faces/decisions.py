"""What somebody said of faces that look alike or unlike: these are two people, this name is right.

It is kept with the place of each face on its scan, as a refused frame is: so it outlives another search and the switch,
and is undone like everything else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.regions import SIDES, Region, overlap
from kinphoto.archive.faces.kept import KeptFace, of_one_face
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class FaceDecisions:
    """Pairs of faces (ids, the lower first) of two people, and faces whose name (a person's row id) is right."""

    TABLES: ClassVar = (t.faces_apart.name, t.confirmed_name.name)
    pairs: frozenset[tuple[int, int]] = field(default_factory=frozenset)
    right: frozenset[tuple[int, int]] = field(default_factory=frozenset)

    def parts(self, one: int, other: int) -> bool:
        """Whether somebody said that these are two people."""
        return ((one, other) if one < other else (other, one)) in self.pairs


def said_apart(connection: Connection, found: Mapping[str, Sequence[KeptFace]]) -> FaceDecisions:
    """What was said of these faces, by the scans (SHA-256) on which they are."""
    identity = read_identity(connection)
    pairs: set[tuple[int, int]] = set()
    for row in connection.execute(select(t.faces_apart)).mappings():
        ends = _face(row, "", found), _face(row, "other_", found)
        if ends[0] is not None and ends[1] is not None:
            pairs.add((min(ends[0], ends[1]), max(ends[0], ends[1])))
    right: set[tuple[int, int]] = set()
    for row in connection.execute(select(t.confirmed_name)).mappings():
        person, face = identity.of(row["person_id"]), _face(row, "", found)
        if face is not None and person is not None:
            right.add((face, person))
    return FaceDecisions(frozenset(pairs), frozenset(right))


def _face(row: Mapping[Any, Any], end: str, found: Mapping[str, Sequence[KeptFace]]) -> int | None:
    """The face at the place that a row names."""
    left, top, width, height = (float(row[f"{end}{side}"]) for side in SIDES)
    place = left, top, width, height
    here = found.get(row[f"{end}sha256"], ())
    fitting = [(overlap(face.region, place), face.id) for face in here if of_one_face(face.region, place)]
    return max(fitting)[1] if fitting else None


def columns(sha256: str, region: Region, end: str = "") -> dict[str, Any]:
    """The place of a face, for a row."""
    return {f"{end}sha256": sha256, **{f"{end}{side}": part for side, part in zip(SIDES, region, strict=True)}}

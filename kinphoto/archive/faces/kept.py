"""What was found on the scans, put on the photographs: which frame belongs to which recorded face, and which was
refused."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.regions import Region, box, overlap
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import MIRROR, POSITIVE, as_filed_region, shown_region
from kinphoto.store import tables as t
from kinphoto.store.among import among

VERSION = 2
"""Of the search: raised when it finds something else, so that scans are searched again."""
_SAME = 0.3  # intersection over union from which a frame that somebody drew is of the face that was found
_INSIDE = 0.6  # or this much of the smaller one inside the other: people frame heads, networks faces
_IN_LIST = 500


Looked = tuple[str, int]
"""A scan as it was searched: its SHA-256 and the version of the search, which is negative for a scan shown as a
positive, so that it is searched again when somebody says that it is a negative, or is none."""


@dataclass(frozen=True, slots=True)
class KeptFace:
    """A face that was found: on which scan it was seen, where it is on the front as its file asks to be turned, and how
    sure the network is. `drawn`: a person framed it, and the search had missed it."""

    id: int
    sha256: str
    region: Region
    score: float
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class FramedScan:
    """The scan of a photograph that regions are drawn on."""

    photograph_id: int
    code: str
    scan: RowMapping

    @property
    def sha256(self) -> str:
        """Of the scan."""
        return str(self.scan["sha256"])

    def shown(self, region: Region) -> Region:
        """A region of the picture as its file asks to be turned, on the picture as it is shown."""
        return shown_region(region, self.scan["turn"], self.scan["straight"])

    def as_stored(self, region: Region) -> Region:
        """The other way round."""
        return as_filed_region(region, self.scan["turn"], self.scan["straight"])

    @property
    def upright(self) -> int:
        """How many quarters to the right stand the scan upright, by how it is shown. Behind a mirror a turn to the
        right is one to the left."""
        turn = int(self.scan["turn"])
        return (-turn if turn & MIRROR else turn) % 4

    def quarters_left(self, upright: int) -> int:
        """How many more quarter turns to the right show it upright, when the scan itself needs `upright`."""
        turn = int(self.scan["turn"])
        return ((-upright if turn & MIRROR else upright) - turn) % 4


def looked_at(scan: RowMapping) -> Looked:
    """How a scan is searched now."""
    return str(scan["sha256"]), -VERSION if scan["turn"] & POSITIVE else VERSION


def searched(file: sqlite3.Connection) -> set[Looked]:
    """All scans as they were searched last."""
    return {(row[0], row[1]) for row in file.execute("SELECT sha256, version FROM searched")}


def picture_of(scan: RowMapping) -> tuple[str, int, bool]:
    """What is looked at of a scan: its file, the page of it, and whether as a positive."""
    return file_path(scan["path"], scan["page"]), scan["page"], bool(scan["turn"] & POSITIVE)


def fronts(connection: Connection, photographs: Collection[int] | None = None) -> list[FramedScan]:
    """The fronts of these photographs, or of all. Album pages are among them as long as none of their photographs is in
    the archive by itself, where its people are named."""
    s, p, parts = t.scan.c, t.photograph.c, t.statement.alias().c
    apart = select(parts.other_id).where(parts.kind == "part-of", parts.withdrawn == 0, parts.other_id == p.id)
    query = (
        select(t.scan, p.code)
        .join(t.photograph, p.id == s.photograph_id)
        .where(s.side == "recto", (p.page == 0) | ~apart.exists())
        .order_by(s.photograph_id, s.position, s.id)
    )
    if photographs is not None:
        query = query.where(among(connection, p.id, set(photographs)))
    found: dict[int, FramedScan] = {}
    for row in connection.execute(query).mappings():
        found.setdefault(row["photograph_id"], FramedScan(row["photograph_id"], row["code"], row))
    return list(found.values())


def details(connection: Connection, there: Collection[FramedScan]) -> list[tuple[FramedScan, RowMapping]]:
    """The details that were scanned of these fronts, each with its front."""
    s, by_id = t.scan.c, {front.photograph_id: front for front in there}
    query = (
        select(t.scan)
        .where(s.side == "detail", s.superseded == 0, among(connection, s.photograph_id, set(by_id)))
        .order_by(s.photograph_id, s.position, s.id)
    )
    return [(by_id[row["photograph_id"]], row) for row in connection.execute(query).mappings()]


def faces_of(file: sqlite3.Connection, there: Collection[str]) -> dict[str, list[KeptFace]]:
    """The faces on these fronts (SHA-256), from the left. One that was seen on a detail counts only where none was seen
    on the front itself."""
    found: dict[str, list[KeptFace]] = defaultdict(list)
    wanted = sorted(there)
    for start in range(0, len(wanted), _IN_LIST):
        some = wanted[start : start + _IN_LIST]
        query = (
            f'SELECT * FROM face WHERE front IN ({",".join("?" * len(some))}) ORDER BY sha256 != front, "left", top, id'
        )
        for row in file.execute(query, some):
            region = row["left"], row["top"], row["width"], row["height"]
            here = found[row["front"]]
            if row["sha256"] == row["front"] or not any(of_one_face(region, other.region) for other in here):
                here.append(KeptFace(row["id"], row["sha256"], region, row["score"], bool(row["drawn"])))
    return {front: sorted(faces, key=lambda face: (face.region, face.id)) for front, faces in found.items()}


def keep_found(file: sqlite3.Connection, looked: Looked, found: Mapping[str, Any], front: str | None = None) -> None:
    """Keep what was found on a scan in place of what was. Its frames are on that scan, or on the `front` that it shows
    a detail of."""
    sha256, version = looked
    file.execute("DELETE FROM face WHERE sha256 = ?", [sha256])
    file.executemany(
        'INSERT INTO face (sha256, front, "left", top, width, height, score, points) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
        [
            (sha256, front or sha256, *face["region"], face["score"], json.dumps(face["points"]))
            for face in found["faces"]
        ],
    )
    file.execute("INSERT OR REPLACE INTO searched VALUES (?, ?, ?)", [sha256, version, found["turn"]])


def keep_drawn(
    file: sqlite3.Connection, front: str, region: Region, points: Sequence[Sequence[float]], descriptor: bytes
) -> None:
    """Keep the description of a face that a person framed and the search had missed."""
    file.execute(
        'INSERT INTO face (sha256, front, "left", top, width, height, score, points, descriptor, drawn)'
        " VALUES (?, ?, ?, ?, ?, ?, 0, ?, ?, 1)",
        [front, front, *region, json.dumps(points), descriptor],
    )


def of_one_face(one: Region, other: Region) -> bool:
    """Whether two frames are of one face, when one may be of the whole head."""
    if overlap(one, other) >= _SAME:
        return True
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    areas = one[2] * one[3], other[2] * other[3]
    return max(across, 0.0) * max(down, 0.0) >= _INSIDE * min(areas) and max(areas) <= 6 * min(areas)


def regions_of(connection: Connection, photographs: Collection[int]) -> dict[int, list[RowMapping]]:
    """The recorded frames of these photographs."""
    r = t.region.c
    found: dict[int, list[RowMapping]] = defaultdict(list)
    query = select(t.region).where(among(connection, r.photograph_id, set(photographs))).order_by(r.id)
    for row in connection.execute(query).mappings():
        found[row["photograph_id"]].append(row)
    return found


def refused_of(connection: Connection, scans: Collection[str]) -> dict[str, list[Region]]:
    """The frames on these scans that somebody refused."""
    f = t.refused_frame.c
    found: dict[str, list[Region]] = defaultdict(list)
    for row in connection.execute(select(t.refused_frame).where(among(connection, f.sha256, set(scans)))).mappings():
        found[row["sha256"]].append(box(row))
    return found


def matched(front: FramedScan, faces: Iterable[KeptFace], regions: Sequence[RowMapping]) -> dict[int, int]:
    """The region (row id) of each face that has one, by the face's id: of several frames the best."""
    found: dict[int, int] = {}
    taken: set[int] = set()
    pairs = [
        (overlap(front.shown(face.region), box(row)), face.id, row["id"])
        for face in faces
        for row in regions
        if of_one_face(front.shown(face.region), box(row))
    ]
    for _, face_id, region_id in sorted(pairs, reverse=True):
        if face_id not in found and region_id not in taken:
            found[face_id] = region_id
            taken.add(region_id)
    return found

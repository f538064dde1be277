"""What was found on the scans, put on the photographs: which frame is of which recorded face, which was refused."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.regions import Region, box, overlap
from kinphoto.scans.upright import turned_back_region, turned_region
from kinphoto.store import tables as t
from kinphoto.store.among import among

VERSION = 1
"""Of the search: raised when it finds something else, so that scans are searched again."""
_SAME = 0.3  # intersection over union from which a frame that somebody drew is of the face that was found
_INSIDE = 0.6  # or this much of the smaller one inside the other: people frame heads, networks faces
_IN_LIST = 500


@dataclass(frozen=True, slots=True)
class KeptFace:
    """A face that was found: where on the picture as its file asks to be turned, and how sure the network is."""

    id: int
    sha256: str
    region: Region
    score: float


@dataclass(frozen=True, slots=True)
class Front:
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
        return turned_region(region, self.scan["turn"])

    def as_stored(self, region: Region) -> Region:
        """The other way round."""
        return turned_back_region(region, self.scan["turn"])


def fronts(connection: Connection, photographs: Collection[int] | None = None) -> list[Front]:
    """The fronts of these photographs, of all but album pages for none named."""
    s, p = t.scan.c, t.photograph.c
    query = (
        select(t.scan, p.code)
        .join(t.photograph, p.id == s.photograph_id)
        .where(s.side == "recto", p.page == 0)
        .order_by(s.photograph_id, s.position, s.id)
    )
    if photographs is not None:
        query = query.where(among(connection, p.id, set(photographs)))
    found: dict[int, Front] = {}
    for row in connection.execute(query).mappings():
        found.setdefault(row["photograph_id"], Front(row["photograph_id"], row["code"], row))
    return list(found.values())


def faces_of(file: sqlite3.Connection, scans: Collection[str]) -> dict[str, list[KeptFace]]:
    """What was found on these scans (SHA-256), from the left."""
    found: dict[str, list[KeptFace]] = defaultdict(list)
    wanted = sorted(scans)
    for start in range(0, len(wanted), _IN_LIST):
        some = wanted[start : start + _IN_LIST]
        query = f'SELECT * FROM face WHERE sha256 IN ({",".join("?" * len(some))}) ORDER BY "left", top, id'
        for row in file.execute(query, some):
            region = row["left"], row["top"], row["width"], row["height"]
            found[row["sha256"]].append(KeptFace(row["id"], row["sha256"], region, row["score"]))
    return found


def keep_found(file: sqlite3.Connection, sha256: str, found: Mapping[str, Any]) -> None:
    """Keep what was found on a scan in place of what was."""
    old = "SELECT id FROM face WHERE sha256 = ?"
    file.execute(f"DELETE FROM apart WHERE one IN ({old}) OR other IN ({old})", [sha256, sha256])
    file.execute("DELETE FROM face WHERE sha256 = ?", [sha256])
    file.executemany(
        'INSERT INTO face (sha256, "left", top, width, height, score, points) VALUES (?, ?, ?, ?, ?, ?, ?)',
        [(sha256, *face["region"], face["score"], json.dumps(face["points"])) for face in found["faces"]],
    )
    file.execute("INSERT OR REPLACE INTO searched VALUES (?, ?, ?)", [sha256, VERSION, found["turn"]])


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


def matched(front: Front, faces: Iterable[KeptFace], regions: Sequence[RowMapping]) -> dict[int, int]:
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

"""Turning a scan upright, mirroring film that was scanned from its wrong side, and showing a negative as a positive:
noted in the archive, on top of what the file itself asks for; the file stays as it is.

Regions are drawn on the upright picture of a photograph's first recto. When that one is turned, they turn with it in
the same change, so that every frame stays on its face, and undoing the change turns both back. The other scans (the
back, a detail, a rescan of the front) have no regions of their own, and turning them moves none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding import find_photograph, find_scan
from kinphoto.archive.catalogue.regions import SIDES, box
from kinphoto.archive.catalogue.vocabulary import TURNS
from kinphoto.archive.collection.bed_outlines import turn_outlines
from kinphoto.archive.collection.images import front_of
from kinphoto.errors import InvalidValueError
from kinphoto.scans.upright import MIRROR, POSITIVE, mirrored_on, turned_on, turned_region
from kinphoto.store import tables as t
from kinphoto.store.session import Work

WAYS = {"right": 1, "over": 2, "left": 3}
"""The ways to turn a scan, and how many quarter turns clockwise each is."""
_SAID = {
    "right": "turned {} to the right", "left": "turned {} to the left", "over": "turned {} over",
    "mirror": "mirrored {}", "positive": "shows {} as a positive", "as-scanned": "shows {} as it was scanned",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Turned:
    """A scan that was turned."""

    photograph: Annotated[str, "the photograph's code"]
    scan: Annotated[str, "the scan's path"]
    turn: Annotated[int, "how many quarters clockwise it is turned now, on top of what its file asks for: 0 to 3"]
    faces: Annotated[int, "how many faces turned with it"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]
    mirrored: Annotated[bool, "true when it is mirrored left to right, before it is turned"] = False
    positive: Annotated[bool, "true when a negative is shown as a positive"] = False


def turn(work: Work, scan: str, way: str) -> Turned:
    """Turn a scan to the right, to the left or over, or mirror it, from how it is shown now; or show a negative as a
    positive, or as it was scanned.

    Raises InvalidValueError for another way; NotFoundError, AmbiguousError.
    """
    way = TURNS.read(way)
    row = find_scan(work.connection, scan)
    now, moved = _turned_so(row["turn"], way)
    faces = 0
    if now != row["turn"]:
        work.update(t.scan, [row["id"]], turn=now)
        front = front_of(work.connection, row["photograph_id"])
        if moved:
            turn_outlines(work, row, moved)
            faces = _turn_faces(work, row["photograph_id"], moved) if front and front["id"] == row["id"] else 0
    code = row_of(work.connection, t.photograph, row["photograph_id"])["code"]
    work.what = _SAID[way].format(f"{Path(row['path']).name} of {code}")
    change = work.id if now != row["turn"] else None
    return Turned(code, row["path"], now % 4, faces, change, bool(now & MIRROR), bool(now & POSITIVE))


def quarters_of(way: str) -> int:
    """How many quarters clockwise a way is. Raises InvalidValueError for anything that is not a turn."""
    found = TURNS.read(way)
    if found not in WAYS:
        raise InvalidValueError(f"'{way}' is not a way to turn a picture", remedy="Use left, right or over.")
    return WAYS[found]


def _turned_so(turn: int, way: str) -> tuple[int, int]:
    """The turn of a scan afterwards, and how what is on its picture moves: a turn of its own."""
    if way == "mirror":
        return mirrored_on(turn), MIRROR
    if way in WAYS:
        return turned_on(turn, WAYS[way]), WAYS[way]
    return (turn | POSITIVE if way == "positive" else turn & ~POSITIVE), 0


def turn_all(work: Work, photographs: Sequence[str], way: str) -> tuple[Turned, ...]:
    """Turn the pictures of several photographs, of all of them or none; those without a scan are left out. Raises the
    same."""
    done = []
    for each in photographs:
        front = front_of(work.connection, find_photograph(work.connection, each)["id"])
        if front is not None:
            done.append(turn(work, front["path"], way))
    if len(done) > 1:
        work.what += f" (and {len(done) - 1} more)"
    return tuple(done)


def _turn_faces(work: Work, photograph_id: int, moved: int) -> int:
    """Turn the regions of a photograph with its picture; how many there are."""
    rows = work.connection.execute(select(t.region).where(t.region.c.photograph_id == photograph_id)).mappings().all()
    work.rewrite(
        t.region,
        [{"id": row["id"], **dict(zip(SIDES, turned_region(box(row), moved), strict=True))} for row in rows],
    )
    return len(rows)

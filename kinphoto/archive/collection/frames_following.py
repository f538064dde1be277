"""Framed faces follow the picture: where another scan becomes the front of a photograph, they move to where that scan
shows them. Regions are shares of the front, and two scans of one print are seldom cut, tilted and placed alike."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import RowMapping, select

from kinphoto.archive.catalogue.regions import SIDES, Region, box
from kinphoto.archive.collection.images import front_of, shown_size
from kinphoto.archive.collection.same_print import laid_over, small_picture
from kinphoto.scans.registration import Registration
from kinphoto.scans.upright import Size
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work

Scan = RowMapping | Mapping[str, Any]

_SAME = 0.002
"""Shares of the picture: a frame that would move by less stays where somebody drew it."""


@dataclass
class Followed:
    """What became of the frames: how many moved, and how many stayed as the two scans could not be laid over."""

    moved: int = 0
    stayed: int = 0
    fronts: dict[int, RowMapping | None] = field(default_factory=dict)


@contextmanager
def frames_following(work: Work, *photographs: int) -> Iterator[Followed]:
    """Whatever is done inside: where it gives one of these photographs (row ids) another front, its frames follow."""
    found = Followed(fronts={each: front_of(work.connection, each) for each in photographs})
    yield found
    for photograph, before in found.fronts.items():
        now = front_of(work.connection, photograph)
        if before is not None and now is not None and now["id"] != before["id"] and now["side"] == "recto":
            r = t.region.c
            ids = work.connection.scalars(select(r.id).where(r.photograph_id == photograph)).all()
            moved = move_frames(work, list(ids), before, now)
            found.moved += moved or 0
            found.stayed += len(ids) if moved is None else 0


def move_frames(work: Work, regions: list[int], before: Scan, now: Scan) -> int | None:
    """Move these regions from where they are on one scan to where the other shows the same; how many moved. None where
    the two show different things, or cannot be looked at."""
    if not regions:
        return 0
    registration = registration_of(work, before, now)
    if registration is None:
        return None
    rows = work.connection.execute(select(t.region).where(t.region.c.id.in_(regions))).mappings().all()
    size = shown_size(now)
    fresh = {row["id"]: moved_region(registration, box(row), size) for row in rows}
    changed = [row for row in rows if max(abs(a - b) for a, b in zip(box(row), fresh[row["id"]], strict=True)) > _SAME]
    work.rewrite(t.region, [{"id": row["id"], **dict(zip(SIDES, fresh[row["id"]], strict=True))} for row in changed])
    return len(changed)


def registration_of(work: Work, before: Scan, now: Scan) -> Registration | None:
    """Where one scan is on the other, as both are shown."""
    folder = folder_of(work.connection.engine)
    one, other = small_picture(before, folder), small_picture(now, folder)
    return None if one is None or other is None else laid_over(one, other)


def moved_region(registration: Registration, region: Region, now: Size) -> Region:
    """Where a region of the first scan is on the second, whose size in pixels is `now`: upright again, and not larger
    because the picture is tilted."""
    left, top, width, height = region
    x, y = left + width / 2, top + height / 2
    middle = registration.moved(x, y)

    def length(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
        a, b = registration.moved(*one), registration.moved(*other)
        return (b[0] - a[0]) * now[0], (b[1] - a[1]) * now[1]

    across = length((left, y), (left + width, y))
    down = length((x, top), (x, top + height))
    if abs(across[0]) < abs(across[1]):  # turned by a quarter
        across, down = down, across
    wide, high = math.hypot(*across) / now[0], math.hypot(*down) / now[1]
    x0, y0 = max(0.0, middle[0] - wide / 2), max(0.0, middle[1] - high / 2)
    x1, y1 = min(1.0, middle[0] + wide / 2), min(1.0, middle[1] + high / 2)
    if x1 - x0 < 0.2 * wide or y1 - y0 < 0.2 * high:  # the second scan does not show it: at its edge
        x0, y0 = min(max(0.0, x0), 1 - min(wide, 1.0)), min(max(0.0, y0), 1 - min(high, 1.0))
        x1, y1 = x0 + min(wide, 1.0), y0 + min(high, 1.0)
    return round(x0, 6), round(y0, 6), round(x1 - x0, 6), round(y1 - y0, 6)

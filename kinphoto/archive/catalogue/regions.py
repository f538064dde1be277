"""Regions: where a face is in a photograph, and when two regions frame the same face."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from kinphoto.errors import InvalidValueError

Region = tuple[float, float, float, float]
"""Left, top, width, height as parts of the upright image."""

SIDES = ("left", "top", "width", "height")
"""The columns of the table `region`, in the same order."""
SAME = 0.5
"""Two regions that share this much (intersection over union) frame the same face."""

_Row = TypeVar("_Row", bound=Mapping[Any, Any])


def parse_region(text: str) -> Region:
    """ "0.42,0.30,0.08,0.12": left, top, width, height of the upright image. Raises InvalidValueError."""
    remedy = "Give left,top,width,height as parts of the upright image, such as 0.42,0.30,0.08,0.12."
    try:
        left, top, width, height = (float(part) for part in text.replace(";", ",").split(","))
    except ValueError:
        raise InvalidValueError("not a region", where=f"region '{text}'", remedy=remedy) from None
    if not (
        0 <= left < 1 and 0 <= top < 1 and width > 0 and height > 0 and left + width <= 1.001 and top + height <= 1.001
    ):
        if max(left, top, width, height) > 1:
            remedy = f"Divide pixels by the picture's width and height. {remedy}"
        raise InvalidValueError("the region is not inside the picture", where=f"region '{text}'", remedy=remedy)
    return left, top, min(width, 1 - left), min(height, 1 - top)


def box(row: Mapping[Any, Any]) -> Region:
    """The region in a row of the table `region`."""
    return row["left"], row["top"], row["width"], row["height"]


def overlap(one: Region, other: Region) -> float:
    """Intersection over union of two regions, 0 to 1."""
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    shared = max(across, 0.0) * max(down, 0.0)
    return shared / (one[2] * one[3] + other[2] * other[3] - shared)


def same_face(region: Region, rows: Iterable[_Row]) -> _Row | None:
    """The row of `region` that frames the same face, the closest one; None when none does."""
    found = [(overlap(region, box(row)), row["id"], row) for row in rows]
    best = max(found, default=None, key=lambda triple: triple[:2])
    return best[2] if best is not None and best[0] >= SAME else None

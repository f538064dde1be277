"""Which of two scans of one print is the better one, and why."""

from __future__ import annotations

import json
from typing import NamedTuple

from sqlalchemy import Connection, RowMapping, select

from kinphoto.store import tables as t

_SHARPEST = 0.6
"""Pixels: an edge cannot be narrower than that, so a scan that is sharper than its pixels gains nothing."""
_MORE = 1.15
"""How many times as much one has to show before that counts."""


class BetterScan(NamedTuple):
    """The one that stands in front; `why` is empty where they hardly differ."""

    row: RowMapping
    why: str


def better_scan(connection: Connection, one: RowMapping, other: RowMapping) -> BetterScan:
    """The scan that shows more: of pixels, counted as wide as the edges in it are blurred where both were checked."""
    blurs = sharpness(connection, [one, other])
    blur, others = blurs.get(one["sha256"]), blurs.get(other["sha256"])
    shows = [float(row["width"] * row["height"]) for row in (one, other)]
    pixels = shows[0] / shows[1]
    if blur is not None and others is not None:
        shows = [shows[0] / max(blur, _SHARPEST) ** 2, shows[1] / max(others, _SHARPEST) ** 2]
    better, ratio = (one, shows[0] / shows[1]) if shows[0] > shows[1] else (other, shows[1] / shows[0])
    if ratio < _MORE:
        return BetterScan(better, "")
    has_more = (pixels if better is one else 1 / pixels) > 1 / _MORE
    return BetterScan(better, "it has more pixels" if has_more else "it is sharper, though it has fewer pixels")


def sharpness(connection: Connection, rows: list[RowMapping]) -> dict[str, float]:
    """How wide the edges in these scans are blurred, in pixels of the file, by their SHA-256; of those checked."""
    c = t.scan_check.c
    query = select(c.sha256, c.measures).where(c.sha256.in_([row["sha256"] for row in rows]))
    found = {row.sha256: json.loads(row.measures).get("spread") for row in connection.execute(query)}
    return {sha256: float(spread) for sha256, spread in found.items() if spread is not None}

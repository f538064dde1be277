"""Which scans are photographs taken of a print, and what is known of the print on them, from what the checks measured
and from what somebody said."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import RowMapping

from kinphoto.archive.collection.images import filed_size
from kinphoto.scans.captures.straight import Corners, believed, in_order, read, seen, side_lengths
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.checks.originals import Captured
from kinphoto.scans.upright import Size, upright_point

Scan = RowMapping | Mapping[str, Any]
YES, NO, REFUSED = "yes", "no", "no"
"""What is kept in the columns `capture` and `straight` of a scan, beside nothing and corners."""


def is_capture(row: Scan, measured: Measures | None) -> bool:
    """Whether a scan is a photograph taken of a print: somebody says so, or a camera took it and a print shows in it.
    That a camera took it alone is not enough: it may be a photograph of the family."""
    if row["capture"]:
        return bool(row["capture"] == YES)
    if read(row["straight"]) is not None:
        return True
    return measured is not None and measured.camera and bool(measured.print_corners) and not measured.print_doubts


def corners_on(row: Scan, measured: Measures | None) -> Corners | None:
    """The corners of the print on the picture as its file asks to be turned: as somebody accepted them, or else as they
    were found and are sure."""
    kept = read(row["straight"])
    if kept is not None:
        return kept.corners
    if measured is None or not measured.print_corners or measured.print_doubts:
        return None
    return found_corners(row, measured)


def found_corners(row: Scan, measured: Measures) -> Corners | None:
    """The corners that were found, sure or not."""
    if not measured.print_corners:
        return None
    return in_order([upright_point((x, y), row["orientation"]) for x, y in measured.print_corners])


def captured(row: Scan, measured: Measures) -> Captured | None:
    """What is known of the print on a capture; None for any other scan."""
    if not is_capture(row, measured):
        return None
    corners, size = corners_on(row, measured), filed_size(row)
    if corners is None:
        return Captured(float(max(size)))
    top, right, lower, left = side_lengths(corners, size)
    along = max(min(top, lower), min(right, left))
    uneven = max(max(top, lower) / max(min(top, lower), 1.0), max(left, right) / max(min(left, right), 1.0))
    return Captured(along, seen(corners, size, believed(measured.lens)).angle, uneven)


def print_size(row: Scan, measured: Measures | None) -> Size:
    """Pixels along both sides of the print on a capture, those of the side with fewer; of the whole picture where the
    place of the print is not known."""
    corners, size = corners_on(row, measured), filed_size(row)
    if corners is None:
        return size
    top, right, lower, left = side_lengths(corners, size)
    return round(min(top, lower)), round(min(left, right))

"""The faces of a scan: the file opened as it was scanned, at a size that suits the networks of `kinphoto.faces`.

One that is shown as a `positive` is looked at as one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image

from kinphoto.faces.describing import Describer
from kinphoto.faces.finding import LONG_EDGE, Finder, Region
from kinphoto.faces.placing import moved, place
from kinphoto.scans.fixity import reading_bytes
from kinphoto.scans.picture import decoded, opened
from kinphoto.scans.positive import positive_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FINE_EDGE = 2 * LONG_EDGE
"""Pixels of the long edge from which a face is described: in a group it has few enough."""


def find_faces(path: str, page: int, positive: bool, *, memory: int | None = None) -> dict[str, Any]:
    """The `faces` of a scan (region, score and points of each) as its file asks to be turned, and the `turn`, in
    quarters to the right, that shows it upright. Raises UnreadableFileError, NeedsMemoryError."""
    found = _finder().find(_grey(path, page, positive, memory, LONG_EDGE), turns=True)
    faces = [{"region": face.region, "score": face.score, "points": face.points} for face in found.faces]
    return {"faces": faces, "turn": found.turn}


def find_on_detail(
    path: str, page: int, positive: bool, front: tuple[str, int, bool], *, memory: int | None = None
) -> dict[str, Any]:
    """The same of a scan of a detail, with the regions on the `front` (path, page, positive) that it is a part of;
    none where the detail is not found there. Raises the same."""
    detail, whole = _grey(path, page, positive, memory, LONG_EDGE), _grey(*front, memory, LONG_EDGE)
    move = place(detail, whole)
    if move is None:
        return {"faces": [], "turn": 0}
    faces = [
        {"region": region, "score": face.score, "points": face.points}
        for face in _finder().find(detail, turns=True).faces
        if (region := moved(face, move)) is not None
    ]
    return {"faces": faces, "turn": 0}


def describe_frames(
    path: str, page: int, positive: bool, frames: Sequence[Region], turn: int, *, memory: int | None = None
) -> list[dict[str, Any]]:
    """The `points` and the `descriptor` of the face in each of these frames, which a person drew; `quarters` turns to
    the right show the picture upright. Raises the same."""
    picture = _grey(path, page, positive, memory, _FINE_EDGE)
    points = [_finder().points_in(picture, frame, turn) for frame in frames]
    described = _describer().describe(picture, points)
    return [
        {"points": each, "descriptor": [float(number) for number in numbers]}
        for each, numbers in zip(points, described, strict=True)
    ]


def describe_faces(
    path: str, page: int, positive: bool, faces: Sequence[Sequence[tuple[float, float]]], *, memory: int | None = None
) -> list[list[float]]:
    """A descriptor of each of these faces of a scan, which are given by their points. Raises the same."""
    picture = _grey(path, page, positive, memory, _FINE_EDGE)
    return [[float(number) for number in each] for each in _describer().describe(picture, faces)]


def _grey(path: str, page: int, positive: bool, memory: int | None, edge: int) -> NDArray[np.uint8]:
    with reading_bytes(path) as file, opened(file, path, page) as (_, image):
        whole = decoded(image, memory, edge).convert("L")
    if max(whole.size) > edge:
        whole.thumbnail((edge, edge), Image.Resampling.BOX, reducing_gap=2.0)
    return np.asarray(whole.point(positive_table(whole)) if positive else whole)


@cache
def _finder() -> Finder:
    return Finder()


@cache
def _describer() -> Describer:
    return Describer()

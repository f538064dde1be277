"""Where a detail belongs on the picture it was scanned from: by points that both have (SIFT; Lowe 2004), and the move,
size and turn that most of them agree on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from kinphoto.faces.finding import FoundFace, Region, prepared
from kinphoto.faces.weights import require

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Move = NDArray[np.float64]
    """Two rows of three: from parts of the detail to parts of the whole picture."""

_POINTS = 4000
_RATIO = 0.75  # a point is like one other only when it is so much nearer than to the next (Lowe's own is 0.8)
_AGREE = 15
"""Points that have to agree for a place to be believed; of pictures that have nothing in common about four do."""
_WITHIN = 4.0  # pixels


def place(detail: NDArray[Any], whole: NDArray[Any]) -> Move | None:
    """The move that lays a detail on the whole picture; None where too little of it is seen there.

    Raises FacesNotInstalledError.
    """
    require()
    import cv2

    sift = cv2.SIFT_create(_POINTS)  # type: ignore[attr-defined]
    found = [sift.detectAndCompute(prepared(picture), None) for picture in (detail, whole)]
    if any(described is None or len(points) < _AGREE for points, described in found):
        return None
    (points, described), (others, theirs) = found
    pairs = cv2.BFMatcher().knnMatch(described, theirs, k=2)
    good = [pair[0] for pair in pairs if len(pair) == 2 and pair[0].distance < _RATIO * pair[1].distance]
    if len(good) < _AGREE:
        return None
    here = np.array([points[each.queryIdx].pt for each in good], dtype=np.float64)
    there = np.array([others[each.trainIdx].pt for each in good], dtype=np.float64)
    cv2.setRNGSeed(0)
    move, agreeing = cv2.estimateAffinePartial2D(here, there, method=cv2.RANSAC, ransacReprojThreshold=_WITHIN)
    if move is None or int(agreeing.sum()) < _AGREE:
        return None
    to_pixels = np.diag([detail.shape[1], detail.shape[0], 1.0])
    to_parts = np.diag([1 / whole.shape[1], 1 / whole.shape[0]])
    return np.asarray(to_parts @ move @ to_pixels, dtype=np.float64)


def moved(face: FoundFace, move: Move) -> Region | None:
    """The frame of a face of the detail on the whole picture; None where it is beside it."""
    left, top, width, height = face.region
    corners = np.array([(x, y, 1.0) for x in (left, left + width) for y in (top, top + height)]) @ move.T
    (left, top), (right, lower) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    left, top, right, lower = (min(max(side, 0.0), 1.0) for side in (left, top, right, lower))
    return (left, top, right - left, lower - top) if right > left and lower > top else None

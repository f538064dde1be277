"""The rectangle around a figure: turned as its smallest one, each side then a straight line through most of its
outermost points (least squares, repeated with the points near the last line)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import ConvexHull, QhullError

from kinphoto.scans.beds.places import Place, normal, upright

_CORNERS = 0.1  # of a side at each end is left out: corners are round, bent or dog-eared
_STRAIGHT = 0.35  # millimetres: how far a point of a straight side lies from it
_POINTS = 0.6  # of the points of a side that lie so
_FULL = 0.955  # of a rectangle that a print fills


def rectangle_around(one: NDArray[np.bool_], per_mm: float) -> tuple[Place, bool] | None:
    """The rectangle around a figure, in its pixels, and whether the figure is one: with four straight sides, and full.
    None where it is too thin to have one."""
    inner = ndimage.binary_erosion(one)
    ys, xs = np.nonzero(one & ~inner)
    points = np.stack((xs + 0.5, ys + 0.5), axis=1)
    try:
        hull = points[ConvexHull(points).vertices]
    except (QhullError, ValueError):
        return None
    turn, straight = _smallest_turn(hull), 0
    for _ in range(2):
        sides, turn, straight = _sides(points, turn, per_mm)
    angle = np.radians(turn)
    across, down = np.array((np.cos(angle), np.sin(angle))), np.array((-np.sin(angle), np.cos(angle)))
    left, right, top, lower = sides
    centre = across * (left + right) / 2 + down * (top + lower) / 2
    # The points are the middles of the outermost pixels, which reach half a pixel further.
    place = upright(Place(float(centre[0]), float(centre[1]), right - left + 1, lower - top + 1, turn))
    full = float(one.sum()) / max(place.area, 1)
    return place, straight == 4 and _FULL <= full <= 2 - _FULL


def _smallest_turn(hull: NDArray[np.float64]) -> float:
    """The turn of the smallest rectangle around a convex figure: one of its sides lies along one of the figure's
    (Freeman and Shapira 1975)."""
    steps = np.diff(np.vstack((hull, hull[:1])), axis=0)
    turns = np.unique(np.round(np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) % 90, 2))
    angles = np.radians(turns)
    across = hull @ np.stack((np.cos(angles), np.sin(angles)))
    down = hull @ np.stack((-np.sin(angles), np.cos(angles)))
    best = float(turns[(np.ptp(across, axis=0) * np.ptp(down, axis=0)).argmin()])
    return best if best <= 45 else best - 90


def _sides(
    points: NDArray[np.float64], turn: float, per_mm: float
) -> tuple[tuple[float, float, float, float], float, int]:
    """Left, right, top and lower side in a frame turned by `turn`, the turn corrected, and how many are straight."""
    angle = np.radians(turn)
    across = points @ np.array((np.cos(angle), np.sin(angle)))
    down = points @ np.array((-np.sin(angle), np.cos(angle)))
    slopes, weights, ends, straight = [], [], [], 0
    for along, at, sign in ((down, across, 1), (down, across, -1), (across, down, 1), (across, down, -1)):
        profile = _outermost(along, at * sign)
        fit = _line(*profile, _STRAIGHT * per_mm) if profile is not None else None
        if fit is None:
            ends.append(float((at * sign).min() * sign))
            continue
        slope, level, length = fit
        straight += 1
        # A line at * sign = slope * along: clockwise is at falling along `down`, and rising along `across`.
        slopes.append(np.degrees(np.arctan(slope * sign)) * (-1 if at is across else 1))
        weights.append(length)
        ends.append(level * sign)
    correction = float(np.average(slopes, weights=weights)) if slopes else 0.0
    left, right, top, lower = ends
    return (left, right, top, lower), normal(turn + correction), straight


def _outermost(
    along: NDArray[np.float64], at: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """For each pixel along a side the outermost point, corners left out."""
    first, length = along.min(), np.ptp(along)
    inside = (along >= first + _CORNERS * length) & (along <= first + (1 - _CORNERS) * length)
    bins = np.floor(along[inside] - first).astype(np.int64)
    if len(bins) < 20:
        return None
    least = np.full(int(length) + 2, np.inf)
    np.minimum.at(least, bins, at[inside])
    there = np.flatnonzero(np.isfinite(least))
    return there + first + 0.5, least[there]


def _line(along: NDArray[np.float64], at: NDArray[np.float64], near: float) -> tuple[float, float, float] | None:
    """Slope of the straight line through most points, where it is in the middle of the side, and its length."""
    if len(along) < 12:
        return None
    middle = (along[0] + along[-1]) / 2
    kept = at <= np.quantile(at, 0.5) + 8 * near
    slope = level = 0.0
    for width in (8 * near, 3 * near, near, near):
        if kept.sum() < 10:
            return None
        slope, level = np.polyfit(along[kept] - middle, at[kept], 1)
        kept = np.abs(at - slope * (along - middle) - level) <= width
    return (float(slope), float(level), float(np.ptp(along))) if kept.mean() >= _POINTS else None

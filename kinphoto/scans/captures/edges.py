"""The sides of a photographed print, laid through the edge of the paper itself, to a fraction of a pixel."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float32]
_Line = tuple[NDArray[np.float64], NDArray[np.float64]]
"""A point and a direction."""

_BORDER = (0.004, 0.035)
"""Of the longer edge: how wide a white border is that is looked for outside a side, from and to."""
_BORDER_STEP, _SHARP, _ALL_ALONG = 0.9, 1.4, 0.9
"""Grey levels of its edge in half a pixel, how many times as steep that is as through a blur, and along how much."""
_EVENER, _EVEN = 0.75, 0.8
"""How rough the paper of a border is at most: of the table outside it, and grey levels on top of that."""
_UNLIKE = 9.0
"""Grey levels by which that paper and the table differ at least, in one channel."""


def on_edges(fine: Floats, points: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """The corners where the sides, laid through the edge of the paper, meet (pixels from the corner of the picture);
    and the least share of the points of a side that lie on it."""
    longer = max(fine.shape[:2])
    least = 1.0
    for width in (0.010, 0.004, 0.004):
        sides = []
        least = 1.0
        for start, end in pairwise([*points, points[0]]):
            line, share = _side(fine, start, end, width * longer)
            sides.append(line)
            least = min(least, share)
        fresh = _corners_between(sides)
        if fresh is None or np.abs(fresh - points).max() > 0.03 * longer:
            break
        points = fresh
        if width > 0.004:
            points = _outwards(fine, points)
    return points, least


def _outwards(fine: Floats, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corners with each side that lies on the edge of the picture moved out to that of its white border."""
    lines = []
    for start, end in pairwise([*points, points[0]]):
        step = end - start
        out = np.array([step[1], -step[0]]) / float(np.hypot(*step))
        away = _border_outside(fine, start, end, out)
        lines.append((start + away * out, step))
    moved = _corners_between(lines)
    return points if moved is None else moved


def _border_outside(
    fine: Floats, start: NDArray[np.float64], end: NDArray[np.float64], out: NDArray[np.float64]
) -> float:
    """How far outside a side another edge runs along all of it, as sharp as that of paper (a shadow's is soft); 0 for
    none. What is even along the side counts, which no texture of a table is, and paper is no rougher than a table."""
    longer = max(fine.shape[:2])
    away = np.arange(_BORDER[0] * longer, _BORDER[1] * longer, 0.5)
    places = np.linspace(0.06, 0.94, 120)
    where = start + places[:, None, None] * (end - start) + away[None, :, None] * out - 0.5
    rows, columns = fine.shape[:2]
    inside = (where > 0).all(axis=2) & (where[..., 0] < columns - 1) & (where[..., 1] < rows - 1)
    reach = int(inside.all(axis=0).argmin()) or len(away)
    if reach < 24 or not inside[:, 0].all():
        return 0.0
    seen = _seen(fine, where)[:, :reach]
    sharp, broad = (ndimage.gaussian_filter1d(seen, sigma, axis=1, order=1) for sigma in (2.0, 6.0))
    profile, soft = (np.abs(np.median(each, axis=0)).sum(axis=1) for each in (sharp, broad))
    inner = slice(6, -6)
    at = int(profile[inner].argmax()) + 6
    peak = float(profile[at])
    if peak < _BORDER_STEP or peak < _SHARP * float(soft[max(0, at - 3) : at + 4].max()):
        return 0.0
    rough = np.median(np.abs(np.diff(seen.mean(axis=2), axis=0)), axis=0)
    if at + 12 < reach and float(np.median(rough[:at])) > _EVENER * float(np.median(rough[at + 6 :])) + _EVEN:
        return 0.0  # table on both sides
    level = np.median(seen, axis=0)
    between, beyond = level[2 : max(3, at - 4)].mean(axis=0), level[at + 6 : at + 6 + max(at, 16)].mean(axis=0)
    if not np.abs(between - beyond).max() >= _UNLIKE:
        return 0.0
    channel = int(np.abs(np.median(sharp[:, at], axis=0)).argmax())
    usual = float(np.median(sharp[:, at, channel]))
    local = (sharp[:, max(0, at - 4) : at + 5, channel] * np.sign(usual)).max(axis=1)
    return float(away[at]) if float((local > 0.4 * abs(usual)).mean()) >= _ALL_ALONG else 0.0


def _side(fine: Floats, start: NDArray[np.float64], end: NDArray[np.float64], width: float) -> tuple[_Line, float]:
    """A side (a point and a direction) through the edges within `width` pixels of a first one."""
    step = end - start
    length = float(np.hypot(*step))
    along = step / length
    out = np.array([along[1], -along[0]])
    places = np.linspace(0.04, 0.96, int(np.clip(length / 4, 40, 220)))
    away = np.arange(-width - 2, width + 2.01, 0.5)
    where = start + places[:, None, None] * step + away[None, :, None] * out - 0.5
    seen = _seen(fine, where)
    slope = ndimage.gaussian_filter1d(seen, 1.6, axis=1, order=1)
    # Neighbouring places see the same edge, texture seldom.
    slope = np.abs(ndimage.gaussian_filter1d(slope, 1.5, axis=0)).sum(axis=2)
    usual = np.median(slope, axis=0)
    inner = slice(4, -4)
    first = int(usual[inner].argmax()) + 4
    lines = away[first] * np.ones(len(places))
    kept = np.ones(len(places), dtype=bool)
    fit = np.array([0.0, away[first]])
    for near in (max(3.0, width / 3), 2.5, 1.5):
        allowed = np.abs(away[None] - lines[:, None]) <= near
        found = np.where(allowed, slope, 0)
        at = found.argmax(axis=1)
        at = np.clip(at, 1, len(away) - 2)
        k = np.arange(len(places))
        before, peak, after = slope[k, at - 1], slope[k, at], slope[k, at + 1]
        bend = before - 2 * peak + after
        offset = np.where(np.abs(bend) > 1e-6, 0.5 * (before - after) / np.where(bend == 0, 1, bend), 0)
        edges = away[at] + 0.5 * np.clip(offset, -1, 1)
        weight = np.minimum(peak, 2 * np.median(peak)) + 1e-3
        kept = np.abs(edges - lines) <= near
        for _ in range(3):
            if kept.sum() < 12:
                break
            fit = np.polyfit(places[kept], edges[kept], 1, w=weight[kept])
            lines = np.polyval(fit, places)
            kept = np.abs(edges - lines) <= max(0.6, 1.5 * float(np.median(np.abs(edges - lines)[kept])))
    one, other = (start + at * step + np.polyval(fit, at) * out for at in (0.0, 1.0))
    share = float((np.abs(edges - lines) <= 1.5).mean())
    return (one, other - one), share


def _seen(fine: Floats, where: NDArray[np.float64]) -> Floats:
    """The three channels at places between pixels (x and y in the last axis)."""
    channels = (
        ndimage.map_coordinates(fine[..., k], (where[..., 1], where[..., 0]), order=1, mode="nearest") for k in range(3)
    )
    found: Floats = np.stack(list(channels), axis=-1)
    return found


def _corners_between(sides: list[_Line]) -> NDArray[np.float64] | None:
    """Where each side meets the one before it; None where two are parallel."""
    met = [_meet(sides[k - 1], sides[k]) for k in range(4)]
    return None if any(each is None for each in met) else np.array(met)


def _meet(one: _Line, other: _Line) -> NDArray[np.float64] | None:
    (p, d), (q, e) = one, other
    det = d[0] * e[1] - d[1] * e[0]
    if abs(det) < 1e-9 * float(np.hypot(*d) * np.hypot(*e)):
        return None
    shift = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / det
    found: NDArray[np.float64] = p + shift * d
    return found

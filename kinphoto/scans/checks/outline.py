"""The place of the print on the glass: its four sides, its tilt, and sides that run out of the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from kinphoto.scans.checks.masks import closed, opened

_CORNER = 0.025  # of the shorter edge: the patch in each corner that may show the bed
_FLAT = 5.0  # grey levels: the standard deviation of a bed at most
_ALIKE = 12.0  # by which two patches of one bed differ at most
_APART = 9.0  # by which the print differs from the bed at least
_MIDDLE = 0.12  # of a side next to each corner is left out: corners are round, bent or dog-eared
_STRAIGHT = 0.004  # of the longer edge: how far a point of a straight side lies from it
_POINTS = 0.6  # the share of the points of a side that lie so
_SQUARE = 0.7  # degrees by which two sides of a rectangular print differ from square at most
_TOUCHES = 0.5  # the share of a side that lies on the edge of the picture when the print runs out of it

SIDES = ("top", "right", "bottom", "left")


@dataclass(frozen=True, slots=True)
class PaperOutline:
    """The print on the bed. `tilt` is in degrees, clockwise; `box` is left, top, right, lower edge and `corners` are
    the four corners (from the top left, clockwise; empty where sides are cut), as shares of width and height; `cut`
    are the sides that run out of the picture."""

    tilt: float
    box: tuple[float, float, float, float]
    corners: tuple[tuple[float, float], ...]
    cut: tuple[str, ...]
    bed: float


def outline(picture: NDArray[np.uint8]) -> PaperOutline | None:
    """The outline of the one print in a picture (RGB or grey, some thousand pixels long at most); None where no bed is
    seen around it, or its sides are not straight.

    The bed is what at least two corners show alike and evenly. The print is the largest part that differs from it.
    To the outermost points of each side a line is fitted, four times, each time to the points near the last one
    (least squares); a side is trusted when most points lie on it, and the tilt when two sides or more agree to be
    parallel or square.
    """
    colours = picture[..., None] if picture.ndim == 2 else picture
    bed = _bed(colours)
    if bed is None:
        return None
    level, noise = bed
    far = max(_APART, 4 * noise)
    inside = [
        (colours[..., k] >= level[k] - far) & (colours[..., k] <= level[k] + far) for k in range(colours.shape[2])
    ]
    mask = closed(opened(~np.logical_and.reduce(inside), 3), 5)
    parts, count = ndimage.label(mask)
    if not count:
        return None
    sizes = np.bincount(parts.ravel())[1:]
    if sizes.max() < 0.02 * mask.size:
        return None
    print_ = parts == int(sizes.argmax()) + 1
    return _fitted(print_, float(level.mean()))


def _bed(colours: NDArray[np.uint8]) -> tuple[NDArray[np.float32], float] | None:
    rows, columns = colours.shape[:2]
    edge = max(6, round(_CORNER * min(rows, columns)))
    places = [
        (slice(0, edge), slice(0, edge)),
        (slice(0, edge), slice(columns - edge, None)),
        (slice(rows - edge, None), slice(columns - edge, None)),
        (slice(rows - edge, None), slice(0, edge)),
    ]
    patches = [colours[place].reshape(-1, colours.shape[2]).astype(np.float32) for place in places]
    even = [patch for patch in patches if patch.std(axis=0).max() <= _FLAT]
    means = [np.median(patch, axis=0) for patch in even]
    groups = [[k for k, other in enumerate(means) if np.abs(other - mean).max() <= _ALIKE] for mean in means]
    alike = max(groups, key=len, default=[])
    if len(alike) < 2:
        return None
    level = np.median([means[k] for k in alike], axis=0).astype(np.float32)
    return level, float(np.median([even[k].std(axis=0).max() for k in alike]))


def _fitted(print_: NDArray[np.bool_], bed: float) -> PaperOutline | None:
    rows, columns = print_.shape
    down, across = np.flatnonzero(print_.any(axis=1)), np.flatnonzero(print_.any(axis=0))
    top, bottom, left, right = int(down[0]), int(down[-1]), int(across[0]), int(across[-1])
    middle_rows = np.arange(round(top + _MIDDLE * (bottom - top)), round(bottom - _MIDDLE * (bottom - top)) + 1)
    middle_columns = np.arange(round(left + _MIDDLE * (right - left)), round(right - _MIDDLE * (right - left)) + 1)
    firsts = {
        "top": (middle_columns, print_[:, middle_columns].argmax(axis=0), 0),
        "bottom": (middle_columns, rows - 1 - print_[::-1][:, middle_columns].argmax(axis=0), rows - 1),
        "left": (middle_rows, print_[middle_rows].argmax(axis=1), 0),
        "right": (middle_rows, columns - 1 - print_[middle_rows][:, ::-1].argmax(axis=1), columns - 1),
    }
    near = _STRAIGHT * max(rows, columns)
    cut, lines = [], {}
    for name in SIDES:
        along, at, edge = firsts[name]
        if np.mean(np.abs(at - edge) <= 2) >= _TOUCHES:
            cut.append(name)
        elif (line := _line(along, at, near)) is not None:
            lines[name] = line
    # Positive is clockwise: the top goes down to the right, the left side goes left downwards.
    degrees = {
        name: np.degrees(np.arctan(slope if name in ("top", "bottom") else -slope))
        for name, (slope, _) in lines.items()
    }
    best = max(
        degrees.values(), key=lambda one: sum(abs(one - other) <= _SQUARE for other in degrees.values()), default=None
    )
    agreed = [each for each in degrees.values() if best is not None and abs(each - best) <= _SQUARE]
    if len(agreed) < 2 or len(cut) > 2:
        return None
    corners = _corners(lines) if not cut and len(lines) == 4 else ()
    return PaperOutline(
        float(np.mean(agreed)),
        (left / columns, top / rows, (right + 1) / columns, (bottom + 1) / rows),
        tuple((x / columns, y / rows) for x, y in corners),
        tuple(cut),
        bed,
    )


def _line(along: NDArray[np.int64], at: NDArray[np.int64], near: float) -> tuple[float, float] | None:
    """Slope and start of the straight line through most of these points."""
    if len(along) < 20:
        return None
    kept = np.abs(at - np.median(at)) <= np.ptp(along) * 0.2 + near
    slope, start = 0.0, float(np.median(at))
    for width in (8 * near, 3 * near, near, near):
        if kept.sum() < 10:
            return None
        slope, start = np.polyfit(along[kept], at[kept], 1)
        kept = np.abs(at - slope * along - start) <= width
    return (float(slope), float(start)) if kept.mean() >= _POINTS else None


def _corners(lines: dict[str, tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Where neighbouring sides meet: y = a x + b of a horizontal one, x = c y + d of an upright one."""
    found = []
    for level, upright in (("top", "left"), ("top", "right"), ("bottom", "right"), ("bottom", "left")):
        (a, b), (c, d) = lines[level], lines[upright]
        x = (c * b + d) / (1 - a * c)
        found.append((x, a * x + b))
    return tuple(found)

"""Where one picture is on another that shows the same print: the homography between them, and whether they agree.

Both are compared by their local contrast, which survives fading, another exposure and JPEG. The transformation is
found from coarse to fine by Gauss-Newton steps on the difference (the forward form of Lucas and Kanade's method, with
the eight parameters of a plane seen in perspective). Two exposures of one sitting agree nearly everywhere, but not
where somebody moved: so it counts how much of the picture agrees, block by block, and not how well the whole does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

if TYPE_CHECKING:
    from PIL import Image

Matrix = NDArray[np.float64]

EDGES = (24, 48, 96, 192)
"""Pixels of the longer edge at which two pictures are compared, one after the other."""
STEPS = (20, 10, 8, 6)
HOPELESS = (0.3, 0.45)
"""The correlation below which two pictures are given up after the first and the second of these."""
BLOCK = 12
"""Pixels of the last: the edge of a block that agrees or does not."""
BLOCK_AGREES = 0.7
"""The correlation from which a block agrees."""
LEAST_COMMON = 0.55
"""The share of each picture that the other has to show."""

_NEAR = 0.09  # of the longer edge: how far around a pixel its contrast is compared
_PLAIN = 4.0  # grey levels: contrast below which nothing but noise shows
_ENOUGH = 96  # points of the longer edge that are enough to find eight numbers


@dataclass(frozen=True, slots=True)
class Registration:
    """`matrix` takes a place in the first picture to the same in the second, both in shares of width and height from
    the left top. `agreement` is the share of the blocks with something in them that show the same, `correlation` that
    of all they have in common, `common` the share of the first that the second shows."""

    matrix: Matrix
    agreement: float
    correlation: float
    common: float

    @property
    def reversed(self) -> Registration:
        """Where the first is on the second."""
        matrix = np.asarray(np.linalg.inv(self.matrix), dtype=np.float64)
        return Registration(matrix / matrix[2, 2], self.agreement, self.correlation, self.common)

    def moved(self, x: float, y: float) -> tuple[float, float]:
        """Where a place in the first picture is in the second."""
        across, down, depth = self.matrix @ (x, y, 1.0)
        return float(across / depth), float(down / depth)


def contrasts(picture: Image.Image) -> tuple[NDArray[np.float32], ...]:
    """The local contrast of a picture at each of `EDGES`, so that it is worked out once for many comparisons."""
    grey = picture.convert("L")
    found = []
    for edge in EDGES:
        share = edge / max(grey.size)
        size = (max(8, round(grey.width * share)), max(8, round(grey.height * share)))
        level = np.asarray(grey.resize(size, reducing_gap=3.0), dtype=np.float32)
        near = max(1.5, _NEAR * edge)
        level = level - ndimage.gaussian_filter(level, near)
        spread = np.sqrt(ndimage.gaussian_filter(level**2, near)) + _PLAIN
        found.append(np.clip(level / spread, -2.5, 2.5).astype(np.float32))
    return tuple(found)


def registered(
    one: tuple[NDArray[np.float32], ...], other: tuple[NDArray[np.float32], ...], start: Matrix | None = None
) -> Registration | None:
    """Where the second is on the first, from a first guess; None where they show different things."""
    matrix = np.eye(3) if start is None else start.copy()
    for at, (mine, theirs, steps) in enumerate(zip(one, other, STEPS, strict=True)):
        to = _shares_to_pixels(theirs.shape) @ matrix @ np.linalg.inv(_shares_to_pixels(mine.shape))
        found = _improved(mine, theirs, to, steps, affine=at < 2)
        if found is None:
            return None
        to, correlation = found
        matrix = np.linalg.inv(_shares_to_pixels(theirs.shape)) @ to @ _shares_to_pixels(mine.shape)
        matrix /= matrix[2, 2]
        if at < len(HOPELESS) and correlation < HOPELESS[at]:
            return None
    if not _is_plausible(matrix):
        return None
    agreement, common = _agreeing(one[-1], other[-1], to)
    back = _common(np.asarray(np.linalg.inv(matrix), dtype=np.float64))
    if min(common, back) < LEAST_COMMON:
        return None
    return Registration(matrix, agreement, correlation, common)


def quarter_turned(quarters: int) -> Matrix:
    """A first guess: the second is the first turned clockwise by this many quarters."""
    turn = np.array([[0.0, -1.0, 1.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    return np.linalg.matrix_power(turn, quarters % 4)


def _shares_to_pixels(shape: tuple[int, ...]) -> Matrix:
    rows, columns = shape
    return np.array([[columns, 0.0, -0.5], [0.0, rows, -0.5], [0.0, 0.0, 1.0]])


def _warped(
    theirs: NDArray[np.float32], to: Matrix, x: NDArray[np.float64], y: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Where the pixels of the first are in the second (across, down, depth), and whether they are inside."""
    depth = to[2, 0] * x + to[2, 1] * y + to[2, 2]
    depth = np.where(np.abs(depth) < 1e-6, 1e-6, depth)
    across = (to[0, 0] * x + to[0, 1] * y + to[0, 2]) / depth
    down = (to[1, 0] * x + to[1, 1] * y + to[1, 2]) / depth
    rows, columns = theirs.shape
    return across, down, depth, (across >= 0) & (across <= columns - 1) & (down >= 0) & (down <= rows - 1)


def _improved(
    mine: NDArray[np.float32], theirs: NDArray[np.float32], to: Matrix, steps: int, *, affine: bool
) -> tuple[Matrix, float] | None:
    scale = max(mine.shape)
    every = max(1, scale // _ENOUGH)
    y, x = np.indices(mine.shape)[:, ::every, ::every].reshape(2, -1).astype(np.float64)
    template = mine[::every, ::every].ravel().astype(np.float64)
    slope_y, slope_x = np.gradient(theirs)
    best: tuple[float, Matrix] | None = None
    for step in range(steps + 1):
        across, down, depth, inside = _warped(theirs, to, x, y)
        if inside.mean() < LEAST_COMMON * 0.8:
            break
        places = np.stack([down[inside], across[inside]])
        seen = ndimage.map_coordinates(theirs, places, order=1, mode="nearest").astype(np.float64)
        wanted = template[inside]
        correlation = _correlation(wanted, seen)
        if best is None or correlation > best[0]:
            best = correlation, to.copy()
        elif correlation < best[0] - 0.05 or (step > 3 and correlation < best[0] + 1e-4):
            break
        if step == steps:
            break
        gx = ndimage.map_coordinates(slope_x, places, order=1, mode="nearest") / depth[inside]
        gy = ndimage.map_coordinates(slope_y, places, order=1, mode="nearest") / depth[inside]
        px, py = x[inside] / scale, y[inside] / scale
        parts = [gx * px, gx * py, gx, gy * px, gy * py, gy]
        if not affine:
            along = -(gx * across[inside] + gy * down[inside])
            parts += [along * px, along * py]
        jacobian = np.stack(parts)
        error = wanted - seen
        weight = 1 / (1 + (error / 0.8) ** 2)  # what moved, or glares, pulls less
        weighed = jacobian * weight
        normal = weighed @ jacobian.T
        normal[np.diag_indices_from(normal)] *= 1.001
        try:
            change = np.linalg.solve(normal, weighed @ error)
        except np.linalg.LinAlgError:
            break
        to = to.copy()
        to[0] += change[[0, 1, 2]] / (scale, scale, 1)
        to[1] += change[[3, 4, 5]] / (scale, scale, 1)
        if not affine:
            to[2, :2] += change[6:8] / scale
    return None if best is None else (best[1], best[0])


def _correlation(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    one, other = one - one.mean(), other - other.mean()
    size = float(np.linalg.norm(one) * np.linalg.norm(other))
    return float(one @ other) / size if size else 0.0


def _is_plausible(matrix: Matrix) -> bool:
    """Whether a print could be photographed so: no mirror, no side less than half as long as its opposite."""
    corners = np.array([[0, 0, 1], [1, 0, 1], [1, 1, 1], [0, 1, 1]], dtype=np.float64) @ matrix.T
    if (corners[:, 2] <= 0.2).any():
        return False
    flat = corners[:, :2] / corners[:, 2:]
    sides = np.roll(flat, -1, axis=0) - flat
    turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    lengths = np.hypot(*sides.T)
    return bool((turns > 0).all() and lengths.min() > 0.4 and lengths.max() < 2.5)


def _common(matrix: Matrix) -> float:
    """The share of a picture that is inside the other."""
    rows = columns = 24
    y, x = ((each.ravel() + 0.5) / rows for each in np.indices((rows, columns)))
    across, down, depth = matrix @ np.stack([x, y, np.ones_like(x)])
    inside = (depth > 0) & (across >= 0) & (across <= depth) & (down >= 0) & (down <= depth)
    return float(inside.mean())


def _agreeing(mine: NDArray[np.float32], theirs: NDArray[np.float32], to: Matrix) -> tuple[float, float]:
    """The share of the blocks of the first with something in them that the second shows too, and how much of the first
    it shows."""
    y, x = (each.ravel().astype(np.float64) for each in np.indices(mine.shape))
    across, down, _, inside = _warped(theirs, to, x, y)
    seen = ndimage.map_coordinates(theirs, np.stack([down, across]), order=1, mode="nearest").reshape(mine.shape)
    there = inside.reshape(mine.shape).astype(np.float32)

    def mean(values: NDArray[np.float32]) -> NDArray[np.float32]:
        found: NDArray[np.float32] = ndimage.uniform_filter(values, BLOCK, mode="constant")
        return found

    share = np.maximum(mean(there), 1e-6)
    a, b = mean(mine * there) / share, mean(seen * there) / share
    aa, bb = mean(mine**2 * there) / share - a * a, mean(seen**2 * there) / share - b * b
    ab = mean(mine * seen * there) / share - a * b
    half = BLOCK // 2
    picked = (slice(half, mine.shape[0] - half, half), slice(half, mine.shape[1] - half, half))
    full, alike = (share > 0.9)[picked], (ab / np.sqrt(np.maximum(aa * bb, 1e-9)))[picked]
    something = full & (np.maximum(aa, bb)[picked] > 0.08)
    if something.sum() < 12:
        return 0.0, float(inside.mean())
    return float((alike[something] >= BLOCK_AGREES).mean()), float(inside.mean())

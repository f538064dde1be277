"""The straight lines through what could be edges in a picture: a Hough transform along the gradient (Ballard 1981), and
each line then laid through the edges near it, by least squares."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from kinphoto.scans.captures.edges import Floats
from kinphoto.scans.captures.table import OnTable

_DIRECTIONS = 180
_LINES = 56
_APART = 5  # degrees and pixels by which two lines differ
NEAR = 2.0  # pixels: how far an edge lies from its line


def straight_lines(look: OnTable) -> NDArray[np.float64]:
    """The straight lines that most edges lie on: angle of the normal and distance from the middle."""
    rows, columns = look.shape
    ridge = look.strength >= look.step * 0.6
    ridge &= _is_ridge(look)
    y, x = np.nonzero(ridge)
    if len(y) < 20:
        return np.zeros((0, 2))
    strength = look.strength[y, x]
    weight = np.minimum(strength / look.step, 2.0) * (0.3 + look.parts[y, x])
    angle = np.arctan2(look.gy[y, x], look.gx[y, x]) % np.pi
    x0, y0 = x - (columns - 1) / 2, y - (rows - 1) / 2
    reach = int(np.ceil(np.hypot(rows, columns) / 2)) + 3
    votes = np.zeros((_DIRECTIONS, 2 * reach + 1), dtype=np.float64)
    first = np.rint(angle / np.pi * _DIRECTIONS).astype(np.intp)
    for off in range(-4, 5):
        direction = (first + off) % _DIRECTIONS
        theta = direction * (np.pi / _DIRECTIONS)
        distance = x0 * np.cos(theta) + y0 * np.sin(theta) + reach
        low = np.floor(distance).astype(np.intp)
        part = distance - low
        for cell, share in ((low, 1 - part), (low + 1, part)):
            np.add.at(votes, (direction, cell), weight * share)
    votes = ndimage.gaussian_filter(votes, (0.7, 0.8), mode=("wrap", "constant"))
    found: list[tuple[float, float]] = []
    rest = votes.copy()
    least = 0.03 * look.longer
    while len(found) < _LINES:
        at = int(rest.argmax())
        direction, cell = np.unravel_index(at, rest.shape)
        if rest[direction, cell] < least:
            break
        found.append(_fitted(float(direction) * np.pi / _DIRECTIONS, float(cell) - reach, x0, y0, angle, weight))
        for near in range(-_APART + 1, _APART):
            row = int(direction + near)
            middle = cell if 0 <= row < _DIRECTIONS else 2 * reach - cell
            rest[row % _DIRECTIONS, max(0, middle - _APART) : middle + _APART + 1] = 0
    return np.array(found)


def _is_ridge(look: OnTable) -> NDArray[np.bool_]:
    """Where the gradient is largest along its own direction."""
    y, x = np.indices(look.shape)
    length = np.maximum(look.strength, 1e-6)
    dx, dy = look.gx / length, look.gy / length
    ahead, behind = (
        ndimage.map_coordinates(look.strength, (y + side * dy, x + side * dx), order=1, mode="nearest")
        for side in (1, -1)
    )
    ridge: NDArray[np.bool_] = (look.strength >= ahead) & (look.strength > behind)
    return ridge


def _fitted(
    theta: float, distance: float, x: NDArray[np.float64], y: NDArray[np.float64], angle: Floats, weight: Floats
) -> tuple[float, float]:
    """The line through the edges near a first one, by least squares, twice."""
    for near in (NEAR * 1.5, NEAR):
        normal = np.array([np.cos(theta), np.sin(theta)])
        off = x * normal[0] + y * normal[1] - distance
        turned = np.abs((angle - theta + np.pi / 2) % np.pi - np.pi / 2)
        some = (np.abs(off) <= near) & (turned < np.radians(12))
        if some.sum() < 12:
            break
        points, weights = np.stack([x[some], y[some]]), weight[some]
        middle = np.average(points, axis=1, weights=weights)
        spread = np.cov(points, aweights=weights)
        normal = np.linalg.eigh(spread)[1][:, 0]
        theta = float(np.arctan2(normal[1], normal[0])) % np.pi
        distance = float(middle @ (np.cos(theta), np.sin(theta)))
    return theta, distance

"""Densities over quarter-years, and over the parameters of containers (`model/containers`)."""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from scipy.ndimage import convolve1d

from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.containers import WIDTHS, Width


class Years:
    """Densities over quarter-years, and over the parameters of containers: the two ways between them."""

    def __init__(self, cells: int) -> None:
        self.cells = cells
        self.widths = [Width(s) for s in WIDTHS]
        counts = [-(-cells // w.stride) for w in self.widths]
        ends = np.cumsum(counts)
        self.parts = [slice(int(end - n), int(end)) for end, n in zip(ends, counts, strict=True)]
        self.points = int(ends[-1])
        self._share = np.ones(self.points, dtype=np.float32)
        """1 over how much of N(y; t) is in the cells at all: it is cut off at the ends."""
        self._share = 1 / self.seen(np.ones((1, cells), dtype=np.float32))[0]
        self._counts = np.array(counts)
        self.measure = self.at_points(np.array([w.stride for w in self.widths], dtype=float))
        """How many quarter-years of the line a point of its width stands for."""

    @cached_property
    def bells(self) -> Array:
        """N(y; t): (points, cells)."""
        return self.spread(np.eye(self.points, dtype=np.float32))

    def at_points(self, values: Array) -> Array:
        """A value of each width at every one of its points: (..., widths) to (..., points)."""
        return np.repeat(values, self._counts, axis=-1)

    def by_width(self, chance: Array) -> Array:
        """The sum over the points of each width: (rows, points) to (rows, widths)."""
        return np.add.reduceat(chance, [part.start for part in self.parts], axis=1)

    def seen(self, likelihood: Array) -> Array:
        """The sum over y of l(y) N(y; t) for each point t: (rows, cells) to (rows, points)."""
        found = np.empty((len(likelihood), self.points), dtype=np.float32)
        for width, part in zip(self.widths, self.parts, strict=True):
            self._within(width, likelihood, found[:, part])
        found *= self._share
        return found

    def spread(self, weight: Array) -> Array:
        """The sum over t of P(t) N(y; t) for each quarter-year: (rows, points) to (rows, cells)."""
        found = np.zeros((len(weight), self.cells), dtype=np.float32)
        weight = weight * self._share
        for width, part in zip(self.widths, self.parts, strict=True):
            share = convolve1d(weight[:, part], width.bell, axis=1, mode="constant")
            found += np.repeat(share, width.stride, axis=1)[:, : self.cells] if width.stride > 1 else share
        return found

    def prior(self, rate: Array) -> Array:
        """P(t), by rows of the rate: each width weighs the same."""
        near = self.seen(rate)
        for part in self.parts:
            near[:, part] /= near[:, part].sum(axis=1, keepdims=True) * len(WIDTHS)
        return near

    def _within(self, width: Width, likelihood: Array, found: Array) -> None:
        k = width.stride
        over = -self.cells % k
        summed = np.pad(likelihood, ((0, 0), (0, over))) if over else likelihood
        if k > 1:  # a product is quicker than adding up many short rows
            summed = (summed.reshape(-1, k) @ np.ones(k, dtype=summed.dtype)).reshape(len(likelihood), -1)
        convolve1d(summed, width.bell, axis=1, output=found, mode="constant")


@lru_cache(maxsize=2)
def years_of(cells: int) -> Years:
    """Made once for as many quarter-years: many containers are worked out one by one after changes."""
    return Years(cells)


def normal(log: Array) -> Array:
    """Probabilities from logarithms, by rows."""
    weight = log - log.max(axis=1, keepdims=True)
    np.exp(weight, out=weight)
    weight /= weight.sum(axis=1, keepdims=True)
    return np.asarray(weight, dtype=np.float32)

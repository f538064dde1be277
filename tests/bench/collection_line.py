"""The line of years of `collection_sampler`, and what follows from it and the published constants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from drawn import YEAR
from scipy.special import ndtr

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import SEEN_BEFORE, SMOOTH, STRAY, WIDTHS
from kinphoto.reason.model.sequences import ORDERS, STAY

Array = np.ndarray


@dataclass(frozen=True, eq=False)
class Line:
    """Cells of time, and all that follows from them and the constants."""

    first: float = 1850.0
    step: float = 0.5
    cells: int = 280
    widths: tuple[float, ...] = WIDTHS
    before: tuple[float, ...] = SEEN_BEFORE
    orders: Mapping[str, float] = field(default_factory=lambda: dict(ORDERS))
    occasions: bool = True

    @cached_property
    def edges(self) -> Array:
        """Of cells, in years."""
        return self.first + self.step * np.arange(self.cells + 1)

    @cached_property
    def days(self) -> Array:
        """The middles of cells on the line of days."""
        return (self.edges[:-1] + self.step / 2 - 1) * YEAR + 1

    @cached_property
    def points(self) -> tuple[Array, Array, Array]:
        """Centres (years), the number of the width, and the cells to the next centre, of each point."""
        found = []
        for k, s in enumerate(self.widths):
            stride = max(1, round(s / self.step))
            found += [(self.first + (i + stride / 2) * self.step, k, stride) for i in range(0, self.cells, stride)]
        centre, width, stride = np.array(found).T
        return centre, width.astype(int), stride.astype(int)

    def _bells(self, centre: Array, sd: Array) -> Array:
        mass = np.diff(ndtr((self.edges[None] - centre[:, None]) / sd[:, None]), axis=1)
        return mass / mass.sum(axis=1, keepdims=True)

    @cached_property
    def bells(self) -> Array:
        """N(y; m, s^2): (points, cells)."""
        centre, width, _ = self.points
        return self._bells(centre, np.array(self.widths)[width])

    @cached_property
    def density(self) -> Array:
        """p(y | m, s): (points, cells)."""
        return ((1 - STRAY) * self.bells + STRAY / self.cells).astype(np.float32)

    @cached_property
    def log_density(self) -> Array:
        """ln p(y | m, s) by cells: (cells, points)."""
        return np.ascontiguousarray(np.log(self.density).T)

    def of_one_width(self, near: Array) -> Array:
        """With a sum of 1 over the centres of each width: (rows, points)."""
        found = near.copy()
        for k in range(len(self.widths)):
            some = self.points[1] == k
            found[:, some] /= found[:, some].sum(axis=1, keepdims=True)
        return found

    @cached_property
    def by_base(self) -> Array:
        """P(m | s) where the rate is one of the normals it is made of: (normals, points)."""
        centre = np.arange(self.edges[0] + SMOOTH / 2, self.edges[-1], SMOOTH)
        return self.of_one_width(self._bells(centre, np.full(len(centre), SMOOTH)) @ self.bells.T)

    @cached_property
    def within(self) -> Array:
        """ln P(m | s) of a container that lies in one with other parameters: (parameters of that one, points)."""
        return np.log(self.of_one_width(self.density.astype(float) @ self.bells.T)).astype(np.float32)

    @cached_property
    def paths(self) -> Array:
        """ln of the weight of all paths of n + 1 photographs in order, by point: (100, points)."""
        found, at, log = [], self.density.astype(np.float64), np.zeros(len(self.density))
        for _ in range(100):
            found.append(log.copy())
            at = STAY * at + (1 - STAY) * self.density * np.cumsum(at, axis=1)
            size = at.sum(axis=1, keepdims=True)
            at /= size
            log += np.log(size[:, 0])
        return np.array(found)


@dataclass(frozen=True)
class Box:
    """A container: its photographs as they lie, and the number of the one it lies in (-1: none)."""

    rows: Array
    inside: int = -1


def boxes_of(evidence: ev.Evidence) -> list[Box]:
    """The containers of an archive."""
    number = {c.id: i for i, c in enumerate(evidence.containers)}
    found = []
    for c in evidence.containers:
        here = [i for i, p in enumerate(evidence.photographs) if p.container == c.id]
        here.sort(key=lambda i: evidence.photographs[i].position)
        found.append(Box(np.array(here, dtype=np.int64), number.get(c.parent or "", -1)))
    return found


def occasion_weight(n: int) -> float:
    """What a new occasion weighs where each photograph of another weighs 1."""
    return float(max(n - 2, 1))


def from_sums(rising: Array, dice: np.random.Generator) -> Array:
    """A cell of each row, by the sums of chances up to each."""
    at = dice.random(len(rising)) * rising[:, -1]
    return np.minimum((rising < at[:, None]).sum(axis=1), rising.shape[1] - 1)


def pick(chance: Array, dice: np.random.Generator) -> Array:
    return from_sums(np.cumsum(chance, axis=1, dtype=float), dice)


def below_top(log: Array) -> Array:
    return log - log.max(axis=1, keepdims=True)


def normal(log: Array) -> Array:
    found = np.exp(below_top(log))
    return found / found.sum(axis=1, keepdims=True)

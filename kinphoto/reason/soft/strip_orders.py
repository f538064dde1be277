"""Messages from the order of frames on strips of film (`model/strips` has the formulas), strip by strip.

Only for speed: under a centre and a width there is only as much of the line of years as the bell reaches, and points
that are next to impossible without the order are left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.strips import FILMS, Order, in_order, mean_factor, tied
from kinphoto.reason.soft.orders import Pair
from kinphoto.reason.soft.years import Years

UNLIKELY = 1e-8
"""Points are left out that are less likely than this, beside the likeliest."""


class PointReach:
    """The quarter-years that the bell of each point reaches, from `first` on, and its `share` of each of them, adding
    up to 1: (points, quarter-years). Points of widths that no film has are nowhere."""

    def __init__(self, years: Years) -> None:
        widths = [(width, part) for width, part, p in zip(years.widths, years.parts, FILMS, strict=True) if p]
        self.cells = years.cells
        self.first = np.zeros(years.points, dtype=np.int64)
        self.share = np.zeros((years.points, max(len(width.bell) * width.stride for width, _ in widths)))
        for width, part in widths:
            reach = len(width.bell) // 2
            self.first[part] = (np.arange(part.stop - part.start) - reach) * width.stride
            self.share[part, : len(width.bell) * width.stride] = np.repeat(width.bell, width.stride)
        at = self.at(np.arange(years.points))
        self.share[(at < 0) | (at >= years.cells)] = 0.0
        self.share /= np.maximum(self.share.sum(axis=1, keepdims=True), np.finfo(float).tiny)

    def at(self, points: Ints) -> Ints:
        """The quarter-years of these points; some are outside of the line."""
        return np.asarray(self.first[points][:, None] + np.arange(self.share.shape[1]))

    def spread(self, points: Ints, weight: Array) -> Array:
        """The sum over these points of the weight of each quarter-year."""
        at = self.at(points)
        inside = (at >= 0) & (at < self.cells)
        return np.bincount(at[inside], weight[inside], minlength=self.cells)


@dataclass(frozen=True)
class Frames:
    """The frames of some strips, a row each: likelihoods and messages of their containers (frames, quarter-years), how
    well the strip suits the container of each and its cavity distribution without the order (frames, points), the
    chance that each is of no strip, and what errors in common leave of each."""

    likelihood: Array
    by_container: Array
    belongs: Array
    chance: Array
    wrong: Array
    weight: Array

    def of(self, some: Sequence[int]) -> Frames:
        """These rows alone."""
        rows = list(some)
        return Frames(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


def ordered(
    years: Years, frames: Frames, of: Ints, orders: Mapping[Pair, float], silent: Sequence[Collection[int]]
) -> Iterator[tuple[int, Array, float]]:
    """Each frame (its row) of the strips in which there is an order: the message of the strip where it is of it, and
    how likely it is beside that that it is not. `of` is the strip of each, `orders` are between rows, and `silent` are
    the rows that share a vague birth with each."""
    reach = PointReach(years)
    for strip in np.unique(of[[row for pair in orders for row in pair]]):
        rows = np.flatnonzero(of == strip).tolist()
        place = {row: k for k, row in enumerate(rows)}
        pairs = [(place[a], place[b], p) for (a, b), p in orders.items() if a in place]
        quiet = [[place[j] for j in silent[row] if j in place] for row in rows]
        for row, (inside, less) in zip(
            rows, _of_strip(reach, frames.of(rows), tied(len(rows), pairs), quiet), strict=True
        ):
            yield row, inside, less


def _of_strip(
    reach: PointReach, frames: Frames, tree: Sequence[Order], silent: Sequence[Sequence[int]]
) -> list[tuple[Array, float]]:
    """The same of one strip, in the order of its frames."""
    top = frames.chance.max(axis=0)
    points = np.flatnonzero(top > UNLIKELY * top.max())
    at, cells = np.clip(reach.at(points), 0, reach.cells - 1), reach.cells
    belongs = frames.belongs[:, points].astype(float)
    of_strip = ((1 - frames.wrong)[:, None] * belongs)[:, :, None] * reach.share[points]
    elsewhere = frames.wrong * cells * np.einsum("ij,ij->i", frames.likelihood, frames.by_container)
    nothing = frames.wrong * frames.by_container.sum(axis=1)
    mean = mean_factor(of_strip, nothing, tree)
    known, weight, found = of_strip * (cells * frames.likelihood[:, at]), float(frames.weight.mean()), []
    for i, others in enumerate(silent):
        here, away = known.copy(), elsewhere.copy()
        here[[i, *others]], away[[i, *others]] = of_strip[[i, *others]], nothing[[i, *others]]
        share, less = in_order(i, here, np.repeat(away[:, None], len(points), axis=1), mean, tree, weight)
        chance = frames.chance[i, points].astype(float)
        inside = reach.spread(points, (chance * belongs[i])[:, None] * share)
        found.append((inside, float(chance @ less)))
    return found

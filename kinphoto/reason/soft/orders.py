"""Messages along "this one was taken before that one".

With b the belief of i without j, scaled to a maximum of 1, and j the later of the two,

    m(x_j) = max of b(x_i) over x_i <= x_j,        m(x_i) = max of b(x_j) over x_j >= x_i.

Why a maximum, and how a wrong order is allowed for (the mixture L), is in docs/method.md. L is what the photograph
itself and the births in it receive. Other photographs receive h, as if all orders were right: over a chain in which
nothing else supports an order, the message would otherwise fade after a few steps.

Albums make long chains, along which one sweep should suffice: all groups at one depth of their component send together,
from the deepest to the root and back, which is exact without rings. Ordered groups keep cells of their own, finer than
the quarter-years on which births send (`messages`); for those, an order is the mean of its messages over a
quarter-year, weighted by the rest of the belief.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import SMALLEST, Array, Ints, entries, starts
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.soft.grid import Grid, QuarterRows, distances, normalised

LEAST_MESSAGE = 1e-12
"""What a message is at least, its greatest value being 1."""
_LEAST, _APART, _ROW = -600.0, 1e4, float(2**21)
"""The least logarithm of a belief; by how much those of one row are set apart from the next; more than any day."""

Pair = tuple[int, int]


def orders(of_group: dict[str, int], known: Lookup) -> dict[Pair, float]:
    """The chance that it is wrong for every order of two groups, the earlier first: the chance that all its statements
    are wrong."""
    found: dict[Pair, float] = {}
    for r in known.relations:
        if r.related not in (ev.Related.BEFORE, ev.Related.AFTER):
            continue
        one, other = of_group.get(r.photograph), of_group.get(r.other)
        if one is None or other is None or one == other:
            continue
        pair = (one, other) if r.related is ev.Related.BEFORE else (other, one)
        found[pair] = found.get(pair, 1.0) * ev.CHANCE_WRONG[r.trust]
    return found


class Orders:
    """Messages of orders. `groups` (ascending) are the rows of `cells`, with the logarithm `unary` of their masses;
    `pairs` name groups, the earlier first, with the chance that the order is wrong."""

    def __init__(self, groups: Ints, cells: Grid, unary: Array, pairs: dict[Pair, float]) -> None:
        self.groups, self.cells, self.unary = groups, cells, unary
        ends = np.searchsorted(groups, np.array(list(pairs), dtype=np.int64).reshape(-1, 2))
        many = len(pairs)
        self.source, self.target = np.concatenate([ends[:, 0], ends[:, 1]]), np.concatenate([ends[:, 1], ends[:, 0]])
        self.later = np.arange(2 * many) < many  # whether the target is the later one
        self.back = np.roll(np.arange(2 * many), many)  # the same order the other way
        self.start = starts(cells.sizes[self.target])
        self.where, _ = cells.of(self.target)  # the cell of each entry of `sent`
        self.sent = np.zeros(self.start[-1])
        self.total = np.zeros(len(unary))
        self.levels = _levels(self.source, self.target, len(groups))
        self.quarters = cells.new_quarters
        wrong = np.tile(np.array(list(pairs.values())), 2)
        odds = wrong / (1 - wrong)
        self.right = np.exp(np.bincount(self.target, np.log1p(-wrong), minlength=len(groups)))
        self.each = odds / np.bincount(self.target, odds, minlength=len(groups))[self.target]
        self.each *= (1 - self.right)[self.target]

    def of(self, edges: Ints) -> tuple[Ints, Ints]:
        """The positions of the messages of some edges, and where each begins among them."""
        return entries(self.start, edges)

    def update(self, photos: QuarterRows, unary: Array, log_photo: Array, keep: float, tolerance: float) -> Array:
        """Send along all orders; the photographs whose belief moved by more than `tolerance`.

        `unary` is the log-likelihood of the `photos` without messages; the messages of orders are added to their
        log-belief `log_photo`.
        """
        here, _ = photos.of(self.groups)
        old, before = self.by_quarter(), self.log_likelihood()
        others = log_photo[here] - unary[here] - old
        local = self.unary + np.repeat(others, np.diff(np.append(self.quarters, len(self.unary))))
        for edges in [*reversed(self.levels), *self.levels]:
            self._send(edges, local, keep)
        new = self.by_quarter()
        log_photo[here] += (new - old).astype(log_photo.dtype)
        belief = normalised(local + before, self.cells.start)
        by = distances(belief, np.exp(self.log_likelihood() - before), self.cells.start)
        flags = np.zeros(len(photos.first), dtype=bool)
        flags[self.groups[by > tolerance]] = True
        return flags

    def _send(self, edges: Ints, local: Array, keep: float) -> None:
        """The messages of some edges."""
        cells = self.cells
        at, begin = cells.of(self.source[edges])
        own, _ = self.of(self.back[edges])
        log = local[at] - np.log(cells.width[at]) + self.total[at] - self.sent[own]
        sizes = np.diff(begin)
        log = np.maximum(log - np.repeat(np.maximum.reduceat(log, begin[:-1]), sizes), _LEAST)
        row = np.repeat(np.arange(len(edges)), sizes)
        until = np.maximum.accumulate(log + _APART * row) - _APART * row
        since = (np.maximum.accumulate((log - _APART * row)[::-1]) + _APART * row[::-1])[::-1]
        here, there = cells.of(self.target[edges])
        reach = np.diff(there)
        which = np.repeat(np.arange(len(edges)), reach)
        later, day = self.later[edges][which], cells.middle[here]
        last = np.searchsorted(row * _ROW + cells.left[at], which * _ROW + day, side="right") - 1
        first = np.searchsorted(row * _ROW + cells.right[at], which * _ROW + day, side="right")
        place = np.where(later, last, first)
        inside = np.where(later, place >= begin[which], place < begin[which + 1])
        place = np.clip(place, begin[which], begin[which + 1] - 1)
        message = np.where(inside, np.where(later, until[place], since[place]), -np.inf)
        message -= np.repeat(np.maximum(np.maximum.reduceat(message, there[:-1]), _LEAST), reach)
        message = np.maximum(message, np.log(LEAST_MESSAGE))
        where, _ = self.of(edges)
        if keep:
            message = np.log(keep * np.exp(self.sent[where]) + (1 - keep) * np.exp(message))
        np.add.at(self.total, here, message - self.sent[where])
        self.sent[where] = message

    def log_likelihood(self) -> Array:
        """The logarithm of L in each cell."""
        cells, target = self.cells, self.target
        all_right = self._relative(self.total, cells.start[:-1], cells.width) * np.repeat(self.right, cells.sizes)
        width = cells.width[self.where]
        one_wrong = self._relative(self.total[self.where] - self.sent, self.start[:-1], width)
        one_wrong *= np.repeat(self.each, cells.sizes[target])
        return np.asarray(np.log(np.maximum(all_right + cells.summed(self.where, one_wrong), LEAST_MESSAGE)))

    @staticmethod
    def _relative(log: Array, begin: Ints, width: Array) -> Array:
        """Lists of densities (logarithms) divided by their means."""
        sizes = np.diff(np.append(begin, len(log)))
        value = np.exp(log - np.repeat(np.maximum.reduceat(log, begin), sizes))
        mean = np.add.reduceat(value * width, begin) / np.add.reduceat(width, begin)
        return np.asarray(value / np.repeat(mean, sizes))

    def by_quarter(self) -> Array:
        """The messages of orders, by quarter-year: the mean over the cells of each, weighted by what else is
        believed."""
        top = np.repeat(self.cells.per_row(self.unary, np.maximum), self.cells.sizes)
        weight = np.maximum(np.exp(self.unary - top), SMALLEST)
        mean = np.add.reduceat(weight * np.exp(self.log_likelihood()), self.quarters)
        return np.asarray(np.log(mean / np.add.reduceat(weight, self.quarters)))


def _levels(source: Ints, target: Ints, groups: int) -> list[Ints]:
    """The edges by the depth of their source, counted from the first group of each component."""
    near: dict[int, list[int]] = defaultdict(list)
    for i, j in zip(source.tolist(), target.tolist(), strict=True):
        near[i].append(j)
    depth = np.full(groups, -1)
    for root in range(groups):
        if depth[root] < 0:
            depth[root] = 0
            edge: Iterable[int] = [root]
            while edge:
                edge = _deepen(edge, near, depth)
    return [np.flatnonzero(depth[source] == d) for d in range(int(depth.max(initial=-1)) + 1)]


def _deepen(edge: Iterable[int], near: dict[int, list[int]], depth: Ints) -> list[int]:
    """The neighbours of `edge` that have no depth yet; they get theirs."""
    found = []
    for i in edge:
        for j in near[i]:
            if depth[j] < 0:
                depth[j] = depth[i] + 1
                found.append(j)
    return found

"""Orders between photographs: "this one was taken before that one", as messages.

An order between groups i and j has the factor

    f(x_i, x_j) = a   if x_i <= x_j,   c   otherwise,

with a = 1 - q and c = q for one statement, products for several. A message is a cumulative sum: with F the distribution
function of what i believes apart from j,

    m(x_j) = a F(x_j) + c (1 - F(x_j)),        m(x_i) = a (1 - G(x_i)) + c G(x_i)       the other way.

Albums make long chains, along which a message should run in one go: all groups of one depth in their component send
together, from the deepest to the root and back, which is exact where nothing closes a ring. Ordered groups keep cells
of their own, finer than the quarter-years on which births speak to them (`messages`); to those an order is the mean of
its messages over a quarter-year, weighted by what is believed otherwise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from kinphoto.reason import evidence as ev
from kinphoto.reason.grid import Array, Grid, Ints, starts
from kinphoto.reason.lookup import Lookup

if TYPE_CHECKING:
    from kinphoto.reason.messages import Exchange

SMALLEST = 1e-12

Pair = tuple[int, int]


def orders(of_group: dict[str, int], known: Lookup) -> dict[Pair, tuple[float, float]]:
    """(a, c) for every ordered pair of groups, the smaller number first."""
    found: dict[Pair, tuple[float, float]] = {}
    for r in known.relations:
        if r.related not in (ev.Related.BEFORE, ev.Related.AFTER):
            continue
        one, other = of_group.get(r.photograph), of_group.get(r.other)
        if one is None or other is None or one == other:
            continue
        first, second = (one, other) if r.related is ev.Related.BEFORE else (other, one)
        q = ev.CHANCE_WRONG[r.trust]
        pair, (a, c) = ((first, second), (1 - q, q)) if first < second else ((second, first), (q, 1 - q))
        before = found.get(pair, (1.0, 1.0))
        found[pair] = (before[0] * a, before[1] * c)
    return found


class Orders:
    """Messages of orders. `groups` (ascending) are the rows of `cells`, with the logarithm `unary` of their masses;
    `pairs` name groups."""

    def __init__(self, groups: Ints, cells: Grid, unary: Array, pairs: dict[Pair, tuple[float, float]]) -> None:
        self.groups, self.cells, self.unary = groups, cells, unary
        ends = np.searchsorted(groups, np.array(list(pairs), dtype=np.int64).reshape(-1, 2))
        a, c = np.array(list(pairs.values())).reshape(-1, 2).T
        self.source, self.target = np.concatenate([ends[:, 0], ends[:, 1]]), np.concatenate([ends[:, 1], ends[:, 0]])
        self.below, self.above = np.concatenate([a, c]), np.concatenate([c, a])
        self.back = np.roll(np.arange(2 * len(a)), len(a))  # the same order the other way
        self.start = starts(cells.sizes[self.target])
        self.sent = np.zeros(self.start[-1])
        self.total = np.zeros(len(unary))
        self.levels = _levels(self.source, self.target, len(groups))
        self.quarters = cells.new_quarters

    def of(self, edges: Ints) -> tuple[Ints, Ints]:
        """Where the messages of some edges stand, one behind the other, and where each begins."""
        sizes = self.start[edges + 1] - self.start[edges]
        begin = starts(sizes)
        return np.repeat(self.start[edges] - begin[:-1], sizes) + np.arange(begin[-1]), begin

    def exchange(self, exchange: Exchange, keep: float) -> Array:
        """Send along all orders; the photographs whose belief moved. Adds what it finds to `exchange.log_photo`."""
        here, _ = exchange.photos.of(self.groups)
        old = self.by_quarter()
        others = exchange.log_photo[here] - exchange.unary[here] - old
        heard = self.unary + np.repeat(others, np.diff(np.append(self.quarters, len(self.unary))))
        before = self.total.copy()
        for edges in [*reversed(self.levels), *self.levels]:
            self._send(edges, heard, keep)
        new = self.by_quarter()
        exchange.log_photo[here] += (new - old).astype(exchange.precision)
        mass = np.exp(heard + before - np.repeat(self.cells.per_row(heard + before, np.maximum), self.cells.sizes))
        mass /= np.repeat(self.cells.per_row(mass), self.cells.sizes)
        moved = mass * np.exp(self.total - before)
        moved /= np.repeat(self.cells.per_row(moved), self.cells.sizes)
        by = self.cells.per_row(np.abs(moved - mass)) / 2
        flags = np.zeros(len(exchange.photos.first), dtype=bool)
        flags[self.groups[by > exchange.settled]] = True
        return flags

    def _send(self, edges: Ints, heard: Array, keep: float) -> None:
        """The messages of some edges."""
        cells = self.cells
        at, begin = cells.of(self.source[edges])
        own, _ = self.of(self.back[edges])
        log = heard[at] + self.total[at] - self.sent[own]
        sizes = np.diff(begin)
        weight = np.exp(log - np.repeat(np.maximum.reduceat(log, begin[:-1]), sizes))
        rising = np.cumsum(weight)
        base = np.concatenate([[0.0], rising])[begin[:-1]]
        rising = (rising - np.repeat(base, sizes)) / np.repeat(np.add.reduceat(weight, begin[:-1]), sizes)
        here, there = cells.of(self.target[edges])
        some = Grid(begin, cells.left[at], cells.right[at])
        reach = np.diff(there)
        before = some.below(rising, np.repeat(np.arange(len(edges)), reach), cells.middle[here])
        a, c = (np.repeat(v[edges], reach) for v in (self.below, self.above))
        message = a * before + c * (1 - before)
        message = np.maximum(message / np.repeat(np.maximum.reduceat(message, there[:-1]), reach), SMALLEST)
        where, _ = self.of(edges)
        if keep:
            message = keep * np.exp(self.sent[where]) + (1 - keep) * message
        new = np.log(message)
        np.add.at(self.total, here, new - self.sent[where])
        self.sent[where] = new

    def by_quarter(self) -> Array:
        """What orders say, by quarter-year: the mean over the cells of each, weighted by what else is believed."""
        top = np.repeat(self.cells.per_row(self.unary, np.maximum), self.cells.sizes)
        weight = np.maximum(np.exp(self.unary - top), 1e-300)
        said = np.add.reduceat(weight * np.exp(self.total), self.quarters)
        return np.asarray(np.log(said / np.add.reduceat(weight, self.quarters)))


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

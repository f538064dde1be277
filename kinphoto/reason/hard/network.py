"""The tightest bounds of every variable: shortest paths in a simple temporal network (sources: docs/method.md).

From `u − v ≤ c` follow `upper(u) ≤ upper(v) + c` and `lower(v) ≥ lower(u) − c`. With −lower in place of lower both have
the form `day(target) ≤ day(source) + weight`, so n variables become a graph of 2n *nodes* (node v holds upper(v), node
n + v holds −lower(v)) and each constraint two *arcs*. The bounds are the shortest distances from the two nodes of the
origin, which stay at 0:

        u − v ≤ c        ⟶        v ──c──▸ u        n + u ──c──▸ n + v

Arcs are sorted by target, so one sweep takes the least candidate of each target with `minimum.reduceat`; it looks only
at arcs that leave nodes changed by the sweep before. Every node starts `FAR` away, so that a contradiction among
variables without a path from the origin is found too. A *hull* takes the greatest of its alternatives (`laws`).

**Contradictions.** When upper + (−lower) < 0 at a variable, the two paths that led there cannot both hold; the variable
passes nothing on. A negative cycle that never crosses a bound would go on for ever, so after a number of sweeps cycles
of predecessors are looked for by pointer doubling. A predecessor is set on a strict decrease only, so any cycle of them
is negative, unless it runs through a hull; that one ends by itself because the photograph of a hull is bounded.

**Small changes.** A statement that is used again relaxes its arcs and what they reach. For one left out, the nodes
whose path used it are reset and reached again from around them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kinphoto.reason.hard.graph import (
    NONE,
    Flags,
    Network,
    arcs_of,
    build,
    leaving,
    members_of,
    statements_about,
    subnetwork,
    variables_of,
)
from kinphoto.reason.model.arrays import Ints, entries
from kinphoto.reason.model.span import Span

__all__ = ["FAR", "Bounds", "Flags", "Network", "build", "solve", "statements_about", "subnetwork", "variables_of"]

FAR = 10**9
"""Days that stand for infinity. No path of real dates comes near half of it."""
Before = list[tuple[NDArray[Any], Ints, NDArray[Any]]]
"""What was where, in the order it was written over: values, places, what they were."""
PATIENCE = 64
"""Sweeps before loops are looked for; again each time the sweeps have doubled."""


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """The tightest bounds when the statements `off` are left out.

    `days` are by node; `predecessor` is the arc that gave a node its day, or −1; `inactive` flags the arcs that are
    off. `crossed` are the variables with no day left, `loops` one node of each negative cycle: both are empty when
    everything is consistent. When it is not, the days bound nothing.
    """

    network: Network
    off: Flags
    inactive: Flags
    days: Ints
    predecessor: Ints
    crossed: tuple[int, ...] = ()
    loops: tuple[int, ...] = ()

    @property
    def feasible(self) -> bool:
        """Whether everything that is not left out can be true together."""
        return not self.crossed and not self.loops

    @property
    def upper(self) -> Ints:
        """The last possible day of each variable, `FAR` where open."""
        last = self.days[: self.network.size]
        return np.where(last > FAR // 2, FAR, last)

    @property
    def lower(self) -> Ints:
        """The first possible day of each variable, `-FAR` where open."""
        first = -self.days[self.network.size :]
        return np.where(first < -FAR // 2, -FAR, first)

    def span(self, variable: int) -> Span:
        """The possible days of one variable."""
        last, first = int(self.days[variable]), -int(self.days[variable + self.network.size])
        return Span(None if first < -FAR // 2 else first, None if last > FAR // 2 else last)

    def first_rests_on(self, variable: int) -> list[int]:
        """The statements (indices, sorted) from which a variable's first possible day follows."""
        return self._traced(variable + self.network.size)

    def last_rests_on(self, variable: int) -> list[int]:
        """The statements (indices, sorted) from which a variable's last possible day follows."""
        return self._traced(variable)

    def witnesses(self) -> list[list[int]]:
        """Sets of statements (indices, sorted) each of which cannot be true together; no two share a statement.

        A set is empty when the laws alone cannot be met.
        """
        found = [self._traced(node) for node in self.loops]
        found += [self._traced(v, v + self.network.size) for v in self.crossed]
        used: set[int] = set()
        disjoint = []
        for witness in sorted(found, key=lambda w: (len(w), w)):
            if not witness or used.isdisjoint(witness):
                used.update(witness)
                disjoint.append(witness)
        return disjoint

    def changed(self, out: Collection[int], back: Collection[int]) -> Bounds:
        """The bounds when the statements `out` are left out too, and `back` used again."""
        if not self.feasible:
            return solve(self.network, self._flags(out, back))
        copy = replace(
            self,
            off=self.off.copy(),
            inactive=self.inactive.copy(),
            days=self.days.copy(),
            predecessor=self.predecessor.copy(),
        )
        return _change(copy, out, back)

    @contextmanager
    def trying(self, out: Collection[int], back: Collection[int]) -> Iterator[Bounds]:
        """The same for a look: these bounds themselves are changed, and are afterwards as they were. Nothing is copied,
        so it takes as long as what it reaches, however large the network; nobody else may be looking meanwhile."""
        if not self.feasible:
            yield solve(self.network, self._flags(out, back))
            return
        before: Before = []
        try:
            yield _change(self, out, back, before)
        finally:
            for values, places, were in reversed(before):
                values[places] = were

    def _flags(self, out: Collection[int], back: Collection[int]) -> Flags:
        off = self.off.copy()
        off[list(out)] = True
        off[list(back)] = False
        return off

    def _traced(self, *nodes: int) -> list[int]:
        """The statements on the paths by which these nodes' days came."""
        net, seen, waiting = self.network, set(nodes), list(nodes)
        arcs = []
        while waiting:
            node = waiting.pop()
            arc = int(self.predecessor[node])
            if arc >= 0:
                arcs.append(arc)
                behind: Iterable[int] = (int(net.source[arc]),)
            else:
                behind = members_of(net, node)
            new = [other for other in behind if other not in seen]
            seen.update(new)
            waiting += new
        return sorted({int(s) for a in arcs for s in net.rests[net.rests_start[a] : net.rests_start[a + 1]]})


def solve(network: Network, off: Flags | None = None) -> Bounds:
    """The tightest bounds; `off` flags statements to leave out."""
    net = network
    gone = np.zeros(net.statements, dtype=bool) if off is None else off
    before = np.concatenate([[0], np.cumsum(gone[net.rests])])
    inactive = before[net.rests_start[1:]] > before[net.rests_start[:-1]]
    days = np.full(2 * net.size, FAR, dtype=np.int64)
    days[[0, net.size]] = 0
    predecessor = np.full(2 * net.size, -1, dtype=np.int64)
    return _settle(Bounds(net, gone, inactive, days, predecessor), np.arange(len(net.source)))


def _change(bounds: Bounds, out: Collection[int], back: Collection[int], before: Before | None = None) -> Bounds:
    """Leave out and use again, in place."""
    net, inactive, days, predecessor = bounds.network, bounds.inactive, bounds.days, bounds.predecessor
    for statements, off in ((out, True), (back, False)):
        _put(bounds.off, np.array([*statements], dtype=np.int64), off, before)
    arcs = arcs_of(net, [*out, *back])
    _put(
        inactive, arcs, [bounds.off[net.rests[net.rests_start[a] : net.rests_start[a + 1]]].any() for a in arcs], before
    )
    gone = arcs[inactive[arcs]]
    lost = _lost(net, predecessor, net.target[gone[predecessor[net.target[gone]] == gone]])
    _put(days, lost, FAR, before)
    _put(predecessor, lost, -1, before)
    anew = np.union1d(entries(net.into_start, lost)[0], arcs[~inactive[arcs]])
    return _settle(bounds, anew, before)


def _put(values: Ints | Flags, places: Ints, new: Any, before: Before | None) -> None:
    """Set values at these places, noting in `before` what stood there."""
    if before is not None:
        before.append((values, places, values[places]))
    values[places] = new


def _settle(bounds: Bounds, arcs: Ints, before: Before | None = None) -> Bounds:
    """Sweep until nothing changes, beginning with these arcs; `bounds` is changed in place."""
    net, days = bounds.network, bounds.days
    crossed = np.zeros(net.size, dtype=bool)
    loops: tuple[int, ...] = ()
    for sweep in count(1):
        changed = np.concatenate([_relax(bounds, arcs, before), _stretch_hulls(bounds, before)])
        variables = changed % net.size
        crossed[variables] |= net.real[variables] & (days[variables] + days[variables + net.size] < 0)
        changed = changed[~crossed[variables]]
        if not len(changed):
            break
        if sweep >= PATIENCE and sweep & (sweep - 1) == 0:
            loops = _loops(bounds)
            if loops:
                break
        arcs = leaving(net, changed)
    return replace(bounds, crossed=tuple(int(v) for v in np.flatnonzero(crossed)), loops=loops)


def _relax(bounds: Bounds, arcs: Ints, before: Before | None) -> Ints:
    """Give each node the least day that one of these arcs (in ascending order) offers; the nodes that changed."""
    net, days = bounds.network, bounds.days
    offered = days[net.source[arcs]] + net.weight[arcs]
    better = (offered < days[net.target[arcs]]) & ~bounds.inactive[arcs]
    arcs, offered = arcs[better], offered[better]
    if not len(arcs):
        return NONE
    target = net.target[arcs]
    first = np.flatnonzero(np.concatenate([[True], target[1:] != target[:-1]]))
    least = np.minimum.reduceat(offered, first)
    nodes = target[first]
    _put(days, nodes, least, before)
    best = np.flatnonzero(offered == np.repeat(least, np.diff(np.append(first, len(arcs)))))[::-1]
    _put(bounds.predecessor, target[best], arcs[best], before)  # of equals the first: the last that is written here
    return nodes


def _stretch_hulls(bounds: Bounds, before: Before | None) -> Ints:
    """Let each hull reach to its farthest alternative; the nodes that changed."""
    net, days = bounds.network, bounds.days
    if not len(net.hulls):
        return NONE
    reach = np.maximum.reduceat(days[net.members], net.members_start[:-1])
    nearer = reach < days[net.hulls]
    _put(days, net.hulls[nearer], reach[nearer], before)
    return net.hulls[nearer]


def _lost(net: Network, predecessor: Ints, nodes: Ints) -> Ints:
    """These nodes and all whose path runs through one of them, in ascending order."""
    lost = np.zeros(2 * net.size, dtype=bool)
    while len(nodes):
        lost[nodes] = True
        arcs = leaving(net, nodes)
        after = net.target[arcs]
        hulls = net.hull_of[nodes]
        nodes = np.unique(np.concatenate([after[predecessor[after] == arcs], hulls[hulls >= 0]]))
        nodes = nodes[~lost[nodes]]
    return np.flatnonzero(lost)


def _loops(bounds: Bounds) -> tuple[int, ...]:
    """One node of each loop of predecessors that runs through no hull."""
    net, predecessor = bounds.network, bounds.predecessor
    behind = np.where(predecessor >= 0, net.source[predecessor], np.arange(len(predecessor)))
    for hull in net.hulls:
        members = members_of(net, int(hull))
        behind[hull] = members[int(np.argmax(bounds.days[members]))]
    end = behind
    for _ in range(len(predecessor).bit_length()):
        end = end[end]
    found: dict[int, list[int]] = {}
    rooted = predecessor < 0
    rooted[net.hulls] = False
    for node in np.unique(end[~rooted[end]]).tolist():  # whoever has no root at the end goes round, if only by itself
        loop = _loop(behind, node)
        found.setdefault(min(loop), loop)
    return tuple(first for first, loop in sorted(found.items()) if not np.isin(loop, net.hulls).any())


def _loop(behind: Ints, node: int) -> list[int]:
    loop = [node]
    while (other := int(behind[loop[-1]])) != node:
        loop.append(other)
    return loop

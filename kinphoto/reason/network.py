"""The tightest bounds of every variable: shortest paths from and to the origin of a simple temporal network.

(Dechter, Meiri & Pearl, "Temporal constraint networks", Artificial Intelligence 49, 1991.)

From `u − v ≤ c` follow `upper(u) ≤ upper(v) + c` and `lower(v) ≥ lower(u) − c`. With −lower in place of lower both have
one form, `day(target) ≤ day(source) + weight`, so a network of n variables becomes a graph of 2n *nodes*, where node v
holds upper(v) and node n + v holds −lower(v), and of two *arcs* per constraint. All bounds are then the shortest
distances from the two nodes of the origin, which stay at 0:

        u − v ≤ c        ⟶        v ──c──▸ u        n + u ──c──▸ n + v

Arcs lie sorted by target, so one sweep takes the least of all candidates per target with `minimum.reduceat`; it looks
only at arcs that leave nodes the sweep before has changed. Every node starts at a far wall, so that also a
contradiction among variables that nothing ties to the origin is found; what ends up near the wall is open. A *hull* is
no arc: its node takes the greatest of its alternatives (`laws` tells why).

**What cannot be.** When upper + (−lower) < 0 at a variable, the two paths that led there cannot both be true; the
variable goes on to nobody. A loop of negative weight that never meets a bound sweeps on and on: after a number of
sweeps loops of the predecessors are looked for by pointer doubling. A predecessor is set on a strict decrease only, so
any loop of them has negative weight, unless it runs through a hull, where another alternative may hold; that one ends
by itself because the photograph of a hull is bounded both ways.

**Small changes.** A statement taken back in relaxes its arcs and what they reach. For one left out, the nodes whose
path used it go back to the wall and are reached again from around them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from kinphoto.reason.laws import Constraints, Ints
from kinphoto.reason.span import Span

FAR = 10**9
"""The wall, in days. No path of real dates comes near half of it."""
PATIENCE = 64
"""Sweeps before loops are looked for; again each time the sweeps have doubled."""

Flags = NDArray[np.bool_]
NONE = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The graph of `size` variables. Arcs are indices into `source`, `target` and `weight`, sorted by target.

    Lists per thing lie one behind the other, those of thing i from `start[i]` to `start[i + 1]`: the arcs `into` each
    node, the arcs `leaving` it, the statements an arc `rests` on, the arcs that are `bearing` on a statement, and the
    nodes that are `members` of a hull. `hulls` are nodes; `hull_of` is a node's hull, or −1. `real` tells the variables
    that must be possible: all but alternatives and hulls.
    """

    size: int
    source: Ints
    target: Ints
    weight: Ints
    into_start: Ints
    leaving_start: Ints
    leaving: Ints
    rests_start: Ints
    rests: Ints
    bearing_start: Ints
    bearing: Ints
    hulls: Ints
    members_start: Ints
    members: Ints
    hull_of: Ints
    real: Flags

    @property
    def statements(self) -> int:
        """How many statements there are."""
        return len(self.bearing_start) - 1


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """The tightest bounds when the statements `off` are left out.

    `days` are by node; `came` is the arc a node's day came by, or −1; `shut` are the arcs that are off. `crossed` are
    the variables with no day left, `loops` one node of each loop of negative weight: empty when all fits together.
    Where something does not, the days are not bounds of anything.
    """

    network: Network
    off: Flags
    shut: Flags
    days: Ints
    came: Ints
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

    def without(self, statements: Collection[int]) -> Bounds:
        """The bounds when these statements (indices) are left out too."""
        return self.changed(statements, ())

    def restored(self, statements: Collection[int]) -> Bounds:
        """The bounds when these statements (indices) are taken back in."""
        return self.changed((), statements)

    def changed(self, out: Collection[int], back: Collection[int]) -> Bounds:
        """The bounds when the statements `out` are left out too, and `back` taken back in."""
        net, off = self.network, self.off.copy()
        off[list(out)] = True
        off[list(back)] = False
        if not self.feasible:
            return solve(net, off)
        shut, days, came = self.shut.copy(), self.days.copy(), self.came.copy()
        arcs = _arcs_of(net, [*out, *back])
        shut[arcs] = [off[net.rests[net.rests_start[a] : net.rests_start[a + 1]]].any() for a in arcs]
        gone = arcs[shut[arcs]]
        lost = _lost(net, came, net.target[gone[came[net.target[gone]] == gone]])
        days[lost], came[lost] = FAR, -1
        anew = np.union1d(_entries(net.into_start, lost), arcs[~shut[arcs]])
        return _settle(Bounds(net, off, shut, days, came), anew)

    def _traced(self, *nodes: int) -> list[int]:
        """The statements on the paths by which these nodes' days came."""
        net, seen, waiting = self.network, set(nodes), list(nodes)
        arcs = []
        while waiting:
            node = waiting.pop()
            arc = int(self.came[node])
            if arc >= 0:
                arcs.append(arc)
                behind: Iterable[int] = (int(net.source[arc]),)
            else:
                behind = _members(net, node)
            new = [other for other in behind if other not in seen]
            seen.update(new)
            waiting += new
        return sorted({int(s) for a in arcs for s in net.rests[net.rests_start[a] : net.rests_start[a + 1]]})


def build(constraints: Constraints) -> Network:
    """The graph of some constraints."""
    c, size = constraints, len(constraints.variables.kinds)
    source, target = np.concatenate([c.right, size + c.left]), np.concatenate([c.left, size + c.right])
    leads_on, takes = np.ones(size, dtype=bool), np.ones(size, dtype=bool)
    leads_on[c.alternatives] = takes[c.hulls] = takes[0] = False
    edges = np.tile(np.arange(len(c.days)), 2)
    keep = np.flatnonzero(leads_on[source % size] & takes[target % size])
    keep = keep[np.argsort(target[keep], kind="stable")]
    edges = edges[keep]
    real = leads_on.copy()
    real[c.hulls] = False
    return _network(
        source[keep],
        target[keep],
        c.days[edges],
        np.diff(c.start)[edges],
        c.rests[_entries(c.start, edges)],
        len(c.statements),
        np.concatenate([c.hulls, size + c.hulls]),
        np.tile(np.diff(c.hull_start), 2),
        np.concatenate([c.alternatives, size + c.alternatives]),
        real,
    )


def part(network: Network, statements: list[int]) -> Network:
    """What rests on these statements (indices, sorted) alone, with the laws on its variables.

    Statement i of the part is `statements[i]`; its variables are renumbered.
    """
    net = network
    chosen = np.zeros(net.statements, dtype=bool)
    chosen[statements] = True
    said = _arcs_of(net, statements)
    said = said[[bool(chosen[net.rests[net.rests_start[a] : net.rests_start[a + 1]]].all()) for a in said]]
    variables = np.unique(np.concatenate([[0], net.source[said] % net.size, net.target[said] % net.size]))
    nodes = np.concatenate([variables, net.size + variables])
    near = _entries(net.into_start, nodes)
    laws = near[net.rests_start[near] == net.rests_start[near + 1]]
    laws = laws[np.isin(net.source[laws], nodes)]
    arcs = np.union1d(said, laws)
    hulls = np.flatnonzero(np.isin(net.hulls, nodes))
    members = net.members[_entries(net.members_start, hulls)]
    return _network(
        np.searchsorted(nodes, net.source[arcs]),
        np.searchsorted(nodes, net.target[arcs]),
        net.weight[arcs],
        net.rests_start[arcs + 1] - net.rests_start[arcs],
        np.searchsorted(statements, net.rests[_entries(net.rests_start, arcs)]),
        len(statements),
        np.searchsorted(nodes, net.hulls[hulls]),
        net.members_start[hulls + 1] - net.members_start[hulls],
        np.searchsorted(nodes, members),
        net.real[variables],
    )


def _network(
    source: Ints,
    target: Ints,
    weight: Ints,
    rests_sizes: Ints,
    rests: Ints,
    statements: int,
    hulls: Ints,
    members_sizes: Ints,
    members: Ints,
    real: Flags,
) -> Network:
    """The graph from its arcs, sorted by target, and its hulls; the lists by source and by statement are made here."""
    nodes = 2 * len(real)
    hull_of = np.full(nodes, -1, dtype=np.int64)
    hull_of[members] = np.repeat(hulls, members_sizes)
    return Network(
        size=len(real),
        source=source,
        target=target,
        weight=weight,
        into_start=_starts(np.bincount(target, minlength=nodes)),
        leaving_start=_starts(np.bincount(source, minlength=nodes)),
        leaving=np.argsort(source, kind="stable"),
        rests_start=_starts(rests_sizes),
        rests=rests,
        bearing_start=_starts(np.bincount(rests, minlength=statements)),
        bearing=np.repeat(np.arange(len(source)), rests_sizes)[np.argsort(rests, kind="stable")],
        hulls=hulls,
        members_start=_starts(members_sizes),
        members=members,
        hull_of=hull_of,
        real=real,
    )


def about(network: Network, variable: int) -> list[int]:
    """The statements (indices, sorted) of which a constraint names this variable."""
    nodes = np.array([variable, network.size + variable])
    arcs = _entries(network.into_start, nodes)
    return sorted({int(s) for s in network.rests[_entries(network.rests_start, arcs)]})


def touched(network: Network, statements: Collection[int]) -> list[int]:
    """The variables (sorted) that the constraints of these statements name."""
    arcs = _arcs_of(network, statements)
    found = np.unique(np.concatenate([network.source[arcs], network.target[arcs]]) % network.size)
    return [v for v in found.tolist() if v]


def solve(network: Network, off: Flags | None = None) -> Bounds:
    """The tightest bounds; `off` flags statements to leave out."""
    net = network
    gone = np.zeros(net.statements, dtype=bool) if off is None else off
    before = np.concatenate([[0], np.cumsum(gone[net.rests])])
    shut = before[net.rests_start[1:]] > before[net.rests_start[:-1]]
    days = np.full(2 * net.size, FAR, dtype=np.int64)
    days[[0, net.size]] = 0
    came = np.full(2 * net.size, -1, dtype=np.int64)
    return _settle(Bounds(net, gone, shut, days, came), np.arange(len(net.source)))


def _settle(bounds: Bounds, arcs: Ints) -> Bounds:
    """Sweep until nothing changes, beginning with these arcs. Changes `bounds.days` and `bounds.came` in place."""
    net, days = bounds.network, bounds.days
    crossed = np.zeros(net.size, dtype=bool)
    loops: tuple[int, ...] = ()
    for sweep in count(1):
        changed = np.concatenate([_relax(bounds, arcs), _stretch_hulls(bounds)])
        variables = changed % net.size
        crossed[variables] |= net.real[variables] & (days[variables] + days[variables + net.size] < 0)
        changed = changed[~crossed[variables]]
        if not len(changed):
            break
        if sweep >= PATIENCE and sweep & (sweep - 1) == 0:
            loops = _loops(bounds)
            if loops:
                break
        arcs = _leaving(net, changed)
    return replace(bounds, crossed=tuple(int(v) for v in np.flatnonzero(crossed)), loops=loops)


def _relax(bounds: Bounds, arcs: Ints) -> Ints:
    """Give each node the least day that one of these arcs (in ascending order) offers; the nodes that changed."""
    net, days = bounds.network, bounds.days
    offered = days[net.source[arcs]] + net.weight[arcs]
    better = (offered < days[net.target[arcs]]) & ~bounds.shut[arcs]
    arcs, offered = arcs[better], offered[better]
    if not len(arcs):
        return NONE
    target = net.target[arcs]
    first = np.flatnonzero(np.concatenate([[True], target[1:] != target[:-1]]))
    least = np.minimum.reduceat(offered, first)
    nodes = target[first]
    days[nodes] = least
    best = np.flatnonzero(offered == np.repeat(least, np.diff(np.append(first, len(arcs)))))[::-1]
    bounds.came[target[best]] = arcs[best]  # of equals the first: the last that is written here
    return nodes


def _stretch_hulls(bounds: Bounds) -> Ints:
    """Let each hull reach to its farthest alternative; the nodes that changed."""
    net, days = bounds.network, bounds.days
    if not len(net.hulls):
        return NONE
    reach = np.maximum.reduceat(days[net.members], net.members_start[:-1])
    nearer = reach < days[net.hulls]
    days[net.hulls[nearer]] = reach[nearer]
    return net.hulls[nearer]


def _leaving(net: Network, nodes: Ints) -> Ints:
    """The arcs that leave these nodes, in ascending order."""
    if len(nodes) * 16 < 2 * net.size:
        return np.sort(net.leaving[_entries(net.leaving_start, nodes)])
    chosen = np.zeros(2 * net.size, dtype=bool)
    chosen[nodes] = True
    return np.flatnonzero(chosen[net.source])


def _lost(net: Network, came: Ints, nodes: Ints) -> Ints:
    """These nodes and all whose path runs through one of them, in ascending order."""
    lost = np.zeros(2 * net.size, dtype=bool)
    while len(nodes):
        lost[nodes] = True
        arcs = _leaving(net, nodes)
        after = net.target[arcs]
        hulls = net.hull_of[nodes]
        nodes = np.unique(np.concatenate([after[came[after] == arcs], hulls[hulls >= 0]]))
        nodes = nodes[~lost[nodes]]
    return np.flatnonzero(lost)


def _loops(bounds: Bounds) -> tuple[int, ...]:
    """One node of each loop of predecessors that runs through no hull."""
    net, came = bounds.network, bounds.came
    behind = np.where(came >= 0, net.source[came], np.arange(len(came)))
    for hull in net.hulls:
        members = _members(net, int(hull))
        behind[hull] = members[int(np.argmax(bounds.days[members]))]
    end = behind
    for _ in range(len(came).bit_length()):
        end = end[end]
    found: dict[int, list[int]] = {}
    rooted = came < 0
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


def _members(net: Network, node: int) -> Ints:
    """The alternatives of a hull; of any other node none."""
    h = int(np.searchsorted(net.hulls, node))
    if h == len(net.hulls) or net.hulls[h] != node:
        return NONE
    return net.members[net.members_start[h] : net.members_start[h + 1]]


def _arcs_of(net: Network, statements: Collection[int]) -> Ints:
    """The arcs that rest on any of these statements, in ascending order."""
    return np.unique(net.bearing[_entries(net.bearing_start, np.array(sorted(statements), dtype=np.int64))])


def _entries(start: Ints, rows: Ints) -> Ints:
    """Where the entries of these rows lie, one row behind the other."""
    sizes = start[rows + 1] - start[rows]
    return np.repeat(start[rows] - np.cumsum(sizes) + sizes, sizes) + np.arange(sizes.sum())


def _starts(sizes: Ints) -> Ints:
    return np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(sizes)])

"""The graph of a constraint network: arcs between bounds, and the statements each rests on. `network` explains it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kinphoto.reason.hard.constraints import Constraints
from kinphoto.reason.model.arrays import Ints, entries, starts

Flags = NDArray[np.bool_]
NONE: Ints = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The graph of `size` variables. Arcs are indices into `source`, `target` and `weight`, sorted by target.

    Lists are concatenated in one array, list i from `start[i]` to `start[i + 1]`: the arcs `into` each
    node, the arcs `leaving` it, the statements an arc `rests` on, the arcs that are `bearing` on a statement, and the
    nodes that are `members` of a hull. `hulls` are nodes; `hull_of` is a node's hull, or −1. `real` flags the variables
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
        c.rests[entries(c.start, edges)[0]],
        len(c.statements),
        np.concatenate([c.hulls, size + c.hulls]),
        np.tile(np.diff(c.hull_start), 2),
        np.concatenate([c.alternatives, size + c.alternatives]),
        real,
    )


def subnetwork(network: Network, statements: list[int]) -> Network:
    """What rests on these statements (indices, sorted) alone, with the laws on its variables and what they lead to.

    Statement i of the part is `statements[i]`; its variables are renumbered.
    """
    net = network
    chosen = np.zeros(net.statements, dtype=bool)
    chosen[statements] = True
    arcs = arcs_of(net, statements)
    arcs = arcs[[bool(chosen[net.rests[net.rests_start[a] : net.rests_start[a + 1]]].all()) for a in arcs]]
    variables = np.unique(np.concatenate([[0], net.source[arcs] % net.size, net.target[arcs] % net.size]))
    while True:  # laws lead on: a print is not before its exposure, and that not before photography
        nodes = np.concatenate([variables, net.size + variables])
        near = entries(net.into_start, nodes)[0]
        laws = near[net.rests_start[near] == net.rests_start[near + 1]]
        reached = np.union1d(variables, net.source[laws] % net.size)
        if len(reached) == len(variables):
            break
        variables = reached
    arcs = np.union1d(arcs, laws)
    hulls = np.flatnonzero(np.isin(net.hulls, nodes))
    members = net.members[entries(net.members_start, hulls)[0]]
    return _network(
        np.searchsorted(nodes, net.source[arcs]),
        np.searchsorted(nodes, net.target[arcs]),
        net.weight[arcs],
        net.rests_start[arcs + 1] - net.rests_start[arcs],
        np.searchsorted(statements, net.rests[entries(net.rests_start, arcs)[0]]),
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
        into_start=starts(np.bincount(target, minlength=nodes)),
        leaving_start=starts(np.bincount(source, minlength=nodes)),
        leaving=np.argsort(source, kind="stable"),
        rests_start=starts(rests_sizes),
        rests=rests,
        bearing_start=starts(np.bincount(rests, minlength=statements)),
        bearing=np.repeat(np.arange(len(source)), rests_sizes)[np.argsort(rests, kind="stable")],
        hulls=hulls,
        members_start=starts(members_sizes),
        members=members,
        hull_of=hull_of,
        real=real,
    )


def statements_about(network: Network, variable: int) -> list[int]:
    """The statements (indices, sorted) with a constraint on this variable."""
    nodes = np.array([variable, network.size + variable])
    arcs = entries(network.into_start, nodes)[0]
    return sorted({int(s) for s in network.rests[entries(network.rests_start, arcs)[0]]})


def variables_of(network: Network, statements: Collection[int]) -> list[int]:
    """The variables (sorted) that the constraints of these statements name."""
    arcs = arcs_of(network, statements)
    found = np.unique(np.concatenate([network.source[arcs], network.target[arcs]]) % network.size)
    return [v for v in found.tolist() if v]


def leaving(net: Network, nodes: Ints) -> Ints:
    """The arcs that leave these nodes, in ascending order."""
    if len(nodes) * 16 < 2 * net.size:
        return np.sort(net.leaving[entries(net.leaving_start, nodes)[0]])
    chosen = np.zeros(2 * net.size, dtype=bool)
    chosen[nodes] = True
    return np.flatnonzero(chosen[net.source])


def members_of(net: Network, node: int) -> Ints:
    """The alternatives of a hull; of any other node none."""
    h = int(np.searchsorted(net.hulls, node))
    if h == len(net.hulls) or net.hulls[h] != node:
        return NONE
    return net.members[net.members_start[h] : net.members_start[h + 1]]


def arcs_of(net: Network, statements: Collection[int]) -> Ints:
    """The arcs that rest on any of these statements, in ascending order."""
    return np.unique(net.bearing[entries(net.bearing_start, np.array(sorted(statements), dtype=np.int64))[0]])

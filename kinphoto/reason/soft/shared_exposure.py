"""Photographs that are said to share an exposure, in case that is wrong.

Copies, prints from one negative and pictures of one occasion are one variable (`groups`). For the estimate of each of
these photographs, every way in which one broken link would split the group in two, A and B, is a mixture component.
With q the chance that every relation between the two sides is wrong, the odds are

    Z_AB   to   q / (1 - q) * Z_A * Z_B      for each split,        Z = the evidence (mean likelihood over R days).

So photographs that agree support their relation and those that differ count against it. Each side is worked out by
itself: it uses births as the tree and the family give them, and no orders.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from math import prod

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.groups import SHARE_EXPOSURE, Groups, adjacency, group_of, reached
from kinphoto.reason.soft.summary import Posterior

MOST = 24
"""Photographs of a group up to which its relations are doubted: the work grows with their square."""
NEGLIGIBLE = 1e-4
"""A case less likely than this is left out."""


@dataclass(frozen=True, slots=True)
class Split:
    """A split of a group: its two sides, and the probability that all relations between them are wrong."""

    sides: tuple[tuple[str, ...], tuple[str, ...]]
    wrong: float


def splits(members: Collection[str], relations: Collection[ev.Relation]) -> Iterator[Split]:
    """The splits of photographs joined by these relations when one link is removed.

    Of relations that close a ring the least trusted are no links.
    """
    links = _links(members, sorted(relations, key=lambda r: ev.CHANCE_WRONG[r.trust]))
    for link in links:
        side = reached([link.photograph], adjacency((r.photograph, r.other) for r in links if r is not link))
        between = [r for r in relations if (r.photograph in side) is not (r.other in side)]
        others = tuple(m for m in members if m not in side)
        yield Split((tuple(m for m in members if m in side), others), prod(ev.CHANCE_WRONG[r.trust] for r in between))


def _links(members: Collection[str], relations: Collection[ev.Relation]) -> list[ev.Relation]:
    """Relations, of the first of the given ones, that hold all members together without a ring (Kruskal)."""
    part = {m: m for m in members}
    links = []
    for r in relations:
        one, other = part[r.photograph], part[r.other]
        if one != other:
            links.append(r)
            part = {m: one if p == other else p for m, p in part.items()}
    return links


@dataclass(frozen=True)
class UncertainGroups:
    """The groups whose relations may be wrong: for each (a row of `Groups`) its splits and its first row of `sides`.

    `sides` holds for every such group the whole of it, and then both sides of every split.
    """

    splits: dict[int, tuple[Split, ...]]
    first: dict[int, int]
    sides: Groups


def uncertain_groups(groups: Groups, lives: Lives) -> UncertainGroups:
    """All groups whose relations may be wrong."""
    relations = _by_group(groups, lives.known)
    found: dict[int, tuple[Split, ...]] = {}
    first: dict[int, int] = {}
    rows: list[tuple[str, ...]] = []
    for row, between in relations.items():
        members = groups.members[row]
        if len(members) <= MOST:
            found[row], first[row] = tuple(splits(members, between)), len(rows)
            rows += [members, *(side for split in found[row] for side in split.sides)]
    return UncertainGroups(found, first, group_of(rows, lives))


def _by_group(groups: Groups, known: Lookup) -> dict[int, list[ev.Relation]]:
    found: dict[int, list[ev.Relation]] = defaultdict(list)
    for r in known.relations:
        if r.related in SHARE_EXPOSURE and r.photograph in groups.of and r.other in groups.of:
            found[groups.of[r.photograph]].append(r)
    return found


def cases(splits: Collection[Split], log_evidence: Array) -> Array:
    """The probability of the whole group, and of each split. `log_evidence` is log Z of the whole, then of both sides
    of every split."""
    odds = [log_evidence[0]]
    odds += [
        np.log(split.wrong / (1 - split.wrong)) + log_evidence[1 + 2 * i] + log_evidence[2 + 2 * i]
        for i, split in enumerate(splits)
    ]
    weight = np.exp(np.array(odds) - max(odds))
    return np.asarray(weight / weight.sum())


def mixed(parts: Collection[tuple[float, Posterior]]) -> Posterior:
    """The mean of some posteriors with these weights, on the cells of all of them."""
    kept = [(weight, one) for weight, one in parts if weight > NEGLIGIBLE]
    if len(kept) == 1:
        return kept[0][1]
    edges = np.unique(np.concatenate([one.edges for _, one in kept]))
    whole = sum(weight for weight, _ in kept)
    rising = sum(weight / whole * np.interp(edges, one.edges, one.rising) for weight, one in kept)
    return Posterior(edges, np.diff(rising))

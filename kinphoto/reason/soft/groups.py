"""Photographs that share one exposure, as the rows on which everything else is worked out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.span import Span
from kinphoto.reason.soft.births import Lives

_T = TypeVar("_T")

SHARE_EXPOSURE = (ev.Related.COPY_OF, ev.Related.SAME_NEGATIVE, ev.Related.SAME_OCCASION)


@dataclass(frozen=True)
class Groups:
    """Group i are the photographs `members[i]`, taken from `first[i]` to `last[i]` (points on the line of days)."""

    members: list[tuple[str, ...]]
    first: Array
    last: Array

    @cached_property
    def of(self) -> dict[str, int]:
        """The group of each photograph."""
        return {p: i for i, members in enumerate(self.members) for p in members}


def group_up(lives: Lives) -> Groups:
    """All photographs that have a date (pages have none), in the order of the first of each group."""
    known = lives.known
    return group_of(together([p.id for p in known.photographs.values() if not p.page], known), lives)


def group_of(members: list[tuple[str, ...]], lives: Lives, possible: Mapping[str, Span] | None = None) -> Groups:
    """These photographs as groups; `possible` are other bounds than the hard ones."""
    known = lives.known
    bounds = lives.bounds if possible is None else replace(lives.bounds, exposure=possible)
    ends = np.empty((len(members), 2))
    for i, photographs in enumerate(members):
        spans = [bounds.of_exposure(p, known) for p in photographs]
        first, last = max(s.first or 0 for s in spans), min(s.last or 0 for s in spans)
        ends[i] = min(first, last), max(first, last) + 1  # one occasion can take two days
    return Groups(members, ends[:, 0], ends[:, 1])


def together(photographs: list[str], known: Lookup) -> list[tuple[str, ...]]:
    """Photographs that share an exposure, by the relations between them."""
    present, found = set(photographs), dict[str, tuple[str, ...]]()
    shared = (r for r in known.relations if r.related in SHARE_EXPOSURE)
    near = adjacency((r.photograph, r.other) for r in shared if present.issuperset((r.photograph, r.other)))
    for photograph in photographs:
        if photograph not in found:
            members = tuple(reached([photograph], near))
            found |= dict.fromkeys(members, members)
    return list(dict.fromkeys(found.values()))


def adjacency(links: Iterable[tuple[_T, _T]]) -> dict[_T, list[_T]]:
    """The neighbours of each node of an undirected graph."""
    near: dict[_T, list[_T]] = defaultdict(list)
    for one, other in links:
        near[one].append(other)
        near[other].append(one)
    return near


def reached(start: Iterable[_T], near: Mapping[_T, Iterable[_T]]) -> list[_T]:
    """Every node that is connected with one of the start."""
    found = dict.fromkeys(start)
    edge = list(found)
    while edge:
        for other in near.get(edge.pop(), ()):
            if other not in found:
                found[other] = None
                edge.append(other)
    return list(found)

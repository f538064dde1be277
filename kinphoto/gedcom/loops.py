"""Loops of ancestry: people who are their own ancestors by the links between parents and children."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable


def find_loops(links: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Loops among (child, parent) links, each as its ids from child to parent; no two share a person. Empty exactly
    when nobody is their own ancestor."""
    parents: dict[int, list[int]] = defaultdict(list)
    children: dict[int, list[int]] = defaultdict(list)
    for child, parent in links:
        parents[child].append(parent)
        children[parent].append(child)
    inside = _on_or_below_loops(_on_or_below_loops(set(parents) | set(children), parents, children), children, parents)
    found = []
    while inside:
        loop = _walk(min(inside), parents, inside)
        found.append(loop)
        inside = _on_or_below_loops(_on_or_below_loops(inside.difference(loop), parents, children), children, parents)
    return found


def _on_or_below_loops(inside: set[int], up: dict[int, list[int]], down: dict[int, list[int]]) -> set[int]:
    """Repeatedly without everybody who has nobody left above them."""
    waiting = {one: sum(other in inside for other in up.get(one, ())) for one in inside}
    edge = [one for one, count in waiting.items() if count == 0]
    while edge:
        one = edge.pop()
        del waiting[one]
        for below in down.get(one, ()):
            if below in waiting:
                waiting[below] -= 1
                if waiting[below] == 0:
                    edge.append(below)
    return set(waiting)


def _walk(start: int, parents: dict[int, list[int]], inside: set[int]) -> list[int]:
    """From somebody up through the parents until somebody is met again."""
    way, at = [start], {start: 0}
    while True:
        following = next(parent for parent in parents[way[-1]] if parent in inside)
        if following in at:
            return way[at[following] :]
        at[following] = len(way)
        way.append(following)

"""Names and numbers for collections drawn by `collections_drawn`: of what is scanned into one folder, and on backs.

**Themes.** Somebody scanned three to six albums, tins and the like into each folder, and named what came from one of
them alike, mostly: of one in eight the name is that of the one before. What lies in a folder lies in the order of its
names. Or the names are **topics**: every photograph has one of four, whatever it came from.

**Numbers.** Most photographs of a container have a number: from an album in which they were once, **in time**, with the
slips of an album; **as they lie**, since they were numbered when they were scanned, a third of the containers from
behind or in handfuls; or **at random**, as those of a shop are.

All chances are invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from collections_drawn import MOVED, SWAPPED, Collection

from kinphoto.reason.model.subjects import Container, Number

Array = np.ndarray
NAMED_ALIKE, TOPICS, HAS_NUMBER = 1 / 8, 4, 0.85
"""Chance of two containers with one name; topics; chance that a photograph has a number where some have one."""


def in_folders(dice: np.random.Generator, drawn: Collection, *, topics: bool = False) -> Collection:
    """The collection scanned into folders and named."""
    boxes = list(dict.fromkeys(path[0] for path in drawn.paths))
    folder, theme = dict[str, str](), dict[str, str]()
    left = 0
    for k, box in enumerate(boxes):
        if not left:
            left = int(dice.integers(3, 7))
            at = f"folder {k}"
        left -= 1
        folder[box] = at
        alike = k > 0 and folder[boxes[k - 1]] == at and dice.random() < NAMED_ALIKE
        theme[box] = theme[boxes[k - 1]] if alike else f"theme {k}"
    names = [theme[path[0]] for path in drawn.paths]
    if topics:
        names = [f"topic {int(n)}" for n in dice.integers(TOPICS, size=len(names))]
    where = [folder[path[0]] for path in drawn.paths]
    order = sorted(range(len(names)), key=lambda i: (where[i], names[i], i))
    place = np.empty(len(names), dtype=np.int64)
    place[order] = np.arange(len(names))
    photographs = tuple(
        replace(p, container=at, position=int(k), theme=name)
        for p, at, k, name in zip(drawn.evidence.photographs, where, place, names, strict=True)
    )
    containers = tuple(Container(at) for at in dict.fromkeys(where))
    return replace(drawn, evidence=replace(drawn.evidence, photographs=photographs, containers=containers))


def without_themes(drawn: Collection) -> Collection:
    """The same folders, in which names say nothing."""
    photographs = tuple(replace(p, theme="") for p in drawn.evidence.photographs)
    return replace(drawn, evidence=replace(drawn.evidence, photographs=photographs))


def numbered(dice: np.random.Generator, drawn: Collection, way: str) -> Collection:
    """The collection with numbers: "in time", "as they lie" or "at random"."""
    number: dict[int, int] = {}
    for box in dict.fromkeys(drawn.paths):
        here = np.array([i for i, path in enumerate(drawn.paths) if path == box])
        for k, i in enumerate(_order(dice, here, drawn.days[here], way)):
            number[i] = k
    has = dice.random(len(drawn.paths)) < HAS_NUMBER
    photographs = tuple(
        replace(p, number=Number("back", number[i] + 1) if has[i] else None)
        for i, p in enumerate(drawn.evidence.photographs)
    )
    return replace(drawn, evidence=replace(drawn.evidence, photographs=photographs))


def _order(dice: np.random.Generator, here: Array, days: Array, way: str) -> Iterator[int]:
    """These photographs (as they lie) as they are numbered."""
    found = here.tolist()
    if way == "at random":
        found = dice.permutation(here).tolist()
    elif way == "as they lie":
        how = dice.random()
        if how < 1 / 6:
            found = found[::-1]
        elif how < 1 / 3:
            hands = np.array_split(here, len(here) // 10 + 1)
            found = np.concatenate([hands[k] for k in dice.permutation(len(hands))]).tolist()
    else:
        found = here[np.argsort(days)].tolist()
        for k in np.flatnonzero(dice.random(len(found) - 1) < SWAPPED).tolist():
            found[k], found[k + 1] = found[k + 1], found[k]
        for k in np.flatnonzero(dice.random(len(found)) < MOVED).tolist():
            found.insert(int(dice.integers(len(found))), found.pop(k))
    yield from found

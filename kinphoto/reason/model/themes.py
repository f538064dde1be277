"""Themes of numbered names: scans of one container that are named alike ("harbour 0012") were named for what they have
in common, mostly where the prints came from. So a theme is a container within its container (`model/containers`), with
a density of its own in that.

Names are given when things are scanned, and files are added in the order of their names: photographs of one theme then
follow each other. Where themes are mixed, somebody has arranged the photographs since, and their order carries more
information than their names: there themes are nothing of their own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.subjects import Container, Photograph, Theme

TOGETHER = 0.1
"""Each theme counts as one stretch where at most this share of a container's photographs begins another stretch of a
theme that had one before (*ours*)."""
FEWEST = 2
"""Photographs of a theme that make a container of it."""


def box_of(container: str | Theme) -> str:
    """The container (id) that somebody made: itself, or the one in which a theme is."""
    return container.box if isinstance(container, Theme) else container


def theme_of(container: str | Theme | None) -> str:
    """The theme that a container (id) is of; empty for one that somebody made."""
    return container.name if isinstance(container, Theme) else ""


def with_themes(evidence: ev.Evidence) -> ev.Evidence:
    """The same, with the photographs of a theme in a container of their own. What was said of the order in a container
    is said of its themes."""
    boxes = {c.id: c for c in evidence.containers}
    lies: dict[str, list[Photograph]] = defaultdict(list)
    for photograph in evidence.photographs:
        box = photograph.container
        if isinstance(box, str) and box in boxes and not photograph.page:
            lies[box].append(photograph)
    moved: dict[str, Theme] = {}
    for box, there in lies.items():
        for theme in _one_behind_the_other(there):
            moved |= {p.id: Theme(box, theme) for p in there if p.theme == theme}
    if not moved:
        return evidence
    photographs = tuple(replace(p, container=moved.get(p.id, p.container)) for p in evidence.photographs)
    themes = (Container(one, one.box, boxes[one.box].arrangement) for one in dict.fromkeys(moved.values()))
    return replace(evidence, photographs=photographs, containers=(*evidence.containers, *themes))


def _one_behind_the_other(there: Sequence[Photograph]) -> list[str]:
    """The themes that are containers of their own."""
    often = Counter(p.theme for p in there)
    if len(often) < 2:
        return []
    stretches = 1 + sum(a.theme != b.theme for a, b in pairwise(sorted(there, key=lambda p: p.position)))
    if stretches - len(often) > TOGETHER * len(there):
        return []
    return [theme for theme, many in often.items() if theme and many >= FEWEST]

"""Which photographs are dated: something of their own bears on when they were taken, or a relation to one that is.

A claim, a process or format, an event about whose day something is known, or the appearance of somebody whose life is
bounded. Otherwise a photograph is *open*: the laws alone bound it, and no likely range is given.
"""

from __future__ import annotations

import numpy as np

from kinphoto.reason.model.arrays import Ints
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.prior import event_day
from kinphoto.reason.model.rivals import undisputed
from kinphoto.reason.model.span import Span
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.groups import Groups, adjacency, reached


def find_dated_groups(groups: Groups, lives: Lives) -> Ints:
    """The groups that are dated: something of their own bears on them, or relates them to one that is."""
    known = lives.known
    links = ((r.photograph, r.other) for r in known.relations)
    stated = known.claims.keys() | known.made.keys() | known.shown.keys() | known.by_event.keys()
    own = [p for p in stated if _has_own_date(p, lives)]
    bounded: dict[str, bool] = {}
    for photograph, seen in known.seen.items():
        for a in undisputed(seen):
            if a.person not in bounded:
                bounded[a.person or ""] = _life_bounds(a.person or "", lives)
            if bounded[a.person or ""]:
                own.append(photograph)
                break
    dated = reached([p for p in own if p in groups.of], adjacency(links))
    return np.unique(np.array([groups.of[p] for p in dated if p in groups.of], dtype=np.int64))


def _has_own_date(photograph: str, lives: Lives) -> bool:
    """Whether a claim, a process, a format or an event bears on it."""
    known = lives.known
    if known.made.get(photograph) or any(_is_bounded(c.date.span) for c in known.claims.get(photograph, ())):
        return True
    keys = (s.event for by in (known.shown, known.by_event) for s in by.get(photograph, ()))
    return any(event_day(key, known, lives.bounds.of_event(key, known)) is not None for key in keys)


def _is_bounded(span: Span) -> bool:
    return span.first is not None or span.last is not None


def _life_bounds(person: str, lives: Lives) -> bool:
    """Whether what is known about somebody's life limits when they can have been photographed."""
    known, bounds = lives.known, lives.bounds
    born, died = bounds.of_birth(person, known), bounds.of_death(person, known)
    return (born.first or 0) > FIRST_PHOTOGRAPH or (died.last or 0) < known.last_indexed or lives.is_informative(person)

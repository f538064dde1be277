"""Photographs that hardly belong in their container.

With l(y) the likelihood of a photograph, S(y) the density of its container without itself, and
r(y) the archive's rate, the chance that it is one of the few that do not belong there is

    P = STRAY <l, r> / (STRAY <l, r> + (1 - STRAY) <l, S>).

Nothing is impossible about it: it may have been moved, or its date may be wrong, or it is there for a reason. So only
those are named whose P is above `REPORTED`, and whose own range is `APART` years and more from that of the others.
Where the others are of more than `BROAD` years, or little is known of them, nobody is accused; nor, where they are of
more than `NARROW` years, if more would be named than the few strays that a container has: then it is of all times, with
most of it in some years, and the bell that its density is taken for does not hold it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import QUARTER_YEAR, STRAY
from kinphoto.reason.soft.summary import Posterior, shortest

REPORTED = 0.25
"""A photograph is named when the chance that it does not belong in its container is above this: five times what it was
beforehand (*ours*)."""
APART = 3.0
"""Years between its own range and that of the others from which a photograph is accused (*ours*): what was taken two
years later may have been put into the album of a summer."""
BROAD = 30.0
"""Years of the others' range above which nobody is accused (*ours*): photographs of more than a generation were hardly
put together because of their time, and the few old ones in a trunk of everything are no strays."""
NARROW, FEW = 10.0, 5
"""Years of the others' range up to which any number may be named in a container; and how many where it is longer, or if
that is more, `STRAY` of what is in it (*ours*)."""


@dataclass(frozen=True)
class Stray:
    """A photograph (its `place` among the rows) that hardly belongs in a container or on a strip (by number): the
    chance of that, and the ranges that hold 90 % of its own likelihood and of the density there, in quarter-years."""

    place: int
    container: int
    probability: float
    own: tuple[float, float]
    others: tuple[float, float]

    def later(self, quarters: int, place: int) -> Stray:
        """The same, with quarter-years counted from `quarters` earlier on, and another place."""
        own, others = ((start + quarters, end + quarters) for start, end in (self.own, self.others))
        return replace(self, place=place, own=own, others=others)


def strays(places: Ints, of: Ints, likelihood: Array, inside: Array, rates: Array) -> list[Stray]:
    """Those among some photographs (a row each); `of` are their containers, 0 of those in none."""
    here = (1 - STRAY) * np.einsum("ij,ij->i", likelihood, inside)
    elsewhere = STRAY * np.einsum("ij,ij->i", likelihood, rates[of])
    return surprising(places, of, elsewhere / (here + elsewhere) * (of != 0), likelihood, inside)


def surprising(places: Ints, of: Ints, chance: Array, own: Array, others: Array) -> list[Stray]:
    """Those with this chance that they do not belong, and that by themselves are of another time than the others."""
    found = []
    for i in np.flatnonzero(chance > REPORTED).tolist():
        mine, theirs = _range(own[i]), _range(others[i])
        between = max(theirs[0] - mine[1], mine[0] - theirs[1])
        if between >= APART / QUARTER_YEAR and theirs[1] - theirs[0] <= BROAD / QUARTER_YEAR:
            found.append(Stray(int(places[i]), int(of[i]), float(chance[i]), mine, theirs))
    return found


def of_one_time(found: Iterable[Stray], many: Ints) -> tuple[Stray, ...]:
    """Those in containers of one time; in others at most as many as may be strays, with `many` photographs in each."""
    named = list(found)
    often = Counter(one.container for one in named)
    return tuple(
        one for one in named
        if one.others[1] - one.others[0] <= NARROW / QUARTER_YEAR
        or often[one.container] <= max(FEW, STRAY * many[one.container])
    )  # fmt: skip


def _range(density: Array) -> tuple[float, float]:
    return shortest(Posterior(np.arange(len(density) + 1.0), density.astype(float)))

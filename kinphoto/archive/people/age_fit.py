"""How well people fit into a photograph by their lives alone: for many at once, while somebody is typing a name.

For one person, born at some time between two days and photographed at some time between two others, all times alike,
the chance that they were alive then and that somebody gives them the age that was given is the mean of

    l(t - b) = P(judgement | age t - b) . alive(t)

over both. With H the second integral of l that mean is four look-ups, whatever l is:

    (H(t1 - b0) - H(t1 - b1) - H(t0 - b0) + H(t0 - b1)) / ((t1 - t0)(b1 - b0)).

l is that of `reason.perception`, and of `reason.survival` where no death is known; a known death ends the time when the
person can have been photographed. It is coarse on purpose (flat births, flat exposures): it puts people in order, and
dates nobody.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.survival import survival

_STEP = 0.25
"""Years between two ages of the tables; days are rounded to as much, which no eye can tell apart."""
_AGES = np.arange(0.0, 450.0, _STEP) + _STEP / 2
"""The middle of each step in years; beyond a life, because the differences of days may be."""
_NARROWEST = 2
"""Steps to which shorter spans are widened, so that the tables need not be finer."""
UNKNOWN = 0.5
"""The weight of somebody of whose birth nothing is known, where one who certainly lived then has 1."""


@dataclass(frozen=True, slots=True)
class Lifetimes:
    """Days, one each per person, in arrays: `born` to `born_last` is when the birth is looked for (NaN where nothing is
    known of it), `not_before` the first on which it is possible (-inf when open), `died` the last of the life (inf when
    open)."""

    born: Array
    born_last: Array
    not_before: Array
    died: Array

    def possible(self, earliest: float, latest: float) -> Array:
        """Whether each can have been alive between these days."""
        return np.asarray((self.not_before <= latest) & (self.died >= earliest))

    def of(self, some: Array) -> Lifetimes:
        """The same for some of the people (places, or a mask)."""
        return Lifetimes(self.born[some], self.born_last[some], self.not_before[some], self.died[some])


def fit(lives: Lifetimes, first: float, last: float, age: tuple[float, float] | None = None) -> Array:
    """How much better or worse each fits than somebody about whom nothing is known, as a factor (0 to about 20).

    `first` to `last` are the days between which the photograph was taken, `age` the completed years somebody judged.
    """
    alone = _likelihood(age)
    factor = np.where(np.isnan(lives.born) & (lives.died >= first), UNKNOWN, 0.0)
    there = (lives.born <= last) & (lives.died >= first)  # the others need no look into the tables
    for ends, likelihood in ((np.isfinite, alone), (np.isinf, alone * survival(_AGES))):
        some = np.flatnonzero(there & ends(lives.died))
        factor[some] = _mean(likelihood, lives.of(some), first, last) / alone[_AGES < perception.ORDINARY].mean()
    return factor


def _likelihood(age: tuple[float, float] | None) -> Array:
    """P(judgement | age) at each of the ages; without a judgement 1."""
    if age is None:
        return np.ones_like(_AGES)
    return perception.judged_mean(perception.judgement(*age), _AGES)


def _mean(likelihood: Array, lives: Lifetimes, first: float, last: float) -> Array:
    """The mean of the likelihood over births and exposures, up to the death."""
    table = _twice_integrated(likelihood)
    start, end = int(_steps(first)), int(_steps(last + 1))
    end = max(end, start + _NARROWEST)
    born = _steps(lives.born)
    late = np.maximum(_steps(lives.born_last), born + _NARROWEST)
    until = _steps(np.clip(lives.died, first, last + 1)).clip(start, end)
    corners = (until - born, 1), (until - late, -1), (start - born, -1), (start - late, 1)
    area = sum(sign * table[np.clip(ages, 0, len(table) - 1)] for ages, sign in corners)
    return np.asarray(np.maximum(area, 0.0) / ((end - start) * (late - born)))


def _steps(days: Array | float) -> Array:
    """Days as whole steps of the tables."""
    return np.rint(np.asarray(days) / (DAYS_PER_YEAR * _STEP)).astype(np.int64)


def _twice_integrated(likelihood: Array) -> Array:
    """H at every step, in steps squared: the likelihood of a step holds until the next."""
    once = np.concatenate([[0.0], np.cumsum(likelihood)])
    return np.concatenate([[0.0], np.cumsum((once[1:] + once[:-1]) / 2)])

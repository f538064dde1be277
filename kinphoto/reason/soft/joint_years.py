"""Births and exposures together, in whole years: coarse, and for many at a time (for `question`).

An *edge* is somebody's appearance in a photograph. With x the year of the exposure and b that of the birth,

    P(b | x) ~ cavity(b) f(x, b),        f(x, b) = age(x - b) alive(x | b),        P(x, b) = P(x) P(b | x),

where P(x) is the posterior of the exposure and cavity(b) the prior of the birth times the messages of the person's
other photographs,

    sum over x of P(x) f(x, b) / m(x),        m(x) = sum over b of cavity(b) f(x, b).

Two rounds are near enough. Any day of a year is as likely as another, so an age is spread as a triangle over a year
either way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.density import mixture
from kinphoto.reason.model.limits import LONGEST_LIFE
from kinphoto.reason.model.perception import Judgements, StatedAges
from kinphoto.reason.model.prior import Birth, Death
from kinphoto.reason.soft.kernels import triangular_weights
from kinphoto.reason.soft.summary import Posterior
from kinphoto.reason.soft.uncertain_faces import by_judge, judgements, stated_of

FIRST, LAST = 1700, 2060
"""The first and last year of the tables."""
EDGES: Array = np.array([date(year, 1, 1).toordinal() for year in range(FIRST, LAST + 2)], dtype=np.float64)
MIDDLES: Array = (EDGES[1:] + EDGES[:-1]) / 2
NARROW = 1e-4
"""Probability that may be left out at either end of a table."""
ROUNDS = 2
"""Rounds of messages over the tables."""
_SHIFTS, _SHIFT_WEIGHTS = triangular_weights(12)
AGES: Array = np.arange(LONGEST_LIFE + 1)[:, None] + _SHIFTS
"""The ages that each difference of years can mean, and how often each is meant."""


@dataclass(frozen=True)
class YearChances:
    """A distribution over consecutive years: the probability of each, from the year numbered `first` in the tables."""

    first: int
    chance: Array

    @property
    def at(self) -> Array:
        """The numbers of the years."""
        return np.arange(self.first, self.first + len(self.chance))

    @property
    def days(self) -> Array:
        """The middles of the years."""
        return MIDDLES[self.at]


def of_posterior(found: Posterior) -> YearChances:
    """A posterior in years."""
    return _trimmed(np.diff(np.interp(EDGES, found.edges, found.rising)))


def flat(first: int, last: int) -> YearChances:
    """All days from one to another alike, in years."""
    return _trimmed(np.diff(np.interp(EDGES, [first, last + 1.0], [0.0, 1.0])))


def of_birth(found: Birth) -> YearChances:
    """A birth in years."""
    year = np.clip(np.searchsorted(EDGES, found.days, side="right") - 1, 0, len(MIDDLES) - 1)
    return _trimmed(np.bincount(year, found.weight, minlength=len(MIDDLES)))


def in_order(exposures: Sequence[YearChances]) -> tuple[Array, Array]:
    """All exposures on the same years, and the chance of each to be later than each of them (of one, half)."""
    first = min((e.first for e in exposures), default=0)
    last = max((e.first + len(e.chance) for e in exposures), default=1)
    chance = np.zeros((len(exposures), last - first))
    for row, e in zip(chance, exposures, strict=True):
        row[e.first - first : e.first - first + len(e.chance)] = e.chance
    return chance, np.clip(1 - np.cumsum(chance, axis=1) + chance / 2, 0.0, 1.0)


def _trimmed(chance: Array) -> YearChances:
    """Without the years that hold hardly anything."""
    total = chance.sum()
    rising = np.cumsum(chance) / total if total > 0 else np.linspace(0, 1, len(chance))
    first = int(np.searchsorted(rising, NARROW))
    last = int(np.searchsorted(rising, 1 - NARROW))
    kept = chance[first : last + 1]
    return YearChances(first, kept / kept.sum() if total > 0 else np.full(len(kept), 1 / len(kept)))


def over_ages(value: Array) -> Array:
    """The mean over the ages that each difference of years can mean; `value` is (..., differences, ages)."""
    return np.asarray(value @ _SHIFT_WEIGHTS)


@cache
def _age_likelihood(judged: Judgements, stated: StatedAges) -> Array:
    """The likelihood of the ages so far at each difference of years (none judged: that they had been born)."""
    return over_ages(perception.age_likelihood(judged, stated, AGES))


def at_difference(table: Array, exposure: Array, birth: Array) -> Array:
    """Rows of a table by the difference of years: (exposures, births, ...); 0 for an exposure before the birth."""
    years = exposure[:, None] - birth[None, :]
    found = table[np.clip(years, 0, LONGEST_LIFE)]
    outside = (years < 0) | (years > LONGEST_LIFE)
    return np.where(outside.reshape(outside.shape + (1,) * (table.ndim - 1)), 0.0, found)


@dataclass(frozen=True)
class Edge:
    """Somebody in a photograph: the number of the photograph, its exposure, and what is known of the age there."""

    photograph: int
    exposure: YearChances
    judged: Judgements
    stated: StatedAges

    @classmethod
    def of(cls, photograph: int, exposure: YearChances, ages: Sequence[ev.Age]) -> Edge:
        """An edge with these ages."""
        return cls(photograph, exposure, tuple(by_judge(judgements(ages)).values()), stated_of(ages))

    def factor(self, birth: YearChances, death: Death) -> Array:
        """f: (exposures, births)."""
        seen = at_difference(_age_likelihood(self.judged, self.stated), self.exposure.at, birth.at)
        return np.asarray(seen * alive(self.exposure.days, birth.days, death))


def alive(days: Array, births: Array, death: Death) -> Array:
    """P(D >= day | b): (days, births)."""
    return mixture(1 - death.chance, death.recorded(days)[:, None], death.unrecorded(days[:, None], births[None, :]))


@dataclass(frozen=True)
class BirthFactor:
    """One person with all their edges: P(b | x) for each."""

    birth: YearChances
    death: Death
    edges: tuple[Edge, ...]
    conditionals: tuple[Array, ...]

    @property
    def vague(self) -> bool:
        """Whether the birth joins this person's photographs."""
        return len(self.birth.chance) > 2


def birth_factor(birth: YearChances, death: Death, edges: Sequence[Edge]) -> BirthFactor:
    """Somebody's birth beside each of their exposures."""
    factors = [edge.factor(birth, death) for edge in edges]
    cavities = [birth.chance] * len(edges)
    if len(birth.chance) > 2 and len(edges) > 1:
        for _ in range(ROUNDS):
            messages = [_message(e.exposure.chance, f, c) for e, f, c in zip(edges, factors, cavities, strict=True)]
            total = np.log(np.maximum(birth.chance, SMALLEST)) + sum(messages)
            cavities = [_normal(total - one) for one in messages]
    conditionals = tuple(_conditional(c[None, :] * f) for c, f in zip(cavities, factors, strict=True))
    return BirthFactor(birth, death, tuple(edges), conditionals)


def _message(exposure: Array, factor: Array, cavity: Array) -> Array:
    """The logarithm of the message from one exposure to the birth."""
    below = factor @ cavity
    cavity_of_exposure = np.divide(exposure, below, out=np.zeros_like(exposure), where=below > 0)
    return np.asarray(np.log(np.maximum(cavity_of_exposure @ factor, SMALLEST)))


def _normal(log: Array) -> Array:
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())


def _conditional(joint: Array) -> Array:
    """Each row divided by its sum; rows of nothing become flat."""
    total = joint.sum(axis=1, keepdims=True)
    return np.where(total > 0, joint / np.where(total > 0, total, 1.0), 1 / joint.shape[1])

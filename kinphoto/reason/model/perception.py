"""How people judge an age from a picture: the likelihood of a judgement, given the true age.

A judged age is normal on the scale

    g(a) = ln(a + 2)                  up to 51 years,
    g(a) = ln 53 + (a - 51) / 53      from there on (the tangent),

with standard deviation tau = 0.17. As a year is worth 1/(a + 2) of that scale, this is 4 months for a newborn, 2 years
at 10, 5.4 at 30 and 9 from 51 on: children are judged far more closely than adults. Its root mean square over adult
faces agrees with the published overall error of about 8 years (Clifford, Watson and White 2018, Royal Society Open
Science 5, doi 10.1098/rsos.180841). No published table by age band was found, so tau is a judgement of this project.

Somebody who says "6 to 8" names an interval of completed years, 6 <= age < 9. The likelihood is interval-censored:

    N(a; b, k) = Phi((g(a2 + 1) - g(a) - b) / (k tau)) - Phi((g(a1) - g(a) - b) / (k tau)),

with no lower limit when a1 = 0. An informant sees everybody older or younger by a bias b ~ N(0, 0.08^2), and more or
less exactly by a factor k with ln k ~ N(0, 0.3^2). Neither is known, so both are integrated out by Gauss-Hermite
quadrature (Abramowitz and Stegun 25.4.46): five points for b, three for ln k. The faces that one informant judged in
one photograph share the points; a point estimate in their place would be too sure of itself. Against a fine grid the
posterior of a photograph with three such faces is off by 0.4 % in the mean (total variation), with twelve by 5 %.

One judgement in twenty has nothing to do with the age (a slip, the wrong face) and is flat over 0 to 100.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from math import inf, isfinite, log

import numpy as np
from scipy.special import ndtr

from kinphoto.reason.model.arrays import Array

TAU = 0.17
"""Standard deviation of a judged age on the scale g (a judgement of the project)."""
CARELESS = 0.05
"""Chance that a judged age has nothing to do with the true one (a judgement of the project)."""
OLDEST = 100.0
"""A careless age is flat from 0 to this."""
BEND = 51.0
"""From this age on the scale is a straight line."""
BIAS_SD, SPREAD_SD = 0.08, 0.3
"""Standard deviations of an informant's bias b and of ln k (judgements of the project)."""

_B, _B_WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
_K, _K_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_W = np.outer(_B_WEIGHTS, _K_WEIGHTS).ravel() / (_B_WEIGHTS.sum() * _K_WEIGHTS.sum())
POINTS = len(_W)


@dataclass(frozen=True, eq=False)
class Points:
    """Fifteen points over bias b and factor k of one informant, and what each weighs (adding up to 1).

    Each stands for itself (`eq`), so that tables made for it can be kept and found again."""

    bias: Array
    factor: Array
    weights: Array


@lru_cache(maxsize=1000)
def points(bias: float = 0.0, bias_sd: float = BIAS_SD, log_factor: float = 0.0, log_sd: float = SPREAD_SD) -> Points:
    """The points for b and ln k that are normal with these means and standard deviations, independently."""
    return Points(bias + np.repeat(bias_sd * _B, 3), np.tile(np.exp(log_factor + log_sd * _K), 5), _W)


ANYBODY = points()
"""The points of somebody of whom nothing is known."""
BIAS, SPREAD, WEIGHTS = ANYBODY.bias, ANYBODY.factor, ANYBODY.weights

NEARLY = 0.1
"""Share of stated ages that are a year off, as "in her seventh year" is (a judgement of the project)."""


def scale(age: Array | float) -> Array:
    """g(a): the scale on which every age is judged equally well. Years below 0 count as 0."""
    years = np.maximum(np.asarray(age, dtype=np.float64), 0.0)
    return np.where(years <= BEND, np.log(np.minimum(years, BEND) + 2), log(BEND + 2) + (years - BEND) / (BEND + 2))


def after(high: Array | float) -> Array:
    """The age at which `high` completed years are over: 8 lasts until 9; 0.5, told in months, lasts one month."""
    return np.asarray(high + np.where(np.equal(high, np.floor(high)), 1.0, 1 / 12))


@dataclass(frozen=True, slots=True)
class Judgement:
    """An interval on the scale g (`low` may be -inf), the likelihood of it when the judge was `careless`, and the
    chance `doubt` of that."""

    low: float
    high: float
    careless: float
    doubt: float


@cache
def judgement(low: float, high: float, doubt: float = CARELESS) -> Judgement:
    """`low` to `high` completed years, judged by eye; `doubt` is never less than CARELESS."""
    years = max(min(float(after(high)), OLDEST) - min(low, OLDEST), 1 / 12)
    start = float(scale(low)) if low > 0 else -inf
    return Judgement(start, float(scale(after(high))), years / OLDEST, max(doubt, CARELESS))


def pooled(judgements: Sequence[Judgement]) -> Judgement:
    """Several judgements of one person in one picture: their mean centre, with the variance of one.

    They look at the same face, in the same light and the same hat, so their errors are mostly shared.
    """
    if len(judgements) == 1:
        return judgements[0]
    open_below = all(not isfinite(j.low) for j in judgements)
    starts = [j.low if isfinite(j.low) else float(scale(0.0)) for j in judgements]
    return Judgement(
        -inf if open_below else float(np.mean(starts)),
        float(np.mean([j.high for j in judgements])),
        float(np.mean([j.careless for j in judgements])),
        min(j.doubt for j in judgements),
    )


def careful(judged: Judgement, age: Array) -> Array:
    """N(a; b, k) at each of the points of anybody: shape (15, *age.shape); 0 below age 0."""
    chance = under(judged.high, age, ANYBODY)
    if isfinite(judged.low):
        chance = chance - under(judged.low, age, ANYBODY)
    return np.where(age[None] >= 0, np.moveaxis(chance, -1, 0), 0.0)


def under(edge: float, age: Array, informant: Points) -> Array:
    """The chance that somebody of this age is judged younger than `edge` (on the scale), by a careful judge, at each of
    the informant's points: shape (*age.shape, 15)."""
    return np.asarray(ndtr((edge - scale(age)[..., None] - informant.bias) / (informant.factor * TAU)))


def stated_age(
    low: Array | float,
    high: Array | float,
    age: Array,
    width: Array | float = 0.0,
    *,
    exact: Array | bool,
    doubt: Array | float,
) -> Array:
    """The likelihood of an age that was known or told, shape as `age` (with which all others broadcast); 0 below age 0.

    1 - `doubt` of it is flat on `low` to `high` completed years, of which a tenth is spread over a year more either
    way unless `exact`; `doubt` is flat over 0 to 100. For a birth that is known to within `width` years, the mean.
    """
    end = after(high)
    first, last = np.maximum(np.subtract(low, 1.0), 0.0), end + 1
    near = np.where(exact, 0.0, NEARLY)
    right = (1 - near) * within(age, low, end, width) / (end - low)
    right = right + near * within(age, first, last, width) / (last - first)
    return np.asarray((1 - doubt) * right + doubt / OLDEST * within(age, 0.0, 1000.0, width))


def stated_edges(low: float, high: float, *, exact: bool) -> tuple[float, ...]:
    """Ages (years) at which the likelihood of a stated age jumps."""
    end = float(after(high))
    return (low, end) if exact else (low - 1, low, end, end + 1)


def within(age: Array, first: Array | float, last: Array | float, width: Array | float = 0.0) -> Array:
    """The share of ages from `first` to `last` among those spread evenly over a `width` about `age` (all in years)."""
    span = np.maximum(width, 1e-9)
    below = np.clip((age - first) / span + 0.5, 0.0, 1.0)
    return np.asarray(below - np.clip((age - last) / span + 0.5, 0.0, 1.0))

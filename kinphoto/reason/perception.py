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
from math import inf, isfinite, log

import numpy as np
from scipy.special import ndtr

from kinphoto.reason.grid import Array

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
BIAS: Array = np.repeat(BIAS_SD * _B, 3)
SPREAD: Array = np.tile(np.exp(SPREAD_SD * _K), 5)
WEIGHTS: Array = np.outer(_B_WEIGHTS, _K_WEIGHTS).ravel() / (_B_WEIGHTS.sum() * _K_WEIGHTS.sum())
"""The fifteen points over (b, k), and what each weighs."""
POINTS = len(WEIGHTS)

NEARLY = 0.1
"""Share of stated ages that are a year off, as "in her seventh year" is (a judgement of the project)."""


def scale(age: Array | float) -> Array:
    """g(a): the scale on which every age is judged equally well. Years below 0 count as 0."""
    years = np.maximum(np.asarray(age, dtype=np.float64), 0.0)
    return np.where(years <= BEND, np.log(np.minimum(years, BEND) + 2), log(BEND + 2) + (years - BEND) / (BEND + 2))


def after(high: float) -> float:
    """The age at which `high` completed years are over: 8 lasts until 9; 0.5, told in months, lasts one month."""
    return high + (1.0 if high == int(high) else 1 / 12)


@dataclass(frozen=True, slots=True)
class Judgement:
    """An interval on the scale g (`low` may be -inf), the likelihood of it when the judge was `careless`, and the
    chance `doubt` of that."""

    low: float
    high: float
    careless: float
    doubt: float


def judgement(low: float, high: float, doubt: float = CARELESS) -> Judgement:
    """`low` to `high` completed years, judged by eye; `doubt` is never less than CARELESS."""
    years = max(min(after(high), OLDEST) - min(low, OLDEST), 1 / 12)
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
    """N(a; b, k) at each of the points: shape (15, *age.shape); 0 below age 0."""
    bias, spread = (v.reshape(-1, *[1] * age.ndim) for v in (BIAS, SPREAD * TAU))
    seen = scale(age)[None] + bias
    chance = ndtr((judged.high - seen) / spread)
    if isfinite(judged.low):
        chance -= ndtr((judged.low - seen) / spread)
    return np.where(age[None] >= 0, chance, 0.0)


def stated_age(low: float, high: float, age: Array, *, exact: bool, doubt: float) -> Array:
    """The likelihood of an age that was known or told, shape as `age`; 0 below age 0.

    1 - `doubt` of it is flat on `low` to `high` completed years, of which a tenth is spread over a year more either
    way unless `exact`; `doubt` is flat over 0 to 100.
    """
    years = after(high) - low
    right = _within(age, low, low + years) / years
    if not exact:
        first, last = max(low - 1, 0.0), low + years + 1
        right = (1 - NEARLY) * right + NEARLY * _within(age, first, last) / (last - first)
    return np.where(age >= 0, (1 - doubt) * right + doubt / OLDEST, 0.0)


def _within(age: Array, first: float, last: float) -> Array:
    return ((age >= first) & (age < last)).astype(np.float64)

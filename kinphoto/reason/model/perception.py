"""How people judge ages from a picture: the likelihood of a judgement, given the true age.

A judgement is normal, with standard deviation tau, on the scale g (`scale`) on which children and adults are judged
equally well; sources and the meaning of tau are in docs/method.md. "6 to 8" names an interval of completed years, 6 <=
age < 9, so its likelihood is interval-censored:

    N(a; b, k) = Phi((g(a2 + 1) - g(a) - b) / s) - Phi((g(a1) - g(a) - b) / s),      s^2 = tau^2 (h + (1 - h) k^2),

with no lower limit when a1 = 0. The share h of the variance is the *look* of the face, which all who judge it see; the
rest is the judge's own error. An informant has a bias b ~ N(0, 0.08^2) and a factor k with ln k ~ N(0, 0.3^2). Both
are integrated out by Gauss-Hermite quadrature (Abramowitz and Stegun 25.4.46), five points for b and three for ln k.
Against a fine grid, the posterior of a photograph with three such faces is off by 0.4 % in the mean (total variation),
with twelve by 5 %.

With d the chance that a judgement is careless (a slip, the wrong face), its likelihood is

    M(a; b, k) = (1 - d) N(a; b, k) + d C(a),        C(a) = T(a2 + 1; a) - T(a1; a),

T(e; a) the normal about a with 12 years, cut off at 0. So judgements are a contaminated normal (Tukey, "A survey of
sampling from contaminated distributions", 1960): the farther off, the less likely a slip, and still far likelier than a
careful judgement. Of a face that several judged, a is how old it looks.

**Several judges of one face** see one look u ~ N(0, h tau^2), so with M_j(p) what the judge j would say of a face that
looks as old as the place p on the scale, over the judge's own error alone, they say together

    M(a) = E_u[product over j of E_b,k M_j(g(a) + u; b, k)].

**A person's own look** w ~ N(0, o h tau^2) is the same in all their pictures, and a part of u. It moves the bias of
whoever judges them; what is left of the look is then (1 - o) h tau^2.

**A pull towards the middle.** Whoever sees young people older and old people younger by the share p of their distance
from the middle m has the bias b - p (g(a) - m). p is 0 until it is learned.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from math import inf, isfinite, log, pi, prod, sqrt

import numpy as np
from scipy.special import ndtr

from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.density import Value, log_bell, mixture
from kinphoto.reason.model.evidence import CHANCE_WRONG, Trust

TAU = 0.17
"""Standard deviation of a judged age on the scale g (a judgement of the project)."""
LOOK = 0.59
"""h: the share of tau^2 that all judges of one face have in common (from the mean errors of one and of 38 judges,
APPA-REAL test set)."""
OWN_LOOK = 0.25
"""o: the share of the look's variance that is the person's own in all their pictures (a judgement of the project)."""
CARELESS = 0.05
"""Chance that an age is judged carelessly (a judgement of the project)."""
CARELESS_SD = 12.0
"""By how many years a careless age is off (standard deviation; a judgement of the project)."""
OLDEST = 100.0
"""Somebody about whom nothing is known has any age up to this, as judged and as stated."""
ORDINARY = 80.0
"""Somebody about whom nothing is known has any age up to this with equal probability (a judgement of the project)."""
BEND = 51.0
"""From this age on the scale is a straight line."""
OWN_LOOKS: tuple[Array, Array] = np.array([-(3**0.5), 0.0, 3**0.5]), np.array([1.0, 4.0, 1.0]) / 6
"""Where a normal is summed out, in standard deviations, and what each weighs (Gauss and Hermite, three points)."""
BIAS_SD, SPREAD_SD = 0.08, 0.3
"""Standard deviations of an informant's bias b and of ln k (judgements of the project)."""
PULL_SD = 0.1
"""Standard deviation of an informant's pull towards the middle, where it is learned (a judgement of the project)."""
MIDDLE = log(30.0 + 2)
"""m: the place of 30 years, towards which judges pull (a judgement of the project)."""

_B, _B_WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
_K, _K_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_W = np.outer(_B_WEIGHTS, _K_WEIGHTS).ravel() / (_B_WEIGHTS.sum() * _K_WEIGHTS.sum())
PLACES: Array = np.arange(-0.2, 6.2, 0.02)
"""Places on the scale over which the look of a face is summed out."""


@dataclass(frozen=True, eq=False)
class Points:
    """Fifteen points over bias b and factor k of one informant, and what each weighs (adding up to 1).

    `look` is the share of tau^2 that is the look of a face: less of it where the person's own part is summed out
    elsewhere, none where the whole look is. `pull` and its standard deviation are p. Each stands for itself (`eq`), so
    that tables made for it can be kept and found again."""

    bias: Array
    factor: Array
    weights: Array
    look: float = LOOK
    pull: float = 0.0
    pull_sd: float = 0.0


@lru_cache(maxsize=4096)
def points(
    bias: float = 0.0, bias_sd: float = BIAS_SD, log_factor: float = 0.0, log_sd: float = SPREAD_SD,
    look: float = LOOK, pull: tuple[float, float] = (0.0, 0.0),
) -> Points:  # fmt: skip
    """The points for b and ln k that are normal with these means and standard deviations, independently."""
    b, k = bias + np.repeat(bias_sd * _B, 3), np.tile(np.exp(log_factor + log_sd * _K), 5)
    return Points(b, k, _W, look, *pull)


ANYBODY = points()
"""The points of an informant about whom nothing is known."""

NEARLY = 0.1
"""Share of stated ages that are a year off, as "in her seventh year" is (a judgement of the project)."""

StatedAges = tuple[tuple[float, float, Trust], ...]
"""Ages stated with a name: low, high, trust."""


def scale(age: Value) -> Array:
    """g(a): the scale on which every age is judged equally well. Years below 0 count as 0."""
    years = np.maximum(np.asarray(age, dtype=np.float64), 0.0)
    return np.where(years <= BEND, np.log(np.minimum(years, BEND) + 2), log(BEND + 2) + (years - BEND) / (BEND + 2))


def age_at(place: Value) -> Array:
    """The age at a place on the scale: the inverse of g."""
    bend = log(BEND + 2)
    return np.where(np.less_equal(place, bend), np.exp(np.minimum(place, bend)) - 2, BEND + (place - bend) * (BEND + 2))


def after(high: Value) -> Array:
    """The age at which `high` completed years are over: 8 lasts until 9; 0.5, in months, lasts one month."""
    return np.asarray(high + np.where(np.equal(high, np.floor(high)), 1.0, 1 / 12))


@dataclass(frozen=True, slots=True)
class Judgement:
    """An interval on the scale g (`low` may be -inf), the `share` of the ages up to 100 that it is, and the chance
    `doubt` that the judge was careless (d)."""

    low: float
    high: float
    share: float
    doubt: float

    @property
    def careless(self) -> Judgement:
        """The same, if the judge was careless for certain."""
        return Judgement(self.low, self.high, self.share, 1.0)

    @property
    def slip_at_most(self) -> float:
        """The most that d C can be at any age."""
        return self.doubt * _most_of_a_slip(self.low, self.high)


@cache
def _most_of_a_slip(low: float, high: float) -> float:
    """The most that C can be: T rises fastest at the age of a newborn, by 2 phi(0) / 12 a year."""
    years = float(age_at(high)) - max(float(age_at(low)), 0.0)
    return min(years * sqrt(2 / pi) / CARELESS_SD, 1.0)


@cache
def judgement(low: float, high: float, doubt: float = CARELESS) -> Judgement:
    """`low` to `high` completed years, judged by eye; `doubt` is never less than CARELESS."""
    years = max(min(float(after(high)), OLDEST) - min(low, OLDEST), 1 / 12)
    start = float(scale(low)) if low > 0 else -inf
    return Judgement(start, float(scale(after(high))), years / OLDEST, max(doubt, CARELESS))


Judgements = tuple[Judgement, ...]
"""What several judges say of one face, one judgement each; none where nobody judged it."""


def pooled(judgements: Sequence[Judgement]) -> Judgement:
    """Several judgements of one face by one judge: their mean centre, with the variance of one, as whoever looks again
    errs as before."""
    if len(judgements) == 1:
        return judgements[0]
    open_below = all(not isfinite(j.low) for j in judgements)
    starts = [j.low if isfinite(j.low) else float(scale(0.0)) for j in judgements]
    return Judgement(
        -inf if open_below else float(np.mean(starts)),
        float(np.mean([j.high for j in judgements])),
        float(np.mean([j.share for j in judgements])),
        min(j.doubt for j in judgements),
    )


def younger_than(
    edge: Value, place: Value, bias: Value = 0.0, factor: Value = 1.0, look: float = LOOK,
    pull: Value = 0.0, pull_sd: float = 0.0,
) -> Array:  # fmt: skip
    """Phi((edge - q - b + p (q - m)) / s): a careful judge calls somebody at the place q on the scale younger than
    `edge` (another), with s^2 = tau^2 (h + (1 - h) k^2) + (sd of p)^2 (q - m)^2; `look` is h, or what of it is not
    summed out elsewhere."""
    away = np.subtract(place, MIDDLE)
    variance = TAU**2 * (look + (1 - LOOK) * np.square(factor))
    if pull_sd:
        variance = variance + (pull_sd * away) ** 2
    return np.asarray(ndtr((edge - place - bias + pull * away) / np.sqrt(variance)))


def younger(edge: Value, age: Value, who: Points) -> Array:
    """`younger_than` of somebody of this age, at the points of an informant."""
    return younger_at(edge, scale(age), who)


def younger_at(edge: Value, place: Value, who: Points) -> Array:
    """`younger_than` at the points of an informant."""
    return younger_than(edge, place, who.bias, who.factor, who.look, who.pull, who.pull_sd)


def careless(low: Value, high: Value, age: Value) -> Array:
    """C: the likelihood of an interval on the scale g (`low` may be -inf) when the judge of somebody of this age was
    careless: shapes broadcast. Below age 0 it is as at 0."""
    true = np.maximum(age, 0.0)
    return _carelessly_younger(high, true) - _carelessly_younger(low, true)


def _carelessly_younger(edge: Value, age: Value) -> Array:
    """T: whoever is careless calls somebody of this age, 0 or more, younger than an edge on the scale."""
    above = ndtr((age - np.maximum(age_at(edge), 0.0)) / CARELESS_SD)
    return np.asarray(1 - above / ndtr(np.divide(age, CARELESS_SD)))


def judged(of: Judgement, younger: Callable[[float], Array], careless: Array) -> Array:
    """M: the likelihood of a judgement, from the values of `younger` at its edges and of `careless`, for any ages, b
    and k."""
    if of.doubt == 1:
        return careless
    careful = younger(of.high)
    if isfinite(of.low):
        careful = careful - younger(of.low)
    return mixture(of.doubt, careful, careless)


def judged_at(of: Judgement, place: Array, informant: Points = ANYBODY) -> Array:
    """The mean of M over an informant's points, of somebody at a place on the scale: shape as `place`."""

    def younger(edge: float) -> Array:
        return younger_at(edge, place[..., None], informant) @ informant.weights

    return judged(of, younger, careless(of.low, of.high, age_at(place)))


def judged_mean(of: Judgement, age: Array, informant: Points = ANYBODY) -> Array:
    """The mean of M over an informant's points: shape as `age`. Below age 0 it is as at 0."""
    return judged_at(of, scale(age), informant)


def judged_together(of: Judgements, age: Array, informants: Sequence[Points] = ()) -> Array:
    """M of a face that several judged; `informants` has the points of each judge (none: of anybody); 1 if nobody
    did."""
    who = informants or [ANYBODY] * len(of)
    if len(of) <= 1:
        return judged_mean(of[0], age, who[0]) if of else np.ones_like(age)
    return np.asarray(looks_like(age, who[0].look) @ at_places(of, who))


def looks_like(age: Array, look: float) -> Array:
    """How often somebody of this age looks as old as each of `PLACES`: (ages, places)."""
    bell = np.exp(log_bell(PLACES, scale(age)[..., None], TAU * look**0.5))
    return np.asarray(bell / bell.sum(axis=-1, keepdims=True))


def at_places(of: Judgements, informants: Sequence[Points]) -> Array:
    """What several judges say of a face that looks as old as each of `PLACES`."""
    return np.asarray(prod(_at_places(one, who) for one, who in zip(of, informants, strict=True)))


@lru_cache(maxsize=4096)
def _at_places(of: Judgement, informant: Points) -> Array:
    return judged_at(of, PLACES, replace(informant, look=0.0))


def age_likelihood(of: Judgements, stated: StatedAges, age: Array) -> Array:
    """The likelihood of all ages judged and stated of one person in one picture; 0 below age 0."""
    value = stated_ages(stated, age) * np.greater_equal(age, 0)
    return np.asarray(value * judged_together(of, age)) if of else value


def of_nobody(of: Judgements, stated: int) -> float:
    """The likelihood of the ages judged and `stated` of somebody whose life is not known: the share of all ages up to
    100 that one judge's are, or what several judges say over all these; and 1 / 100 for each stated."""
    return (of[0].share if len(of) == 1 else _of_any_age(of) if of else 1.0) / OLDEST**stated


@lru_cache(maxsize=4096)
def _of_any_age(of: Judgements) -> float:
    """What several judges say of one face, of whatever age: every half year alike."""
    return float((_any_age() @ at_places(of, [ANYBODY] * len(of))).mean())


@cache
def _any_age() -> Array:
    return looks_like(np.arange(0.25, OLDEST, 0.5), LOOK)


def stated_age(low: Value, high: Value, age: Array, width: Value = 0.0, *, exact: Value, doubt: Value) -> Array:
    """The likelihood of a stated age, shape as `age` (with which all others broadcast); 0 below age 0.

    1 - `doubt` of it is flat on `low` to `high` completed years, a tenth of that spread over a year more either way
    unless `exact`; `doubt` is flat over 0 to 100. For a birth that is known to within `width` years, the mean.
    """
    end = after(high)
    first, last = np.maximum(np.subtract(low, 1.0), 0.0), end + 1
    beside = within(age, first, last, width) / (last - first)
    right = mixture(np.where(exact, 0.0, NEARLY), within(age, low, end, width) / (end - low), beside)
    return mixture(doubt, right, born(age, width) / OLDEST)


def stated_ages(ages: StatedAges, age: Array) -> Array:
    """The likelihood of all `ages` that were stated of one person in one picture, at the true `age`."""
    likelihoods = (
        stated_age(low, high, age, exact=trust is Trust.CERTAIN, doubt=CHANCE_WRONG[trust]) for low, high, trust in ages
    )
    return np.asarray(prod(likelihoods, start=np.ones_like(age)))


def stated_edges(ages: StatedAges) -> list[float]:
    """Ages (years) at which the likelihood of stated ages jumps."""
    found: list[float] = []
    for low, high, trust in ages:
        end = float(after(high))
        found += (low, end) if trust is Trust.CERTAIN else (low - 1, low, end, end + 1)
    return found


def born(age: Array, width: Value = 0.0) -> Array:
    """The chance that somebody had been born, for a birth known to within `width` years about age 0."""
    return np.asarray(np.clip(age / np.maximum(width, 1e-9) + 0.5, 0.0, 1.0))


def within(age: Array, first: Value, last: Value, width: Value = 0.0) -> Array:
    """The share of ages from `first` to `last` among those spread evenly over a `width` about `age` (all in years)."""
    span = np.maximum(width, 1e-9)
    below = np.clip((age - first) / span + 0.5, 0.0, 1.0)
    return np.asarray(below - np.clip((age - last) / span + 0.5, 0.0, 1.0))

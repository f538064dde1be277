"""Ages that may have been fitted to a date: whoever saw the date, the caption or the tree judges ages that suit it.

**One photograph.** Ages that were not given unseen suit, with the chance f, a date z that somebody guessed, which is
off by N(0, s^2) from the date x at which the picture was taken. With J(x) the likelihood of the ages at x as they are,
and J'(z) that at z if they were fitted to it,

    L(x) = (1 - f) J(x) + f sum over z of N(z; x, s^2) J'(z) / sum over z of N(z; x, s^2).

Whoever fits an age reckons it from the date, so J' is closer than J: without the judge's bias, with a standard
deviation of 0.3 times what it is otherwise. Careless ages and wrong names are as likely as ever.

Nobody guesses a date at which a child they see would be of another age than it looks. So s is 5 years where everybody
looks 12 or older, and less in proportion to a + 2 for the youngest, which is the scale on which children are judged: at
any age up to 12 it is twice what one judgement errs.

**An archive.** How often ages were fitted is not known beforehand, and cannot be learned from dated photographs, where
fitted ages look perfect. But several ages of one photograph that were fitted agree better, with each other and with the
births, than ages judged by eye do. With R = sum over x of J'(x) / sum over x of J(x), of a photograph in which several
were judged and whose date nothing else tells, so that shifts do not matter; and with u the chance that ages which
nobody fitted agree as closely, because people here judge well:

    given unseen: 1 - u + u R,        not given unseen: f R + (1 - f) (1 - u + u R),

multiplied over the photographs, with f ~ Beta(1/2, 3/2) and u ~ Beta(1, 9) (judgements of the project). Of each
photograph L is linear in f, so that it is integrated over by putting the mean of f, learned from all others, into L.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import betainc

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.density import Value, log_bell, mixture
from kinphoto.reason.model.findings import FittedAges
from kinphoto.reason.model.perception import Points

SHARE = 0.5, 1.5
"""The parameters of the Beta distribution of f: fitted in a quarter of the photographs, or in none, or in all (a
judgement of the project)."""
CLOSE_SHARE = 1.0, 9.0
"""The same of u: one photograph in ten (a judgement of the project)."""
FITTED = SHARE[0] / sum(SHARE)
"""The mean of f, where nothing is learned of it."""
SHIFT_SD, SHIFT_FROM = 5.0, 12.0
"""Years by which a guessed date is off (standard deviation) where everybody is at least so old (judgements of the
project)."""
CLOSELY = 0.3
"""How many times as far as ages judged by eye those that were fitted are off the date they suit (a judgement of the
project)."""
TO_A_DATE = Points(np.zeros(1), np.full(1, CLOSELY), np.ones(1), perception.LOOK * CLOSELY**2)
"""The points of whoever fits an age: no bias, and an error whose every part is that much smaller."""
_STEPS = 48
_EDGES: Array = np.sin(np.linspace(0, np.pi / 2, _STEPS + 1)) ** 2
_CHANCES: Array = np.sin((np.arange(_STEPS) + 0.5) / _STEPS * np.pi / 2) ** 2
"""Values of a chance, closer together near 0 and 1; and the ends of what each stands for."""


def shift_sd(youngest: float) -> float:
    """s, if the youngest looks so old: in half years, and at least half a year."""
    share = min(1.0, (youngest + 2) / (SHIFT_FROM + 2))
    return max(round(2 * SHIFT_SD * share), 1) / 2


def fitted(
    likelihood: Array, close: Array, year: Array, sd: float = SHIFT_SD, width: Value = 1.0, share: float = FITTED
) -> Array:
    """L in every year, from J (`likelihood`) and J' (`close`), each year as far on the line as `width` is long.

    Whoever knew the tree guessed a date that is possible, so z is among the years.
    """
    bell = np.exp(log_bell(year[None], year[:, None], sd)) * width
    return mixture(share, likelihood, bell @ close / bell.sum(axis=1))


@dataclass(frozen=True)
class FittedShare:
    """What is known of f: its mean, and for each of the photographs it was learned from (by the caller's number) the
    mean without that one. `seen` and `unseen`: from how many photographs of either kind it was learned."""

    mean: float = FITTED
    without: dict[int, float] = field(default_factory=dict)
    seen: int = 0
    unseen: int = 0

    @property
    def estimate(self) -> FittedAges:
        """As it is reported."""
        return FittedAges(self.mean, self.seen, self.unseen)

    def of(self, photographs: Sequence[int]) -> Array:
        """The mean for each of these photographs, without their own ages."""
        return np.array([self.without.get(one, self.mean) for one in photographs])


def learned(seen: dict[int, float], unseen: Sequence[float]) -> FittedShare:
    """f from log R of photographs (by number) whose ages were not given unseen, and of others."""
    if not seen:
        return FittedShare(unseen=len(unseen))
    f, u = _CHANCES[:, None], _CHANCES
    log = np.log(np.outer(_weights(SHARE), _weights(CLOSE_SHARE)))
    for one in unseen:
        log += _log_mixture(u, one)
    each = [np.logaddexp(np.log(f) + one, np.log1p(-f) + _log_mixture(u, one)) for one in seen.values()]
    log += np.sum(each, axis=0)
    without = {number: _mean(log - own) for number, own in zip(seen, each, strict=True)}
    return FittedShare(_mean(log), without, len(seen), len(unseen))


def _log_mixture(chance: Array, log_ratio: float) -> Array:
    return np.logaddexp(np.log1p(-chance), np.log(chance) + log_ratio)


def _weights(parameters: tuple[float, float]) -> Array:
    return np.asarray(np.maximum(np.diff(betainc(*parameters, _EDGES)), SMALLEST))


def _mean(log: Array) -> float:
    weight = np.exp(log - log.max()).sum(axis=1)
    return float(weight @ _CHANCES / weight.sum())

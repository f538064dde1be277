"""How long people live: a Gompertz law, for deaths that nobody recorded.

    S(a) = exp(exp(-beta M) - exp(beta (a - M)))

is the chance to reach age a; mortality grows by exp(beta) a year and M is the most common age at death. Both parameters
follow from two values of the United States life table of 1949-51, both sexes, **from memory** and rounded: 68 % reach
65 and 18 % reach 85. (B. Gompertz, "On the nature of the function expressive of the law of human mortality",
Philosophical Transactions of the Royal Society 115, 1825.)
"""

from __future__ import annotations

from math import log

import numpy as np

from kinphoto.reason.model.arrays import SMALLEST, Array

REACH_65, REACH_85 = 0.68, 0.18
"""Shares of the newborn who reach 65 and 85 (from memory)."""

BETA = log(log(REACH_85) / log(REACH_65)) / 20
"""Growth of mortality per year of age, from ln(-ln S(a)) = beta (a - M), nearly: 0.075, a doubling in 9.3 years."""
MODE = 65 - log(-log(REACH_65)) / BETA
"""M, the most common age at death: 77.8 years."""


def survival(age: Array) -> Array:
    """S: the chance to reach `age` (years, any shape); 1 up to birth."""
    years = np.clip(age, 0.0, 200.0)
    return np.asarray(np.exp(np.exp(-BETA * MODE) - np.exp(BETA * (years - MODE))))


def surviving(now: Array, early: Array, late: Array) -> Array:
    """P(D >= x | L <= D < U) = (S(x) - S(U)) / (S(L) - S(U)), from S at the ages on the days x, L and U; 1 before L."""
    return np.asarray(np.clip((now - late) / np.maximum(early - late, SMALLEST), 0.0, 1.0))


def density(age: Array) -> Array:
    """The density of ages at death per year, -S'(age); 0 before birth."""
    years = np.clip(age, 0.0, 200.0)
    return np.where(age >= 0, BETA * np.exp(BETA * (years - MODE)) * survival(years), 0.0)

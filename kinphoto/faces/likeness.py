"""What a likeness is worth as a hint of who somebody is: the logarithm of how much likelier it makes them.

The cosine between the descriptors of two people of one photograph has the mean 0.16 and the spread 0.10 (108 pairs of
the examples of dlib; `tests/bench/bench_faces.py`). For two pictures of one person over years there are no openly
licensed pairs to measure on, so the mean 0.55 and the spread 0.17 are ours, and cautious. As relatives are more alike
than strangers, a third of the logarithm of the ratio counts, between -0.5 (a face turned away is like nobody) and
1.5: less than one step of kinship. Faces age, so it halves over 15 years between the pictures, for children quicker
the younger they are; where the years are not known, four tenths count.
"""

from __future__ import annotations

from math import log, nan
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

STRANGERS, SAME = (0.16, 0.10), (0.55, 0.17)
"""Mean and spread of the cosine of two people, and of one."""
CAUTION = 1 / 3
MOST, LEAST = 1.5, -0.5
HALVED_AFTER = 15.0
"""Years after which half of it counts, for grown-ups."""
_GROWN, _NEWBORN = 20.0, 1.0  # years from which somebody is grown up; years after which half counts for a newborn
UNKNOWN = 0.4
"""How much counts where the years between the pictures are not known."""


def weights(cosines: ArrayLike, years: ArrayLike, youngest: ArrayLike) -> NDArray[np.float64]:
    """What it is worth that two faces are so alike, if they are of one person with `years` between them, who was
    `youngest` years old on the earlier picture (nan: not known), for many at once."""
    (apart, spread_apart), (same, spread) = STRANGERS, SAME
    cosine = np.asarray(cosines, dtype=np.float64)
    ratio = (
        ((cosine - apart) / spread_apart) ** 2 / 2 - ((cosine - same) / spread) ** 2 / 2 + log(spread_apart / spread)
    )
    ratio = np.where(cosine < apart, -np.inf, np.where(cosine > same, np.inf, ratio))  # the tails say nothing there
    return np.asarray(np.clip(CAUTION * ratio, LEAST, MOST) * how_much_counts(years, youngest))


def how_much_counts(years: ArrayLike, youngest: ArrayLike) -> NDArray[np.float64]:
    """How much of it counts, 0 to 1, after this many years."""
    apart, age = np.abs(np.asarray(years, dtype=np.float64)), np.asarray(youngest, dtype=np.float64)
    grown = np.where(np.isnan(age), 1.0, np.clip(age / _GROWN, 0.0, 1.0))
    counts = 0.5 ** (apart / (_NEWBORN + (HALVED_AFTER - _NEWBORN) * grown))
    return np.asarray(np.where(np.isnan(apart), UNKNOWN, counts))


def weight(cosine: float, years: float | None = None, youngest: float | None = None) -> float:
    """The same for one pair (None: not known)."""
    return float(weights(cosine, nan if years is None else years, nan if youngest is None else youngest))


def remaining(years: float | None, youngest: float | None) -> float:
    """How much of it counts, for one pair."""
    return float(how_much_counts(nan if years is None else years, nan if youngest is None else youngest))

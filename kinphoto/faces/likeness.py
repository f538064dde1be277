"""What a likeness is worth as a hint of who somebody is: the logarithm of how much likelier it makes them.

The cosine between the descriptors of two people of one photograph has the mean 0.16 and the spread 0.10 (108 pairs of
the examples of dlib; `tests/bench/bench_faces.py`). For two pictures of one person over years there are no openly
licensed pairs to measure on, so the mean 0.55 and the spread 0.17 are ours, and cautious. As relatives are more alike
than strangers, a third of the logarithm of the ratio counts, between -0.5 (a face turned away is like nobody) and
1.5: less than one step of kinship. Faces age, so it halves over 15 years between the pictures, for children quicker
the younger they are; where the years are not known, four tenths count.
"""

from __future__ import annotations

from math import log

STRANGERS, SAME = (0.16, 0.10), (0.55, 0.17)
"""Mean and spread of the cosine of two people, and of one."""
CAUTION = 1 / 3
MOST, LEAST = 1.5, -0.5
HALVED_AFTER = 15.0
"""Years after which half of it counts, for grown-ups."""
_GROWN, _NEWBORN = 20.0, 1.0  # years from which somebody is grown up; years after which half counts for a newborn
UNKNOWN = 0.4
"""How much counts where it is not known how many years lie between."""


def weight(cosine: float, years: float | None = None, youngest: float | None = None) -> float:
    """What it is worth that two faces are so alike, if they are of one person with `years` between them, who was
    `youngest` years old on the earlier picture (None: not known)."""
    (apart, spread_apart), (same, spread) = STRANGERS, SAME
    ratio = (
        ((cosine - apart) / spread_apart) ** 2 / 2 - ((cosine - same) / spread) ** 2 / 2 + log(spread_apart / spread)
    )
    if cosine < apart:
        ratio = -float("inf")  # the tails of the two bells say nothing there
    if cosine > same:
        ratio = float("inf")
    return min(max(CAUTION * ratio, LEAST), MOST) * remaining(years, youngest)


def remaining(years: float | None, youngest: float | None) -> float:
    """How much of it counts, 0 to 1, after so many years."""
    if years is None:
        return UNKNOWN
    grown = 1.0 if youngest is None else min(max(youngest, 0.0) / _GROWN, 1.0)
    return float(0.5 ** (abs(years) / (_NEWBORN + (HALVED_AFTER - _NEWBORN) * grown)))

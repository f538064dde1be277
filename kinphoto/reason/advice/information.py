"""The value of an answer: mutual information in bits (Shannon, "A mathematical theory of communication", 1948)."""

from __future__ import annotations

import numpy as np
from scipy.special import xlogy

from kinphoto.reason.model.arrays import Array


def information(chance: Array, answers: Array) -> float:
    """The mutual information between a variable with these chances (values,) and an answer; `answers` (values, answers)
    holds the chances of the answer given each value."""
    overall = chance @ answers
    nats = float(chance @ xlogy(answers, answers).sum(axis=1)) - float(xlogy(overall, overall).sum())
    return max(nats / float(np.log(2)), 0.0)


def of_yes_or_no(chance: Array, yes: Array) -> Array:
    """The same for many variables (a row of `chance` each) and an answer of two kinds, one of which has the chances
    `yes` (variables, values)."""
    return np.asarray(_entropy((chance * yes).sum(axis=1)) - (chance * _entropy(yes)).sum(axis=1))


def _entropy(yes: Array) -> Array:
    """The entropy of a yes or no in bits."""
    return np.asarray(-(xlogy(yes, yes) + xlogy(1 - yes, 1 - yes)) / np.log(2))

"""What photographs in one container imply about each other's dates, in plain numpy. All constants are *ours*.

A container (an album, a tin) has a centre m and a width s. Of a photograph in it,

    p(y | m, s) = (1 - STRAY) N(y; m, s^2) + STRAY r(y),

with r the rate at which the archive's photographs were taken, so that a stray is not drawn in. Before anything is seen
P(m | s) ~ the sum over y of r(y) N(y; m, s^2). In a container within another with the parameters u, r is p(. | u) in
this. Neither m nor s is ever plugged in: both are summed over.

**How wide containers are** in this archive is learned from all others (`learned`): whoever pastes albums by the summer
has ten of them. Before any is seen, a wide one is likelier (`SEEN_BEFORE`): of the first folder that somebody adds
nobody knows whether it is an album or everything there is, and two pictures of one year do not make it an album.

**Of one time.** In a shuffled container a photograph is of the occasion, and so of the time, of a certain other one
with the chance `same_occasion`, and else drawn from p: a Dirichlet process, with OCCASION - 1 others of its occasion in
the mean (Blackwell and MacQueen, "Ferguson distributions via Polya urn schemes", Annals of Statistics 1, 1973). The
message with that is `with_occasions`, in which the others are taken as if each was of an occasion of its own.

**Taken together.** Photographs of one occasion are no independent sample of a container's years. What counts of that is
the correlation of what they tell (`of_one_occasion`): in a narrow container, or of faces that may be of any of twelve
years, it does not matter who was taken together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import ndtr

from kinphoto.reason.model.arrays import Array

WIDTHS: tuple[float, ...] = (0.12, 0.4, 1.2, 4.0, 10.0, 25.0)
"""Standard deviations of containers, in years: an outing, a summer, some years, a childhood, a life, everything."""
STRAY = 0.05
"""Share of photographs that do not belong in their container."""
OCCASION = 2.0
"""Photographs in a container that were taken on the same occasion, in the mean over photographs."""
NEW_OCCASION = 12.0
"""As many photographs as a new occasion weighs at least: in a folder of three, two of one year do not make it likely
that the third is of that year."""
SEEN_BEFORE: tuple[float, ...] = (0.05, 0.1, 0.2, 0.4, 0.9, 1.35)
"""Containers of each width that count as if they had been seen before any was: as many in all as the prior of Jeffreys
for shares has."""
ROUNDS = 15
"""Rounds in which the widths of an archive's containers are learned: more change nothing."""
FLAT, SMOOTH = 3.0, 5.0
"""Containers' worth of rate that is flat; the standard deviation by which the rate is smoothed, in years."""
QUARTER_YEAR = 0.25
"""Years in a cell."""


@dataclass(frozen=True)
class Width:
    """One width on a line of quarter-years. Its centres are the middles of cells of `stride` quarter-years each, about
    one width long: bells that far apart add up to a flat density, to two parts in 100,000."""

    years: float

    @property
    def stride(self) -> int:
        """Quarter-years between centres."""
        return max(1, round(self.years / QUARTER_YEAR))

    @cached_property
    def bell(self) -> Array:
        """The share of N(y; 0, s^2) in each cell about the centre, as far as five widths."""
        cell = self.stride * QUARTER_YEAR / self.years
        reach = int(np.ceil(5 / cell))
        return np.diff(ndtr((np.arange(-reach, reach + 2) - 0.5) * cell))


def density(width: Width, cells: int) -> Array:
    """N(y; m, s^2) of every centre in every one of `cells` quarter-years, each adding up to 1: (centres, cells)."""
    centres = -(-cells // width.stride)
    at = np.arange(centres)[:, None] - np.arange(centres)[None]
    reach = len(width.bell) // 2
    bell = np.where(np.abs(at) <= reach, width.bell[np.clip(at + reach, 0, 2 * reach)], 0.0)
    fine = np.repeat(bell, width.stride, axis=1)[:, :cells]
    return np.asarray(fine / fine.sum(axis=1, keepdims=True))


def prior(width: Width, rate: Array) -> Array:
    """P(m, s) of every centre of one width, given the rate r in each quarter-year."""
    near = density(width, len(rate)) @ rate
    return np.asarray(near / near.sum() / len(WIDTHS))


def in_occasion(n: Array | int) -> Array:
    """How many of n photographs are of the same occasion as one of them, beside the one that receives the message."""
    among = np.maximum(n, 2) - 1
    return np.asarray(np.minimum(OCCASION - 1, among) * (among - 1) / among)


def same_occasion(n: int) -> float:
    """The chance that one of the n photographs of a container is of the same occasion as a certain other one.

    With w the weight of a new occasion, (n - 1)/(w + 1) others are of its occasion in the mean."""
    return 1 / (max((n - 1) / (OCCASION - 1) - 1, NEW_OCCASION) + n - 1)


def with_occasions(chance: Array, density: Array, others: Array, apart: Array) -> Array:
    """The message of a shuffled container to one of its photographs, by quarter-year.

    With P(t) the `chance` of its parameters by the others (points), p(y | t) the `density` (points, cells), l_j the
    likelihoods of the `others` (n - 1, cells) and e_j(t) the sum over y of l_j(y) p(y | t), the time of j is
    distributed as l_j(y) p(y | t) / e_j(t), and

        M(y) = sum over t of P(t) p(y | t) [1 - sum over j of a_j + sum over j of a_j l_j(y) / e_j(t)],

    a_j = (1 - c_j) same_occasion(n): j counts as far as its errors are `apart` from its own, 1 - c_j (n - 1).
    """
    share = same_occasion(len(others) + 1) * apart
    seen = density @ others.T
    return np.asarray(chance @ (density * (1 - share.sum() + (share / seen) @ others)))


def likelier_by_occasions(likelihood: Array, without: Array, message: Array) -> float:
    """By how much (as a logarithm) photographs (n, cells) are likelier in a shuffled container, as they may be of one
    occasion: half the sum over i of ln(sum over y of l_i M_i / the same `without` occasions), since each pair is
    counted from both sides. That is exact for two, and else a pseudo-likelihood (Besag, "Statistical analysis of
    non-lattice data", The Statistician 24, 1975)."""
    with_, alone = ((likelihood * one).sum(axis=1) for one in (message, without))
    return float(np.log(with_ / alone).sum() / 2)


def of_one_occasion(odds: Array, variance: Array) -> Array:
    """By how much each photograph of one container repeats the information of the others about its years: the design
    effect of cluster sampling (Kish 1965), less one.

    With `odds` those of the widths and v (`variance`) that of each photograph's likelihood, two of one occasion
    correlate by a_j a_k, a = s / sqrt(s^2 + v), in their information about the centre. OCCASION - 1 of the n - 1 others
    are of the same occasion, n - 2 of them beside the one that receives the message.
    """
    n = len(variance)
    if n < 3:
        return np.zeros(n)
    square = np.array(WIDTHS) ** 2
    share = np.sqrt(square / (square + variance[:, None]))
    rest = (share.sum(axis=0) - share) / (n - 1)
    return np.asarray(in_occasion(n) * ((share * rest) @ odds))


def learned(likelihood: Array, counts: Array) -> Array:
    """What is to be expected of the width of each container from the others: (containers, widths).

    `likelihood` has those of the widths, given what is in each container; those without photographs of their own do not
    count (`counts`: 1 or 0). A share of each other container goes to each width, and all shares are found together,
    each container without its own part (Dirichlet and multinomial by collapsed variational Bayes of order zero:
    Asuncion, Welling, Smyth and Teh, "On smoothing and inference for topic models", UAI 2009).
    """
    before = np.array(SEEN_BEFORE)
    expected = np.tile(before / before.sum(), (len(likelihood), 1))
    others = counts.sum() - counts
    for _ in range(ROUNDS):
        share = expected * likelihood
        share *= (counts / share.sum(axis=1))[:, None]
        expected = before + share.sum(axis=0) - share
        expected /= (before.sum() + others)[:, None]
    return np.asarray(expected)

"""What photographs that lie together tell of each other, in plain numpy. All constants are *ours*.

A container (an album, a tin) has a centre m and a width s. Of a photograph in it,

    p(y | m, s) = (1 - STRAY) N(y; m, s^2) + STRAY r(y),

with r the rate at which the archive's photographs were taken, so that a stray is not drawn in. Before anything is seen
all `WIDTHS` are alike, and P(m | s) ~ the sum over y of r(y) N(y; m, s^2). In a container within another with the
parameters u, r is p(. | u) in this. Neither m nor s is ever plugged in: both are summed over.
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
"""Share of photographs that do not belong where they lie."""
OCCASION = 6.0
"""So many photographs count as one where a container's years are learned: those of one occasion are no independent
sample of them (the design effect of cluster sampling, Kish 1965)."""
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
    """N(y; m, s^2) of every centre in every one of so many quarter-years, each adding up to 1: (centres, cells)."""
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

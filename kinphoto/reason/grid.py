"""Cells of time: how a continuous posterior is held in arrays.

A day d is the interval [d, d + 1) on the line of day numbers. Cells follow the calendar, because that is how people
date things: quarter-years where the possible span is long, months under ten years, days under four months. The ends of
a span cut cells into fractions, and so do the days on which a statement's likelihood jumps (`breaks`), so that "1923"
fills whole cells.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kinphoto.reason.span import DAYS_PER_YEAR

Array = NDArray[Any]
"""An array of floats."""

FINE, MEDIUM = 120, 10 * DAYS_PER_YEAR
"""Spans up to these many days get cells of days, of months; longer ones get quarter-years."""

_EPOCH = 719163  # 1 January 1970, where numpy's calendar counts from
_MONTHS: Array = (
    np.arange(np.datetime64("1500-01"), np.datetime64("2301-01")).astype("datetime64[D]").astype(np.int64) + _EPOCH
).astype(np.float64)
_QUARTERS = _MONTHS[::3]


@dataclass(frozen=True)
class Cells:
    """Consecutive cells: `edges` are n + 1 increasing points on the line of day numbers."""

    edges: Array

    @cached_property
    def middle(self) -> Array:
        """The middle of each cell."""
        return (self.edges[1:] + self.edges[:-1]) / 2

    @cached_property
    def width(self) -> Array:
        """The days in each cell."""
        return np.diff(self.edges)

    @property
    def quarters(self) -> bool:
        """True where the span is long and cells are quarter-years."""
        return step(float(self.edges[0]), float(self.edges[-1])) == 2

    def __len__(self) -> int:
        return len(self.edges) - 1


def cells(first: int, last: int, breaks: Iterable[float] = ()) -> Cells:
    """Cells from the morning of day `first` to the night of day `last`, cut at the days `breaks` inside."""
    return between(float(first), last + 1.0, breaks)


def between(start: float, end: float, breaks: Iterable[float] = ()) -> Cells:
    """Cells from `start` to `end`, two points on the line of day numbers."""
    lattice = _lattice(start, end)
    inner = np.concatenate([lattice, np.fromiter(breaks, dtype=np.float64)])
    inner = inner[(inner > start) & (inner < end)]
    return Cells(np.unique(np.concatenate([[start], inner, [end]])))


def step(start: float, end: float) -> int:
    """Which cells a span gets: 0 days, 1 months, 2 quarter-years."""
    return 0 if end - start <= FINE else 1 if end - start <= MEDIUM else 2


def _lattice(start: float, end: float) -> Array:
    kind = step(start, end)
    if kind == 0:
        return np.arange(np.ceil(start), end)
    starts = _MONTHS if kind == 1 else _QUARTERS
    return starts[np.searchsorted(starts, start) : np.searchsorted(starts, end)]

"""Only for speed: cells of time, in which the posteriors of many photographs are kept in flat arrays.

Day d is the interval [d, d + 1). Cells follow the calendar, as dates do: quarter-years where the possible span is long,
months under ten years, days under four months. The ends of a span cut cells, and so do the days on which a likelihood
jumps (`breaks`), so that "1923" fills whole cells. Every cell is inside one quarter-year.

A `Grid` is ragged: the cells of all rows are concatenated in flat arrays, and are computed together.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints, entries, ranges, starts
from kinphoto.reason.model.span import DAYS_PER_YEAR

FINE, MEDIUM = 120, 10 * DAYS_PER_YEAR
"""Spans up to these many days get cells of days, of months; longer ones get quarter-years."""
NO_INTS: Ints = np.zeros(0, dtype=np.int64)
NO_DAYS: Array = np.zeros(0)

_EPOCH = 719163  # 1 January 1970, where numpy's calendar counts from
_MONTHS: Array = (
    np.arange(np.datetime64("1500-01"), np.datetime64("2301-01")).astype("datetime64[D]").astype(np.int64) + _EPOCH
).astype(np.float64)
QUARTERS: Array = _MONTHS[::3]
"""The first days of the quarter-years since 1500, by which they are numbered."""
_DAYS: Array = np.arange(_MONTHS[0], _MONTHS[-1])
_ROW = float(2**21)  # more than any day; a row's number times this, and a day, are kept in one float


@dataclass(frozen=True)
class Grid:
    """Cells of many rows. Those of row i are `start[i]` to `start[i + 1]`, from `left` to `right` each (days)."""

    start: Ints
    left: Array
    right: Array

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return len(self.start) - 1

    @property
    def sizes(self) -> Ints:
        """How many cells each row has."""
        return np.diff(self.start)

    @cached_property
    def row(self) -> Ints:
        """The row of each cell."""
        return np.repeat(np.arange(self.rows), self.sizes)

    @cached_property
    def middle(self) -> Array:
        """The middle of each cell."""
        return (self.left + self.right) / 2

    @cached_property
    def width(self) -> Array:
        """The days in each cell."""
        return self.right - self.left

    @cached_property
    def quarter(self) -> Ints:
        """The quarter-year of each cell."""
        return np.searchsorted(QUARTERS, self.middle, side="right") - 1

    @property
    def new_quarters(self) -> Ints:
        """The first cell of each quarter-year of each row."""
        return np.flatnonzero(np.concatenate([[True], (np.diff(self.row) != 0) | (np.diff(self.quarter) != 0)]))

    def cells(self, row: int) -> Cells:
        """The cells of one row."""
        here = slice(self.start[row], self.start[row + 1])
        return Cells(np.append(self.left[here], self.right[here][-1:]))

    def of(self, rows: Ints) -> tuple[Ints, Ints]:
        """The cells of these rows, one row behind the other (a row may come twice); and where each begins."""
        return entries(self.start, rows)

    def summed(self, at: Ints, values: Array) -> Array:
        """For each cell the sum of the `values` that fall to it; `at` are the cells."""
        return np.bincount(at, values, minlength=len(self.left)).astype(np.float64, copy=False)

    def per_row(self, values: Array, how: np.ufunc = np.add) -> Array:
        """The sum (or another reduction) of `values` (one per cell) over each row."""
        return np.asarray(how.reduceat(values, self.start[:-1])) if self.rows else np.zeros(0)

    def masses(self, log: Array) -> Array:
        """Probabilities from the logarithms of densities: each row adds up to 1."""
        weight = log - np.repeat(self.per_row(log, np.maximum), self.sizes)
        np.exp(weight, out=weight)
        weight *= self.width
        weight /= np.repeat(self.per_row(weight), self.sizes)
        return np.asarray(weight)

    def interpolated(self, values: Array, rows: Ints, days: Array) -> Array:
        """`values` (one per cell, at its middle) at other days of some rows, linearly; level beyond the ends."""
        at = self.row * _ROW + self.middle
        first, last = self.middle[self.start[:-1]], self.middle[self.start[1:] - 1]
        return np.asarray(np.interp(rows * _ROW + np.clip(days, first[rows], last[rows]), at, values))

    def below(self, rising: Array, rows: Ints, days: Array) -> Array:
        """A distribution function, given by `rising` at the right edge of each cell, at days of some rows."""
        at = np.stack([self.row * _ROW + self.left, self.row * _ROW + self.right], axis=1).ravel()
        before = np.concatenate([[0.0], rising[:-1]])
        before[self.start[:-1]] = 0.0
        first, last = self.left[self.start[:-1]], self.right[self.start[1:] - 1]
        inside = np.clip(days, first[rows], last[rows] - 1e-6)
        found = np.interp(rows * _ROW + inside, at, np.stack([before, rising], axis=1).ravel())
        return np.where(days >= last[rows], 1.0, found)


@dataclass(frozen=True)
class QuarterRows:
    """Consecutive quarter-years of many rows: row i has `start[i + 1] - start[i]` of them, from `first[i]` on."""

    start: Ints
    first: Ints

    @cached_property
    def quarters(self) -> Ints:
        """The quarter-year of each entry."""
        return ranges(self.first, np.diff(self.start))

    def sizes_of(self, rows: Ints) -> Ints:
        """How many quarter-years each of these rows has."""
        return self.start[rows + 1] - self.start[rows]

    def quarters_of(self, rows: Ints) -> Ints:
        """The quarter-years of these rows, one row behind the other."""
        return ranges(self.first[rows], self.sizes_of(rows))

    def of(self, rows: Ints) -> tuple[Ints, Ints]:
        """The positions of the entries of these rows; and where each row begins among them."""
        return entries(self.start, rows)


def grid(start: Array, end: Array, rows: Ints = NO_INTS, breaks: Array = NO_DAYS, *, lattice: bool = True) -> Grid:
    """Cells from `start` to `end` (points on the line of day numbers, one per row), cut at `breaks` of these `rows`.

    Without a `lattice`, the breaks alone cut them.
    """
    own = np.arange(len(start)) * _ROW
    inside = (breaks > start[rows]) & (breaks < end[rows])
    marks = [own + start, own + end, own[rows[inside]] + breaks[inside]]
    kind = steps(start, end) if lattice else np.full(len(start), -1)
    for which, points in enumerate((_DAYS, _MONTHS, QUARTERS)):
        chosen = np.flatnonzero(kind == which)
        first = np.searchsorted(points, start[chosen], side="right")
        counts = np.maximum(np.searchsorted(points, end[chosen], side="left") - first, 0)
        marks.append(np.repeat(own[chosen], counts) + points[ranges(first, counts)])
    edges = np.sort(np.concatenate(marks), kind="stable")  # which merges runs that are in order already
    edges = edges[np.diff(edges, prepend=-1.0) > 0]
    row = (edges * (1 / _ROW)).astype(np.int64)  # exact, as it is a power of two
    cell = np.flatnonzero(row[1:] == row[:-1])
    shift = row[cell] * _ROW
    return Grid(starts(np.bincount(row[cell], minlength=len(start))), edges[cell] - shift, edges[cell + 1] - shift)


def steps(start: Array, end: Array) -> Ints:
    """Which cells spans get: 0 days, 1 months, 2 quarter-years."""
    return np.where(end - start <= FINE, 0, np.where(end - start <= MEDIUM, 1, 2))


def matching(row: Ints, rows: Ints) -> tuple[Ints, Ints]:
    """Of things in ascending order of their `row`: those of these `rows` (ascending), and the place of its row."""
    first, last = np.searchsorted(row, rows, side="left"), np.searchsorted(row, rows, side="right")
    return ranges(first, last - first), np.repeat(np.arange(len(rows)), last - first)


def normalised(log: Array, begin: Ints) -> Array:
    """Lists of logarithms, each beginning at its `begin`, as probabilities that add up to 1 in each list."""
    if len(begin) == 1:
        return np.exp(log)
    sizes = np.diff(begin)
    weight = log - np.repeat(np.maximum.reduceat(log, begin[:-1]), sizes)
    np.exp(weight, out=weight)
    weight /= np.repeat(np.add.reduceat(weight, begin[:-1]), sizes)
    return np.asarray(weight)


def distances(belief: Array, ratio: Array, begin: Ints) -> Array:
    """By how much lists of probabilities move (total variation) when they are multiplied by `ratio`."""
    moved, sizes = belief * ratio, np.diff(begin)
    moved /= np.repeat(np.maximum(np.add.reduceat(moved, begin[:-1]), 1e-30), sizes)
    moved -= belief
    return np.asarray(np.add.reduceat(np.abs(moved, out=moved), begin[:-1]) / 2)


@dataclass(frozen=True)
class Cells:
    """Consecutive cells of one row: `edges` are n + 1 increasing points on the line of day numbers."""

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
        return int(steps(self.edges[:1], self.edges[-1:])[0]) == 2

    def __len__(self) -> int:
        return len(self.edges) - 1


def cells(first: int, last: int) -> Cells:
    """Cells from the beginning of day `first` to the end of day `last`."""
    return grid(np.array([float(first)]), np.array([last + 1.0])).cells(0)

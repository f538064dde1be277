"""From a posterior to what a person reads: best date, likely range, and EDTF.

**Best** is the median: the mean absolute error is least, and it does not jump to an end of a flat posterior.

**The likely range** is the shortest interval that holds 90 %. The distribution function is a polygon, so one end of the
shortest is on the edge of a cell. Lengths that differ by less than half a percent count as equal, and of all equally
short intervals, not only of those on edges, it is the middle one: so a range moves little where the posterior moves
little, and not from the edge of a cell to the next.

**EDTF** (Extended Date/Time Format, Library of Congress, 2019): see docs/method.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil, floor

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints, starts
from kinphoto.reason.model.findings import HOLDS
from kinphoto.reason.model.span import WIDENED, Dated, Shape, Span, year_of
from kinphoto.reason.soft.grid import Grid

TIE, TIE_SHARE = 10.0, 0.005
"""Days, and the share of the shortest, by which lengths may differ and still be equal."""
_NOTHING = 1e-4
"""A part of a day that rounding may have added."""
_EMPTY = 1e-13
"""Probability given to a cell that has none, so that the distribution function rises everywhere."""


@dataclass(frozen=True)
class Posterior:
    """Probabilities `mass` (n) of the cells between `edges` (n + 1 points on the line of day numbers)."""

    edges: Array
    mass: Array

    @property
    def rising(self) -> Array:
        """The distribution function at the edges."""
        mass = np.maximum(self.mass, _EMPTY * np.diff(self.edges))
        total = np.concatenate([[0.0], np.cumsum(mass)])
        return np.asarray(total / total[-1])

    def quantile(self, share: float) -> float:
        """The point with `share` of the probability below it."""
        return float(np.interp(share, self.rising, self.edges))

    def holds(self, start: float, end: float) -> float:
        """The probability between two points."""
        below = np.interp([start, end], self.edges, self.rising)
        return float(below[1] - below[0])


def shortest(posterior: Posterior, holds: float = HOLDS) -> tuple[float, float]:
    """The shortest interval that holds exactly `holds`, the middle one among equally short."""
    edges = posterior.edges
    cells = Grid(np.array([0, len(posterior.mass)], dtype=np.int64), edges[:-1], edges[1:])
    _, start, end = summaries(cells, posterior.mass, holds)
    return float(start[0]), float(end[0])


def summaries(cells: Grid, mass: Array, holds: float = HOLDS) -> tuple[Array, Array, Array]:
    """The median, and start and end of the likely range, of every row.

    The distribution functions of all rows are set two apart, so that one polygon holds them all.
    """
    if not cells.rows:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    first, sizes = cells.start[:-1], cells.sizes
    weight = np.maximum(mass, _EMPTY * cells.width)
    total = np.cumsum(weight)
    base = np.concatenate([[0.0], total])[cells.start]
    after = (total - np.repeat(base[:-1], sizes)) / np.repeat(np.diff(base), sizes)
    after[cells.start[1:] - 1] = 1.0
    before = np.concatenate([[0.0], after[:-1]])
    before[first] = 0.0
    own = 2.0 * np.arange(cells.rows)
    row = np.repeat(own, sizes)
    heights = np.stack([row + before, row + after], axis=1).ravel()
    days_ = np.stack([cells.left, cells.right], axis=1).ravel()

    def at(height: Array) -> Array:
        return np.asarray(np.interp(height, heights, days_))

    shares = np.concatenate([row + np.clip(share, 0.0, 1 - holds) for share in (before, after - holds)])
    shares.sort(kind="stable")  # which merges what is in order already
    lengths, density = at(shares + holds) - at(shares), weight / np.repeat(np.diff(base), sizes) / cells.width
    edges = own, own + 1 - holds, density[first], density[cells.start[1:] - 1]
    share = _middle(shares, lengths, starts(2 * sizes), *edges)
    return at(own + 0.5), at(share), at(np.minimum(share + holds, own + 1.0))


def _middle(shares: Array, lengths: Array, begin: Ints, low: Array, high: Array, first: Array, last: Array) -> Array:
    """How much of each row lies below the middle one of the intervals that are as short as the shortest, to within
    `TIE`, and are connected with it. Of each row `shares` are below some, from `low` to `high`, and how long they are
    is linear in between. An interval may as well pass the ends of the posterior, where its density is `first` and
    `last`: so one that is best right at an end begins or ends there."""
    opening, closing = begin[:-1], begin[1:] - 1
    least = np.minimum.reduceat(lengths, opening)
    longest, at = least + np.minimum(TIE, TIE_SHARE * least) + 1e-9, np.arange(len(lengths))
    sizes = np.diff(begin)
    short = lengths <= np.repeat(longest, sizes)
    best = np.minimum.reduceat(np.where(lengths == np.repeat(least, sizes), at, len(at)), opening)
    before = np.maximum.accumulate(np.where(short, -1, at))[best]
    after = np.minimum.accumulate(np.where(short, len(at), at)[::-1])[::-1][best]

    ends = [low - (longest - lengths[opening]) * first, high + (longest - lengths[closing]) * last]
    for end, outside, step in ((ends[0], before, 1), (ends[1], after, -1)):
        some = np.flatnonzero((outside >= opening) & (outside <= closing))
        longer, inside = outside[some], outside[some] + step
        part = (longest[some] - lengths[inside]) / (lengths[longer] - lengths[inside])
        end[some] = shares[inside] + part * (shares[longer] - shares[inside])
    return np.clip((ends[0] + ends[1]) / 2, low, high)


def posterior(cells: Grid, mass: Array, row: int) -> Posterior:
    """The posterior of one row."""
    return Posterior(cells.cells(row).edges, np.array(mass[cells.start[row] : cells.start[row + 1]]))


def days(start: float, end: float) -> tuple[int, int]:
    """The first and last day that an interval on the line of day numbers touches."""
    first = floor(start + _NOTHING)
    return first, max(first, ceil(end - _NOTHING) - 1)


def inferred_edtf(first: int, last: int) -> str:
    """The EDTF of a likely range: years only, always qualified."""
    start, end = year_of(first), year_of(last)
    return f"{_year(start)}?" if start == end else f"[{_year(start)}..{_year(end)}]"


def stated_edtf(dated: Dated) -> str:
    """The EDTF of a date as somebody stated it: as exact and as sure as they were."""
    if dated.stated is not None:
        return stated_edtf(replace(dated.stated, doubtful=True))
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        if decade := _about_a_decade(dated.span):
            return f"{decade}{'%' if dated.doubtful else '~'}"
        return f"{_year(year_of(round(dated.centre)))}{'%' if dated.doubtful else '~'}"
    plain = _span_edtf(dated.span.first, dated.span.last)
    return f"{plain}?" if dated.doubtful and not plain.startswith("[") else plain


def _about_a_decade(span: Span) -> str:
    """The decade in the middle of a span of 20, 30 or 60 years: what CAL, ABT and EST make of one; "" of any other."""
    first, last = year_of(span.first or 0), year_of(span.last or 0)
    widened = {2 * years + 9: years for years, _ in WIDENED.values()}.get(last - first, 0)
    start = first + widened
    return f"{start // 10:03}X" if widened and start % 10 == 0 else ""


def one_of_edtf(dates: Iterable[Dated]) -> str:
    """The EDTF of "one of these": `[1931,1935-06]`, and of ranges `[1931..1932,1935]`."""
    return f"[{','.join(stated_edtf(d).strip('[]') for d in dates)}]"


def _span_edtf(first: int | None, last: int | None) -> str:
    if first is not None and last is not None:
        whole = _one_value(date.fromordinal(first), date.fromordinal(last))
        if whole:
            return whole
    one_year = first is not None and last is not None and year_of(first) == year_of(last)
    start = "" if first is None else _edge(first, opens=True, of_month=one_year)
    end = "" if last is None else _edge(last, opens=False, of_month=one_year)
    return f"[{start}..{end}]"


def _one_value(first: date, last: date) -> str:
    """A day, a month, a year or a decade that is the whole of a span; "" when it is none."""
    if first == last:
        return f"{_year(first.year)}-{first.month:02}-{first.day:02}"
    begins_year = first.month == first.day == 1
    if begins_year and (last.month, last.day) == (12, 31):
        if first.year == last.year:
            return _year(first.year)
        if first.year % 10 == 0 and last.year == first.year + 9:
            return f"{first.year // 10:03}X"
    if first.day == 1 and _ends_month(last) and (first.year, first.month) == (last.year, last.month):
        return f"{_year(first.year)}-{first.month:02}"
    return ""


def _edge(day: int, *, opens: bool, of_month: bool) -> str:
    """One end of a span: its year (not `of_month`) or month where the span begins or ends with it, else the day."""
    when = date.fromordinal(day)
    if not of_month and (when.month, when.day) == ((1, 1) if opens else (12, 31)):
        return _year(when.year)
    if when.day == 1 if opens else _ends_month(when):
        return f"{_year(when.year)}-{when.month:02}"
    return f"{_year(when.year)}-{when.month:02}-{when.day:02}"


def _ends_month(day: date) -> bool:
    return (day + timedelta(days=1)).day == 1


def _year(year: int) -> str:
    return f"{year:04}"

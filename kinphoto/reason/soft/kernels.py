"""Only for speed: tables of `perception.judged`, one for every judgement that occurs.

Thousands of faces share a few hundred judgements, so M, the likelihood of a judgement at the points of its informant,
is tabulated over ages and interpolated linearly: nodes are half a month apart up to ten years and a quarter-year after
that, where the error is below 0.3 % of M. Below age 0 it is continued as at 0. For a birth known to within a span, M is
smoothed by the width of the span. For vague births, whose messages go by quarter-years, `by_quarters` is the mean of M
[a >= 0] over two quarter-years that are n apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache, partial
from math import prod

import numpy as np
from scipy import sparse
from scipy.interpolate import CubicSpline

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.limits import LONGEST_LIFE
from kinphoto.reason.model.perception import Judgement, Judgements, Points, StatedAges
from kinphoto.reason.model.survival import survival

TURN, OLDEST = 10, LONGEST_LIFE + 2
"""Ages (years) at which nodes become sparse, and end."""
NODES: Array = np.concatenate([np.arange(24 * TURN) / 24, np.arange(4 * TURN, 4 * OLDEST + 1) / 4])
AT_NODES: Array = perception.scale(NODES)
DISTANCES: Array = np.arange(-3.0, 3.0, 0.004)
"""Distances on the scale at which a mean over points is tabulated; linear between them to a hundred-thousandth."""
LAGS = 4 * OLDEST
"""Quarter-years over which messages reach."""
KEPT, KEPT_OF_POINTS = 4096, 400
"""Tables that are kept, of 4 kB each, and of 80 kB."""

_ABSCISSAE, _WEIGHTS = np.polynomial.legendre.leggauss(5)


def triangular_weights(steps: int) -> tuple[Array, Array]:
    """The distance of two points of two cells beyond that of the cells, in cells, and the weight of each: 1 - |d|."""
    nearer = (np.arange(2 * steps) + 0.5) / steps - 1
    often = 1 - np.abs(nearer)
    return nearer, often / often.sum()


_SHIFTS, _SHIFT_WEIGHTS = triangular_weights(6)


def nodes_below(age: Array) -> tuple[Ints, Array]:
    """The node at or below each age (years), and the way to the next, 0 to 1."""
    at = np.minimum(age * 24, 24 * TURN + (age - TURN) * 4)  # the lesser is that for this age
    at = np.clip(at, 0, len(NODES) - 1.001, out=at)
    node = at.astype(np.int64)
    return node, at - node


def at_nodes(age: Judgement, points: Points, months: int) -> Array:
    """M at the nodes and points, for a birth known to within `months`: (nodes, points)."""
    made = perception.judged(age, lambda edge: _younger(edge, points), _careless(age)[:, None])
    return np.asarray(made if not months else _smoothed(made, months / 12))


def averaged(of: Judgements, informants: Sequence[Points], months: int) -> Array:
    """The mean of M over the points of whoever judged, at the nodes: (nodes, 1)."""
    if len(of) == 1:
        younger = partial(_younger_on_average, points=informants[0])
        made = perception.judged(of[0], younger, _careless(of[0]))[:, None]
        return made if not months else _smoothed(made, months / 12)
    made = (_looks_like(informants[0].look) @ perception.at_places(of, informants))[:, None]
    return np.asarray(made if not months else _smoothed(made, months / 12))


_SOME: Array = np.linspace(AT_NODES[0], AT_NODES[-1], 1 + int((AT_NODES[-1] - AT_NODES[0]) / (perception.TAU / 4)))
_FROM_SOME: Array = CubicSpline(_SOME, np.eye(len(_SOME)))(AT_NODES)
"""Places on the scale from which a spline leads to all nodes, to a ten-thousandth."""


@lru_cache(maxsize=KEPT)
def _careless(of: Judgement) -> Array:
    """`perception.careless` at the nodes."""
    return perception.careless(of.low, of.high, NODES)


@lru_cache(maxsize=KEPT)
def _younger_on_average(edge: float, points: Points) -> Array:
    """The mean of `perception.younger` over the points, at the nodes."""
    if points.pull or points.pull_sd:
        return np.asarray(_FROM_SOME @ (perception.younger_at(edge, _SOME[:, None], points) @ points.weights))
    return np.interp(edge - AT_NODES, DISTANCES, _rising(points))  # the distance from the edge alone counts


@lru_cache(maxsize=KEPT)
def _rising(points: Points) -> Array:
    """The mean of `perception.younger_than` over the points, at the DISTANCES of an edge from how somebody looks."""
    return np.asarray(perception.younger_at(DISTANCES[:, None], 0.0, points) @ points.weights)


@lru_cache(maxsize=16)
def _looks_like(look: float) -> Array:
    """`perception.looks_like` at the nodes."""
    return perception.looks_like(NODES, look)


def by_quarters(
    of: Sequence[tuple[Judgements, tuple[Points, ...], StatedAges]], *, surviving: bool
) -> Array:  # fmt: skip
    """The mean of M, stated ages, and (if `surviving`) survival, between two quarter-years 0 to LAGS apart, by rows."""
    tables = np.array([averaged(age, points, 0)[:, 0] if age else np.ones(len(NODES)) for age, points, _ in of])
    found = (_to_quarters(surviving) @ tables.T).T
    node, more, value = _between_quarters(surviving)
    for row, table, (_, _, stated) in zip(found, tables, of, strict=True):
        if stated:
            aged = value * (table[node] * (1 - more) + table[node + 1] * more)
            row[:] = (aged * _stated_at_years(stated)) @ _SHIFT_WEIGHTS
    return np.asarray(found)


_YEARS: Array = np.maximum((np.arange(LAGS + 1)[:, None] + _SHIFTS) / 4, -1.0)
"""Ages at the points of two quarter-years so far apart: (LAGS + 1, points)."""


@lru_cache(maxsize=KEPT_OF_POINTS)
def _stated_at_years(stated: StatedAges) -> Array:
    """`perception.stated_ages` at these ages."""
    return perception.stated_ages(stated, _YEARS)


@cache
def _between_quarters(surviving: bool) -> tuple[Ints, Array, Array]:
    """At these ages: the node below, the way to the next, and the chance to be there, 0 before birth."""
    there = (_YEARS >= 0).astype(np.float64)
    return *nodes_below(_YEARS), there * survival(_YEARS) if surviving else there


@cache
def _to_quarters(surviving: bool) -> sparse.csr_array:
    """What makes the means between quarter-years of a table at the nodes: (LAGS + 1, nodes)."""
    node, more, value = _between_quarters(surviving)
    value = value * _SHIFT_WEIGHTS
    row = np.broadcast_to(np.arange(len(node))[:, None], node.shape).ravel()
    at = np.tile(row, 2), np.concatenate([node.ravel(), node.ravel() + 1])
    entries = np.concatenate([(value * (1 - more)).ravel(), (value * more).ravel()])
    return sparse.csr_array((entries, at), (len(node), len(NODES)))


@lru_cache(maxsize=KEPT_OF_POINTS)
def _younger(edge: float, points: Points) -> Array:
    """`perception.younger` at the nodes and points."""
    return perception.younger(edge, NODES[:, None], points)


class JudgementTables:
    """Tables that are looked up together, as one array: (tables, nodes, points). `informants` are the points of each;
    where these need not be kept apart (`averaged`), a table has their mean."""

    def __init__(self, informants: Sequence[Points], *, averaged: bool) -> None:
        self.informants, self.averaged = informants, averaged
        self._index: dict[tuple[Judgements, tuple[int, ...], int], int] = {}
        self._tables: list[Array] = []
        self._flat: Array = np.zeros((0, 1), dtype=np.float32)

    def index(self, age: Judgements, judges: tuple[int, ...], months: int) -> int:
        """The number of the table of these judgements of one face."""
        key = age, judges, months
        if key not in self._index:
            self._index[key] = len(self._tables)
            self._tables.append(self._table(age, judges, months).astype(np.float32))
        return self._index[key]

    def _table(self, age: Judgements, judges: tuple[int, ...], months: int) -> Array:
        informants = [self.informants[judge] for judge in judges]
        if self.averaged:
            return averaged(age, informants, months)
        return np.asarray(prod(at_nodes(one, who, months) for one, who in zip(age, informants, strict=True)))

    def likelihood(self, age: Judgements, judges: tuple[int, ...], months: int, years: Array) -> Array:
        """M at these ages (years), of judgements that need not be among the tables: (ages, points)."""
        node, more = nodes_below(years)
        table = self._table(age, judges, months)
        return np.asarray(table[node] * (1 - more)[:, None] + table[node + 1] * more[:, None])

    def look_up(self, table: Ints, age: Array) -> Array:
        """M of each of these tables at an age (years): (ages, points)."""
        if len(self._flat) != len(self._tables) * len(NODES):
            self._flat = np.concatenate(self._tables) if self._tables else self._flat
            self._tables = np.split(self._flat, len(self._tables)) if self._tables else []  # kept once
        node, more = nodes_below(age)
        node += table * len(NODES)
        more = more.astype(np.float32)[:, None]
        low = self._flat.take(node, axis=0)
        found = self._flat.take(node + 1, axis=0)
        found -= low
        found *= more
        found += low
        return found


def _smoothed(made: Array, years: float) -> Array:
    """The mean of a table over ages `years` wide about each node."""
    total = np.zeros_like(made)
    for abscissa, weight in zip(_ABSCISSAE, _WEIGHTS / 2, strict=True):
        node, more = nodes_below(np.maximum(NODES + abscissa * years / 2, 0.0))
        total += weight * (made[node] * (1 - more)[:, None] + made[node + 1] * more[:, None])
    return total

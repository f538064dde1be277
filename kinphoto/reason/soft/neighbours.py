"""The groups that exchange messages: their latent births, their orders, and the messages they receive.

The variables and factors of `messages` are built from the evidence here, and the results are interpolated from
quarter-years to the cells of each posterior.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Protocol

import numpy as np

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array, Ints, ranges, starts
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.reason.model.perception import Judgements, StatedAges
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.births import HALF, Lives, depends_on_birth, households, vague_births
from kinphoto.reason.soft.grid import QUARTERS, Grid, QuarterRows, normalised
from kinphoto.reason.soft.groups import Groups
from kinphoto.reason.soft.informants import CommonLook, Informants, common_looks
from kinphoto.reason.soft.kernels import LAGS, by_quarters
from kinphoto.reason.soft.known_faces import Deaths, Face, JudgementDoubt
from kinphoto.reason.soft.message_limits import Alone, NormalFaces, counted
from kinphoto.reason.soft.messages import BeliefPropagation, Converged, VagueFaces
from kinphoto.reason.soft.orders import Orders, Pair, orders
from kinphoto.reason.soft.summary import days, summaries
from kinphoto.reason.soft.workers import parallel_map

FACES, TABLES = 5_000, 500
"""Faces and tables that are computed together."""


class LocalFactors(Protocol):
    """The factors of groups by themselves, before any messages."""

    groups: Groups
    lives: Lives
    appearances: Appearances
    informants: Informants

    def cells(self, rows: Ints, start: Array, end: Array) -> Grid:
        """The cells of these rows between these days."""

    shift: Array

    def unary(self, rows: Ints, cells: Grid, fitted: Array) -> Array:
        """The log-likelihood of each row without messages, in each cell; of the flagged rows, of the date that their
        ages suit."""

    def chunks(self, rows: Ints) -> Iterable[Ints]:
        """These rows in parts that are worked out together."""


class Neighbours:
    """Groups with vague births or orders (`rows` of `Groups`), and the messages between them."""

    def __init__(self, beliefs: LocalFactors, by_strips: Collection[Pair] = ()) -> None:
        """`by_strips` are pairs of groups whose order comes from their strip of film."""
        groups, self.faces = beliefs.groups, beliefs.appearances.vague_faces
        pairs = {} if beliefs.appearances.isolated else orders(groups.of, beliefs.lives.known)
        pairs = {pair: wrong for pair, wrong in pairs.items() if pair not in by_strips}
        ordered = self.ordered = np.unique(np.array(list(pairs), dtype=np.int64))
        self.rows: Ints = np.union1d(np.array([f.row for f in self.faces], dtype=np.int64), ordered)
        self.lives = beliefs.lives
        self.births = vague_births(list(dict.fromkeys(f.person for f in self.faces)), self.lives)
        self.orders: Orders | None = None
        if not len(self.rows):
            return
        self.photos, self.unary, chains = self._unary(beliefs, ordered)
        if len(ordered):
            place = {int(row): i for i, row in enumerate(self.rows)}
            named = {(place[i], place[j]): factor for (i, j), factor in pairs.items()}
            self.orders = Orders(np.searchsorted(self.rows, ordered), *chains, named)
        self.common = common_looks(self.faces, beliefs.appearances.informants, beliefs.informants)
        self.tables = _Tables(beliefs.appearances.informants, beliefs.informants)
        self.careless: Ints
        """Kernels of each face if its judge was careless, before and after the last day that is certain; -1: none."""
        faces, until = self._joints(beliefs.lives)
        self.propagation = BeliefPropagation(
            faces, self.births.rows, self.births.prior, self.photos, self.unary, self.orders
        )
        self.converged: Converged = self.propagation.run(self.births.chance_of_life(until))
        self.through_births = self.converged.photos
        if self.orders is not None:  # rings are of births, so messages of orders count once whatever those allow
            self.through_births[self.photos.of(self.orders.groups)[0]] -= self.orders.by_quarter()
            self.through_orders = self.orders.log_likelihood()
        self._allow_for_rings()

    def _allow_for_rings(self) -> None:
        """Let messages between births and photographs count as often as they may (`message_limits`)."""
        births, photos, f = self.births.rows, self.photos, self.propagation.faces
        with_age = np.array([bool(face.age or face.stated) for face in self.faces], dtype=bool)
        if not with_age.any():
            return
        variance = spreads(f.kernels)[f.kernel[self.propagation.looks.face[:-1]]][with_age] ** 2
        of_births, of_photos = 1 / variances_of(self.births.prior, births), np.empty(len(photos.first))
        for some in np.array_split(np.arange(len(photos.first)), len(photos.first) // FACES + 1):
            at, begin = photos.of(some)
            mass = normalised(self.unary[at], begin)
            of_photos[some] = 1 / variances_of(mass, QuarterRows(begin, photos.first[some]))
        alone = Alone(of_births, households(self.births.people, self.lives), of_photos)
        own, others = counted(NormalFaces(f.birth[with_age], f.photo[with_age], variance), alone)
        self.through_births *= np.repeat(others, np.diff(photos.start)).astype(self.through_births.dtype)
        prior, found = (np.log(np.maximum(mass, 1e-30)) for mass in (self.births.prior, self.converged.births))
        log = prior + (found - prior) * np.repeat(own, np.diff(births.start))
        self.converged = replace(self.converged, births=normalised(log, births.start))

    def forget_messages(self) -> None:
        """Free the memory of the messages, which only `doubts` are worked out from once they have converged."""
        if len(self.rows):
            del self.propagation

    @property
    def unconverged(self) -> Ints:
        """The groups whose messages did not converge."""
        return self.rows[self.converged.unconverged] if len(self.rows) else self.rows

    def from_births(self, rows: Ints, cells: Grid) -> Array:
        """The logarithm of the messages from births, in each cell: of the date that the ages suit."""
        if not len(self.rows):
            return np.zeros(len(cells.left))
        mine, to = _matched(self.rows, rows)
        at, begin = self.photos.of(mine)
        quarter = self.photos.quarters_of(mine)
        return _interpolated(Grid(begin, QUARTERS[quarter], QUARTERS[quarter + 1]), self.through_births[at], cells, to)

    def from_orders(self, rows: Ints, cells: Grid) -> Array:
        """The logarithm of the messages from orders, in each cell."""
        if self.orders is None:
            return np.zeros(len(cells.left))
        mine, to = _matched(self.rows, rows)
        place, some = _matched(self.orders.groups, mine)
        at, begin = self.orders.cells.of(place)
        own = Grid(begin, self.orders.cells.left[at], self.orders.cells.right[at])
        return _interpolated(own, self.through_orders[at], cells, to[some])

    def by_quarter(self, rows: Ints) -> Iterator[tuple[Ints, Ints, Array]]:
        """The posteriors, by themselves and by births, of those of these rows (ascending) that exchange messages, some
        at a time: for each entry the place of its row, its quarter-year and its probability."""
        if not len(self.rows):
            return
        mine, to = _matched(self.rows, rows)
        for some in np.array_split(np.arange(len(mine)), len(mine) // FACES + 1):
            at, begin = self.photos.of(mine[some])
            mass = normalised(self.unary[at] + self.through_births[at], begin)
            yield np.repeat(to[some], np.diff(begin)), self.photos.quarters_of(mine[some]), mass

    def birth_moments(self) -> tuple[tuple[str, ...], Array, Array]:
        """These people, the means of their births (days) and the variances (years squared)."""
        if not self.births.people:
            return (), np.zeros(0), np.zeros(0)
        begin = self.births.rows.start[:-1]
        day = QUARTERS[self.births.rows.quarters] + HALF
        weight = self.converged.births.astype(np.float64)
        mean = np.add.reduceat(weight * day, begin)
        square = np.add.reduceat(weight * (day - np.repeat(mean, np.diff(self.births.rows.start))) ** 2, begin)
        return self.births.people, mean, square / DAYS_PER_YEAR**2

    @cached_property
    def birth_estimates(self) -> list[BirthEstimate]:
        """The posteriors of these people's births, cut to their hard bounds, which quarter-years can exceed."""
        if not self.births.people:
            return []
        seen, found = Counter(f.person for f in self.faces), []
        for some in np.array_split(np.arange(len(self.births.people)), len(self.births.people) // FACES + 1):
            at, begin = self.births.rows.of(some)
            quarter = self.births.rows.quarters[at]
            cells = Grid(begin, QUARTERS[quarter], QUARTERS[quarter + 1])
            read_out = summaries(cells, self.converged.births[at].astype(np.float64))
            for i, middle, start, end in zip(some.tolist(), *(v.tolist() for v in read_out), strict=True):
                person = self.births.people[i]
                bounds = self.lives.bounds.of_birth(person, self.lives.known)
                low, high = bounds.first or 0, bounds.last or 0
                first, last, best = (min(max(day, low), high) for day in (*days(start, end), int(middle)))
                died = self.lives.bounds.of_death(person, self.lives.known)
                possible = low, high, died.first or 0, died.last or 0
                found.append(BirthEstimate(person, first, last, best, seen[person], possible))
        return found

    def doubts(self, above: float) -> list[JudgementDoubt]:
        """The judged ages of these people that are careless with a chance above `above`; not once their messages are
        forgotten."""
        judged = np.array([i for i, f in enumerate(self.faces) if len(f.judged) == 1], dtype=np.int64)
        if not len(judged):
            return []
        doubt = np.array([self.faces[i].judged[0][1].doubt for i in judged.tolist()])
        least = above / np.maximum(doubt, 1e-30)
        careless, lasting = self.careless[:, judged]
        near = self.propagation.may_be_careless(judged, careless, lasting, least)
        judged = judged[near]
        s0, s1 = self.propagation.doubted(judged, careless[near], lasting[near], least[near])
        found = []
        for i, a, b in zip(judged.tolist(), s0.tolist(), s1.tolist(), strict=True):
            (age, judgement) = self.faces[i].judged[0]
            chance = judgement.doubt * a / max(b, 1e-30)
            if chance > above:
                found.append(JudgementDoubt(self.faces[i].person, age, min(chance, 1.0)))
        return found

    def _unary(self, beliefs: LocalFactors, ordered: Ints) -> tuple[QuarterRows, Array, tuple[Grid, Array]]:
        """The logarithm of the mass of each quarter-year; of ordered groups their cells and masses too."""

        def chunk(rows: Ints) -> tuple[Array, ...]:
            cells = beliefs.cells(rows, beliefs.groups.first[rows], beliefs.groups.last[rows])
            own = np.isin(rows, ordered)  # orders are of exposures, so there the two dates are taken as one
            mass = beliefs.unary(rows, cells, (beliefs.shift[rows] > 0) & ~own) + np.log(cells.width)
            new = cells.new_quarters
            top = np.repeat(cells.per_row(mass, np.maximum), cells.sizes)
            log = np.log(np.maximum(np.add.reduceat(np.exp(mass - top), new), 1e-30)).astype(np.float32)
            at, _ = cells.of(np.flatnonzero(own))
            sizes, firsts = np.bincount(cells.row[new], minlength=cells.rows), cells.quarter[cells.start[:-1]]
            return sizes, firsts, log, cells.sizes[own], cells.left[at], cells.right[at], mass[at]

        found = list(parallel_map(chunk, beliefs.chunks(self.rows)))
        sizes, firsts, log, own, left, right, mass = (np.concatenate([f[i] for f in found]) for i in range(7))
        return QuarterRows(starts(sizes), firsts), log, (Grid(starts(own), left, right), mass)

    def _joints(self, lives: Lives) -> tuple[VagueFaces, Array]:
        """The faces as `messages` wants them; and until when each of the people was alive for certain."""
        births, found = self.births, self.faces
        number = {p: i for i, p in enumerate(births.people)}
        birth = np.array([number[f.person] for f in found], dtype=np.int64)
        photo = np.searchsorted(self.rows, np.array([f.row for f in found], dtype=np.int64))
        weighted = (QUARTERS[births.rows.quarters] + HALF) * births.prior
        mean = np.add.reduceat(weighted, births.rows.start[:-1]) if found else np.zeros(0)
        deaths = [lives.death(p) for p in births.people]
        until = np.array([d.first for d in deaths])
        by_survival = np.array([depends_on_birth(d, m) for d, m in zip(deaths, mean, strict=True)], dtype=bool)[birth]
        alive = self._alive(Deaths(deaths, mean), birth, photo, by_survival)
        looks = [self.common[p] for p in births.people]
        late, kernel, index = list[int](), list[int](), self.tables.index
        for face, of, survival in zip(found, birth.tolist(), by_survival.tolist(), strict=True):
            for look in looks[of]:
                kernel.append(index(face, look, surviving=False))
                late.append(index(face, look, surviving=True) if survival else -1)
        careless = [
            (
                index(face, None, surviving=False, careless=True),
                index(face, None, surviving=True, careless=True) if s else -1,
            )
            for face, s in zip(found, by_survival.tolist(), strict=True)
        ]
        self.careless = np.array(careless, dtype=np.int64).reshape(-1, 2).T
        share, rest = (np.array([getattr(f, name) for f in found]) for name in ("share", "rest"))
        quarters = np.searchsorted(QUARTERS, until, side="right") - 1
        table = self.tables.array()
        return VagueFaces(
            birth, photo, np.array(kernel, dtype=np.int64), table, share, rest, alive, np.array(late, dtype=np.int64),
            quarters[birth], np.array([len(some) for some in looks], dtype=np.int64), perception.OWN_LOOKS[1],
        ), until  # fmt: skip

    def _alive(self, ends: Deaths, birth: Ints, photo: Ints, by_survival: Array) -> Array:
        """P(not dead) in each quarter-year of each face's photograph, where it hardly depends on the birth."""
        found = [np.zeros(0, dtype=np.float32)]
        for some in np.array_split(np.arange(len(photo)), len(photo) // FACES + 1):
            sizes = self.photos.sizes_of(photo[some])
            day = QUARTERS[self.photos.quarters_of(photo[some])] + HALF
            which = np.repeat(birth[some], sizes)
            value = np.ones(len(day), dtype=np.float32)
            late = np.flatnonzero((day > ends.until[which]) & ~np.repeat(by_survival[some], sizes))
            value[late] = ends.alive(which[late], day[late])
            found.append(value)
        return np.concatenate(found)


def _matched(rows: Ints, wanted: Ints) -> tuple[Ints, Ints]:
    """The positions in `rows` of the `wanted` that are there (both ascending), and which those are."""
    place = np.searchsorted(rows, wanted)
    found = np.flatnonzero(rows[np.minimum(place, len(rows) - 1)] == wanted)
    return place[found], found


def _interpolated(source: Grid, values: Array, cells: Grid, to: Ints) -> Array:
    """`values` on the cells of one grid, taken over to the rows `to` of another; 0 on its other rows."""
    total = np.zeros(len(cells.left))
    if len(to):
        here, there = cells.of(to)
        place = np.repeat(np.arange(len(to)), np.diff(there))
        total[here] = source.interpolated(values, place, cells.middle[here])
    return total


def variances_of(mass: Array, rows: QuarterRows) -> Array:
    """The variance of each row's probabilities, in quarter-years squared."""
    begin = rows.start[:-1]
    at = ranges(np.zeros(len(begin), dtype=np.int64), np.diff(rows.start))
    mean = np.add.reduceat(mass * at, begin)
    square = np.add.reduceat(mass * (at - np.repeat(mean, np.diff(rows.start))) ** 2, begin)
    return np.maximum(square, 1 / 12)


def spreads(kernels: Array) -> Array:
    """The standard deviation of the age under each kernel, in quarter-years: half of what holds the middle 68 %,
    so that careless judgements do not count."""
    found = []
    for some in np.array_split(kernels, len(kernels) // TABLES + 1):
        rising = np.cumsum(some, axis=1, dtype=np.float64)
        low, high = ((rising < share * rising[:, -1:]).sum(axis=1) for share in (0.16, 0.84))
        found.append((high - low) / 2)
    return np.asarray(np.maximum(np.concatenate(found), 0.5))


class _Tables:
    """Kernels by quarter-years, each once."""

    def __init__(self, names: Sequence[str | None], informants: Informants) -> None:
        self.names, self.informants = names, informants
        self.numbers: dict[tuple[Judgements, tuple[int, ...], CommonLook | None, StatedAges, bool], int] = {}

    def index(self, face: Face, look: CommonLook | None, *, surviving: bool, careless: bool = False) -> int:
        """The number of the kernel of a face, for one look of the person; the kernel of a `careless` judge, whoever
        that is."""
        ages, judges = (
            (tuple(one.careless for one in face.age), (0,) * len(face.age)) if careless else (face.age, face.judges)
        )
        seen = (ages, judges, look) if ages else ((), (), None)
        return self.numbers.setdefault((*seen, face.stated, surviving), len(self.numbers))

    def array(self) -> Array:
        """All of them."""
        found = np.empty((len(self.numbers), LAGS + 1), dtype=np.float32)
        every = list(self.numbers)
        for late in (False, True):
            some = sorted((i for i, (*_, other) in enumerate(every) if other is late), key=lambda i: every[i][1])
            for part in np.array_split(some, len(some) // TABLES + 1) if some else ():
                wanted = [
                    (age, tuple(self.informants.points(self.names[judge], look) for judge in judges), stated)
                    for age, judges, look, stated, _ in (every[i] for i in part.tolist())
                ]
                found[part] = by_quarters(wanted, surviving=late)
        return found

"""What photographs heard from their containers (`containers`), as it is kept, and what is known of these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import QUARTER_YEAR, STRAY
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.subjects import Theme
from kinphoto.reason.soft.common_errors import LEAST
from kinphoto.reason.soft.grid import QUARTERS, Cells, Grid
from kinphoto.reason.soft.strays import Stray
from kinphoto.reason.soft.summary import Posterior
from kinphoto.reason.soft.years import Years, normal

LOWEST = 12.75
"""By how much the logarithm of what a photograph heard may lie below the greatest, as it is kept."""
LOG = -LOWEST * (np.arange(256) / 255) ** 2
"""The logarithm that is kept as so many steps: they are finest where photographs are likely to be, since the ends of a
range move by weeks with a few hundredths there."""
_OF_STEPS = np.exp(LOG)


@dataclass(frozen=True)
class Boxes:
    """What is known of all containers, by their numbers in `Lying`: their `names` (ids), the logarithm of the chance of
    each point of `years` (no sum), the archive's rate as each has it, and whether anything dated lies in the outermost
    container around it. Quarter-years are counted from `first` on."""

    names: tuple[str | Theme, ...]
    years: Years
    log: Array
    rate: Array
    known: Array
    first: int

    def expected(self, container: int) -> Posterior:
        """When a photograph in it was taken of which nothing is known."""
        inside = self.years.spread(normal(self.log[container][None]))[0]
        edges = QUARTERS[self.first : self.first + self.years.cells + 1]
        return Posterior(edges, (1 - STRAY) * inside.astype(float) + STRAY * self.rate[container])


@dataclass(frozen=True)
class Heard:
    """The logarithm of M on quarter-years from `first` on, for some rows (ascending): how far each lies below the
    greatest of its row, in a byte (`LOG`); which of them hardly belong where they lie, and what is known of the
    containers (None where only a part of the evidence is at hand)."""

    rows: Ints
    first: int
    steps: Array
    strays: tuple[Stray, ...] = ()
    boxes: Boxes | None = None

    def line(self, *quarters: float) -> tuple[float, ...]:
        """Points given in quarter-years from the first one on, on the line of days."""
        return tuple(np.interp(quarters, np.arange(len(QUARTERS) - self.first), QUARTERS[self.first :]).tolist())

    def message(self, place: int) -> Array:
        """M of the row at this place on the quarter-years from the first one on; the greatest is 1."""
        return np.asarray(_OF_STEPS[self.steps[place]])

    def between(self, rows: Ints, first: int, cells: int) -> Array:
        """M of these rows (ascending) on so many quarter-years from `first` on; 1 for those that heard nothing."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        at = np.clip(first + np.arange(cells) - self.first, 0, self.steps.shape[1] - 1)
        found = _OF_STEPS[self.steps[place[:, None], at]]
        found[self.rows[place] != rows] = 1.0
        return np.asarray(found)

    def packed(self, wanted: Ints) -> Iterator[bytes]:
        """Each of these rows in a few hundred bytes: the first quarter-year, and the steps."""
        head = self.first.to_bytes(2, "big")
        for row in self.steps[np.searchsorted(self.rows, wanted)]:
            yield head + row.tobytes()

    @classmethod
    def unpacked(cls, told: Mapping[int, bytes]) -> Heard | None:
        """What these rows heard, from `packed`; None of none."""
        if not told:
            return None
        rows = sorted(told)
        firsts = [int.from_bytes(told[row][:2], "big") for row in rows]
        steps = [np.frombuffer(told[row][2:], dtype=np.uint8) for row in rows]
        first = min(firsts)
        if len({*firsts}) == 1 and len({len(some) for some in steps}) == 1:
            return cls(np.array(rows, dtype=np.int64), first, np.stack(steps))
        end = max(at + len(some) for at, some in zip(firsts, steps, strict=True))
        whole = [
            np.pad(some, (at - first, end - at - len(some)), mode="edge")
            for at, some in zip(firsts, steps, strict=True)
        ]
        return cls(np.array(rows, dtype=np.int64), first, np.array(whole))

    def take(self, rows: Ints) -> Heard | None:
        """What these rows heard, as rows 0, 1, ...; None if none of them did."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        there = np.flatnonzero(self.rows[place] == rows)
        return Heard(there, self.first, self.steps[place[there]]) if len(there) else None

    def on(self, rows: Ints, cells: Grid) -> Array:
        """On the cells of these rows (ascending); 0 for those that heard nothing."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        known = self.rows[place] == rows
        at = np.repeat(np.where(known, place, -1), cells.sizes)
        where = (cells.middle - QUARTERS[self.first]) / (QUARTER_YEAR * DAYS_PER_YEAR) - 0.5
        most = self.steps.shape[1] - 1
        left = np.clip(np.floor(where), 0, most - 1).astype(np.int64)
        part = np.clip(where - left, 0.0, 1.0)
        value = (1 - part) * LOG[self.steps[at, left]] + part * LOG[self.steps[at, left + 1]]
        return np.where(at < 0, 0.0, value)


def with_others(told: Heard | None, rows: Ints, first: int, message: Array) -> Heard:
    """What was heard, with another `message` (from the quarter-year `first` on) for these rows (ascending)."""
    if told is None:
        return Heard(rows, first, in_steps(message))
    begin, end = min(told.first, first), max(told.first + told.steps.shape[1], first + message.shape[1])
    every = np.union1d(told.rows, rows)
    steps = np.empty((len(every), end - begin), dtype=np.uint8)
    for some, at, found in ((told.rows, told.first, told.steps), (rows, first, in_steps(message))):
        after = end - at - found.shape[1]
        steps[np.searchsorted(every, some)] = np.pad(found, ((0, 0), (at - begin, after)), mode="edge")
    return replace(told, rows=every, first=begin, steps=steps)


def density_of(told: bytes, on: Cells) -> Array:
    """What a container told a photograph (`Heard.packed`), as the likelihood of each cell."""
    found = Heard.unpacked({0: told})
    assert found is not None
    whole = Grid(np.array([0, len(on)], dtype=np.int64), on.edges[:-1], on.edges[1:])
    return np.exp(found.on(np.zeros(1, dtype=np.int64), whole))


def in_steps(message: Array) -> Array:
    """The logarithms of each row, as `Heard` has them."""
    message = np.log(np.maximum(message, LEAST))
    steps = (message.max(axis=1, keepdims=True) - message) * (255**2 / LOWEST)
    np.sqrt(np.minimum(steps, 255.0**2, out=steps), out=steps)
    return np.asarray(np.rint(steps, out=steps).astype(np.uint8))

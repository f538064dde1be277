"""The posteriors of all exposures: what is said, who is seen, and what other photographs tell.

    statements  --->  claims, crowd, faces  --->  groups  <--- messages --->  births, other groups  --->  read-out

- A **group** is one variable: photographs with one exposure (copies, prints from one negative, one occasion). Its prior
  is flat inside the bounds of all its members.
- What is **said** of it (`claims`) and the **faces** of people whose births are known (`crowd`) or that are unusual
  (`faces`: rivals, likenesses) multiply on its cells. Nothing else bears on seven photographs in ten.
- Groups with faces of people whose births are vague, and ordered groups, hear from other groups (`messages`, `orders`).

Whatever is worked out is worked out for some thousand groups at once, on ragged arrays (`grid`). A posterior that has
drawn together is worked out again on finer cells, without the tails that hold less than a hundred-thousandth.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kinphoto.reason.births import Lives
from kinphoto.reason.bodies import Bodies
from kinphoto.reason.claims import Said, matching
from kinphoto.reason.crowd import Crowds, Doubt, Seen
from kinphoto.reason.faces import Unusual
from kinphoto.reason.grid import Array, Grid, Ints, grid, steps
from kinphoto.reason.groups import Groups
from kinphoto.reason.informants import Informants
from kinphoto.reason.kernels import Kernels
from kinphoto.reason.neighbours import Neighbours
from kinphoto.reason.readout import read
from kinphoto.reason.workers import at_once

TAIL = 1e-5
"""Probability that may be cut off at the ends when a posterior is worked out on finer cells."""
CELLS = 60_000
"""Cells that are worked out together: what a processor keeps at hand."""


@dataclass(frozen=True)
class Part:
    """The posteriors of some groups: `rows` of `Groups`, a row of `cells` each, and the probability of each cell.

    `doubts` are the judged ages of known people that have nothing to do with the true age, with their chance.
    """

    rows: Ints
    cells: Grid
    mass: Array
    doubts: tuple[Doubt, ...] = ()

    @cached_property
    def read_out(self) -> tuple[Array, Array, Array]:
        """Median, and start and end of the likely range, of each group."""
        return read(self.cells, self.mass)


class Beliefs:
    """What is believed of the exposures of all groups that something bears on."""

    def __init__(self, groups: Groups, lives: Lives, informants: Informants | None = None) -> None:
        self.groups, self.lives = groups, lives
        self.said = Said(groups.members, lives.known, lives.walls)
        self.bodies = Bodies(groups, lives)
        self.informants = informants or Informants.learned(self.said, self.bodies)
        self.kernels = Kernels([self.informants.points(name) for name in self.bodies.informants])
        well_known = [self.informants.well_known(name) for name in self.bodies.informants]
        self.crowds = Crowds(self.bodies.known, self.kernels.at_nodes, well_known, groups.first, groups.last)
        self.unusual = Unusual(lives)
        self.break_row, self.breaks = self._breaks()
        self.neighbours = Neighbours(self)

    def posteriors(self, rows: Ints, above: float = 1.0) -> Iterator[Part]:
        """The posteriors of these groups (ascending), in parts of some thousand; each group once.

        Doubts are told where their chance is greater than `above`.
        """
        for parts in at_once(lambda chunk: self._worked_out(chunk, above), self.chunks(rows)):
            yield from parts

    def _worked_out(self, rows: Ints, above: float) -> list[Part]:
        """The posteriors of a chunk, each on cells as fine as it wants."""
        found, start, end = [], self.groups.first[rows], self.groups.last[rows]
        while len(rows):
            cells = self.cells(rows, start, end)
            seen = self.crowds.seen(cells, rows)
            mass = cells.masses(self._unary(rows, cells, seen) + self.neighbours.heard(rows, cells))
            inner = _inner(cells, mass)
            done = steps(*inner) >= steps(start, end)
            at, begin = cells.of(np.flatnonzero(done))
            wanted = above < 1 and done.any()
            doubts = tuple(d for some in seen for d in some.doubts(mass, done, above)) if wanted else ()
            part = Part(rows[done], Grid(begin, cells.left[at], cells.right[at]), mass[at], doubts)
            if len(part.rows):
                _ = part.read_out  # here, where other threads can work meanwhile
                found.append(part)
            rows, start, end = rows[~done], inner[0][~done], inner[1][~done]
        return found

    def chunks(self, rows: Ints) -> Iterable[Ints]:
        """Groups, so many at a time as make CELLS cells."""
        sizes = (self.groups.last - self.groups.first)[rows] / 91 + 1
        return np.split(rows, np.flatnonzero(np.diff(np.cumsum(sizes) // CELLS)) + 1) if len(rows) else []

    def unary(self, rows: Ints, cells: Grid) -> Array:
        """The logarithm of all factors but messages, in each cell."""
        return self._unary(rows, cells, self.crowds.seen(cells, rows))

    def _unary(self, rows: Ints, cells: Grid, seen: list[Seen]) -> Array:
        total = self.said.likelihood(cells, rows)
        for some in seen:
            total += some.likelihood()
        for i, row in enumerate(rows.tolist() if self.bodies.unusual else ()):
            for region in self.bodies.unusual.get(row, ()):
                total[cells.start[i] : cells.start[i + 1]] += self.unusual.likelihood(region, cells.cells(i))
        return total

    def cells(self, rows: Ints, start: Array, end: Array) -> Grid:
        """Cells for these groups, cut where their factors jump."""
        mine, place = matching(self.break_row, rows)
        return grid(start, end, place, self.breaks[mine])

    def _breaks(self) -> tuple[Ints, Array]:
        """Days on which a factor jumps, by group in ascending order."""
        row = np.concatenate([self.said.break_row, *(c.break_row for c in self.crowds.both)])
        day = np.concatenate([self.said.breaks, *(c.breaks for c in self.crowds.both)])
        order = np.argsort(row, kind="stable")
        return row[order], day[order]


def _inner(cells: Grid, mass: Array) -> tuple[Array, Array]:
    """The cells that hold all but the tails of each row, as intervals."""
    rising = np.cumsum(mass)
    before = np.concatenate([[0.0], rising])[cells.start[:-1]]
    first = np.clip(np.searchsorted(rising, before + TAIL / 2), cells.start[:-1], cells.start[1:] - 1)
    last = np.clip(np.searchsorted(rising, before + 1 - TAIL / 2), first, cells.start[1:] - 1)
    return cells.left[first], cells.right[last]

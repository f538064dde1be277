"""The messages of containers to their photographs (`containers`), as they are kept, and what is known of the
containers."""

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
"""By how much the logarithm of a message may be below its greatest, as it is kept."""
LOG = -LOWEST * (np.arange(256) / 255) ** 2
"""The logarithm for each number of steps: they are finest where photographs are likely to be, since the ends of a
range move by weeks with a few hundredths there."""
_OF_STEPS = np.exp(LOG)


@dataclass(frozen=True)
class Boxes:
    """What is known of all containers, by their numbers in `Lying`: their `names` (ids), the logarithm of the chance of
    each point of `years` (no sum), the archive's rate as each has it, and whether anything dated is in the outermost
    container around it. Quarter-years are counted from `first` on."""

    names: tuple[str | Theme, ...]
    years: Years
    log: Array
    rate: Array
    known: Array
    first: int

    def expected(self, container: int) -> Posterior:
        """When a photograph in it was taken about which nothing is known."""
        inside = self.years.spread(normal(self.log[container][None]))[0]
        edges = QUARTERS[self.first : self.first + self.years.cells + 1]
        return Posterior(edges, (1 - STRAY) * inside.astype(float) + STRAY * self.rate[container])


@dataclass(frozen=True)
class ContainerMessages:
    """The logarithm of M on quarter-years from `first` on, for some rows (ascending): how far each is below the
    greatest of its row, in a byte (`LOG`); which of them hardly belong in their containers, and what is known of the
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
        """M of these rows (ascending) on `cells` quarter-years from `first` on; 1 for those without a message."""
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
    def unpacked(cls, messages: Mapping[int, bytes]) -> ContainerMessages | None:
        """The messages to these rows, from `packed`; None if there are none."""
        if not messages:
            return None
        rows = sorted(messages)
        firsts = [int.from_bytes(messages[row][:2], "big") for row in rows]
        steps = [np.frombuffer(messages[row][2:], dtype=np.uint8) for row in rows]
        first = min(firsts)
        if len({*firsts}) == 1 and len({len(some) for some in steps}) == 1:
            return cls(np.array(rows, dtype=np.int64), first, np.stack(steps))
        end = max(at + len(some) for at, some in zip(firsts, steps, strict=True))
        whole = [
            np.pad(some, (at - first, end - at - len(some)), mode="edge")
            for at, some in zip(firsts, steps, strict=True)
        ]
        return cls(np.array(rows, dtype=np.int64), first, np.array(whole))

    def take(self, rows: Ints) -> ContainerMessages | None:
        """The messages to these rows, as rows 0, 1, ...; None if there are none."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        there = np.flatnonzero(self.rows[place] == rows)
        return ContainerMessages(there, self.first, self.steps[place[there]]) if len(there) else None

    def on(self, rows: Ints, cells: Grid) -> Array:
        """On the cells of these rows (ascending); 0 for those without a message."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        known = self.rows[place] == rows
        at = np.repeat(np.where(known, place, -1), cells.sizes)
        where = (cells.middle - QUARTERS[self.first]) / (QUARTER_YEAR * DAYS_PER_YEAR) - 0.5
        most = self.steps.shape[1] - 1
        left = np.clip(np.floor(where), 0, most - 1).astype(np.int64)
        part = np.clip(where - left, 0.0, 1.0)
        value = (1 - part) * LOG[self.steps[at, left]] + part * LOG[self.steps[at, left + 1]]
        return np.where(at < 0, 0.0, value)


def with_others(messages: ContainerMessages | None, rows: Ints, first: int, message: Array) -> ContainerMessages:
    """The messages with another `message` (from the quarter-year `first` on) to these rows (ascending)."""
    if messages is None:
        return ContainerMessages(rows, first, in_steps(message))
    begin, end = min(messages.first, first), max(messages.first + messages.steps.shape[1], first + message.shape[1])
    every = np.union1d(messages.rows, rows)
    steps = np.empty((len(every), end - begin), dtype=np.uint8)
    for some, at, found in ((messages.rows, messages.first, messages.steps), (rows, first, in_steps(message))):
        after = end - at - found.shape[1]
        steps[np.searchsorted(every, some)] = np.pad(found, ((0, 0), (at - begin, after)), mode="edge")
    return replace(messages, rows=every, first=begin, steps=steps)


def density_of(messages: bytes, on: Cells) -> Array:
    """The message of a container to a photograph (`ContainerMessages.packed`), as the likelihood of each cell."""
    found = ContainerMessages.unpacked({0: messages})
    assert found is not None
    whole = Grid(np.array([0, len(on)], dtype=np.int64), on.edges[:-1], on.edges[1:])
    return np.exp(found.on(np.zeros(1, dtype=np.int64), whole))


def in_steps(message: Array) -> Array:
    """The logarithms of each row, as `ContainerMessages` has them."""
    message = np.log(np.maximum(message, LEAST))
    steps = (message.max(axis=1, keepdims=True) - message) * (255**2 / LOWEST)
    np.sqrt(np.minimum(steps, 255.0**2, out=steps), out=steps)
    return np.asarray(np.rint(steps, out=steps).astype(np.uint8))

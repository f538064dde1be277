"""Messages from containers: what each says about the years of a photograph in it (`model/containers`).

With l_j(y) the likelihood of photograph j (its posterior by itself and by the births it shares, from a flat prior),
t = (centre, width) the parameters of a container, and e_j(t) = sum over y of l_j(y) p(y | t), a photograph i hears

    M_i(y) = sum over t of P(t) [product over j of e_j(t)^(w_j (1 - c_ij))] p(y | t).

**Errors in common.** c_ij is the correlation of the errors of i and j, by vague births and judges in common, and 1 of
a photograph with itself: what they have told each other already, or get wrong together, i does not hear. Besides,
photographs that are off together or were taken together repeat each other and count less: w_j = 1 / (1 + b_j + sum of
c_jk over the others), with b_j by the occasions (`model/containers.of_one_occasion`, first as if all that each tells
was the years, then twice with what that makes of the width). Of normal errors, all with the same variance and
correlation, that is the best estimate: n others count n (1 - c) / (1 + n c) times. It is e_j that is raised, not l_j: a
flatter l_j would explain the scatter of photographs as errors, and a container would look narrower than it is.

**Occasions.** That is what i hears if every photograph is of an occasion of its own. What it hears as it may be of one
with others (`model/containers.with_occasions`), `occasions` works out; it counts where a container is shuffled.

**Widths** are expected as the other containers of the archive have them (`model/containers.learned`).

**Containers in containers.** Where it lies, a container counts as one photograph with the likelihood
g(y) = sum over t of P(photographs | t) N(y; t), and the density there without it takes the place of the archive's rate.

**The rate** r of an outermost container is that of all others: r ~ FLAT / Y + the sum over them of sqrt(n) times the
mean posterior of their n photographs, smoothed. Photographs that lie nowhere hear r alone.

All widths are worked out on their own cells (`Width.stride`), so that a wide one costs little.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np
from scipy import sparse
from scipy.ndimage import convolve1d, gaussian_filter1d

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import FLAT, QUARTER_YEAR, SMOOTH, STRAY, WIDTHS, Width, in_occasion, learned
from kinphoto.reason.model.sequences import another_order, before_seen, of_one_series
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.common_errors import (
    LEAST,
    Sharing,
    apart,
    correlation_with_others,
    in_parts,
    moments,
    sharing_pairs,
    summed_by,
)
from kinphoto.reason.soft.grid import QUARTERS, Cells, Grid
from kinphoto.reason.soft.occasions import Occasions
from kinphoto.reason.soft.sequences import in_sequence, short_pieces
from kinphoto.reason.soft.strays import Stray, of_one_time, strays
from kinphoto.reason.soft.summary import Posterior

LOOSE = ""
"""The container of photographs that lie nowhere."""
TOGETHER, IN_ORDER_TOGETHER = 1_000, 8_000
"""Photographs that are worked out together: few where each needs much memory, more for what is done step by step."""
STEP = 0.05
"""Steps in which the logarithm of what a photograph heard is kept."""
_OF_STEPS = np.exp(-STEP * np.arange(256))
"""What is kept as so many steps."""
ROUNDS = 3
"""Rounds in which the rate is learned."""
MOSTLY = 0.5
"""Of photographs that share a vague birth, the correlation of their errors from which neither tells the other of the
order (*ours*)."""


class Years:
    """Densities over quarter-years, and over the parameters of containers: the two ways between them."""

    def __init__(self, cells: int) -> None:
        self.cells = cells
        self.widths = [Width(s) for s in WIDTHS]
        counts = [-(-cells // w.stride) for w in self.widths]
        ends = np.cumsum(counts)
        self.parts = [slice(int(end - n), int(end)) for end, n in zip(ends, counts, strict=True)]
        self.points = int(ends[-1])
        self._share = np.ones(self.points, dtype=np.float32)
        """1 over how much of N(y; t) lies in the cells at all: it is cut off at the ends."""
        self._share = 1 / self.seen(np.ones((1, cells), dtype=np.float32))[0]
        self._counts = np.array(counts)
        self.measure = self.at_points(np.array([w.stride for w in self.widths], dtype=float))
        """How many quarter-years of the line a point of its width stands for."""

    @cached_property
    def bells(self) -> Array:
        """N(y; t): (points, cells)."""
        return self.spread(np.eye(self.points, dtype=np.float32))

    def at_points(self, values: Array) -> Array:
        """A value of each width at every one of its points: (..., widths) to (..., points)."""
        return np.repeat(values, self._counts, axis=-1)

    def by_width(self, chance: Array) -> Array:
        """The sum over the points of each width: (rows, points) to (rows, widths)."""
        return np.add.reduceat(chance, [part.start for part in self.parts], axis=1)

    def seen(self, likelihood: Array) -> Array:
        """The sum over y of l(y) N(y; t) for each point t: (rows, cells) to (rows, points)."""
        found = np.empty((len(likelihood), self.points), dtype=np.float32)
        for width, part in zip(self.widths, self.parts, strict=True):
            self._within(width, likelihood, found[:, part])
        found *= self._share
        return found

    def spread(self, weight: Array) -> Array:
        """The sum over t of P(t) N(y; t) for each quarter-year: (rows, points) to (rows, cells)."""
        found = np.zeros((len(weight), self.cells), dtype=np.float32)
        weight = weight * self._share
        for width, part in zip(self.widths, self.parts, strict=True):
            share = convolve1d(weight[:, part], width.bell, axis=1, mode="constant")
            found += np.repeat(share, width.stride, axis=1)[:, : self.cells] if width.stride > 1 else share
        return found

    def prior(self, rate: Array) -> Array:
        """P(t), by rows of the rate: each width weighs the same."""
        near = self.seen(rate)
        for part in self.parts:
            near[:, part] /= near[:, part].sum(axis=1, keepdims=True) * len(WIDTHS)
        return near

    def _within(self, width: Width, likelihood: Array, found: Array) -> None:
        k = width.stride
        over = -self.cells % k
        padded = np.pad(likelihood, ((0, 0), (0, over))) if over else likelihood
        summed = padded.reshape(len(padded), -1, k).sum(axis=2) if k > 1 else padded
        convolve1d(summed, width.bell, axis=1, output=found, mode="constant")


@lru_cache(maxsize=2)
def _years(cells: int) -> Years:
    """Made once for as many quarter-years: many containers are worked out one by one after changes."""
    return Years(cells)


@dataclass(frozen=True)
class Lying:
    """Where photographs lie. Row i (a row of `Groups`) is in container `of[i]`; `parent` and `root` are by container
    (-1: none); parents come before what lies in them. Container 0 is that of loose photographs. `names` has the ids of
    the containers, `said` what was said of the order in them, by container; `number` the number of each row (-1: none),
    where any has one."""

    rows: Ints
    of: Ints
    position: Ints
    parent: Ints
    root: Ints
    names: tuple[str, ...] = ()
    said: Mapping[int, ev.Arrangement] = field(default_factory=dict)
    number: Ints | None = None

    @classmethod
    def read(
        cls, rows: Ints, members: Sequence[Sequence[str]], photographs: Mapping[str, ev.Photograph],
        containers: Iterable[ev.Container],
    ) -> Lying:  # fmt: skip
        """From the evidence: a group lies where the first of its photographs that lies somewhere does."""
        every = tuple(containers)
        above = {c.id: c.parent for c in every}
        names = [LOOSE]
        for name in above:
            path: list[str] = []
            at: str | None = name
            while at in above and at not in path:  # a ring would be somebody's mistake
                path.append(at)
                at = above[at]
            names += reversed(path)
        number = {name: i for i, name in enumerate(dict.fromkeys(names))}
        parent = np.full(len(number), -1)
        for name, i in number.items():
            at = above.get(name)
            if at in number and number[at] < i:
                parent[i] = number[at]
        root = np.arange(len(number))
        for i in range(len(number)):
            root[i] = i if parent[i] < 0 else root[parent[i]]
        places, numbers = [], list[ev.Number | None]()
        for row in rows.tolist():
            lies = (photographs[p] for p in members[row] if photographs[p].container in number)
            first = next(lies, None)
            places.append((0, 0) if first is None else (number[first.container or LOOSE], first.position))
            numbers.append(None if first is None else first.number)
        of, position = np.array(places, dtype=np.int64).reshape(-1, 2).T
        said = {number[c.id]: c.arrangement for c in every if c.arrangement is not None}
        return cls(rows, of, position, parent, root, tuple(number), said, _of_one_series(of, numbers))


def _of_one_series(of: Ints, numbers: Sequence[ev.Number | None]) -> Ints | None:
    """The number of each row, if it is of the series of which most in its container are, else -1; None of none."""
    lies: dict[int, list[int]] = defaultdict(list)
    for row, (box, number) in enumerate(zip(of.tolist(), numbers, strict=True)):
        if number is not None:
            lies[box].append(row)
    found = np.full(len(of), -1)
    for rows in lies.values():
        found[rows] = of_one_series([numbers[row] for row in rows])
    return found if lies else None


@dataclass(frozen=True)
class Boxes:
    """What is known of all containers, by their numbers in `Lying`: their `names` (ids), the logarithm of the chance of
    each point of `years` (no sum), the archive's rate as each has it, and whether anything dated lies in the outermost
    container around it. Quarter-years are counted from `first` on."""

    names: tuple[str, ...]
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
    """The logarithm of M on quarter-years from `first` on, for some rows (ascending): by how many steps of `STEP` each
    lies below the greatest of its row, in a byte; which of them hardly belong where they lie, and what is known of the
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
        value = (1 - part) * self.steps[at, left] + part * self.steps[at, left + 1]
        return np.where(at < 0, 0.0, -STEP * value)


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


def heard(
    lying: Lying, first: int, likelihood: Array, sharing: Sharing, tail: float
) -> tuple[Heard, Ints, Ints, Trees]:
    """M of every row, the first and last quarter-year between which all but a `tail` of its posterior lies, and what
    all containers are found to be.

    `likelihood` (rows, quarter-years from `first` on) adds up to 1 in each row."""
    trees = Trees(lying, likelihood, _rates(likelihood, lying), sharing)
    for part in _lying(lying.of, TOGETHER):
        trees.gather(part)
    trees.learn()
    trees.between()
    steps = np.empty(likelihood.shape, dtype=np.uint8)
    start, end = np.empty((2, len(likelihood)), dtype=np.int64)
    for part, told in trees.messages():
        for at in np.array_split(np.arange(len(part)), len(part) // TOGETHER + 1):
            steps[part[at]] = in_steps(told[at])
            start[part[at]], end[part[at]] = without_tails(told[at] * likelihood[part[at]], tail)
    known = np.isin(lying.root, lying.root[lying.of])
    boxes = Boxes(lying.names, trees.years, trees.before + trees.evidence, trees.tail, known, first)
    named = of_one_time(trees.strays, np.bincount(lying.of, minlength=len(lying.parent)))
    return Heard(lying.rows, first, steps, named, boxes), start + first, end + first, trees


def in_steps(message: Array) -> Array:
    """The logarithms of each row, as `Heard` has them."""
    message = np.log(np.maximum(message, LEAST))
    steps = (message.max(axis=1, keepdims=True) - message) / STEP
    return np.asarray(np.rint(np.minimum(steps, 255.0, out=steps), out=steps).astype(np.uint8))


def without_tails(mass: Array, tail: float) -> tuple[Ints, Ints]:
    """The first and the last cell of each row outside of which there is at most this share of it."""
    counts = mass > mass.sum(axis=1, keepdims=True) * (tail / mass.shape[1])
    return counts.argmax(axis=1), mass.shape[1] - 1 - counts[:, ::-1].argmax(axis=1)


def _lying(of: Ints, many: int) -> Iterator[Ints]:
    """The places of photographs by container, about so many at a time, but for those that lie nowhere."""
    somewhere = np.flatnonzero(of)
    for part in in_parts(of[somewhere], many):
        yield somewhere[part]


def _rates(likelihood: Array, lying: Lying) -> Array:
    """The archive's rate as each outermost container has it from the others: (containers, quarter-years)."""
    root = lying.root[lying.of]
    many, cells = len(lying.parent), likelihood.shape[1]
    weight = 1 / np.sqrt(np.maximum(np.bincount(root, minlength=many), 1))
    used = np.unique(root)
    found = np.full((many, cells), 1 / cells, dtype=np.float32)
    for _ in range(ROUNDS):
        by_root = np.zeros((many, cells), dtype=np.float32)
        for at in np.array_split(np.arange(len(root)), len(root) // TOGETHER + 1):
            posterior = likelihood[at] * found[root[at]]
            posterior *= (weight[root[at]] / np.maximum(posterior.sum(axis=1), LEAST))[:, None]
            by_root += summed_by(root[at], many) @ posterior
        others = by_root.sum(axis=0)[None] - by_root[used]
        smooth = gaussian_filter1d(others, SMOOTH / QUARTER_YEAR, axis=1, mode="nearest")
        found[used] = np.maximum(smooth, 0) + FLAT / cells
        found /= found.sum(axis=1, keepdims=True)
    return found


class Trees:
    """All containers, as logarithms by container and point: what the photographs in each tell of it (`evidence`), what
    is expected of it by the archive's rate and its other containers (`prior`), and by what lies outside (`before`).
    Parts are whole containers, since only there somebody's own is left out."""

    def __init__(self, lying: Lying, likelihood: Array, rate: Array, sharing: Sharing) -> None:
        self.lying, self.likelihood, self.sharing = lying, likelihood, sharing
        self.years = _years(likelihood.shape[1])
        self.tail = rate[lying.root]  # of each container
        self.weight = np.ones(len(lying.of), dtype=np.float32)
        self.trust = np.ones(len(lying.of), dtype=np.float32)
        """How far what births have in common lets each tell of the order."""
        self.evidence = np.zeros((len(lying.parent), self.years.points), dtype=np.float32)
        self.prior = np.log(np.maximum(self.years.prior(self.tail), LEAST))
        self.widths = np.full((len(lying.parent), len(WIDTHS)), 1 / len(WIDTHS))
        """What is to be expected of the width of each container."""
        self.before = self.prior
        self.around = self.tail.copy()
        """The density where each container lies, without what is in it: the rate, or that of another container."""
        self.strays: list[Stray] = []

    def gather(self, part: Ints) -> None:
        """What the photographs of these containers tell of them."""
        like, of = self.likelihood[part], self.lying.of[part]
        boxes, place = np.unique(of, return_inverse=True)
        common = correlation_with_others(self.sharing.loads[part], place, len(boxes))
        own = self._log(like, self.tail[of])
        _, variance = moments(like)
        together = in_occasion(np.bincount(place))[place]
        for _ in range(2):  # first as if all that each tells was the years, then with what that makes of the width
            told = summed_by(place, len(boxes), 1 / (1 + together + common)) @ own
            odds = self.years.by_width(normal(self.prior[boxes] + told))
            together = _of_one_occasion(place, odds, variance)
        self.weight[part] = 1 / (1 + together + common)
        self.trust[part] = 1 / (1 + correlation_with_others(self.sharing.by_births(part), place, len(boxes)))
        self.evidence[boxes] = summed_by(place, len(boxes), self.weight[part]) @ own

    def learn(self) -> None:
        """How wide the containers of this archive are: those that lie in another learn from each other, and so do the
        outermost ones."""
        told = self.prior + self.evidence
        told -= told.max(axis=1, keepdims=True)
        by_width = self.years.by_width(np.exp(told, out=told))
        counts = np.bincount(self.lying.of, minlength=len(told)) > 0
        counts[0] = False  # what lies nowhere
        for some in (self.lying.parent < 0, self.lying.parent >= 0):
            if some.any():
                self.widths[some] = learned(by_width[some], counts[some].astype(float))
        self.prior += self.years.at_points(np.log(len(WIDTHS) * self.widths))

    def messages(self) -> Iterator[tuple[Ints, Array]]:
        """M of all photographs, adding up to 1, some at a time: their places, and M of each."""
        loose = np.flatnonzero(self.lying.of == 0)
        for some in np.array_split(loose, len(loose) // TOGETHER + 1):
            yield some, np.repeat(self.tail[:1], len(some), axis=0)
        for part in _lying(self.lying.of, IN_ORDER_TOGETHER):
            like, of = self.likelihood[part], self.lying.of[part]
            found, gained = np.empty_like(like), np.empty_like(like)
            for some in _lying(of, TOGETHER):
                self._shuffled(part, some, found, gained)
            pieces = self._pieces(part, of)
            numbered = [self._by_number(part[piece]) for piece in pieces]
            priors = [
                before_seen(self.lying.said.get(int(of[piece[0]])), by_number=numbers is not None)
                for piece, numbers in zip(pieces, numbered, strict=True)
            ]
            silent = self._silent(part, pieces)
            in_sequence(pieces, like, found, self.trust[part], silent, priors, gained, numbered)
            yield part, found

    def _shuffled(self, part: Ints, some: Ints, found: Array, gained: Array) -> None:
        """Fill in M of `some` of a part, whole containers, as if they were shuffled and each was of an occasion of its
        own; and what is `gained` as they are not."""
        rows, of = part[some], self.lying.of[part[some]]
        like = self.likelihood[rows]
        each = self._log(like, self.tail[of])
        loads = apart(self.sharing.loads[rows], of)
        strips = self._left_by_strips(rows, of, loads)
        occasions = Occasions(of, like, each, self.years.bells, self.tail, loads, strips)
        own = each * self.weight[rows][:, None]
        for at in np.array_split(np.arange(len(some)), len(some) // TOGETHER + 1):
            told = self.before[of[at]]
            told += self.evidence[of[at]]
            alone = 1 - loads[at].multiply(loads[at]).sum(axis=1)
            told -= alone[:, None].astype(np.float32) * own[at]  # the whole of its own, c_ii = 1
            told -= loads[at] @ (loads.T @ own)
            if strips is not None:
                told -= strips[at] @ own
            chance = normal(told)
            message = self.years.spread(chance)
            self.strays += strays(rows[at], of[at], like[at], message, self.tail)
            message *= 1 - STRAY
            message += STRAY * self.tail[of[at]]
            found[some[at]] = message
            gained[some[at]] = occasions.gained(at, chance, message)

    def _left_by_strips(self, rows: Ints, of: Ints, loads: sparse.csr_array) -> sparse.csr_array | None:
        """How much each still hears of the others of its strip of film, which tell it nothing here: 1 - c_ij."""
        if self.sharing.strips is None:
            return None
        i, j = sharing_pairs(self.sharing.strips[rows], of)
        left = 1 - loads[i].multiply(loads[j]).sum(axis=1)
        return sparse.csr_array((left.astype(np.float32), (i, j)), (len(rows), len(rows)))

    def _pieces(self, part: Ints, of: Ints) -> list[Ints]:
        """The photographs of each container as they lie, in pieces whose order is looked at together."""
        order = np.lexsort((self.lying.position[part], of))
        ends = np.flatnonzero(np.diff(of[order])) + 1
        return [piece for whole in np.split(order, ends) for piece in short_pieces(whole)]

    def _by_number(self, rows: Ints) -> Ints | None:
        """The places of those among these rows that have numbers, in their order, where that is another one."""
        places = None if self.lying.number is None else another_order(self.lying.number[rows].tolist())
        return None if places is None else np.array(places, dtype=np.int64)

    def _silent(self, part: Ints, pieces: Sequence[Ints]) -> dict[int, list[int]]:
        """Of each photograph of a part, who in its piece is off mostly by the same, as they share a birth, or is of its
        strip of film."""
        number = np.empty(len(part), dtype=np.int64)
        for k, piece in enumerate(pieces):
            number[piece] = k
        loads = self.sharing.loads[part]
        i, j = sharing_pairs(self.sharing.births[part], number)
        common = loads[i].multiply(loads[j]).sum(axis=1)
        pairs = set(zip(i[common > MOSTLY].tolist(), j[common > MOSTLY].tolist(), strict=True))
        if self.sharing.strips is not None:
            i, j = sharing_pairs(self.sharing.strips[part], number)
            pairs |= set(zip(i.tolist(), j.tolist(), strict=True))
        found: dict[int, list[int]] = {}
        for one, other in sorted(pairs):
            found.setdefault(one, []).append(other)
        return found

    def _log(self, likelihood: Array, tail: Array) -> Array:
        """ln e(t)."""
        chance = self.years.seen(likelihood)
        chance *= 1 - STRAY
        chance += STRAY * np.einsum("ij,ij->i", likelihood, tail)[:, None]  # never 0, since nowhere the rate is
        return np.asarray(np.log(chance, out=chance))

    def between(self) -> None:
        """What lies outside of each container, as `before`; to `evidence` what lies within it is added."""
        years, parent = self.years, self.lying.parent.tolist()
        sent: dict[int, Array] = {}
        for i in reversed(range(len(parent))):
            if parent[i] >= 0 and np.ptp(self.evidence[i]):
                weight = np.exp(self.evidence[i] - self.evidence[i].max()) * years.measure
                weight *= years.at_points(self.widths[i])
                as_one = years.spread(weight[None].astype(np.float32))
                sent[i] = self._log(as_one / as_one.sum(), self.tail[i : i + 1])[0]
                self.evidence[parent[i]] += sent[i]
        self.before = self.prior
        for i, above in enumerate(parent):
            if above >= 0:
                others = normal((self.before[above] + self.evidence[above] - sent.get(i, 0.0))[None])
                self.lies(i, (1 - STRAY) * years.spread(others)[0] + STRAY * self.tail[i], self.widths[i])

    def lies(self, container: int, around: Array, widths: Array) -> None:
        """Note where a container lies, and what is to be expected of its width."""
        near = np.log(np.maximum(self.years.prior(around[None])[0], LEAST))
        self.before[container] = near + self.years.at_points(np.log(len(WIDTHS) * widths))
        self.around[container] = around


def _of_one_occasion(place: Ints, odds: Array, variance: Array) -> Array:
    """`model/containers.of_one_occasion` of several containers: the container of each photograph is `place`, a row of
    `odds`."""
    many = np.bincount(place)
    square = np.array(WIDTHS) ** 2
    share = np.sqrt(square / (square + variance[:, None]))
    rest = (summed_by(place, len(odds)) @ share)[place] - share
    others = in_occasion(many) / np.maximum(many - 1, 1)
    return np.asarray(others[place] * (share * rest * odds[place]).sum(axis=1))


def normal(log: Array) -> Array:
    """Probabilities from logarithms, by rows."""
    weight = log - log.max(axis=1, keepdims=True)
    np.exp(weight, out=weight)
    weight /= weight.sum(axis=1, keepdims=True)
    return np.asarray(weight, dtype=np.float32)

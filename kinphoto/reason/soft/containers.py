"""Messages from containers: what each says about the years of a photograph in it (`model/containers`).

With l_j(y) the likelihood of photograph j (its posterior by itself and by the births it shares, from a flat prior),
t = (centre, width) the parameters of a container, and e_j(t) = sum over y of l_j(y) p(y | t), a photograph i hears

    M_i(y) = sum over t of P(t) [product over j not in S_i of e_j(t)^w_j] p(y | t),

where S_i holds i itself and whoever in the container shares a vague birth with it: those have told each other already.

**Errors in common.** Photographs with a vague birth or a judge in common are off together, and those of one occasion
were taken together, so they count less: w_j = 1 / (1 + (OCCASION - 1) a_j + sum of c_jk over the others), c_jk the
correlation of their errors and a_j the mean of s^2 / (s^2 + v_j), with v_j the variance of l_j (first with a_j = 1,
then with what that makes of the width). It is e_j that is raised, not l_j: a flatter l_j would explain the scatter of
photographs as errors, and a container would look narrower than it is.

**Containers in containers.** Where it lies, a container counts as one photograph with the likelihood
g(y) = sum over t of P(photographs | t) N(y; t), and the density there without it takes the place of the archive's rate.

**The rate** r of an outermost container is that of all others: r ~ FLAT / Y + the sum over them of sqrt(n) times the
mean posterior of their n photographs, smoothed. Photographs that lie nowhere hear r alone.

All widths are worked out on their own cells (`Width.stride`), so that a wide one costs little.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
from scipy import sparse
from scipy.ndimage import convolve1d, gaussian_filter1d

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import FLAT, OCCASION, QUARTER_YEAR, SMOOTH, STRAY, WIDTHS, Width
from kinphoto.reason.model.perception import BEND, BIAS_SD, TAU
from kinphoto.reason.model.sequences import before_seen
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.grid import QUARTERS, Cells, Grid
from kinphoto.reason.soft.informants import Informants
from kinphoto.reason.soft.neighbours import Neighbours
from kinphoto.reason.soft.sequences import in_sequence
from kinphoto.reason.soft.strays import Stray, of_one_time, strays
from kinphoto.reason.soft.summary import Posterior

LOOSE = ""
"""The container of photographs that lie nowhere."""
TOGETHER, IN_ORDER_TOGETHER = 1_000, 8_000
"""Photographs that are worked out together: few where each needs much memory, more for what is done step by step."""
STEP = 0.05
"""Steps in which the logarithm of what a photograph heard is kept."""
KIN = 0.5
"""Share of the variance of a vague birth that vague births of a family have in common: they were told by each other."""
ROUNDS = 3
"""Rounds in which the rate is learned."""
LEAST = 1e-30


class Sources(Protocol):
    """Whom photographs have in common."""

    appearances: Appearances
    informants: Informants
    neighbours: Neighbours


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
        self.measure = np.concatenate([
            np.full(n, w.stride / len(WIDTHS)) for w, n in zip(self.widths, counts, strict=True)
        ])  # fmt: skip
        """How much of the line of quarter-years a point stands for, shared among the widths."""

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


@dataclass(frozen=True)
class Lying:
    """Where photographs lie. Row i (a row of `Groups`) is in container `of[i]`; `parent` and `root` are by container
    (-1: none); parents come before what lies in them. Container 0 is that of loose photographs. `names` has the ids of
    the containers, `said` what was said of the order in them, by container."""

    rows: Ints
    of: Ints
    position: Ints
    parent: Ints
    root: Ints
    names: tuple[str, ...] = ()
    said: Mapping[int, ev.Arrangement] = field(default_factory=dict)

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
        places = []
        for row in rows.tolist():
            lies = (photographs[p] for p in members[row] if photographs[p].container in number)
            first = next(lies, None)
            places.append((0, 0) if first is None else (number[first.container or LOOSE], first.position))
        of, position = np.array(places, dtype=np.int64).reshape(-1, 2).T
        said = {number[c.id]: c.arrangement for c in every if c.arrangement is not None}
        return cls(rows, of, position, parent, root, tuple(number), said)


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
        return np.asarray(np.exp(-STEP * self.steps[place].astype(np.float64)))

    def between(self, rows: Ints, first: int, cells: int) -> Array:
        """M of these rows (ascending) on so many quarter-years from `first` on; 1 for those that heard nothing."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        at = np.clip(first + np.arange(cells) - self.first, 0, self.steps.shape[1] - 1)
        found = np.exp(-STEP * self.steps[place[:, None], at].astype(np.float64))
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
        return Heard(rows, first, _in_steps(message))
    begin, end = min(told.first, first), max(told.first + told.steps.shape[1], first + message.shape[1])
    every = np.union1d(told.rows, rows)
    steps = np.empty((len(every), end - begin), dtype=np.uint8)
    for some, at, found in ((told.rows, told.first, told.steps), (rows, first, _in_steps(message))):
        after = end - at - found.shape[1]
        steps[np.searchsorted(every, some)] = np.pad(found, ((0, 0), (at - begin, after)), mode="edge")
    return replace(told, rows=every, first=begin, steps=steps)


def alike(one: bytes, other: bytes) -> bool:
    """Whether it makes no difference which of two packed rows is kept: no likely cell differs by more than a tenth."""
    if len(one) != len(other) or one[:2] != other[:2]:
        return False
    a, b = (np.frombuffer(told[2:], dtype=np.uint8).astype(np.int64) for told in (one, other))
    return not np.any((abs(a - b) > 0.1 / STEP) & (np.minimum(a, b) < 5 / STEP))


def density_of(told: bytes, on: Cells) -> Array:
    """What a container told a photograph (`Heard.packed`), as the likelihood of each cell."""
    found = Heard.unpacked({0: told})
    assert found is not None
    whole = Grid(np.array([0, len(on)], dtype=np.int64), on.edges[:-1], on.edges[1:])
    return np.exp(found.on(np.zeros(1, dtype=np.int64), whole))


@dataclass(frozen=True)
class Sharing:
    """What photographs have in common, by the places of their rows. `births` (rows, people) says who with a vague birth
    is in which; `loads` (rows, births and judges) are the loadings of their errors: c = loads loads^T."""

    births: sparse.csr_array
    loads: sparse.csr_array

    def also(self, together: sparse.csr_array) -> Sharing:
        """The same, with others (rows, what they share) that tell each other nothing."""
        return Sharing(sparse.csr_array(sparse.hstack([self.births, together])), self.loads)


def heard(lying: Lying, first: int, likelihood: Array, sharing: Sharing, tail: float) -> tuple[Heard, Ints, Ints]:
    """M of every row, and the first and last quarter-year between which all but a `tail` of its posterior lies.

    `likelihood` (rows, quarter-years from `first` on) adds up to 1 in each row."""
    trees = _Trees(lying, likelihood, _rates(likelihood, lying), sharing)
    for part in _parts(lying.of, TOGETHER):
        trees.gather(part)
    trees.between()
    steps = np.empty(likelihood.shape, dtype=np.uint8)
    start, end = np.empty((2, len(likelihood)), dtype=np.int64)
    for part, told in trees.messages():
        for at in np.array_split(np.arange(len(part)), len(part) // TOGETHER + 1):
            steps[part[at]] = _in_steps(told[at])
            start[part[at]], end[part[at]] = without_tails(told[at] * likelihood[part[at]], tail)
    known = np.isin(lying.root, lying.root[lying.of])
    boxes = Boxes(lying.names, trees.years, trees.before + trees.evidence, trees.tail, known, first)
    named = of_one_time(trees.strays, np.bincount(lying.of, minlength=len(lying.parent)))
    return Heard(lying.rows, first, steps, named, boxes), start + first, end + first


def _in_steps(message: Array) -> Array:
    """The logarithms of each row, as `Heard` has them."""
    message = np.log(np.maximum(message, LEAST))
    steps = (message.max(axis=1, keepdims=True) - message) / STEP
    return np.asarray(np.rint(np.minimum(steps, 255.0, out=steps), out=steps).astype(np.uint8))


def without_tails(mass: Array, tail: float) -> tuple[Ints, Ints]:
    """The first and the last cell of each row outside of which there is at most this share of it."""
    counts = mass > mass.sum(axis=1, keepdims=True) * (tail / mass.shape[1])
    return counts.argmax(axis=1), mass.shape[1] - 1 - counts[:, ::-1].argmax(axis=1)


def _parts(of: Ints, many: int) -> Iterator[Ints]:
    """The places of photographs by container, about so many at a time, but for those that lie nowhere."""
    order = np.argsort(of, kind="stable")
    order = order[np.searchsorted(of[order], 1) :]
    ends = np.flatnonzero(np.diff(of[order])) + 1
    begin = 0
    for end in (*ends.tolist(), len(order)):
        if end - begin >= many or (end == len(order) and end > begin):
            yield order[begin:end]
            begin = end


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


def summed_by(place: Ints, many: int, weight: Array | float = 1.0) -> sparse.csr_array:
    """The weight of each column where its place is the row."""
    weights = np.broadcast_to(np.asarray(weight, dtype=np.float32), len(place))
    return sparse.csr_array((weights, (place, np.arange(len(place)))), (many, len(place)))


class _Trees:
    """All containers: what the photographs in each tell of it (`evidence`), and what lies outside (`before`), as
    logarithms by container and point. Parts are whole containers, since only there somebody's own is left out."""

    def __init__(self, lying: Lying, likelihood: Array, rate: Array, sharing: Sharing) -> None:
        self.lying, self.likelihood, self.sharing = lying, likelihood, sharing
        self.years = Years(likelihood.shape[1])
        self.tail = rate[lying.root]  # of each container
        self.weight = np.ones(len(lying.of), dtype=np.float32)
        self.trust = np.ones(len(lying.of), dtype=np.float32)
        self.evidence = np.zeros((len(lying.parent), self.years.points), dtype=np.float32)
        self.before = self.evidence
        self.strays: list[Stray] = []

    def gather(self, part: Ints) -> None:
        """What the photographs of these containers tell of them."""
        like, of = self.likelihood[part], self.lying.of[part]
        boxes, place = np.unique(of, return_inverse=True)
        common = self._common(part, place, len(boxes))
        own = self._log(like, self.tail[of])
        first = summed_by(place, len(boxes), 1 / (OCCASION + common)) @ own
        odds = normal(np.log(np.maximum(self.years.prior(self.tail[boxes]), LEAST)) + first)
        by_width = np.stack([odds[:, points].sum(axis=1) for points in self.years.parts], axis=1)
        square = np.array(WIDTHS) ** 2
        _, variance = moments(like)
        of_years = (by_width[place] * (square / (square + variance[:, None]))).sum(axis=1)
        self.weight[part] = 1 / (1 + (OCCASION - 1) * of_years + common)
        self.trust[part] = 1 / (1 + common)
        self.evidence[boxes] = summed_by(place, len(boxes), self.weight[part]) @ own

    def messages(self) -> Iterator[tuple[Ints, Array]]:
        """M of all photographs, adding up to 1, some at a time: their places, and M of each."""
        loose = np.flatnonzero(self.lying.of == 0)
        for some in np.array_split(loose, len(loose) // TOGETHER + 1):
            yield some, np.repeat(self.tail[:1], len(some), axis=0)
        for part in _parts(self.lying.of, IN_ORDER_TOGETHER):
            like, of = self.likelihood[part], self.lying.of[part]
            found, sharing = np.empty_like(like), dict[int, list[int]]()
            for some in _parts(of, TOGETHER):
                i, j = self._shuffled(part, some, found)
                for one, other in zip(i.tolist(), j.tolist(), strict=True):
                    sharing.setdefault(one, []).append(other)
            pieces = self._pieces(part, of)
            priors = [before_seen(self.lying.said.get(int(of[piece[0]]))) for piece in pieces]
            in_sequence(pieces, like, found, self.trust[part], sharing, priors)
            yield part, found

    def _shuffled(self, part: Ints, some: Ints, found: Array) -> tuple[Ints, Ints]:
        """Fill in M of `some` of a part, whole containers, as if they were shuffled; who shares a vague birth."""
        rows, of = part[some], self.lying.of[part[some]]
        own = self._log(self.likelihood[rows], self.tail[of])
        i, j = self._pairs(rows, of)
        silent = np.concatenate([i, np.arange(len(some))]), np.concatenate([j, np.arange(len(some))])
        left_out = sparse.csr_array((self.weight[rows][silent[1]], silent), (len(some), len(some)))
        for at in np.array_split(np.arange(len(some)), len(some) // TOGETHER + 1):
            told = self.before[of[at]]
            told += self.evidence[of[at]]
            told -= left_out[at] @ own
            message = self.years.spread(normal(told))
            self.strays += strays(rows[at], of[at], self.likelihood[rows[at]], message, self.tail)
            message *= 1 - STRAY
            message += STRAY * self.tail[of[at]]
            found[some[at]] = message
        return some[i], some[j]

    def _pieces(self, part: Ints, of: Ints) -> list[Ints]:
        """The photographs of each container as they lie."""
        order = np.lexsort((self.lying.position[part], of))
        ends = np.flatnonzero(np.diff(of[order])) + 1
        return np.split(order, ends)

    def _pairs(self, part: Ints, of: Ints) -> tuple[Ints, Ints]:
        """Different photographs of one container that share a vague birth."""
        births = self.sharing.births[part]
        i, j = (births @ births.T).tocoo().coords
        keep = (of[i] == of[j]) & (i != j)
        return i[keep].astype(np.int64), j[keep].astype(np.int64)

    def _log(self, likelihood: Array, tail: Array) -> Array:
        """ln e(t)."""
        chance = self.years.seen(likelihood)
        chance *= 1 - STRAY
        chance += STRAY * np.einsum("ij,ij->i", likelihood, tail)[:, None]  # never 0, since nowhere the rate is
        return np.asarray(np.log(chance, out=chance))

    def _common(self, part: Ints, place: Ints, many: int) -> Array:
        """The sum of c_jk over the others of the container."""
        loads = self.sharing.loads[part]
        together = (summed_by(place, many) @ loads)[place]
        alone = loads.multiply(loads).sum(axis=1)
        return np.asarray(np.maximum(np.asarray(loads.multiply(together).sum(axis=1) - alone).ravel(), 0.0))

    def between(self) -> None:
        """What lies outside of each container, as `before`; to `evidence` what lies within it is added."""
        years, parent = self.years, self.lying.parent.tolist()
        sent: dict[int, Array] = {}
        for i in reversed(range(len(parent))):
            if parent[i] >= 0 and np.ptp(self.evidence[i]):
                weight = np.exp(self.evidence[i] - self.evidence[i].max()) * years.measure
                as_one = years.spread(weight[None].astype(np.float32))
                sent[i] = self._log(as_one / as_one.sum(), self.tail[i : i + 1])[0]
                self.evidence[parent[i]] += sent[i]
        self.before = np.log(np.maximum(years.prior(self.tail), LEAST))
        for i, above in enumerate(parent):
            if above >= 0:
                others = normal((self.before[above] + self.evidence[above] - sent.get(i, 0.0))[None])
                there = (1 - STRAY) * years.spread(others) + STRAY * self.tail[i : i + 1]
                self.before[i] = np.log(np.maximum(years.prior(there)[0], LEAST))


def normal(log: Array) -> Array:
    """Probabilities from logarithms, by rows."""
    weight = log - log.max(axis=1, keepdims=True)
    np.exp(weight, out=weight)
    weight /= weight.sum(axis=1, keepdims=True)
    return np.asarray(weight, dtype=np.float32)


def moments(likelihood: Array) -> tuple[Array, Array]:
    """Mean (years from the first quarter-year on) and variance of each row."""
    at = ((np.arange(likelihood.shape[1]) + 0.5) * QUARTER_YEAR).astype(likelihood.dtype)
    middle = at.mean()
    both = likelihood @ np.stack([at - middle, (at - middle) ** 2], axis=1)
    return both[:, 0] + middle, np.maximum(both[:, 1] - both[:, 0] ** 2, QUARTER_YEAR**2 / 12)


def shared(beliefs: Sources, rows: Ints, first: int, likelihood: Array) -> Sharing:
    """What these rows have in common. Errors are taken as normal: with D = a + 2 years (53 at most) to a unit of the
    scale of judged ages, a face of age a has the variance (tau D)^2 of its own, (sd of its judge's bias D)^2 of the
    judge and that of the birth; a photograph weighs its faces by their precision."""
    vague, known = beliefs.neighbours.faces, beliefs.appearances.known_faces
    people, born, birth_variance = beliefs.neighbours.birth_moments()
    number = {person: i for i, person in enumerate(people)}
    place = {row: i for i, row in enumerate(rows.tolist())}
    holding = [(place[f.row], number[f.person]) for f in vague if f.row in place]
    births = _sparse(holding, (len(rows), len(people)))
    judges = [_bias_sd(name, beliefs.informants) for name in beliefs.appearances.informants]
    faces = [
        (place[f.row], born[who], who, birth_variance[who], f.informant)
        for f in vague if f.age and f.row in place for who in (number[f.person],)
    ]  # fmt: skip
    faces += [(place[f.row], f.born, -1, 0.0, f.informant) for f in known if f.age and f.row in place]
    if not faces:
        return Sharing(births, _sparse([], (len(rows), 1)))
    row, day, who, variance, judge = (np.array(column) for column in zip(*faces, strict=True))
    mean, spread = moments(likelihood)
    age = (mean[row] + (QUARTERS[first] - day) / DAYS_PER_YEAR) + 2
    unit = np.clip(age, 2.0, BEND + 2)
    own, bias = (TAU * unit) ** 2, (np.array(judges)[judge] * unit) ** 2
    precision = 1 / (own + bias + variance)
    share = precision / np.bincount(row, precision, minlength=len(rows))[row]
    by_judge = sparse.coo_array((share * bias**0.5, (row, judge)), (len(rows), len(judges))).tocsr()
    by_judge = by_judge[:, 1:]  # the first is nobody in particular
    some = who >= 0
    of_birth = share[some] * variance[some] ** 0.5
    by_birth = sparse.coo_array((of_birth * (1 - KIN) ** 0.5, (row[some], who[some])), births.shape).tocsr()
    kin = sparse.coo_array(
        (of_birth * KIN**0.5, (row[some], np.zeros(int(some.sum()), dtype=np.int64))), (len(rows), 1)
    )
    loads = sparse.hstack([by_judge, by_birth, kin.tocsr()]).tocsr()
    alone = np.bincount(row, share**2 * (own + np.where(judge == 0, bias, 0.0)), minlength=len(rows))
    total = np.maximum(alone + loads.multiply(loads).sum(axis=1), LEAST)
    scale = np.minimum(1.0, spread / total) / total**0.5  # less where something else dates it too
    return Sharing(births, sparse.csr_array(loads.multiply(scale[:, None]), dtype=np.float32))


def _bias_sd(name: str | None, informants: Informants) -> float:
    found = None if name is None else informants.known.get(name)
    return BIAS_SD if found is None else found.bias_sd


def _sparse(entries: Sequence[tuple[int, int]], shape: tuple[int, int]) -> sparse.csr_array:
    """1 at these places (the more often somebody is in a photograph, it is 1 all the same)."""
    at = np.array(sorted(set(entries)), dtype=np.int64).reshape(-1, 2)
    return sparse.csr_array((np.ones(len(at), np.float32), (at[:, 0], at[:, 1])), (shape[0], max(shape[1], 1)))

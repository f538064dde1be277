"""Messages from containers about the years of the photographs in them (`model/containers`).

With l_j(y) the likelihood of photograph j (its posterior by itself and by the births it shares, from a flat prior),
t = (centre, width) the parameters of a container, and e_j(t) = sum over y of l_j(y) p(y | t), a photograph i receives

    M_i(y) = sum over t of P(t) [product over j of e_j(t)^(w_j (1 - c_ij))] p(y | t).

**Errors in common.** c_ij is the correlation of the errors of i and j, by vague births and judges in common, and 1 of
a photograph with itself: information that they share already, or get wrong together, does not reach i. Besides,
photographs that are off together or were taken together repeat each other and count less: w_j = 1 / (1 + b_j + sum of
c_jk over the others), with b_j by the occasions (`model/containers.of_one_occasion`, first as if each informed about
the years alone, then twice with what follows for the width). Of normal errors, all with the same variance and
correlation, that is the best estimate: n others count n (1 - c) / (1 + n c) times. It is e_j that is raised, not l_j: a
flatter l_j would explain the scatter of photographs as errors, and a container would look narrower than it is.

**Occasions.** That is the message to i if every photograph is of an occasion of its own. What it gains as it may be of
one with others (`model/containers.with_occasions`), `occasions` works out; it counts where a container is shuffled.

**Widths** are expected as the other containers of the archive have them (`model/containers.learned`).

**Containers in containers.** In the one around it, a container counts as one photograph with the likelihood
g(y) = sum over t of P(photographs | t) N(y; t), and the density there without it takes the place of the archive's rate.

**The rate** r of an outermost container is that of all others: r ~ FLAT / Y + the sum over them of sqrt(n) times the
mean posterior of their n photographs, smoothed. Photographs that are in no container receive r alone.

All widths are worked out on their own cells (`Width.stride`), so that a wide one costs little.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy import sparse
from scipy.ndimage import gaussian_filter1d

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import FLAT, QUARTER_YEAR, SMOOTH, STRAY, WIDTHS, in_occasion, learned
from kinphoto.reason.model.sequences import another_order, before_seen, of_one_series
from kinphoto.reason.model.subjects import Arrangement, Container, Number, Photograph, Theme
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
from kinphoto.reason.soft.container_messages import Boxes, ContainerMessages, in_steps
from kinphoto.reason.soft.occasions import Occasions
from kinphoto.reason.soft.sequences import in_sequence, short_pieces
from kinphoto.reason.soft.strays import Stray, of_one_time, strays
from kinphoto.reason.soft.years import normal, years_of

LOOSE = ""
"""The container of photographs that are in none."""
TOGETHER, IN_ORDER_TOGETHER = 1_000, 8_000
"""Photographs that are worked out together: few where each needs much memory, more for what is done step by step."""
ROUNDS = 3
"""Rounds in which the rate is learned."""
MOSTLY = 0.5
"""The correlation of errors from which photographs that share a vague birth exchange no message about their order
(*ours*)."""


@dataclass(frozen=True)
class Lying:
    """The container of each photograph. Row i (a row of `Groups`) is in container `of[i]`; `parent` and `root` are by
    container (-1: none); parents come before what is in them. Container 0 is that of loose photographs. `names` has
    the ids of the containers, `said` what was said of the order in them, by container; `number` the number of each row
    (-1: none), where any has one."""

    rows: Ints
    of: Ints
    position: Ints
    parent: Ints
    root: Ints
    names: tuple[str | Theme, ...] = ()
    said: Mapping[int, Arrangement] = field(default_factory=dict)
    number: Ints | None = None

    @classmethod
    def read(
        cls, rows: Ints, members: Sequence[Sequence[str]], photographs: Mapping[str, Photograph],
        containers: Iterable[Container],
    ) -> Lying:  # fmt: skip
        """From the evidence: a group is where the first of its photographs in a container is."""
        every = tuple(containers)
        above = {c.id: c.parent for c in every}
        names: list[str | Theme] = [LOOSE]
        for name in above:
            path: list[str | Theme] = []
            at: str | Theme | None = name
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
        places, numbers = [], list[Number | None]()
        for row in rows.tolist():
            lies = (photographs[p] for p in members[row] if photographs[p].container in number)
            first = next(lies, None)
            places.append((0, 0) if first is None else (number[first.container or LOOSE], first.position))
            numbers.append(None if first is None else first.number)
        of, position = np.array(places, dtype=np.int64).reshape(-1, 2).T
        said = {number[c.id]: c.arrangement for c in every if c.arrangement is not None}
        return cls(rows, of, position, parent, root, tuple(number), said, _of_one_series(of, numbers))


def _of_one_series(of: Ints, numbers: Sequence[Number | None]) -> Ints | None:
    """The number of each row, if it is in the most frequent series of its container, else -1; None if there are
    none."""
    lies: dict[int, list[int]] = defaultdict(list)
    for row, (box, number) in enumerate(zip(of.tolist(), numbers, strict=True)):
        if number is not None:
            lies[box].append(row)
    found = np.full(len(of), -1)
    for rows in lies.values():
        found[rows] = of_one_series([numbers[row] for row in rows])
    return found if lies else None


def pass_messages(
    lying: Lying, first: int, likelihood: Array, sharing: Sharing, tail: float
) -> tuple[ContainerMessages, Ints, Ints, Trees]:
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
    for part, found in trees.messages():
        for at in _slices(len(part), TOGETHER):
            steps[part[at]] = in_steps(found[at])
            start[part[at]], end[part[at]] = without_tails(found[at] * likelihood[part[at]], tail)
    known = np.isin(lying.root, lying.root[lying.of])
    boxes = Boxes(lying.names, trees.years, trees.before + trees.evidence, trees.tail, known, first)
    named = of_one_time(trees.strays, np.bincount(lying.of, minlength=len(lying.parent)))
    return ContainerMessages(lying.rows, first, steps, named, boxes), start + first, end + first, trees


def without_tails(mass: Array, tail: float) -> tuple[Ints, Ints]:
    """The first and the last cell of each row such that at most this share of it is outside."""
    counts = mass > mass.sum(axis=1, keepdims=True) * (tail / mass.shape[1])
    return counts.argmax(axis=1), mass.shape[1] - 1 - counts[:, ::-1].argmax(axis=1)


def _lying(of: Ints, many: int) -> Iterator[Ints]:
    """The places of photographs by container, about `many` at a time, except for those in none."""
    somewhere = np.flatnonzero(of)
    for part in in_parts(of[somewhere], many):
        yield somewhere[part]


def _slices(many: int, about: int) -> Iterator[slice]:
    """`many` things in about equal parts of at most `about`."""
    size, more = divmod(many, many // about + 1)
    begin = 0
    for part in range(many // about + 1):
        end = begin + size + (part < more)
        yield slice(begin, end)
        begin = end


def _rates(likelihood: Array, lying: Lying) -> Array:
    """The archive's rate as each outermost container has it from the others: (containers, quarter-years)."""
    root = lying.root[lying.of]
    many, cells = len(lying.parent), likelihood.shape[1]
    weight = 1 / np.sqrt(np.maximum(np.bincount(root, minlength=many), 1))
    used, by_box = np.unique(root), np.argsort(root, kind="stable")
    found = np.full((many, cells), 1 / cells, dtype=np.float32)
    for _ in range(ROUNDS):
        by_root = np.zeros((many, cells), dtype=np.float32)
        for some in _slices(len(root), TOGETHER):
            at = by_box[some]  # so that few containers get a share of each
            boxes, place = np.unique(root[at], return_inverse=True)
            posterior = found[root[at]]
            posterior *= likelihood[at]
            posterior *= (weight[root[at]] / np.maximum(posterior.sum(axis=1), LEAST))[:, None]
            by_root[boxes] += summed_by(place, len(boxes)) @ posterior
        others = by_root.sum(axis=0)[None] - by_root[used]
        smooth = gaussian_filter1d(others, SMOOTH / QUARTER_YEAR, axis=1, mode="nearest")
        found[used] = np.maximum(smooth, 0) + FLAT / cells
        found /= found.sum(axis=1, keepdims=True)
    return found


class Trees:
    """All containers, as logarithms by container and point: the likelihood from the photographs in each (`evidence`),
    what is expected of it by the archive's rate and its other containers (`prior`), and by what is outside (`before`).
    Parts are whole containers, since only there somebody's own is left out."""

    def __init__(self, lying: Lying, likelihood: Array, rate: Array, sharing: Sharing) -> None:
        self.lying, self.likelihood, self.sharing = lying, likelihood, sharing
        self.years = years_of(likelihood.shape[1])
        self.tail = rate[lying.root]  # of each container
        self.weight = np.ones(len(lying.of), dtype=np.float32)
        self.trust = np.ones(len(lying.of), dtype=np.float32)
        """How far errors in common by births let each count for the order."""
        self.evidence = np.zeros((len(lying.parent), self.years.points), dtype=np.float32)
        self.prior = np.log(np.maximum(self.years.prior(self.tail), LEAST))
        self.widths = np.full((len(lying.parent), len(WIDTHS)), 1 / len(WIDTHS))
        """What is to be expected of the width of each container."""
        self.before = self.prior
        self.around = self.tail.copy()
        """The density around each container, without what is in it: the rate, or that of another container."""
        self.strays: list[Stray] = []
        self.log_e: Array | None = None
        """ln e(t) of all photographs, where it is worked out once: for many it takes much memory."""

    def keep_log_e(self) -> None:
        """Work ln e(t) out once for all photographs."""
        self.log_e = self.log_e_of(np.arange(len(self.lying.of)), self.likelihood)

    def log_e_of(self, rows: Ints, likelihood: Array) -> Array:
        """ln e(t) of these photographs, whose likelihood this is, for whoever asks to change."""
        if self.log_e is not None:
            return np.asarray(self.log_e[rows])
        return self._log(likelihood, self.tail[self.lying.of[rows]])

    def gather(self, part: Ints) -> None:
        """The likelihood of the parameters of these containers from their photographs."""
        like, of = self.likelihood[part], self.lying.of[part]
        boxes, place = np.unique(of, return_inverse=True)
        common = correlation_with_others(self.sharing.loads[part], place, len(boxes))
        own = self.log_e_of(part, like)
        _, variance = moments(like)
        together = in_occasion(np.bincount(place))[place]
        for _ in range(2):  # first as if each informed about the years alone, then with what follows for the width
            log = summed_by(place, len(boxes), 1 / (1 + together + common)) @ own
            odds = self.years.by_width(normal(self.prior[boxes] + log))
            together = _of_one_occasion(place, odds, variance)
        self.weight[part] = 1 / (1 + together + common)
        self.trust[part] = 1 / (1 + correlation_with_others(self.sharing.by_births(part), place, len(boxes)))
        self.evidence[boxes] = summed_by(place, len(boxes), self.weight[part]) @ own

    def learn(self) -> None:
        """How wide the containers of this archive are: those inside another learn from each other, and so do the
        outermost ones."""
        log = self.prior + self.evidence
        log -= log.max(axis=1, keepdims=True)
        by_width = self.years.by_width(np.exp(log, out=log))
        counts = np.bincount(self.lying.of, minlength=len(log)) > 0
        counts[0] = False  # what is in none
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
        each = self.log_e_of(rows, like)
        loads = apart(self.sharing.loads[rows], of)
        strips = self._left_by_strips(rows, of, loads)
        occasions = Occasions(of, like, each, self.years.bells, self.tail, loads, strips)
        own = each * self.weight[rows][:, None]
        of_each = loads.T @ own
        everything = self.before[of[0] : of[-1] + 1] + self.evidence[of[0] : of[-1] + 1]
        for at in _slices(len(some), TOGETHER):
            cavity = everything[of[at] - of[0]]
            alone = 1 - loads[at].multiply(loads[at]).sum(axis=1)
            cavity -= alone[:, None].astype(np.float32) * own[at]  # the whole of its own, c_ii = 1
            cavity -= loads[at] @ of_each
            if strips is not None:
                cavity -= strips[at] @ own
            chance = normal(cavity)
            message = self.years.spread(chance)
            self.strays += strays(rows[at], of[at], like[at], message, self.tail)
            message *= 1 - STRAY
            message += STRAY * self.tail[of[at]]
            found[some[at]] = message
            gained[some[at]] = occasions.gained(at, chance, message)

    def _left_by_strips(self, rows: Ints, of: Ints, loads: sparse.csr_array) -> sparse.csr_array | None:
        """How much would still reach each from the others of its strip of film, which do not count here: 1 - c_ij."""
        if self.sharing.strips is None:
            return None
        i, j = sharing_pairs(self.sharing.strips[rows], of)
        left = 1 - loads[i].multiply(loads[j]).sum(axis=1)
        return sparse.csr_array((left.astype(np.float32), (i, j)), (len(rows), len(rows)))

    def _pieces(self, part: Ints, of: Ints) -> list[Ints]:
        """The photographs of each container in their order, in pieces whose order is looked at together."""
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
        """What is outside of each container, as `before`; what is inside it is added to `evidence`."""
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
        """Note the density around a container, and what is to be expected of its width."""
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

"""What lying together tells of when photographs were taken: a model, plain and slow, to compare others with.

Each photograph i brings a likelihood l_i(y) on cells of time, which it has from its own people and clues and from
births it shares with others: today's posterior, since that starts from a flat prior. What is added is a prior that
photographs of one container share. All constants are *ours*. Since it was written, kinphoto itself has learned how wide
the containers of an archive are, and photographs hear of whoever shares a birth as far as their errors are apart
(`reason/soft/containers`): this has not.

**A container's density.** Of a photograph in a container with the parameters t = (centre m, width s),

    p(y | t) = 0.95 N(y; m, s^2) + 0.05 r(y),

with r the archive's rate (below), so that a stray is not drawn in. t is one of some 250 points: for each of the widths
`WIDTHS` centres one width apart. Before anything is seen, all widths are alike, and

    P(m | s) ~ sum over y of r(y) N(y; m, s^2).

In a container that lies within another with the parameters u, r is p(. | u) in this prior. Neither m nor s is ever
plugged in: with e_j(t) = sum over y of l_j(y) p(y | t), what a shuffled container tells its photograph i is

    M_i(y) = sum over t of P(t) [product over j not in S_i of e_j(t)] p(y | t),

where S_i holds i itself and every photograph that shares a vague birth with it: those have told each other already.
The result is l_i(y) M_i(y).

**The archive's rate** r(y) of a container is learned from all others: with P_j the posterior of j and n_c the number of
photographs of container c, r ~ FLAT / Y + sum over c of sqrt(n_c) mean over j in c of P_j(y), smoothed with a standard
deviation of five years. The square root, because photographs of one container are no independent sample of the years.

**Order.** Three models of the sequence in which the photographs of a container lie. There is a hidden place in time h_k
for each; photograph k was taken in the cell h_k with the chance 1 - SLIP, and else at any time with density p(. | t).

- *Shuffled*: every h_k is drawn from p(. | t) by itself.
- *Bursts*: h_k+1 = h_k with the chance STAY, else it is drawn anew from p(. | t).
- *In order*: as bursts, given that h_1 <= h_2 <= ... <= h_n. Its weight for a path is the product of
  STAY [h_k+1 = h_k] + (1 - STAY) p(h_k+1 | t) [h_k+1 >= h_k], divided by the sum of the weights of all paths.

They are mixed, each with its prior `ORDERS` times its marginal likelihood, and never selected. Given t and the model,
what the others tell photograph k follows by the forward-backward recursion (Rabiner, "A tutorial on hidden Markov
models", Proceedings of the IEEE 77, 1989); with f and b its two halves without the photograph's own likelihood,

    M_k(y | t) ~ (1 - SLIP) f_k(y) b_k(y) + SLIP p(y | t) sum over h of f_k(h) b_k(h).

The likelihoods of the photographs in S_k are set to one, in the recursion and wherever P(t) is worked out.

**Errors in common.** Photographs j and k other than i may share a vague birth or a judge with one another, and then
they are off together: thirty pictures of one child tell no more of an album's years than the child's birth allows. And
they were taken on occasions, a few at a time, so thirty photographs are no thirty samples of a tin's years. With c_jk
the correlation of their errors, what is learned of t from a shuffled container is the product of e_j(t)^w_j with
w_j = 1 / (1 + (OCCASION - 1) a_j + sum of c_jk over the other k that count), and a_j the mean of s^2 / (s^2 + v_j), the
share of the years in the variance of what j tells, with v_j the variance of l_j (once with a_j = 1, then with the mean
over what that makes of t): where a container is narrow, it does not matter who was taken together. That is the design
effect of cluster sampling (Kish 1965), which
makes a composite likelihood as sure as its effective number of photographs (Pauli, Racugno and Ventura, Statistica
Sinica 21, 2011). It is e_j that is raised and not l_j: a flatter l_j would explain the scatter of the photographs as
errors, and the container would look narrower than it is. The other orders have occasions of their own, so there
OCCASION is 1, and what the order adds to the logarithm, ln P(all | t) - sum of ln e_j(t), counts with the mean of w_j;
so it does where orders are compared, all with OCCASION = 1. Given t, nothing is weakened. c is that of normal errors:
with D = a + 2 years (53 at most) to a unit of the scale of judged ages, a face of age a has the variance (0.17 D)^2 of
its own, (sd of the judge's bias D)^2 of its judge and that of the birth, and a photograph weighs its faces by their
precision.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from collections_drawn import BIAS_SD, TAU, Collection
from drawn import YEAR
from scipy.ndimage import gaussian_filter1d

from kinphoto.reason.dating import Inference
from kinphoto.reason.model.containers import FLAT, SMOOTH, WIDTHS
from kinphoto.reason.model.containers import STRAY as TAIL
from kinphoto.reason.model.sequences import ORDERS, SLIP, STAY
from kinphoto.reason.soft.summary import Posterior, shortest

Array = np.ndarray
NOBODY: frozenset[int] = frozenset()
OCCASION = 6.0
"""So many photographs of a shuffled container count as one (kinphoto has another measure of that since)."""
NEGLIGIBLE = 1e-6
"""Parameters are left out of the recursion where they weigh less than this for every photograph of a container."""


@dataclass(frozen=True, eq=False)
class Model:
    """The constants, on cells of time between `edges` (years)."""

    edges: Array = field(default_factory=lambda: np.arange(1850.0, 1996.0, 1.0))
    widths: tuple[float, ...] = WIDTHS
    tail: float = TAIL
    slip: float = SLIP
    stay: float = STAY
    orders: dict[str, float] = field(default_factory=lambda: dict(ORDERS))
    occasion: float = OCCASION
    """1: photographs of a shuffled container count as taken independently of each other."""
    leave_out: bool = True
    """False: photographs that share a birth hear of each other by the container too (to see what that does)."""
    discount: bool = True
    """False: photographs with errors in common count as if they had none (to see what that does)."""

    @cached_property
    def middle(self) -> Array:
        """The middles of the cells."""
        return (self.edges[1:] + self.edges[:-1]) / 2

    @cached_property
    def points(self) -> tuple[Array, Array]:
        """Centre and width of each point."""
        found = [
            (m, s) for s in self.widths
            for m in np.arange(self.edges[0] + s / 2, self.edges[-1] + s / 2, max(s, float(np.diff(self.edges)[0])))
        ]  # fmt: skip
        centre, width = np.array(found).T
        return centre, width

    @cached_property
    def bells(self) -> Array:
        """N(y; m, s^2) of each cell, by point: the mean over the cell, adding up to 1."""
        centre, width = self.points
        fine = np.linspace(self.edges[:-1], self.edges[1:], 9, axis=1)[:, 1::2].ravel()
        values = np.exp(-0.5 * ((fine[None] - centre[:, None]) / width[:, None]) ** 2)
        values = values.reshape(len(centre), len(self.middle), -1).mean(axis=2) + 1e-12
        return values / values.sum(axis=1, keepdims=True)

    def prior(self, rate: Array) -> Array:
        """P(t) for each row of `rate` (rows, cells): (rows, points)."""
        near = rate @ self.bells.T
        found = np.zeros_like(near)
        for s in self.widths:
            some = self.points[1] == s
            found[:, some] = near[:, some] / near[:, some].sum(axis=1, keepdims=True) / len(self.widths)
        return found

    def densities(self, rate: Array) -> Array:
        """p(y | t): (points, cells)."""
        return (1 - self.tail) * self.bells + self.tail * rate


@dataclass
class Container:
    """Photographs (rows of the likelihoods) in the order in which they lie, and the container it lies in (or -1)."""

    photographs: Array
    inside: int = -1


@dataclass
class Tree:
    """An outermost container and all that lie in it (`Container.inside` counts in this list, parents first), with
    the likelihoods of their photographs, (photographs, cells), and the photographs that share a birth with each."""

    model: Model
    containers: list[Container]
    likelihood: Array
    sharing: Sequence[frozenset[int]]
    rate: Array
    correlation: Array | None = None
    """Of the errors of the photographs (1 on its diagonal); None: they have none in common."""

    def __post_init__(self) -> None:
        m = self.model
        self.likelihood = self.likelihood / self.likelihood.max(axis=1, keepdims=True)
        self.density = m.densities(self.rate)
        self.own = np.log(self.likelihood @ self.density.T)  # ln e_j(t)
        mass = self.likelihood / self.likelihood.sum(axis=1, keepdims=True)
        variance = mass @ m.middle**2 - (mass @ m.middle) ** 2
        self.of_years = m.points[1] ** 2 / (m.points[1] ** 2 + variance[:, None])  # (photographs, points)
        self.within = m.prior(self.density)  # P(t | u)
        self.root = m.prior(self.rate[None])[0]
        self._kept: dict[tuple[int, frozenset[int]], Array] = {}

    def messages(self) -> Array:
        """M_i(y) of each photograph: (photographs, cells), adding up to 1."""
        found = np.full(self.likelihood.shape, 1 / self.likelihood.shape[1])
        for c, box in enumerate(self.containers):
            together: dict[frozenset[int], list[int]] = {}
            for place, i in enumerate(box.photographs.tolist()):
                others = self.sharing[i] - {i} if self.model.leave_out else NOBODY
                together.setdefault(others | {i} if others else NOBODY, []).append(place)
            for out, places in together.items():
                for place, told in self._told(c, out, places).items():
                    found[box.photographs[place]] = told
        return found

    def _told(self, c: int, out: frozenset[int], places: Sequence[int]) -> dict[int, Array]:
        """M of the photographs in these places, with the likelihoods of those of `out` set to one."""
        before = _log(self._outside(c, out))
        for k, inner in enumerate(self.containers):
            if inner.inside == c:
                before = before + self._from_within(k, out)
        box, by_order = self.containers[c], []
        for order, share in self._orders(c):
            by_order.append((share, order, self._sequence(c, out, order, before, places)))
        found = {}
        for place in places:
            terms = []
            for share, order, sequence in by_order:
                others, told = sequence.without[place]
                compared, trusted = self._weighed(box, out | {int(box.photographs[place])}, order, others)
                terms.append((np.log(share) + _log_sum(before + compared), _normal(before + trusted), told, sequence))
            odds = _normal(np.array([odds for odds, *_ in terms]))
            value = sum(o * (weight[s.points] @ told) for o, (_, weight, told, s) in zip(odds, terms, strict=True))
            found[place] = value / np.sum(value)
        return found

    def _weighed(self, box: Container, out: frozenset[int], order: str, log: Array) -> tuple[Array, Array]:
        """ln P(those that count | t) as sure as their effective number: to compare orders by, and to learn t from."""
        counts = self._counts(box, out)
        weights = counts / (1.0 + self._common(box) @ counts)
        own = self.own[box.photographs]
        mean = weights.sum() / max(counts.sum(), 1.0)
        compared = weights @ own + mean * (log - counts @ own)
        if order != "shuffled":
            return compared, compared
        first = (counts / (self.model.occasion + self._common(box) @ counts)) @ own
        share = self.of_years[box.photographs] @ _normal(_log(self.root) + first)
        return compared, (counts / (1.0 + (self.model.occasion - 1.0) * share + self._common(box) @ counts)) @ own

    def _counts(self, box: Container, out: frozenset[int]) -> Array:
        return np.array([i not in out for i in box.photographs.tolist()], dtype=float)

    def _common(self, box: Container) -> Array:
        """c_jk of two different photographs."""
        rows = box.photographs
        if self.correlation is None:
            return np.zeros((len(rows), len(rows)))
        return self.correlation[np.ix_(rows, rows)] - np.diag(np.diag(self.correlation)[rows])

    def evidence(self, c: int, out: frozenset[int]) -> Array:
        """ln P(photographs of c but those of `out` | t), over the models of order, for each point."""
        box = self.containers[c]
        key = c, out & frozenset(box.photographs.tolist())
        if key not in self._kept:
            prior, by_order = _log(self.root), []
            for order, share in self._orders(c):
                sequence = self._sequence(c, key[1], order)
                compared, trusted = self._weighed(box, key[1], order, sequence.log)
                odds = np.log(share) + _log_sum(prior + compared) - _log_sum(prior + trusted)
                by_order.append(odds + trusted)
            self._kept[key] = np.logaddexp.reduce(by_order, axis=0)
        return self._kept[key]

    def _orders(self, c: int) -> list[tuple[str, float]]:
        """Of one photograph all are the same."""
        return list(self.model.orders.items()) if len(self.containers[c].photographs) > 1 else [("shuffled", 1.0)]

    def _from_within(self, k: int, out: frozenset[int]) -> Array:
        """What the container k tells the one it lies in, as a logarithm for each of that one's points."""
        up = self.evidence(k, out)
        for inner, box in enumerate(self.containers):
            if box.inside == k:
                up = up + self._from_within(inner, out)
        return _log(self.within @ np.exp(up - up.max())) + up.max()

    def _outside(self, c: int, out: frozenset[int]) -> Array:
        """P(t of c) as all that lies outside of c has it."""
        above = self.containers[c].inside
        if above < 0:
            return self.root
        log = _log(self._outside(above, out)) + self.evidence(above, out)
        for k, box in enumerate(self.containers):
            if box.inside == above and k != c:
                log = log + self._from_within(k, out)
        return _normal(log) @ self.within

    def _sequence(
        self, c: int, out: frozenset[int], order: str, before: Array | None = None, places: Sequence[int] = ()
    ) -> _Sequence:
        """The recursion; what it tells these places for those points that weigh something."""
        box, points = self.containers[c], np.arange(len(self.density))
        counts = self._counts(box, out)
        own = self.own[box.photographs] * counts[:, None]
        whole = own.sum(axis=0)
        if order == "shuffled":
            return _Sequence(whole, points, {k: (whole - own[k], self.density) for k in places})
        if before is not None:  # what they weigh if shuffled, at most, all together or without any one of them
            halved = before + whole / self.model.occasion
            most = np.max([_normal(halved - o) for o in (np.zeros_like(whole), *own)], axis=0)
            points = np.flatnonzero(most > NEGLIGIBLE)
        like = self.likelihood[box.photographs] ** counts[:, None]
        log, told = _Recursion(self.model, self.density[points], order).run(like, places)
        without = {}
        for k, value in told.items():
            size = value.sum(axis=1)
            without[k] = self._everywhere(points, log + np.log(size)), value / size[:, None]
        return _Sequence(self._everywhere(points, log), points, without)

    def _everywhere(self, points: Array, log: Array) -> Array:
        found = np.full(len(self.density), -1e9)
        found[points] = log
        return found


@dataclass
class _Sequence:
    """ln P(photographs | t) of all points; for some places ln P(others | t) of all points, and P(y | others, t) of the
    `points` that weigh something."""

    log: Array
    points: Array
    without: dict[int, tuple[Array, Array]]


@dataclass
class _Recursion:
    """Forward and backward through one order, for all points together. Arrays are (points, cells)."""

    model: Model
    density: Array
    order: str

    def run(self, like: Array, places: Sequence[int]) -> tuple[Array, dict[int, Array]]:
        """ln P(all | t), and for these places P(others, y | t) / P(all | t)."""
        slip, many, own = self.model.slip, len(like), like @ self.density.T
        seen = [(1 - slip) * like[k][None] + slip * own[k][:, None] for k in range(many)]
        forward, log = [self.density], np.zeros(len(self.density))
        free, log_free = self.density, np.zeros(len(self.density))  # the weight of all paths
        for k in range(1, many):
            forward.append(self._next(forward[-1] * seen[k - 1]))
            free = self._next(free)
            for values, total in ((forward[-1], log), (free, log_free)):
                size = values.sum(axis=1)
                total += np.log(size)
                values /= size[:, None]
        log = log + np.log((forward[-1] * seen[-1]).sum(axis=1)) - log_free
        told: dict[int, Array] = {}
        back, wanted = np.ones_like(self.density), set(places)
        for k in range(many - 1, min(wanted, default=many) - 1, -1):
            if k in wanted:
                both = forward[k] * back
                whole = (both * seen[k]).sum(axis=1)
                told[k] = ((1 - slip) * both + slip * self.density * both.sum(axis=1)[:, None]) / whole[:, None]
            back = self._before(back * seen[k])
            back /= back.max(axis=1, keepdims=True)
        return log, told

    def _next(self, at: Array) -> Array:
        reached = np.cumsum(at, axis=1) if self.order == "in order" else at.sum(axis=1)[:, None]
        return self.model.stay * at + (1 - self.model.stay) * self.density * reached

    def _before(self, at: Array) -> Array:
        drawn = at * self.density
        reached = np.cumsum(drawn[:, ::-1], axis=1)[:, ::-1] if self.order == "in order" else drawn.sum(axis=1)[:, None]
        return self.model.stay * at + (1 - self.model.stay) * reached


def rates(model: Model, likelihood: Array, container: Array, rounds: int = 4) -> Array:
    """The archive's rate as each outermost container has it from the others: (containers, cells)."""
    many, cells = int(container.max()) + 1, likelihood.shape[1]
    size = np.bincount(container, minlength=many)
    step = float(np.diff(model.edges)[0])
    found = np.full((many, cells), 1 / cells)
    for _ in range(rounds):
        posterior = likelihood * found[container]
        posterior /= posterior.sum(axis=1, keepdims=True)
        by_box = np.zeros((many, cells))
        np.add.at(by_box, container, posterior)
        by_box /= np.sqrt(size)[:, None]
        others = by_box.sum(axis=0)[None] - by_box
        smooth = gaussian_filter1d(others, SMOOTH / step, axis=1, mode="nearest")
        found = smooth + FLAT / cells
        found /= found.sum(axis=1, keepdims=True)
    return found


@dataclass
class Given:
    """What a photograph brings, from today's reasoner: posteriors on its own cells and on those of the model, and which
    photographs share a vague birth. Photographs of which nothing is known have no posterior and a flat likelihood."""

    posteriors: list[Posterior | None]
    likelihood: Array
    sharing: list[frozenset[int]]
    correlation: Array
    """Of the errors of any two photographs."""


def given(drawn: Collection, model: Model) -> Given:
    """Date a collection as today, each photograph by itself and by the births it shares."""
    inference = Inference(replace(drawn.evidence, containers=()))
    names = [p.id for p in drawn.evidence.photographs]
    looked = inference.dated_exposures(names)
    rows = np.array([inference.groups.of[name] for name in names])
    people: dict[int, set[str]] = {}
    for face in inference.beliefs.neighbours.faces:
        people.setdefault(face.row, set()).add(face.person)
    of = [people.get(row, set()) for row in rows.tolist()]
    holding: dict[str, set[int]] = {}
    for i, persons in enumerate(of):
        for person in persons:
            holding.setdefault(person, set()).add(i)
    sharing = [frozenset().union(*(holding[p] for p in persons)) for persons in of]
    posteriors = [looked[name].posterior for name in names]
    likelihood = np.array([_on_cells(p, model) for p in posteriors])
    return Given(posteriors, likelihood, sharing, _correlation(inference, rows, posteriors))


def _correlation(inference: Inference, rows: Array, posteriors: list[Posterior | None]) -> Array:
    """c_jk, from births and judges in common."""
    beliefs = inference.beliefs
    births = {
        b.person: (b.best, ((b.likely_to - b.likely_from) / YEAR / 3.29) ** 2)
        for b in beliefs.neighbours.birth_estimates
    }
    known = inference.beliefs.informants.known
    names = beliefs.appearances.informants
    judges = [BIAS_SD if name not in known else known[name].bias_sd for name in names]
    faces: dict[int, list[tuple[float, str, float, float]]] = {}  # by group: birth, whose, its variance, its judge
    for face in beliefs.appearances.known_faces:
        if face.age:
            faces.setdefault(face.row, []).append((face.born, "", 0.0, face.informant))
    for face in beliefs.appearances.vague_faces:
        if face.age:
            born, variance = births[face.person]
            faces.setdefault(face.row, []).append((born, face.person, variance, face.informant))
    of: dict[object, int] = {}
    loads: list[tuple[int, int, float]] = []
    for i, (row, posterior) in enumerate(zip(rows.tolist(), posteriors, strict=True)):
        if posterior is None or row not in faces:
            continue
        day = posterior.quantile(0.5)
        start, end = shortest(posterior)
        spread = ((end - start) / YEAR / 3.29) ** 2
        parts = []
        for born, person, variance, judge in faces[row]:
            unit = float(np.clip((day - born) / YEAR + 2, 2.0, 53.0))
            own, bias = (TAU * unit) ** 2, (judges[int(judge)] * unit) ** 2
            parts.append((person, variance, judge, own, bias, 1 / (own + bias + variance)))
        whole = sum(part[-1] for part in parts)
        shared: dict[object, float] = {}
        total = 0.0
        for person, variance, judge, own, bias, precision in parts:
            share = precision / whole
            total += share**2 * own
            for key, sd in ((person, variance**0.5), (judge, bias**0.5)):
                if key:  # a judge who is not named is 0, a birth that is known ""
                    shared[key] = shared.get(key, 0.0) + share * sd
        total += sum(sd**2 for sd in shared.values())
        scale = min(1.0, spread / total) / total**0.5  # less where something else dates it too
        loads += [(i, of.setdefault(key, len(of)), sd * scale) for key, sd in shared.items()]
    loading = np.zeros((len(rows), max(len(of), 1)))
    for i, k, value in loads:
        loading[i, k] = value
    found = loading @ loading.T
    np.fill_diagonal(found, 1.0)
    return found


def _on_cells(posterior: Posterior | None, model: Model) -> Array:
    if posterior is None:
        return np.full(len(model.middle), 1 / len(model.middle))
    mass = np.diff(np.interp(_day(model.edges), posterior.edges, posterior.rising))
    return (mass + 1e-12) / (mass + 1e-12).sum()


def messages(drawn: Collection, found: Given, model: Model) -> Array:
    """M of each photograph of a collection."""
    outermost = list(dict.fromkeys(path[0] for path in drawn.paths))
    root = np.array([outermost.index(path[0]) for path in drawn.paths])
    rate = rates(model, found.likelihood, root)
    told = np.zeros_like(found.likelihood)
    for r, name in enumerate(outermost):
        rows = np.flatnonzero(root == r)
        paths = sorted({drawn.paths[i] for i in rows.tolist()} | {(name,)}, key=lambda path: (len(path), path))
        place = {int(i): k for k, i in enumerate(rows)}
        boxes = []
        for path in paths:
            inside = [k for k, i in enumerate(rows.tolist()) if drawn.paths[i] == path]
            inside.sort(key=lambda k: drawn.position[rows[k]])
            above = paths.index(path[:-1]) if len(path) > 1 else -1
            boxes.append(Container(np.array(inside, dtype=np.int64), above))
        sharing = [frozenset(place[j] for j in found.sharing[i] if j in place) for i in rows.tolist()]
        correlation = found.correlation[np.ix_(rows, rows)] if model.discount else None
        told[rows] = Tree(model, boxes, found.likelihood[rows], sharing, rate[r], correlation).messages()
    return told


def read(posterior: Posterior, message: Array, model: Model) -> tuple[float, float, float]:
    """The best date and the likely range of a photograph that heard this: on its own cells, which are finer."""
    cut = np.union1d(posterior.edges, _day(model.edges))
    cut = cut[(cut >= posterior.edges[0]) & (cut <= posterior.edges[-1])]
    mass = np.diff(np.interp(cut, posterior.edges, posterior.rising))
    at = _year((cut[1:] + cut[:-1]) / 2)
    heard = mass * np.interp(at, model.middle, message)
    after = Posterior(cut, heard / heard.sum())
    return after.quantile(0.5), *shortest(after)


def alone(model: Model) -> Model:
    """Containers without their order."""
    return replace(model, orders={"shuffled": 1.0})


def _log_sum(log: Array) -> float:
    return float(log.max() + np.log(np.exp(log - log.max()).sum()))


def _log(value: Array) -> Array:
    return np.log(np.maximum(value, 1e-300))


def _normal(log: Array) -> Array:
    weight = np.exp(log - log.max())
    return weight / weight.sum()


def _day(year: Array) -> Array:
    return (year - 1) * YEAR + 1


def _year(day: Array) -> Array:
    return (day - 1) / YEAR + 1

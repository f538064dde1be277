"""A sampler of the whole model of photographs that lie together, on small archives; it knows nothing of messages.

Of the reasoner it uses the data classes of the evidence and the published constants. Where docs/method.md approximates,
this draws from the honest model behind it, on half-years:

- **Containers.** A container has a width s of `WIDTHS` and a centre m, both latent. Widths have shares that are unknown
  (Dirichlet, SEEN_BEFORE), one set for outermost containers and one for those that lie in another. P(m | s) ~ the sum
  over y of r(y) N(y; m, s^2); in a container within another with the parameters u, r is p(. | u).
- **The rate** r of outermost containers is a mixture of normals with SMOOTH = 5 years, five years apart, whose weights
  are unknown (Dirichlet, FLAT = 3 in all): each other container counts as one draw. (kinphoto counts it as the square
  root of its photographs.)
- **A photograph's density** is p(y | m, s) = 0.95 N(y; m, s^2) + 0.05 / Y, the stray's share alike over all years.
- **Taken together.** In a shuffled container photographs of one occasion have one time: with n photographs each is of
  the time of each one before it with the weight 1, or of a new one, drawn from p, with the weight max(n - 2, 1) (a
  Dirichlet process). So one other is of the same occasion in the mean. That is what b_j of the method stands for.
- **Bursts, in order:** as in `reason/model/sequences`, with hidden places. They have the prior 0.3 each also where
  photographs are few.
- **Errors in common** are what they are: births, own looks, biases and spreads are drawn once and shared
  (`collection_people`). Nothing is weighted by 1 / (1 + correlation), and births hear what containers tell.

**Moves.** Given the people, (m, s) and the order of a container: dates by forward filtering and backward sampling
(bursts, in order; exact) or one by one from their full conditional (shuffled). Given the dates and who follows whom:
(m, s) from its full conditional over all points. All of a container together: (m, s) from a guess by Metropolis and
Hastings, the order from its prior and dates as above, or for shuffled ones one after the other (sequential imputation:
Kong, Liu and Wong, JASA 89, 1994), accepted by their weights. All photographs of a container, or of all, and the vague
births in them move by the same time. Posteriors are means of full conditionals.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from collection_line import Box, Line, below_top, boxes_of, from_sums, normal, occasion_weight, pick
from collection_people import People, State, Told
from drawn import YEAR

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import FLAT
from kinphoto.reason.model.sequences import SLIP, STAY, Order

Array = np.ndarray
SHUFFLED, BURSTS, IN_ORDER = range(3)
KINDS = Order.SHUFFLED, Order.BURSTS, Order.IN_ORDER
CHAINS, WARM, SWEEPS, INNER, SHIFTS = 12, 10, 20, 2, 3
LESS = 0.4
"""In half of the guesses, what photographs tell of a container counts only so much: not all are taken independently."""
FURTHEST = 12
"""Cells by which photographs and births move together, at most."""


class AnyPeople(Protocol):
    """What the sampler asks of `collection_people.People`, which tests replace."""

    now: State
    said: Array

    def likelihood(self) -> Array: ...
    def update(self, day: Array) -> None: ...
    def shifted(self, chains: Array, photographs: Array, days: Array) -> State: ...
    def log_seen(self, day: Array, now: State) -> Array: ...
    def log_prior(self, now: State) -> Array: ...
    def lawful(self, now: State) -> Array: ...
    def alive(self, day: Array, now: State) -> Array: ...


@dataclass
class Dates:
    """Dates of the photographs of one container, by chains: cells `y`, hidden places `h`, which of those were `drawn`
    anew, and which photographs are a `slip`; and ln of the weight of the container with which they were drawn."""

    y: Array
    h: Array
    drawn: Array
    slip: Array
    weight: Array

    def put(self, some: Array, other: Dates, which: Array | slice = slice(None)) -> None:
        """Take these chains from another."""
        for name in ("y", "h", "drawn", "slip", "weight"):
            getattr(self, name)[some] = getattr(other, name)[which]


class Sampler:
    """Chains of dates and containers, with the people in them. No containers: each photograph by itself."""

    def __init__(self, line: Line, boxes: list[Box], people: AnyPeople, chains: int, dice: np.random.Generator) -> None:
        self.line, self.people, self.dice, self.chains = line, people, dice, chains
        self.boxes = boxes
        self.prior_order = np.array([line.orders.get(kind, 0.0) for kind in KINDS])
        self.prior_order /= self.prior_order.sum()
        like = self.people.likelihood()
        self.many = like.shape[1]
        self.y = np.zeros((chains, self.many), dtype=np.int64)
        self.mass = np.zeros((2, self.many, line.cells))
        self.t = dice.integers(len(line.density), size=(chains, len(boxes)))
        self.order = np.zeros((chains, len(boxes)), dtype=np.int64)
        self.base = dice.integers(len(line.by_base), size=(chains, len(boxes)))
        self.dates: list[Dates] = []
        self.moved, self.tried = np.zeros(3), np.zeros(3)
        for c, box in enumerate(boxes):
            guess = self._guess(self._at_points(like[:, box.rows]), self._expected(c))
            self.t[:, c] = pick(guess, dice)
            self.order[:, c] = self._any_order(len(box.rows), chains)
            self.dates.append(self._draw(like[:, box.rows], self.t[:, c], self.order[:, c]))
            self.y[:, box.rows] = self.dates[c].y
        if not boxes:
            self.y = pick(like.reshape(-1, line.cells), dice).reshape(chains, -1)

    def run(self, warm: int = WARM, sweeps: int = SWEEPS) -> Array:
        """The posteriors by each half of the chains: (2, photographs, cells)."""
        for sweep in range(warm + sweeps):
            like = self.people.likelihood()
            at_points = [self._at_points(like[:, box.rows]) for box in self.boxes]
            for _ in range(INNER if self.boxes else 1):
                self._dates(like, at_points)
            if sweep >= warm:
                self._keep(like)
            for _ in range(SHIFTS if self.boxes else 0):
                for c, box in enumerate(self.boxes):
                    self._shift([c], box.rows)
                self._shift(list(range(len(self.boxes))), np.arange(self.many))
            self.people.update(self.line.days[self.y])
        return self.mass / self.mass.sum(axis=2, keepdims=True)

    def _dates(self, like: Array, at_points: list[Array]) -> None:
        if not self.boxes:
            self.y = pick(like.reshape(-1, self.line.cells), self.dice).reshape(self.chains, -1)
        for c, box in enumerate(self.boxes):
            own = like[:, box.rows]
            if len(box.rows):
                self._again(c, own)
            prior = self._expected(c)
            self.t[:, c] = pick(np.exp(below_top(prior + self._told(c))), self.dice)
            for near in (False, True):
                self._propose(c, own, prior, None if near else at_points[c])
            self.y[:, box.rows] = self.dates[c].y
            if box.inside < 0:
                self.base[:, c] = pick(self._bases(c) * self.line.by_base[:, self.t[:, c]].T, self.dice)

    def _bases(self, c: int) -> Array:
        """How much each of the normals of the rate weighs, by the other outermost containers: (chains, normals)."""
        others = [k for k, box in enumerate(self.boxes) if box.inside < 0 and k != c]
        many = len(self.line.by_base)
        found = np.full((self.chains, many), FLAT / many)
        for k in others:
            found[np.arange(self.chains), self.base[:, k]] += 1
        return found / found.sum(axis=1, keepdims=True)

    def _expected(self, c: int) -> Array:
        """ln P(m, s) of a container by all other ones: (chains, points)."""
        line, box = self.line, self.boxes[c]
        alike = [k for k, b in enumerate(self.boxes) if (b.inside < 0) == (box.inside < 0) and k != c and len(b.rows)]
        widths = np.tile(np.array(line.before), (self.chains, 1))
        for k in alike:
            widths[np.arange(self.chains), line.points[1][self.t[:, k]]] += 1
        found = np.log(widths)[:, line.points[1]]
        if box.inside < 0:
            found += np.log(self._bases(c) @ line.by_base)
        else:
            found += line.within[self.t[:, box.inside]]
        for k, inner in enumerate(self.boxes):
            if inner.inside == c:
                found += line.within[:, self.t[:, k]].T
        return found

    def _told(self, c: int) -> Array:
        """ln P(dates, who follows whom | m, s): (chains, points)."""
        line, dates, order = self.line, self.dates[c], self.order[:, c]
        chains, n = dates.y.shape
        found = np.zeros((chains, len(line.density)))
        if not n:
            return found
        some = np.flatnonzero(order == SHUFFLED)
        if len(some):
            y = dates.y[some]
            seen = (y[:, :, None] == y[:, None, :]) & (np.arange(n)[:, None] > np.arange(n)[None])
            before = seen.sum(axis=2) * line.occasions
            found[some] = np.log(occasion_weight(n) * line.density.T[y] + before[..., None]).sum(axis=1)
        for i in np.flatnonzero(order != SHUFFLED):
            at = np.concatenate([dates.h[i][dates.drawn[i]], dates.y[i][dates.slip[i]]])
            found[i] = line.log_density[at].sum(axis=0, dtype=float)
            if order[i] == IN_ORDER:
                found[i] -= line.paths[n - 1]
        return found

    def _at_points(self, own: Array) -> Array:
        """ln of the product of what each photograph tells of (m, s), as if they were taken independently."""
        if not own.shape[1]:
            return np.zeros((len(own), len(self.line.density)))
        seen = own.reshape(-1, own.shape[2]) @ self.line.density.T
        return np.log(np.maximum(seen, 1e-35)).reshape(*own.shape[:2], -1).sum(axis=1, dtype=float)

    def _guess(self, at_points: Array, prior: Array) -> Array:
        """Chances of (m, s) from which a container's are drawn to be proposed: (chains, points)."""
        return 0.5 * (normal(prior + at_points) + normal(prior + LESS * at_points))

    def _any_order(self, n: int, chains: int) -> Array:
        """Drawn from the prior; of one photograph all are the same."""
        return self.dice.choice(3, size=chains, p=self.prior_order) if n > 1 else np.zeros(chains, dtype=np.int64)

    def _propose(self, c: int, own: Array, prior: Array, at_points: Array | None) -> None:
        """Another place, order and dates of a container: anywhere likely, or (None) near the present place."""
        n, line, here = own.shape[1], self.line, np.arange(self.chains)
        if not n:
            return
        old, kept = self.t[:, c], self.dice.random(self.chains) < 0.5
        order = np.where(kept, self.order[:, c], self._any_order(n, self.chains))
        if at_points is None:
            new = old + self.dice.integers(-2, 3, size=self.chains)
            fine = (new >= 0) & (new < len(prior[0]))
            new = np.where(fine, new, old)
            fine &= line.points[1][new] == line.points[1][old]
            odds = prior[here, new] - prior[here, old]
        else:
            guess = self._guess(at_points, prior)
            new, fine = pick(guess, self.dice), True
            odds = prior[here, new] - prior[here, old] + np.log(guess[here, old]) - np.log(guess[here, new])
        turn = self.dice.permutation(n)
        proposed = self._draw(own, new, order, turn)
        odds += proposed.weight - self._weight(own, old, self.order[:, c], self.dates[c].y, turn)
        better = fine & (np.log(self.dice.random(self.chains)) < odds)
        self.moved[int(at_points is None)] += better.sum()
        self.tried[int(at_points is None)] += self.chains
        self.t[:, c] = np.where(better, new, old)
        self.order[:, c] = np.where(better, order, self.order[:, c])
        self.dates[c].put(better, proposed, better)

    def _draw(self, own: Array, t: Array, order: Array, turn: Array | None = None) -> Dates:
        """Dates of a container, given its parameters and its order."""
        chains, n = own.shape[:2]
        y, h = np.zeros((2, chains, n), dtype=np.int64)
        found = Dates(y, h, np.zeros((chains, n), dtype=bool), np.zeros((chains, n), dtype=bool), np.zeros(chains))
        density = self.line.density[t]
        some = np.flatnonzero(order == SHUFFLED)
        if len(some) and n:
            turn = np.arange(n) if turn is None else turn
            found.y[some], found.weight[some] = self._imputed(own[some], density[some], turn, None)
        some = np.flatnonzero(order != SHUFFLED)
        if len(some) and n:
            found.put(some, self._followed(own[some], density[some], t[some], order[some] == IN_ORDER))
        return found

    def _weight(self, own: Array, t: Array, order: Array, y: Array, turn: Array) -> Array:
        """ln of the weight of the present dates, had they been drawn so."""
        found, density = np.zeros(len(own)), self.line.density[t]
        some = np.flatnonzero(order == SHUFFLED)
        if len(some):
            found[some] = self._imputed(own[some], density[some], turn, y[some])[1]
        some = np.flatnonzero(order != SHUFFLED)
        if len(some):
            found[some] = self._forward(own[some], density[some], t[some], order[some] == IN_ORDER)[1]
        return found

    def _imputed(self, own: Array, density: Array, turn: Array, given: Array | None) -> tuple[Array, Array]:
        """Dates of a shuffled container one after the other, each from its own likelihood and those before it; and ln
        of the product of what each weighs. `given`: weigh these."""
        chains, n, _ = own.shape
        y, weight, here = np.zeros((chains, n), dtype=np.int64), np.zeros(chains), np.arange(chains)
        urn = np.float32(occasion_weight(n)) * density
        for k, place in enumerate(turn.tolist()):
            chance = own[:, place] * urn
            y[:, place] = pick(chance, self.dice) if given is None else given[:, place]
            weight += np.log(chance.sum(axis=1)) - np.log(occasion_weight(n) + k * self.line.occasions)
            if self.line.occasions:
                urn[here, y[:, place]] += 1
        return y, weight

    def _forward(self, own: Array, density: Array, t: Array, rising: Array) -> tuple[list[Array], Array, Array]:
        """Forward filtering of bursts and of what is in order (`rising`): the sums of P(h_k, photographs up to k) up to
        each cell, ln P(all), and P(photograph k | a slip)."""
        n = own.shape[1]
        whole = (own @ density[..., None])[..., 0]
        seen = np.float32(1 - SLIP) * own + np.float32(SLIP) * whole[..., None]
        at, log, sums = density.astype(float), np.zeros(len(own)), []
        fresh = (1 - STAY) * density
        for k in range(n):
            at = at * seen[:, k]
            at /= (size := at.sum(axis=1, keepdims=True))
            log += np.log(size[:, 0])
            sums.append(np.cumsum(at, axis=1))
            at = STAY * at + fresh * np.where(rising[:, None], sums[-1], 1.0)
        log -= np.where(rising, self.line.paths[n - 1, t], 0.0)
        return sums, log, whole

    def _followed(self, own: Array, density: Array, t: Array, rising: Array) -> Dates:
        """Forward filtering and backward sampling."""
        (chains, n, _), here, dice = own.shape, np.arange(len(own)), self.dice
        sums, log, whole = self._forward(own, density, t, rising)
        h = np.zeros((chains, n), dtype=np.int64)
        drawn, slip = np.ones((2, chains, n), dtype=bool)
        h[:, -1] = from_sums(sums[-1], dice)
        for k in range(n - 2, -1, -1):
            next_, total = h[:, k + 1], sums[k]
            stay = STAY * (total[here, next_] - np.where(next_ > 0, total[here, next_ - 1], 0.0))
            reached = np.where(rising, total[here, next_], total[:, -1])
            fresh = (1 - STAY) * density[here, next_] * reached
            drawn[:, k + 1] = dice.random(chains) * (stay + fresh) < fresh
            place = (total < (dice.random(chains) * reached)[:, None]).sum(axis=1)
            h[:, k] = np.where(drawn[:, k + 1], place, next_)
        slips = SLIP * whole
        follows = (1 - SLIP) * np.take_along_axis(own, h[..., None], axis=2)[..., 0]
        slip = dice.random((chains, n)) * (slips + follows) < slips
        y = h.copy()
        y[slip] = pick(own[slip] * density[np.nonzero(slip)[0]], dice)
        return Dates(y, h, drawn, slip, log)

    def _again(self, c: int, own: Array) -> None:
        """Dates from their full conditionals, given place and order."""
        dates, order = self.dates[c], self.order[:, c]
        density = self.line.density[self.t[:, c]]
        some = np.flatnonzero(order == SHUFFLED)
        if len(some):
            y, here = dates.y[some], np.arange(len(some))
            urn = np.float32(occasion_weight(y.shape[1])) * density[some]
            if self.line.occasions:
                np.add.at(urn, (here[:, None], y), 1)
            for k in self.dice.permutation(y.shape[1]).tolist():
                if self.line.occasions:
                    urn[here, y[:, k]] -= 1
                y[:, k] = from_sums(np.cumsum(own[some, k] * urn, axis=1, dtype=float), self.dice)
                if self.line.occasions:
                    urn[here, y[:, k]] += 1
            dates.y[some] = y
        some = np.flatnonzero(order != SHUFFLED)
        if len(some):
            dates.put(some, self._followed(own[some], density[some], self.t[some, c], order[some] == IN_ORDER))

    def _keep(self, like: Array) -> None:
        """Add up the full conditionals of all dates."""
        half = np.arange(self.chains) * 2 // self.chains
        if not self.boxes:
            found = like / like.sum(axis=2, keepdims=True)
            np.add.at(self.mass, half, found)
        for c, box in enumerate(self.boxes):
            found = like[:, box.rows] * self._heard(c)
            found /= found.sum(axis=2, keepdims=True)
            for k in range(2):
                self.mass[k, box.rows] += found[half == k].sum(axis=0)

    def _heard(self, c: int) -> Array:
        """P(y | all but the photograph itself) of each in a container: (chains, n, cells)."""
        dates, order, line = self.dates[c], self.order[:, c], self.line
        chains, n = dates.y.shape
        density = line.density[self.t[:, c]]
        found = np.repeat(occasion_weight(n) * density[:, None], n, axis=1)
        here = np.arange(chains)[:, None]
        for k in range(n if line.occasions else 0):
            others = np.delete(np.arange(n), k)
            np.add.at(found[:, k], (here, dates.y[:, others]), 1)
        some = np.flatnonzero(order != SHUFFLED)
        if len(some):
            d, h, rising = density[some][:, None], dates.h[some][..., None], (order[some] == IN_ORDER)[:, None, None]
            cells = np.arange(line.cells)
            place = np.repeat(d, n, axis=1).astype(float)
            before, after = h[:, :-1], h[:, 1:]
            place[:, 1:] = STAY * (cells == before) + (1 - STAY) * d * ((cells >= before) | ~rising)
            drawn = np.take_along_axis(np.repeat(d, n - 1, axis=1), after, axis=2)
            place[:, :-1] *= STAY * (cells == after) + (1 - STAY) * drawn * ((cells <= after) | ~rising)
            found[some] = (1 - SLIP) * place + SLIP * d * place.sum(axis=2, keepdims=True)
        return found

    def _shift(self, which: list[int], rows: Array) -> None:
        """Photographs of these containers, and the vague births in them, earlier or later by the same time; centres
        as well where theirs can be as far away."""
        if not len(rows) or not which:
            return
        line, people = self.line, self.people
        size = np.exp(self.dice.uniform(0, np.log(FURTHEST + 1), self.chains)).astype(int)
        by = size * self.dice.choice([-1, 1], self.chains)
        y = self.y.copy()
        y[:, rows] += by[:, None]
        fine = (y >= 0).all(axis=1) & (y < line.cells).all(axis=1)
        old, dates, t = self.t.copy(), list(self.dates), self.t.copy()
        for c in which:
            stride = line.points[2][old[:, c]]
            new = np.clip(old[:, c] + by // stride, 0, len(line.density) - 1)
            can = (by % stride == 0) & (line.points[1][new] == line.points[1][old[:, c]])
            t[:, c] = np.where(can, new, old[:, c])
            h = dates[c].h + by[:, None] * (self.order[:, c] != SHUFFLED)[:, None]
            fine &= (h >= 0).all(axis=1) & (h < line.cells).all(axis=1)
        y = np.where(fine[:, None], y, self.y)
        now = people.shifted(fine, rows, by * line.step * YEAR)
        day, before = line.days[y], line.days[self.y]
        photos = np.arange(self.many)
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = people.log_seen(day, now).sum(axis=1) - people.log_seen(before, people.now).sum(axis=1)
            gain += (np.log(people.said[photos, y]) - np.log(people.said[photos, self.y])).sum(axis=1)
            gain += (people.log_prior(now) - people.log_prior(people.now)).sum(axis=1)
            gain += (people.lawful(now) - people.lawful(people.now)).sum(axis=1)
        gain = np.where(people.alive(day, now).all(axis=1), gain, -np.inf)
        gain -= self._log_containers(which)
        self.t = np.where(fine[:, None], t, old)
        for c in which:
            d = self.dates[c]
            h = np.where(fine[:, None], d.h + by[:, None] * (self.order[:, c] != SHUFFLED)[:, None], d.h)
            self.dates[c] = Dates(y[:, self.boxes[c].rows], h, d.drawn, d.slip, d.weight)
        gain += self._log_containers(which)
        better = fine & (np.log(self.dice.random(self.chains)) < gain)
        self.moved[2] += better.sum()
        self.tried[2] += self.chains
        self.t = np.where(better[:, None], self.t, old)
        self.y = np.where(better[:, None], y, self.y)
        for c in which:
            new, d = self.dates[c], dates[c]
            new.y, new.h = (np.where(better[:, None], a, b) for a, b in ((new.y, d.y), (new.h, d.h)))
        for name in ("born", "died"):
            setattr(people.now, name, np.where(better[:, None], getattr(now, name), getattr(people.now, name)))

    def _log_containers(self, which: list[int]) -> Array:
        """ln P(places of these containers, dates in them), up to what does not change when all move together."""
        here, found = np.arange(self.chains), np.zeros(self.chains)
        for c in which:
            found += self._told(c)[here, self.t[:, c]]
            if self.boxes[c].inside < 0:  # given which of the normals of the rate each is of
                found += np.log(self.line.by_base[self.base[:, c], self.t[:, c]])
            for k, box in enumerate(self.boxes):
                if (box.inside == c) or (k == c and box.inside >= 0 and box.inside not in which):
                    found += self.line.within[self.t[:, box.inside], self.t[:, k]]
        return found


def sampled(evidence: ev.Evidence, seed: int, line: Line | None = None, chains: int = CHAINS) -> Sampler:
    """A sampler of an archive, ready to run."""
    line, dice = line or Line(), np.random.default_rng(seed)
    people = People(Told.of_evidence(evidence), line.days, chains, dice)
    return Sampler(line, boxes_of(evidence), people, chains, dice)

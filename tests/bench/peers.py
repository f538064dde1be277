"""Two other ways to date the archives that `bench_dating` draws: a sampler, and integration on a fine grid.

Both are given the statements that kinphoto is given, and the priors of docs/method.md, written down once more here: of
the reasoner they use nothing but the data classes of its evidence. Neither simplifies anything. The **sampler**
(Metropolis's) draws all births, exposures and informants together. Where every birth is known, photographs hang
together by their informants alone, and the whole joint distribution can be **integrated**: over the days of each
photograph, and over bias and spread of each informant.

    F(x, b; beta, k) = (1 - q) [0.05 C + 0.95 (Phi((g(a2) - g(x - b) - beta) / 0.17 k) - Phi((g(a1) - ...) ...))] + q c

is what a face says: judged to be a1 up to a2 years old, with c = (a2 - a1) / 100, C the share of a1 to a2 in a normal
about x - b with 12 years, cut off at 0, and q = 0.0005 the chance that a certain name is wrong. beta is normal with
0.08, ln k with 0.3. An exposure is flat while everybody in it is alive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from bench_dating import BETA, MODE
from drawn import ABOUT_EITHER_WAY, ABOUT_SPREAD, YEAR
from scipy.special import ndtr

from kinphoto.reason.model import evidence as ev

Array = np.ndarray
SLIP_YEARS = 12.0
"""By how many years careless ages are off (standard deviation)."""
WRONG, CARELESS, TAU, LOOK, BIAS, SPREAD = 0.0005, 0.05, 0.17, 0.59, 0.08, 0.3
CHAINS, WARM, SWEEPS, EVERY = 16, 200, 600, 2
CELL, SIGMAS = 20.0, 4.0


def scale(age: Array) -> Array:
    """g of the method, for an array."""
    return np.where(age <= 51, np.log(np.clip(age, 0, 51) + 2), np.log(53) + (age - 51) / 53)


def careless(first: Array, end: Array, age: Array) -> Array:
    """C: normal about an age of 0 or more with SLIP_YEARS, from 0 on."""
    older, all_of_it = (ndtr((age - at) / SLIP_YEARS) for at in (first, 0.0))
    return (older - ndtr((age - end) / SLIP_YEARS)) / all_of_it


@dataclass
class Told:
    """The statements of such an archive as arrays. Faces lie in the order of their photographs, numbered by `photo`,
    `person` and `teller`; `day` is the middle of the day on which a photograph was taken, nan where nobody said."""

    photographs: list[str]
    day: Array
    born: Array
    vague: Array
    died: Array
    photo: Array
    person: Array
    teller: Array
    low: Array
    high: Array
    first: Array
    end: Array

    @classmethod
    def of(cls, evidence: ev.Evidence) -> Told:
        """Read them."""
        said = evidence.statements
        photos = {p.id: i for i, p in enumerate(evidence.photographs)}
        people = {p.id: i for i, p in enumerate(evidence.people)}
        names = {s.id: s for s in said if isinstance(s, ev.Appearance)}
        lives = {(s.person, s.event): s.date for s in said if isinstance(s, ev.LifeDate)}
        births, deaths = ([lives[p, event] for p in people] for event in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH))
        day = np.full(len(photos), np.nan)
        for claim in said:
            if isinstance(claim, ev.DateClaim):
                day[photos[claim.photograph]] = (claim.date.span.first or 0) + 0.5
        ages = sorted(
            (photos[names[s.appearance].photograph], people[names[s.appearance].person or ""], str(s.informant), s.low,
             s.high) for s in said if isinstance(s, ev.Age)
        )  # fmt: skip
        photo, person, who, low, high = (np.array(column) for column in zip(*ages, strict=True))
        return cls(
            list(photos), day,
            np.array([((d.span.first or 0) + (d.span.last or 0) + 1) / 2 for d in births]),
            np.array([d.span.first != d.span.last for d in births]),
            np.array([(d.span.last or 0) + 1.0 for d in deaths]),
            photo, person, np.unique(who, return_inverse=True)[1],
            np.where(low > 0, scale(low), -np.inf), scale(high + 1.0),
            low, high + 1.0,
        )  # fmt: skip

    def seen(self, faces: Array | slice, age: Array, bias: Array, factor: Array) -> Array:
        """ln F of these faces (last axis), for true ages in years."""
        at, spread = scale(age) + bias, TAU * (LOOK + (1 - LOOK) * factor**2) ** 0.5
        careful = ndtr((self.high[faces] - at) / spread) - ndtr((self.low[faces] - at) / spread)
        first, end = self.first[faces], self.end[faces]
        slip = careless(first, end, np.maximum(age, 0.0))
        value = (1 - WRONG) * (CARELESS * slip + (1 - CARELESS) * careful) + WRONG * (end - first) / 100
        return np.where(age >= 0, np.log(value), -np.inf)

    def alive(self) -> tuple[Array, Array]:
        """From when until when everybody in each photograph was alive; a vague birth as it stands."""
        first = np.full(len(self.day), -np.inf)
        last = np.full(len(self.day), np.inf)
        np.maximum.at(first, self.photo, self.born[self.person])
        np.minimum.at(last, self.photo, self.died[self.person])
        return first, last


def life(told: Told, born: Array) -> Array:
    """The logarithm of the prior of vague births: about a year, and an ordinary lifespan before the death."""
    centre, died = told.born[told.vague], told.died[told.vague] - 0.5
    off, age = born - centre, (died - born) / YEAR
    normal = np.exp(-0.5 * (off / ABOUT_SPREAD) ** 2) / (ABOUT_SPREAD * np.sqrt(2 * np.pi))
    shape = 0.95 * normal + 0.05 / (2 * ABOUT_EITHER_WAY + 1)
    return np.where(
        np.abs(off) <= ABOUT_EITHER_WAY + 0.5,
        np.log(shape) + BETA * (age - MODE) - np.exp(BETA * (age - MODE)),
        -np.inf,
    )


class Sampler:
    """Chains of births, exposures and informants, each started anew from the priors' middles."""

    def __init__(self, told: Told, dice: np.random.Generator) -> None:
        self.told, self.dice = told, dice
        self.open = np.isnan(told.day)
        first, last = told.alive()
        self.last = last
        start = first + dice.random((CHAINS, len(first))) * (last - first)
        self.day = np.where(self.open, start, told.day)
        self.born = np.tile(told.born, (CHAINS, 1))
        self.vague = np.flatnonzero(told.vague)
        for p in self.vague:  # not later than a photograph of a known day
            pictures = told.photo[told.person == p]
            earliest = np.nanmin(told.day[pictures], initial=np.inf)
            self.born[:, p] = np.minimum(self.born[:, p], earliest - 1)
        tellers = told.teller.max() + 1
        self.bias, self.log = np.zeros((CHAINS, tellers)), np.zeros((CHAINS, tellers))
        self.of_photo = np.searchsorted(told.photo, np.arange(len(told.day)))
        self.of_vague = [np.flatnonzero(told.person == p) for p in self.vague]
        self.of_teller = [np.flatnonzero(told.teller == t) for t in range(tellers)]
        self.seen = self._seen(slice(None), self.day, self.born, self.bias, self.log)

    def _seen(self, faces: Array | slice, day: Array, born: Array, bias: Array, log: Array) -> Array:
        told = self.told
        age = (day[:, told.photo[faces]] - born[:, told.person[faces]]) / YEAR
        who = told.teller[faces]
        return told.seen(faces, age, bias[:, who], np.exp(log[:, who]))

    def run(self) -> Array:
        """What is kept of the exposures: (chains, draws, photographs)."""
        kept = []
        for sweep in range(WARM + SWEEPS):
            self._exposures()
            self._exposures()
            self._births()
            self._informants()
            if sweep >= WARM and sweep % EVERY == 0:
                kept.append(self.day.copy())
        return np.stack(kept, axis=1)

    def _exposures(self) -> None:
        """Move every exposure that nobody dated: anywhere while all are alive, or by some months or years."""
        shape, told = self.day.shape, self.told
        first = np.maximum.reduceat(self.born[:, told.person], self.of_photo, axis=1)
        anywhere = first + self.dice.random(shape) * (self.last - first)
        step = np.exp(self.dice.uniform(np.log(0.3 * YEAR), np.log(12 * YEAR), shape)) * self.dice.normal(size=shape)
        new = np.where(self.dice.random(shape) < 0.2, anywhere, self.day + step)
        new = np.where(self.open, new, self.day)
        seen = self._seen(slice(None), new, self.born, self.bias, self.log)
        gain = np.add.reduceat(seen - self.seen, self.of_photo, axis=1)
        better = (np.log(self.dice.random(shape)) < gain) & (new < self.last) & self.open
        self.day = np.where(better, new, self.day)
        self.seen = np.where(better[:, told.photo], seen, self.seen)

    def _births(self) -> None:
        """Move every vague birth; given the exposures they do not hang together."""
        for p, faces, step in zip(self.vague, self.of_vague, self._steps((CHAINS, len(self.vague))).T, strict=True):
            born = self.born.copy()
            born[:, p] += YEAR * 2 * step
            seen = self._seen(faces, self.day, born, self.bias, self.log)
            prior = life(self.told, born[:, self.vague]) - life(self.told, self.born[:, self.vague])
            gain = prior.sum(axis=1) + (seen - self.seen[:, faces]).sum(axis=1)
            self._take(np.log(self.dice.random(CHAINS)) < gain, faces, seen, (self.born, born))

    def _informants(self) -> None:
        """Move the bias and the spread of each informant."""
        for t, faces in enumerate(self.of_teller):
            bias, log = self.bias.copy(), self.log.copy()
            steps = self._steps((CHAINS, 2))
            bias[:, t] += 0.03 * steps[:, 0]
            log[:, t] += 0.15 * steps[:, 1]
            seen = self._seen(faces, self.day, self.born, bias, log)
            prior = [-0.5 * ((b[:, t] / BIAS) ** 2 + (s[:, t] / SPREAD) ** 2) for b, s in
                     ((bias, log), (self.bias, self.log))]  # fmt: skip
            gain = prior[0] - prior[1] + (seen - self.seen[:, faces]).sum(axis=1)
            better = np.log(self.dice.random(CHAINS)) < gain
            self._take(better, faces, seen, (self.bias, bias), (self.log, log))

    def _steps(self, shape: tuple[int, int]) -> Array:
        """Steps of several lengths."""
        return self.dice.normal(size=shape) * np.exp(self.dice.uniform(-2, 0.5, shape))

    def _take(self, better: Array, faces: Array, seen: Array, *moved: tuple[Array, Array]) -> None:
        for old, new in moved:
            old[better] = new[better]
        self.seen[np.ix_(better, faces)] = seen[better]


@dataclass
class Curve:
    """A posterior: the probability `mass` of each of equal cells from `first` on, `width` days each."""

    first: float
    width: float
    mass: Array

    def at(self, share: Array) -> Array:
        """The points below which these shares lie."""
        rising = np.concatenate([[0.0], np.cumsum(self.mass)])
        return np.interp(share, rising / rising[-1], self.first + self.width * np.arange(len(rising)))

    @property
    def shortest(self) -> tuple[float, float]:
        """The shortest interval that holds nine tenths."""
        low = np.linspace(0, 0.1, 2001)
        start, end = self.at(low), self.at(low + 0.9)
        best = int(np.argmin(end - start))
        return float(start[best]), float(end[best])


def integrated(told: Told) -> dict[str, tuple[Curve, Curve]]:
    """Where all births are known: the posterior of every photograph that nobody dated. First given what the photographs
    of a known day tell of its informant; then given all other photographs as well."""
    found: dict[str, tuple[Curve, Curve]] = {}
    first, last = told.alive()
    starts = np.searchsorted(told.photo, np.arange(len(told.day) + 1))
    for t in range(told.teller.max() + 1):
        bias, log, weight = _learned(told, np.flatnonzero((told.teller == t) & ~np.isnan(told.day)[told.photo]))
        mine = [k for k in np.unique(told.photo[told.teller == t]) if np.isnan(told.day[k])]
        tables = []
        for k in mine:
            cells = int(np.ceil((last[k] - first[k]) / CELL))
            width = (last[k] - first[k]) / cells
            middle = first[k] + width * (np.arange(cells) + 0.5)
            total = np.zeros((cells, len(bias)))
            for face in range(starts[k], starts[k + 1]):
                age = (middle - told.born[told.person[face]])[:, None] / YEAR
                total += told.seen(np.array([face]), age, bias, np.exp(log))
            tables.append((first[k], width, np.exp(total)))
        everything = np.log(weight) + sum(np.log(table.sum(axis=0)) for *_, table in tables)
        everything = np.exp(everything - everything.max())
        for k, (start, width, table) in zip(mine, tables, strict=True):
            others = everything / table.sum(axis=0)
            found[told.photographs[k]] = (
                Curve(start, width, table @ weight), Curve(start, width, table @ (others / others.sum()))
            )  # fmt: skip
    return found


def _learned(told: Told, faces: Array) -> tuple[Array, Array, Array]:
    """Points over bias and ln k of one informant, and what they weigh: prior times these faces of known ages."""
    centre, sd = np.zeros(2), np.array([BIAS, SPREAD])
    for points in ((41, 31), (17, 13), (17, 13)):  # about what the one before has found
        b, s = (
            axis.ravel() for axis in np.meshgrid(*(
                c + SIGMAS * d * np.linspace(-1, 1, n) for c, d, n in zip(centre, sd, points, strict=True)
            ), indexing="ij")
        )  # fmt: skip
        total = -0.5 * (b / BIAS) ** 2 - 0.5 * (s / SPREAD) ** 2
        age = (told.day[told.photo[faces]] - told.born[told.person[faces]]) / YEAR
        total += told.seen(faces, age[None], b[:, None], np.exp(s)[:, None]).sum(axis=1)
        weight = np.exp(total - total.max())
        weight /= weight.sum()
        centre = np.array([weight @ b, weight @ s])
        sd = np.array([weight @ (b - centre[0]) ** 2, weight @ (s - centre[1]) ** 2]) ** 0.5
    return b, s, weight

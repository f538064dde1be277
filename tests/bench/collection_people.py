"""People and those who judged them, for `collection_sampler`: births, deaths, looks, biases, given the exposures.

The statements are those of `collections_drawn` (births, deaths, weddings, parents; names on faces, ages given unseen, a
year written or remembered), and the densities those of docs/method.md, written down once more. A judged age is

    F = (1 - q) [0.05 c + 0.95 (Phi((g(a2) - at) / s) - Phi((g(a1) - at) / s))] + q c,
    at = g(x - b) + bias of the judge + own look of the person (+ look of the face),

q = 0.01 that a name is wrong, c = (a2 - a1) / 100. The look of a face is drawn where two people judged it and part of
s elsewhere. A name is right as far as being alive goes: nobody is photographed before the birth or after the death. A
death that nobody recorded is drawn too (Gompertz), so that a person's photographs share it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from bench_dating import BETA, MODE
from drawn import YEAR
from peers import BIAS, CARELESS, LOOK, SPREAD, TAU, careless, scale
from scipy.special import ndtr

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Shape

Array = np.ndarray
WRONG_NAME, WRITTEN_WRONG, OWN = 0.01, 0.05, 0.25
OWN_LOOK, FACE, JUDGE = (TAU * share**0.5 for share in (LOOK * OWN, LOOK * (1 - OWN), 1 - LOOK))
"""Standard deviations of a person's own look, of what else a face has of its own, and of an ordinary judge's error."""
LAWFUL = 200.0
"""Years within which a written year that is wrong may be anywhere."""
PARENT = {"F": (28.0, 6.5), "M": (32.0, 7.5)}
WEDDING = {"F": (25.0, 6.0), "M": (28.0, 7.0)}
SIBLINGS, INFORMATIVE = 0.4, 3.0
OLDEST_PARENT = {"F": 75.0, "M": 100.0}
YOUNGEST, OLDEST = 10.0, 123.0
QUARTERS = (np.arange(1720.0, 2000.0, 0.25) - 1) * YEAR + 1
"""Quarter-years in which births may be."""
BROKEN, NEVER = -60.0, -1000.0
"""Logarithms of what the laws forbid two vague births, and one: low enough, and a way out at the start."""


@dataclass
class Told:
    """Statements as arrays. Names lie in the order of photographs, judgements in that of names."""

    photographs: list[str]
    people: list[str]
    photo: Array
    person: Array
    """Of each name on a face."""
    of: Array
    """The name that each judgement is of."""
    teller: Array
    low: Array
    high: Array
    first: Array
    end: Array
    shared: Array
    """Of a judgement: the number of the face among those that several judged, or -1."""
    born: Array
    vague: Array
    prior: Array
    """ln of the density of each birth without lifespan, by quarter-year: (people, QUARTERS)."""
    died: Array
    """nan where nobody recorded it."""
    alive: Array
    """The last day on which they are known to have lived."""
    parents: Array
    """Child, parent and the greatest gap in years, of vague births alone: (pairs, 3)."""
    years: list[list[tuple[float, float, float]]]
    """Of each photograph what was said of its date: first day, end, chance that it is wrong."""

    @classmethod
    def of_evidence(cls, evidence: ev.Evidence) -> Told:
        """Read them."""
        said = evidence.statements
        photos = {p.id: i for i, p in enumerate(evidence.photographs)}
        names = sorted((s for s in said if isinstance(s, ev.Appearance)), key=lambda s: photos[s.photograph])
        people = {p: i for i, p in enumerate(dict.fromkeys(str(s.person) for s in names))}
        family = _Family(evidence)
        face = {s.id: i for i, s in enumerate(names)}
        ages = sorted((s for s in said if isinstance(s, ev.Age)), key=lambda s: face[s.appearance])
        tellers = {t: i for i, t in enumerate(dict.fromkeys(str(s.informant) for s in ages))}
        of = np.array([face[s.appearance] for s in ages], dtype=np.int64)
        many = np.bincount(of, minlength=len(names))
        number = np.where(many > 1, np.cumsum(many > 1) - 1, -1)
        low, high = np.array([[s.low, s.high + 1.0] for s in ages]).reshape(-1, 2).T
        years: list[list[tuple[float, float, float]]] = [[] for _ in photos]
        for claim in said:
            if isinstance(claim, ev.DateClaim):
                span, wrong = claim.date.span, 0.0 if claim.claim is ev.Claim.TAKEN else WRITTEN_WRONG
                years[photos[claim.photograph]].append((span.first or 0, (span.last or 0) + 1, wrong))
        middles = [family.known(p) for p in people]
        vague = np.array([m is None for m in middles])
        place = {p: i for p, i in people.items() if vague[i]}
        links = [(place[s.child], place[s.parent], OLDEST_PARENT[s.parent_sex])
                 for s in family.links if s.child in place and s.parent in place]  # fmt: skip
        return cls(
            list(photos), list(people),
            np.array([photos[s.photograph] for s in names]), np.array([people[str(s.person)] for s in names]),
            of, np.array([tellers[str(s.informant)] for s in ages], dtype=np.int64),
            np.where(low > 0, scale(low), -np.inf), scale(high), low, high, number[of],
            np.array([0.0 if m is None else m for m in middles]), vague,
            np.stack([family.prior(p) for p in people]),
            np.array([family.died.get(p, np.nan) for p in people]), np.array([family.alive(p) for p in people]),
            np.array(links, dtype=float).reshape(-1, 3), years,
        )  # fmt: skip


class _Family:
    """What tree and weddings tell of a birth."""

    def __init__(self, evidence: ev.Evidence) -> None:
        said = evidence.statements
        lives = {(s.person, s.event): s.date for s in said if isinstance(s, ev.LifeDate)}
        self.births = {p: d for (p, event), d in lives.items() if event is ev.LifeEvent.BIRTH}
        self.died = {p: (d.span.last or 0) + 1.0 for (p, event), d in lives.items() if event is ev.LifeEvent.DEATH}
        self.links = [s for s in said if isinstance(s, ev.ParentLink)]
        self.sex = {p.id: p.sex for p in evidence.people}
        events = {s.event: s.date for s in said if isinstance(s, ev.EventDate)}
        self.weddings: dict[str, list[Dated]] = defaultdict(list)
        for s in said:
            if isinstance(s, ev.Marriage) and s.event in events:
                for spouse in s.spouses:
                    self.weddings[spouse].append(events[s.event])

    def known(self, person: str) -> float | None:
        """The middle of the day of a birth that the tree has."""
        date = self.births.get(person)
        return None if date is None or date.span.first != date.span.last else (date.span.first or 0) + 0.5

    def alive(self, person: str) -> float:
        """The last day of which a birth of a child or a wedding tells."""
        days = [d.span.first or 0 for d in self.weddings[person]]
        days += [self.known(s.child) or -np.inf for s in self.links if s.parent == person and s.parent_sex == "F"]
        return max(days, default=-np.inf)

    def prior(self, person: str) -> Array:
        """By the family, the date in the tree, and the laws."""
        middle, first, end = QUARTERS + YEAR / 8, -np.inf, np.inf
        value = np.zeros(len(middle))
        for mean, sd in self._relatives(person):
            value -= 0.5 * ((middle - mean) / sd) ** 2
        date = self.births.get(person)
        if date is not None:
            first, end = float(date.span.first or 0), (date.span.last or 0) + 1.0
            if date.shape is Shape.ABOUT:
                bell = _bell(middle, (date.centre or 0) + 0.5, date.spread or 1.0)
                value += np.log(0.95 * bell + 0.05 / (end - first))
        for s in self.links:
            parent, child = self.known(s.parent), self.known(s.child)
            gap = OLDEST_PARENT[s.parent_sex] * YEAR
            if s.child == person and parent is not None:
                first, end = max(first, parent + YOUNGEST * YEAR), min(end, parent + gap)
            if s.child == person and s.parent in self.died:
                end = min(end, self.died[s.parent] + (0 if s.parent_sex == "F" else YEAR))
            if s.parent == person and child is not None:
                first, end = max(first, child - gap), min(end, child - YOUNGEST * YEAR)
        for wedding in self.weddings[person]:
            end = min(end, (wedding.span.last or 0) - YOUNGEST * YEAR)
        if person in self.died:
            first, end = max(first, self.died[person] - OLDEST * YEAR), min(end, self.died[person])
        value[(middle < first) | (middle > end)] = NEVER
        return value

    def _relatives(self, person: str) -> list[tuple[float, float]]:
        """Means and standard deviations (days) of normal factors."""
        found, children = [], []
        for s in self.links:
            mean, sd = PARENT[s.parent_sex]
            if s.child == person and (other := _moments(self.births.get(s.parent))):
                found.append((other[0] + mean * YEAR, np.hypot(other[1], sd * YEAR)))
            if s.parent == person and (other := _moments(self.births.get(s.child))):
                children.append((other[0] - mean * YEAR, np.hypot(other[1], sd * YEAR)))
        if children:
            means, sds = np.array(children).T
            variance = np.mean(sds**2) * (SIBLINGS + (1 - SIBLINGS) / len(sds))
            return [*found, (float(means.mean()), float(variance**0.5))]
        mean, sd = WEDDING.get(self.sex.get(person, ""), (26.5, 7.0))
        return found + [(d[0] - mean * YEAR, np.hypot(d[1], sd * YEAR))
                        for wedding in self.weddings[person] if (d := _moments(wedding))]  # fmt: skip


def _bell(at: Array, mean: float, sd: float) -> Array:
    return np.exp(-0.5 * ((at - mean) / sd) ** 2) / (sd * np.sqrt(2 * np.pi))


def _moments(date: Dated | None) -> tuple[float, float] | None:
    if date is None:
        return None
    first, end = date.span.first or 0, (date.span.last or 0) + 1
    about = date.shape is Shape.ABOUT
    mean, sd = ((date.centre or 0) + 0.5, date.spread or 0.0) if about else ((first + end) / 2, (end - first) / 12**0.5)
    return (mean, sd) if sd <= INFORMATIVE * YEAR else None


@dataclass
class State:
    """What is drawn, by chains: births, deaths, own looks by people; looks of faces that several judged; judges."""

    born: Array
    died: Array
    own: Array
    look: Array
    bias: Array
    log: Array


class People:
    """Chains of births, deaths, looks and judges."""

    def __init__(self, told: Told, days: Array, chains: int, dice: np.random.Generator) -> None:
        self.told, self.days, self.dice = told, days, dice
        self.judged = told.photo[told.of]
        self.face_starts = np.flatnonzero(np.diff(told.photo, prepend=-1))
        self.by_person = _summing(told.person[told.of], len(told.people))
        self.by_teller = _summing(told.teller, int(told.teller.max(initial=-1)) + 1)
        self.by_face = _summing(told.shared, int(told.shared.max(initial=-1)) + 1)
        self.by_photo = _summing(self.judged, len(told.photographs))
        self.said = self._claims()
        self.vague = np.flatnonzero(told.vague)
        self.unrecorded = np.isnan(told.died)
        shapes = len(told.people), self.by_face.shape[1], self.by_teller.shape[1]
        zero = [np.zeros((chains, size)) for size in shapes]
        self.now = State(*self._start(chains), zero[0], zero[1], zero[2], zero[2].copy())

    def _claims(self) -> Array:
        """What was said of each photograph's date: (photographs, cells)."""
        edge = np.diff(self.days).mean() / 2
        found = np.ones((len(self.told.photographs), len(self.days)))
        for i, claims in enumerate(self.told.years):
            for first, end, wrong in claims:
                part = np.clip(np.minimum(self.days + edge, end) - np.maximum(self.days - edge, first), 0, None)
                found[i] *= (1 - wrong) * part / (2 * edge) / (end - first) * YEAR + wrong / LAWFUL
        return found

    def _start(self, chains: int) -> tuple[Array, Array]:
        """Births drawn from what is known of them, earlier where a photograph could not be otherwise."""
        told, dice = self.told, self.dice
        born = np.tile(told.born, (chains, 1))
        died = np.where(self.unrecorded, np.maximum(told.alive, self.days[-1]) + 1.0, told.died)
        last = np.array([self.days[np.flatnonzero(row)[-1]] for row in self.said])
        last = np.minimum(last, np.minimum.reduceat(died[told.person], self.face_starts))
        latest = np.full(len(told.people), np.inf)
        np.minimum.at(latest, told.person, last[told.photo])
        for p in self.vague:
            chance = _weights(told.prior[p] + _lived(died[p] - QUARTERS))
            at = np.searchsorted(np.cumsum(chance), dice.random(chains)).clip(0, len(QUARTERS) - 1)
            allowed = np.flatnonzero(chance)
            at = np.minimum(at, max(np.searchsorted(QUARTERS, latest[p] - 2 * YEAR), allowed[0]))
            born[:, p] = QUARTERS[at] + 45
        return born, np.tile(died, (chains, 1))

    def likelihood(self) -> Array:
        """Of each photograph: (chains, photographs, cells), the greatest of each 1."""
        told, now = self.told, self.now
        found = np.tile(self.said.astype(np.float32), (len(now.born), 1, 1))
        who = told.person[told.of]
        if len(who):
            age = (self.days[None, None] - now.born[:, who, None]).astype(np.float32) / np.float32(YEAR)
            seen = self._seen(age, now)
            starts = np.flatnonzero(np.diff(self.judged, prepend=-1))
            found[:, self.judged[starts]] *= np.multiply.reduceat(seen, starts, axis=1)
        first = np.maximum.reduceat(now.born[:, told.person], self.face_starts, axis=1)
        end = np.minimum.reduceat(now.died[:, told.person], self.face_starts, axis=1)
        found *= (self.days >= first[..., None]) & (self.days < end[..., None])
        return found / np.maximum(found.max(axis=2, keepdims=True), 1e-37)

    def _seen(self, age: Array, now: State) -> Array:
        """F; `age` is (chains, judgements) or has cells besides."""
        told = self.told
        who, teller, face = told.person[told.of], told.teller, told.shared
        own = (JUDGE**2 * np.exp(2 * now.log[:, teller]) + np.where(face < 0, FACE**2, 0.0)) ** 0.5
        bias = now.bias[:, teller] + now.own[:, who]
        if now.look.shape[1]:
            bias += np.where(face < 0, 0.0, now.look[:, np.maximum(face, 0)])
        shape = (..., *(None,) * (age.ndim - 2))
        at = _scale(age)
        at += bias.astype(age.dtype)[shape]
        rate = (1 / own).astype(age.dtype)[shape]
        high, low = (edge.astype(age.dtype)[shape] for edge in (told.high, told.low))
        careful = ndtr((high - at) * rate)
        careful -= ndtr((low - at) * rate)
        careful *= (1 - WRONG_NAME) * (1 - CARELESS)
        first, end = (edge.astype(age.dtype)[shape] for edge in (told.first, told.end))
        careful += (1 - WRONG_NAME) * CARELESS * careless(first, end, np.maximum(age, 0))
        careful += WRONG_NAME * (end - first) / 100
        return careful

    def log_seen(self, day: Array, now: State) -> Array:
        """ln F of every judgement, of exposures on these days: (chains, judgements)."""
        told = self.told
        age = (day[:, self.judged] - now.born[:, told.person[told.of]]) / YEAR
        return np.log(self._seen(age, now))

    def log_prior(self, now: State) -> Array:
        """ln of what is known of each birth and death without photographs: (chains, people); 0 of a known birth."""
        at = np.clip(np.searchsorted(QUARTERS, now.born, side="right") - 1, 0, len(QUARTERS) - 1)
        value = self.told.prior[np.arange(at.shape[1]), at]
        early = self.unrecorded & (now.died <= self.told.alive)
        return np.where(self.told.vague, value, 0.0) + _lived(now.died - now.born) + np.where(early, NEVER, 0.0)

    def lawful(self, now: State) -> Array:
        """ln of what parents and children of vague births say to each other: (chains, pairs)."""
        child, parent, gap = self.told.parents.T
        years = (now.born[:, child.astype(int)] - now.born[:, parent.astype(int)]) / YEAR
        return np.where((years >= YOUNGEST) & (years <= gap), 0.0, BROKEN)

    def alive(self, day: Array, now: State) -> Array:
        """Whether everybody in each photograph lived on its day: (chains, photographs)."""
        told = self.told
        fine = (now.born[:, told.person] <= day[:, told.photo]) & (now.died[:, told.person] > day[:, told.photo])
        return np.logical_and.reduceat(fine, self.face_starts, axis=1)

    def update(self, day: Array) -> None:
        """Move everything, given the exposures."""
        for _ in range(3):
            self._births(day)
            for name, size, by in (("own", 0.06, self.by_person), ("look", 0.08, self.by_face)):
                self._move(day, {name: size}, by)
            self._move(day, {"bias": 0.04, "log": 0.2}, self.by_teller)
        self._deaths(day)

    def _births(self, day: Array) -> None:
        """All vague births that have no vague parent or child that moves at the same time."""
        told, now, dice = self.told, self.now, self.dice
        turn = dice.random(len(told.people))
        child, parent = told.parents[:, :2].T.astype(int)
        moves = told.vague.copy()
        moves[np.where(turn[child] < turn[parent], child, parent)] = False
        step = dice.normal(size=now.born.shape) * np.exp(dice.uniform(-3, 1.5, now.born.shape)) * 2 * YEAR
        new = State(np.where(moves, now.born + step, now.born), now.died, now.own, now.look, now.bias, now.log)
        first = np.full(now.born.shape, np.inf)
        for p in self.vague:
            first[:, p] = day[:, told.photo[told.person == p]].min(axis=1)
        gain = (self.log_seen(day, new) - self.log_seen(day, now)) @ self.by_person
        with np.errstate(invalid="ignore"):
            gain += self.log_prior(new) - self.log_prior(now)
        laws = self.lawful(new) - self.lawful(now)
        for one in (child, parent):
            np.add.at(gain.T, one, laws.T)
        better = (np.log(dice.random(gain.shape)) < gain) & moves & (new.born <= first)
        now.born = np.where(better, new.born, now.born)

    def _move(self, day: Array, steps: dict[str, float], by: Array) -> None:
        """Looks and judges, with normal priors."""
        now, dice = self.now, self.dice
        sds = {"own": OWN_LOOK, "look": FACE, "bias": BIAS, "log": SPREAD}
        new, gain = State(**vars(now)), np.zeros((len(day), by.shape[1]))
        for name, size in steps.items():
            old = getattr(now, name)
            value = old + size * dice.normal(size=old.shape) * np.exp(dice.uniform(-1.5, 0.7, old.shape))
            gain += 0.5 * (old**2 - value**2) / sds[name] ** 2
            setattr(new, name, value)
        gain += (self.log_seen(day, new) - self.log_seen(day, now)) @ by
        better = np.log(dice.random(gain.shape)) < gain
        for name in steps:
            setattr(now, name, np.where(better, getattr(new, name), getattr(now, name)))

    def _deaths(self, day: Array) -> None:
        """Deaths that nobody recorded, exactly: later than all that is known of."""
        told, now = self.told, self.now
        last = np.tile(told.alive, (len(day), 1))
        for p in np.flatnonzero(self.unrecorded):
            last[:, p] = np.maximum(last[:, p], day[:, told.photo[told.person == p]].max(axis=1))
        hazard = np.exp(BETA * (np.maximum(last - now.born, 0) / YEAR - MODE))
        years = MODE + np.log(hazard - np.log(self.dice.random(last.shape))) / BETA
        now.died = np.where(self.unrecorded, np.maximum(now.born + years * YEAR, last + 1.0), now.died)

    def shifted(self, chains: Array, photographs: Array, days: Array) -> State:
        """The state in which the vague births (and deaths that nobody recorded) of those in these photographs, of some
        chains, are so many days later."""
        now, told = self.now, self.told
        who = np.zeros(len(told.people), dtype=bool)
        who[told.person[np.isin(told.photo, photographs)]] = True
        by = np.where(chains, days, 0.0)[:, None]
        born = now.born + by * (who & told.vague)
        return State(born, now.died + by * (who & told.vague & self.unrecorded), now.own, now.look, now.bias, now.log)


def _summing(of: Array, many: int) -> Array:
    """A matrix that adds up columns by their number; -1 counts nowhere."""
    found = np.zeros((len(of), many))
    found[of >= 0, of[of >= 0]] = 1.0
    return found


def _scale(age: Array) -> Array:
    """g of the method, from birth on, in the precision of `age`."""
    young = np.log(np.clip(age, 0, 51) + 2)
    young += np.maximum(age - 51, 0) / 53
    return young


def _lived(days: Array) -> Array:
    """ln of the density of a life as long, as people die (Gompertz)."""
    age = np.clip(days, 0, None) / YEAR
    rising = np.exp(np.minimum(BETA * (age - MODE), 50))
    return np.where(days >= 0, np.log(BETA * rising * np.exp(np.exp(-BETA * MODE) - rising) + 1e-9), -np.inf)


def _weights(log: Array) -> Array:
    found = np.exp(log - log.max())
    return found / found.sum()

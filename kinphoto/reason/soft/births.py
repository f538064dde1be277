"""Births as the soft layer uses them: known, vague, or without information.

A birth known to within two years is *known*: it is taken as flat with the same mean and variance, and no message is
sent to or from it. Any other birth about which the tree or the family has some information is *vague*, a latent
variable on quarter-years (`messages`). A person bounded by the laws alone carries no information about a date.

Where only part of the evidence about a birth is at hand, the earlier estimate stands for the rest: median m and likely
range (l, r) as two halves of a normal distribution, with standard deviations (m - l) / 1.645 and (r - m) / 1.645. The
evidence at hand is then counted twice, which matters little where it is a small part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints, starts
from kinphoto.reason.model.density import log_bell, mixture
from kinphoto.reason.model.findings import HOLDS_SD, KNOWN, BirthEstimate
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.prior import QUARTER, Birth, BirthPart, Death, birth, death
from kinphoto.reason.model.span import DAYS_PER_YEAR, Shape, Span
from kinphoto.reason.model.survival import survival
from kinphoto.reason.soft.grid import QUARTERS, QuarterRows

HARDLY_KNOWN = 150 * DAYS_PER_YEAR
"""A birth bounded by the laws alone, to no less than this, carries no information."""
HALF = 45.0
"""Days from the beginning of a quarter-year to its middle."""
NOTHING = 1e-9
"""Ends of a distribution are cut off where they weigh less than this share of its top."""
OTHERWISE = 1e-3
"""Share of a birth as it was concluded that is spread evenly, so that something new can move it."""
SURELY = 1e-3
"""A last possible day of death counts only where more than this would have lived to see it."""


@dataclass(frozen=True, slots=True)
class KnownBirth:
    """A known birth: flat on `width` days about `middle`."""

    middle: float
    width: float


@dataclass
class Lives:
    """Births and deaths, each made once."""

    known: Lookup
    bounds: HardBounds
    estimates: Mapping[str, BirthEstimate] = field(default_factory=dict)
    """Estimates from the whole archive, where this evidence is a part of it."""
    _births: dict[str, Birth] = field(default_factory=dict)
    _deaths: dict[str, Death] = field(default_factory=dict)
    _known: dict[str, KnownBirth | None] = field(default_factory=dict)
    _informative: dict[str, bool] = field(default_factory=dict)

    def birth(self, person: str) -> Birth:
        """The distribution of somebody's birth."""
        if person not in self._births:
            bounds, estimate = self.bounds.of_birth(person, self.known), self.estimates.get(person)
            self._births[person] = (
                birth(person, self.known, bounds) if estimate is None else _from_estimate(estimate, bounds)
            )
        return self._births[person]

    def death(self, person: str) -> Death:
        """What is known of somebody's death."""
        if person not in self._deaths:
            self._deaths[person] = death(person, self.known, self.bounds.of_death(person, self.known))
        return self._deaths[person]

    def is_informative(self, person: str) -> bool:
        """False for somebody whose life only the laws bound."""
        if person not in self._informative:
            bounds = self.bounds.of_birth(person, self.known)
            narrow = (bounds.last or 0) - (bounds.first or 0) < HARDLY_KNOWN
            self._informative[person] = narrow or self.birth(person).informative or self.death(person).dated is not None
        return self._informative[person]

    def known_birth(self, person: str) -> KnownBirth | None:
        """A birth that is known to within two years; None of any other."""
        if person not in self._known:
            self._known[person] = self._narrow(person)
        return self._known[person]

    def _narrow(self, person: str) -> KnownBirth | None:
        bounds = self.bounds.of_birth(person, self.known)
        first, end = float(bounds.first or 0), (bounds.last or 0) + 1.0
        if end - first > KNOWN:
            return None
        statement = self.known.lives.get((person, ev.LifeEvent.BIRTH))
        christened = (person, ev.LifeEvent.CHRISTENING) in self.known.lives
        if statement is not None and statement.date.shape is Shape.FLAT and not christened:
            return KnownBirth((first + end) / 2, end - first)
        born = self.birth(person)
        mean = float(born.weight @ born.days)
        return KnownBirth(mean, min(float(12 * born.weight @ (born.days - mean) ** 2) ** 0.5, end - first))


def _from_estimate(estimate: BirthEstimate, bounds: Span) -> Birth:
    """A birth as it was concluded, inside its present bounds."""
    start, end = float(bounds.first or 0), (bounds.last or 0) + 1.0
    days = start + QUARTER * (np.arange(max(1, int((end - start) / QUARTER))) + 0.5)
    early, late = (
        max(d, HALF) / HOLDS_SD for d in (estimate.best - estimate.likely_from, estimate.likely_to - estimate.best)
    )
    weight = np.exp(log_bell(days, estimate.best, np.where(days < estimate.best, early, late)))
    weight = mixture(OTHERWISE, weight / max(float(weight.sum()), 1e-30), 1 / len(days))
    return Birth((BirthPart(float(days[0]), QUARTER, weight / weight.sum()),), True)


@dataclass(frozen=True)
class VagueBirths:
    """Vague births as variables: the `people`, the quarter-years of each, and the `prior` probability of each."""

    people: tuple[str, ...]
    rows: QuarterRows
    prior: Array

    def chance_of_life(self, until: Array) -> Array:
        """S(L - b) for each entry of `prior`; `until` is L of each of the people."""
        middle = QUARTERS[self.rows.quarters] + HALF
        return survival((np.repeat(until, np.diff(self.rows.start)) - middle) / DAYS_PER_YEAR)


def vague_births(people: Sequence[str], lives: Lives) -> VagueBirths:
    """The births of these people as variables."""
    lists = [_by_quarter(lives.birth(p)) for p in people]
    sizes = np.array([len(weight) for _, weight in lists], dtype=np.int64)
    first: Ints = np.array([q for q, _ in lists], dtype=np.int64)
    prior = np.concatenate([weight for _, weight in lists]) if lists else np.zeros(0)
    return VagueBirths(tuple(people), QuarterRows(starts(sizes), first), prior)


def _by_quarter(found: Birth) -> tuple[int, Array]:
    """A distribution on quarter-years: the first of them, and their probabilities."""
    low = min(p.first - p.step / 2 for p in found.parts)
    high = max(p.first + p.step * (len(p.weight) - 0.5) for p in found.parts)
    start, end = int(np.searchsorted(QUARTERS, low, side="right")), int(np.searchsorted(QUARTERS, high, side="left"))
    edges = QUARTERS[start - 1 : max(end, start) + 1]
    total = np.zeros(len(edges) - 1)
    for part in found.parts:
        if part.step == 0 or len(part.weight) == 1:
            total[int(np.searchsorted(edges, part.first, side="right")) - 1] += part.weight.sum()
        else:
            cut = part.first + part.step * (np.arange(len(part.weight) + 1) - 0.5)
            total += np.diff(np.interp(edges, cut, np.concatenate([[0.0], np.cumsum(part.weight)])))
    weighs = np.flatnonzero(total > NOTHING * total.max())
    return start - 1 + int(weighs[0]), total[weighs[0] : weighs[-1] + 1]


def households(people: Sequence[str], lives: Lives) -> Ints:
    """The number of the household of each: that of their parents or, where those are not known, of their children; -1
    of somebody who is the only one of these people in it."""
    parents = {child: tuple(sorted(link.parent for link in links)) for child, links in lives.known.parents.items()}
    own = {parent: couple for couple in parents.values() for parent in couple}
    named = [parents.get(p) or own.get(p) or (p,) for p in people]
    shared = [household for household, many in Counter(named).items() if many > 1]
    number = {household: i for i, household in enumerate(shared)}
    return np.array([number.get(household, -1) for household in named], dtype=np.int64)


def depends_on_birth(of: Death, born: float) -> bool:
    """Whether a death was not recorded and how long somebody lived depends on the birth alone."""
    return of.chance == 0 and float(survival(np.array((of.last - born) / DAYS_PER_YEAR))) < SURELY

"""Priors of births, deaths and events, before any photograph is looked at.

**Births.** The prior of a birth inside its bounds is

    p(b) ~ family(b) * lifespan(b) * [(1 - q) shape(b) + q / R],

with q the chance that the tree's date is wrong and R = 323 years, the range the laws allow. The ages at which people
become parents and marry, from which family(b) is made, are in docs/method.md; a relative's date is used only if its
standard deviation is at most three years. The children of one parent share part of the variance, so n of them give s^2
(0.4 + 0.6 / n). Relations between two vague births enter as bounds only.

**Deaths.** A recorded death has the shape of its date. An unrecorded one is conditioned on the first day L and the last
day U that the laws leave:

    P(D >= x | b) = 1 for x <= L,   (S(x - b) - S(U - b)) / (S(L - b) - S(U - b)) after it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import exp, hypot, inf, sqrt

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.density import (
    ANYWHERE,
    NEAR_BY,
    SOON,
    before,
    before_christening,
    log_bell,
    mixture,
    of_date,
)
from kinphoto.reason.model.findings import KNOWN
from kinphoto.reason.model.limits import LONGEST_LIFE
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.span import DAYS_PER_YEAR, Dated, Shape, Span
from kinphoto.reason.model.survival import density, survival, surviving

MONTH, QUARTER = DAYS_PER_YEAR / 12, DAYS_PER_YEAR / 4
"""Days in a month and in a quarter-year, in the mean."""

PARENT_AGE = {"F": (28.0, 6.5), "M": (32.0, 7.5), "U": (30.0, 7.5)}
"""Mean and standard deviation of a parent's age at a birth (judgements of the project, near published means)."""
COMMON_SHARE = 0.4
"""Share of that variance which all children of one parent have in common (a judgement of the project)."""
MARRIAGE_AGE = {"F": (25.0, 6.0), "M": (28.0, 7.0), "U": (26.5, 7.0)}
"""The same for the age at a marriage (judgements of the project)."""
INFORMATIVE_SD = 3 * DAYS_PER_YEAR
"""The greatest standard deviation that a relative's date may have to be used."""
RANGE = (LONGEST_LIFE + 200) * DAYS_PER_YEAR
"""What the laws allow a birth: a life before the first photograph, and 200 years of photographs."""
BURIAL_WAIT = 14
"""Days within which a burial follows a death (common practice)."""
DAY_BY_DAY = 62
"""Events known to within this many days are kept by days, others by weeks."""
POINT = 31
"""Spans of up to this many days count as their middle."""


def _birth_cumulative(statement: ev.LifeDate, at: Array, start: float, end: float) -> Array:
    """The distribution function of a birth, from the date of the birth or christening."""
    span = statement.date.span
    if statement.event is ev.LifeEvent.BIRTH or span.last is None:
        return before(at, of_date(statement.date, start, end))
    first = span.last if span.first is None else span.first
    days = np.unique(np.linspace(first, span.last, 12).round()) + 1.0
    return np.asarray(np.mean([before_christening(at, day) for day in days], axis=0))


@dataclass(frozen=True, slots=True)
class BirthPart:
    """Some of a birth's probability: `weight` on the days `first`, `first + step`, ... (middles of cells)."""

    first: float
    step: float
    weight: Array

    @property
    def days(self) -> Array:
        """The days of `weight`."""
        return self.first + self.step * np.arange(len(self.weight))

    def in_quarters(self) -> BirthPart:
        """The same on quarter-years, if it is on more than half a year of months."""
        if self.step != MONTH or len(self.weight) <= 6:
            return self
        padded = np.append(self.weight, np.zeros(-len(self.weight) % 3))
        return BirthPart(self.first + MONTH, QUARTER, padded.reshape(-1, 3).sum(axis=1))


@dataclass(frozen=True, slots=True)
class Birth:
    """The distribution of a birth; the weights of all parts add up to 1. `informative` is False when only the laws and
    the photographs bound it."""

    parts: tuple[BirthPart, ...]
    informative: bool

    @property
    def days(self) -> Array:
        """The days of all parts."""
        return np.concatenate([part.days for part in self.parts])

    @property
    def weight(self) -> Array:
        """The probability of each of `days`."""
        return np.concatenate([part.weight for part in self.parts])


def birth(person: str, known: Lookup, bounds: Span) -> Birth:
    """The distribution of somebody's birth inside its `bounds` (both ends closed)."""
    start, end = _ends(bounds)
    statement = known.lives.get((person, ev.LifeEvent.BIRTH))
    christened = known.lives.get((person, ev.LifeEvent.CHRISTENING))
    main, other = (statement, christened) if statement is not None else (christened, None)
    if end - start <= KNOWN:
        family: list[tuple[float, float]] = []
        died = None
    else:
        family, died = relatives(person, known), _middle_of_death(person, known)
    return _birth(main, other, tuple(family), died, start, end)


@lru_cache(maxsize=1 << 12)  # a photograph dated without each of its statements has the same births, but for a few
def _birth(
    main: ev.LifeDate | None, other: ev.LifeDate | None, family: tuple[tuple[float, float], ...], died: float | None,
    start: float, end: float,
) -> Birth:  # fmt: skip
    """The distribution of a birth from its dates, those of relatives, and its bounds."""
    shared = _CommonFactors(family, died, other, start, end)
    if main is None:
        return Birth(_normal([shared.part(start, end)]), bool(family) or died is not None)
    span = main.date.span if main.event is ev.LifeEvent.BIRTH else Span(None, main.date.span.last)
    first = start if span.first is None else max(start, float(span.first))
    last = end if span.last is None else min(end, span.last + 1.0)
    parts = [shared.part(a, b, right=main) for a, b in pairwise(_boundaries(main, first, last)) if a < b]
    if not parts or (first, last) != (start, end):  # otherwise the date is a hard bound, and right inside it
        parts.append(shared.part(start, end, wrong=main))
    return Birth(_normal(parts), True)


def _boundaries(statement: ev.LifeDate, first: float, last: float) -> list[float]:
    """Where to cut a birth into parts: a christening before the weeks that hold most of it, for finer cells there."""
    day = statement.date.span.last if statement.date.span.first is None else statement.date.span.first
    if statement.event is ev.LifeEvent.CHRISTENING and day is not None and first < day - SOON < last:
        return [first, day - SOON, last]
    return [first, last]


@dataclass(frozen=True, slots=True)
class _CommonFactors:
    """What multiplies into every part of a birth: family, lifespan, and a christening beside a birth."""

    family: tuple[tuple[float, float], ...]
    died: float | None
    christened: ev.LifeDate | None
    start: float
    end: float

    def part(
        self, first: float, last: float, *, right: ev.LifeDate | None = None, wrong: ev.LifeDate | None = None
    ) -> BirthPart:
        """The part from `first` to `last` in which the date `right` is right, or `wrong` is wrong; not normalised."""
        if last - first <= POINT:
            edges = np.array([first, last])
            middle, step = edges.mean(keepdims=True), 0.0
        else:
            step = MONTH if last - first <= 10 * DAYS_PER_YEAR else QUARTER
            edges = np.minimum(first + step * np.arange(np.ceil((last - first) / step - 1e-9) + 1), last)
            middle = first + step * (np.arange(len(edges) - 1) + 0.5)
        otherwise = self._at(middle, edges)
        if right is not None:
            weight = otherwise * np.diff(_birth_cumulative(right, edges, self.start, self.end))
            weight = weight * (1 - ev.CHANCE_WRONG[right.trust])
        else:
            weight = np.diff(edges) / RANGE * otherwise
            if wrong is not None:
                weight = weight * ev.CHANCE_WRONG[wrong.trust]
        return BirthPart(float(middle[0]), step, weight)

    def _at(self, day: Array, edges: Array) -> Array:
        logs = sum((log_bell(day, mean, sd) for mean, sd in self.family), np.zeros_like(day))
        value = np.exp(np.maximum(logs, -300.0))
        if self.died is not None:
            value = value * (density((self.died - day) / DAYS_PER_YEAR) + 1e-9)
        if self.christened is not None:
            mass = np.diff(_birth_cumulative(self.christened, edges, self.start, self.end))
            value = value * mixture(ev.CHANCE_WRONG[self.christened.trust], mass / np.diff(edges) * RANGE)
        return np.asarray(value)


def _normal(parts: list[BirthPart]) -> tuple[BirthPart, ...]:
    """The parts with weights that add up to 1, without those that hardly weigh."""
    total = sum(float(p.weight.sum()) for p in parts)
    if total <= 0:  # everything is exceedingly unlikely: nothing but the bounds is left
        parts = [BirthPart(p.first, p.step, np.ones_like(p.weight)) for p in parts[-1:]]
        total = float(parts[0].weight.sum())
    kept = [p for p in parts if p.weight.sum() > 1e-6 * total]
    total = sum(float(p.weight.sum()) for p in kept)
    return tuple(BirthPart(p.first, p.step, p.weight / total) for p in kept)


def relatives(person: str, known: Lookup) -> list[tuple[float, float]]:
    """The family's factors of a birth: mean and standard deviation (days) of one normal each."""
    found = []
    for link in known.parents.get(person, ()):
        other = moments(link.parent, known)
        if other is not None:
            found.append(_shifted(other, PARENT_AGE.get(link.parent_sex, PARENT_AGE["U"]), +1))
    children = [
        _shifted(other, PARENT_AGE.get(link.parent_sex, PARENT_AGE["U"]), -1)
        for link in known.children.get(person, ())
        if (other := moments(link.child, known)) is not None
    ]
    if children:
        return [*found, _together(children)]
    dated = (known.events[key] for key in known.marriages.get(person, ()) if key in known.events)
    weddings = (_moments(statement.date) for statement in dated)
    age = MARRIAGE_AGE.get(known.sexes.get(person, "U"), MARRIAGE_AGE["U"])
    return found + [_shifted(wedding, age, -1) for wedding in weddings if wedding is not None]


def _shifted(other: tuple[float, float], gap: tuple[float, float], sign: int) -> tuple[float, float]:
    """A date `gap` (mean and standard deviation, years) after (+1) or before (-1) another (days)."""
    return other[0] + sign * gap[0] * DAYS_PER_YEAR, hypot(other[1], gap[1] * DAYS_PER_YEAR)


def _together(factors: list[tuple[float, float]]) -> tuple[float, float]:
    """One normal for what several children say: their mean, with COMMON_SHARE of the variance in common."""
    variance = float(np.mean([sd**2 for _, sd in factors]))
    mean = float(np.mean([mean for mean, _ in factors]))
    return mean, sqrt(variance * (COMMON_SHARE + (1 - COMMON_SHARE) / len(factors)))


def moments(person: str, known: Lookup) -> tuple[float, float] | None:
    """Mean and standard deviation (days) of a birth that is dated closely enough to be used for relatives; or None."""
    statement = known.lives.get((person, ev.LifeEvent.BIRTH))
    if statement is not None:
        return _moments(statement.date)
    statement = known.lives.get((person, ev.LifeEvent.CHRISTENING))
    found = None if statement is None else _moments(statement.date)
    return None if found is None else (found[0] - SOON / 2, hypot(found[1], DAYS_PER_YEAR))


def _moments(dated: Dated) -> tuple[float, float] | None:
    first, last = dated.span.first, dated.span.last
    if first is None or last is None:
        return None
    if dated.shape is Shape.ABOUT and dated.centre is not None and dated.spread:
        mean, sd = dated.centre + 0.5, dated.spread
    elif dated.shape is Shape.DOUBTFUL and dated.stated is not None and dated.centre is not None and dated.spread:
        own, near, far = _flat_variance(dated.stated.span), dated.spread**2, _flat_variance(dated.span)
        sd = sqrt((1 - NEAR_BY - ANYWHERE) * own + NEAR_BY * near + ANYWHERE * far)
        mean = dated.centre + 0.5
    else:
        mean, sd = (first + last + 1) / 2, (last + 1 - first) / sqrt(12)
    return (mean, sd) if sd <= INFORMATIVE_SD else None


def _flat_variance(span: Span) -> float:
    """The variance of a flat date."""
    return float(((span.last or 0) + 1 - (span.first or 0)) ** 2 / 12)


def _middle_of_death(person: str, known: Lookup) -> float | None:
    for event in (ev.LifeEvent.DEATH, ev.LifeEvent.BURIAL):
        statement = known.lives.get((person, event))
        found = None if statement is None else _moments(statement.date)
        if found is not None:
            return found[0]
    return None


@dataclass(frozen=True, slots=True)
class Death:
    """What is known of a death: `dated` with chance `chance`, otherwise somewhere from `first` to `last`."""

    dated: Dated | None
    chance: float
    first: float
    last: float

    @property
    def surely_until(self) -> float:
        """The last day on which they were alive for certain."""
        unrecorded = self.first if self.chance < 1 else inf
        recorded = float(self.dated.span.first or 0) if self.dated is not None and self.chance > 0 else inf
        return min(unrecorded, recorded)

    def recorded(self, day: Array) -> Array:
        """P(D >= day) by the record alone."""
        if self.dated is None:
            return np.ones_like(day)
        return 1 - before(day, of_date(self.dated, -inf, inf))

    def unrecorded(self, day: Array, born: float | Array) -> Array:
        """P(D >= day) by survival alone, for somebody born on `born` (broadcast against `day`)."""
        ages = (np.asarray(x - born) / DAYS_PER_YEAR for x in (np.maximum(day, self.first), self.first, self.last))
        return surviving(*map(survival, ages))

    def alive(self, day: Array, born: float) -> Array:
        """P(D >= day) for somebody born on `born`."""
        return mixture(1 - self.chance, self.recorded(day), self.unrecorded(day, born))

    def given(self, born: float | Array) -> Array:
        """P(L <= D < U | b), what an unrecorded death is conditioned on."""
        late, early = ((day - born) / DAYS_PER_YEAR for day in (self.last, self.first))
        return np.asarray(np.maximum(survival(np.asarray(early)) - survival(np.asarray(late)), SMALLEST))


def death(person: str, known: Lookup, bounds: Span) -> Death:
    """The distribution of somebody's death inside its `bounds` (both ends closed)."""
    first, last = _ends(bounds)
    statement = known.lives.get((person, ev.LifeEvent.DEATH))
    buried = known.lives.get((person, ev.LifeEvent.BURIAL))
    dated = statement.date if statement is not None and statement.date.span.bounded else None
    source = statement
    grave = Span() if buried is None else buried.date.span
    if dated is None and grave.first is not None and grave.last is not None:
        dated = Dated(Span(grave.first - BURIAL_WAIT, grave.last))
        source = buried
    if dated is None and statement is not None:  # BEF, AFT: a bound on one side
        if statement.date.span.first is not None:
            first = min(max(first, float(statement.date.span.first)), last)
        if statement.date.span.last is not None:
            last = max(min(last, statement.date.span.last + 1.0), first)
    chance = 0.0 if dated is None or source is None else 1 - ev.CHANCE_WRONG[source.trust]
    return Death(dated, chance, first, last)


@dataclass(frozen=True, slots=True)
class EventDay:
    """When an event was: `weight` (adding up to 1) on `step` days about each of `days`, with chance `chance`; otherwise
    any time."""

    days: Array
    weight: Array
    step: float
    chance: float


def event_day(event: str, known: Lookup, bounds: Span) -> EventDay | None:
    """The distribution of an event of the tree inside its `bounds`; None when nothing is known about it.

    A marriage without a date is dated by the couple's births, a birth by the christening; else a birth or death by its
    bounds, where they are close enough, every day alike.
    """
    start, end = _ends(bounds)
    code, _, tag = event.partition(":")
    life = next((life for life, name in ev.LIFE_TAGS.items() if name == tag), None)
    statement = known.events.get(event) or (known.lives.get((code, life)) if life else None)
    if statement is not None and statement.date.span.bounded:
        first, last = float(statement.date.span.first or 0), float(statement.date.span.last or 0) + 1
        inside = max(first, start) < min(last, end)
        edges = _edges(max(first, start), min(last, end)) if inside else _edges(first, last)
        weight = np.diff(before(edges, of_date(statement.date, first, last)))
        return EventDay(
            (edges[1:] + edges[:-1]) / 2,
            weight / weight.sum(),
            float(edges[1] - edges[0]),
            1 - ev.CHANCE_WRONG[statement.trust],
        )
    edges = _edges(start, end)
    days = (edges[1:] + edges[:-1]) / 2
    bells = list(_bells(event, life, known))
    if not bells and (life is None or (end - start) / sqrt(12) > INFORMATIVE_SD):
        return None
    weight = np.exp(sum((log_bell(days, mean, sd) for mean, sd in bells), np.zeros_like(days)))
    step = float(edges[1] - edges[0])
    return EventDay(days, weight / weight.sum(), step, 1.0) if weight.sum() > exp(-30) else None


def _bells(event: str, life: ev.LifeEvent | None, known: Lookup) -> Iterator[tuple[float, float]]:
    """Mean and standard deviation (days) of what dates an event that has no date: a birth the christening, a marriage
    each of the couple."""
    if life is ev.LifeEvent.BIRTH and (born := moments(event.partition(":")[0], known)) is not None:
        yield born
    for person in known.spouses.get(event, ()):
        if (other := moments(person, known)) is not None:
            yield _shifted(other, MARRIAGE_AGE.get(known.sexes.get(person, "U"), MARRIAGE_AGE["U"]), +1)


def _edges(first: float, last: float) -> Array:
    step = 1 if last - first <= DAY_BY_DAY else 7
    return np.linspace(first, last, int(np.clip(np.ceil((last - first) / step), 1, 200)) + 1)


def _ends(bounds: Span) -> tuple[float, float]:
    """Both ends of closed bounds as points: the morning of the first day, the night of the last."""
    if bounds.first is None or bounds.last is None:
        raise ValueError("the laws bound every birth, death and event of a photographed person")
    return float(bounds.first), bounds.last + 1.0

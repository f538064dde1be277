"""The likelihood of the faces that need care: rival names, likenesses, and people photographed after death.

A *region* is one body. With odds w = (1 - q) / q for each rival name, and w_0 = 1 for "none of them", its likelihood is

    w_0 * careless + sum over names i of w_i * E_b[ age(x - b) * alive(x | b) ]        (divided by the sum of the odds).

Judged ages belong to the body, whatever its name; a stated age belongs to the name. Most regions have one name and show
somebody present: `known_faces` and `messages` work those out for all photographs together.

A birth known to within a month is a point. Any other has a lattice of months or quarter-years, where the mean is a
convolution. An unrecorded death (`prior`) splits it, with Z = S(L - b) - S(U - b):

    x <= L:   p * age          x > L:   (p / Z) * (age S) - (p S(U - b) / Z) * age.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import prod

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.density import laid_out, mixture
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH, LAID_OUT_WITHIN
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.perception import Judgement, Judgements, StatedAges
from kinphoto.reason.model.prior import BirthPart, Death
from kinphoto.reason.model.rivals import by_face, undisputed
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.survival import survival
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.grid import Cells
from kinphoto.reason.soft.kernels import OLDEST

Judged = tuple[tuple[ev.Age, Judgement], ...]
"""Judged ages, each with its likelihood."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One candidate for a region: odds that the name is right, and the ages stated with it."""

    person: str
    odds: float
    role: ev.Role = ev.Role.PRESENT
    stated: StatedAges = ()


@dataclass(frozen=True)
class Region:
    """One body in a picture: its names, and the ages judged from it (with their statements)."""

    photograph: str
    names: tuple[Candidate, ...]
    judged: Judged = ()

    @cached_property
    def age(self) -> Judgements:
        """The judged age, by judge; none when nobody judged one, or the region shows only likenesses."""
        if all(n.role is ev.Role.LIKENESS for n in self.names):
            return ()
        return tuple(by_judge(self.judged).values())


def regions(photographs: Iterable[str], known: Lookup) -> list[Region]:
    """The bodies with at least one name in pictures that share one exposure.

    Somebody who is the only name on several regions (named twice, or seen again in a print from the same negative) is
    one body.
    """
    found: list[Region] = []
    by_person: dict[str, list[Region]] = defaultdict(list)
    for photograph in photographs:
        for appearances in by_face(undisputed(known.seen.get(photograph, ()))):
            region = _region(photograph, appearances, known)
            if len(region.names) == 1 and region.names[0].role is ev.Role.PRESENT:
                by_person[region.names[0].person].append(region)
            elif region.names:
                found.append(region)
    return [_one_body(same) for same in by_person.values()] + found


def _region(photograph: str, appearances: list[ev.Appearance], known: Lookup) -> Region:
    by_person: dict[str, list[ev.Appearance]] = defaultdict(list)
    for a in appearances:
        by_person[a.person or ""].append(a)
    ages = [age for a in appearances for age in known.ages.get(a.id, ())]
    return Region(photograph, tuple(_name(same, known) for same in by_person.values()), judgements(ages))


def judgements(ages: Iterable[ev.Age]) -> Judged:
    """The judged ages among these, each with its likelihood."""
    return tuple([
        (age, perception.judgement(age.low, age.high, ev.CHANCE_WRONG[age.trust]))
        for age in ages
        if age.basis is ev.AgeBasis.APPARENT
    ])  # fmt: skip


def counted(judged: Judged) -> Judged:
    """Those of one face that count: where some were given unseen, these alone, as the others may suit a date."""
    return judged if len(judged) < 2 else tuple(one for one in judged if one[0].blind) or judged


def by_judge(judged: Judged) -> dict[str | None, Judgement]:
    """The judgements of one face by judge; those without a name count as one judge."""
    if len(judged) < 2:
        return {age.informant: judgement for age, judgement in judged}
    found: dict[str | None, list[Judgement]] = defaultdict(list)
    for age, judgement in judged:
        found[age.informant].append(judgement)
    return {informant: perception.pooled(same) for informant, same in found.items()}


def stated_of(ages: Iterable[ev.Age]) -> StatedAges:
    """The stated ages among these."""
    return tuple([(age.low, age.high, age.trust) for age in ages if age.basis is ev.AgeBasis.STATED])


def _name(appearances: list[ev.Appearance], known: Lookup) -> Candidate:
    best = min(appearances, key=lambda a: ev.CHANCE_WRONG[a.trust])
    q = ev.CHANCE_WRONG[best.trust]
    stated = stated_of(age for a in appearances for age in known.ages.get(a.id, ()))
    return Candidate(best.person or "", (1 - q) / q, best.role, stated)


def _one_body(same: list[Region]) -> Region:
    if len(same) == 1:
        return same[0]
    first = same[0].names[0]
    stated = tuple(age for region in same for age in region.names[0].stated)
    name = Candidate(first.person, max(r.names[0].odds for r in same), first.role, stated)
    return Region(same[0].photograph, (name,), tuple(pair for region in same for pair in region.judged))


@dataclass
class FaceLikelihood:
    """The likelihood of regions, one by one."""

    lives: Lives

    def likelihood(self, region: Region, cells: Cells) -> Array:
        """The logarithm of the likelihood of a region in each cell."""
        age = region.age
        whole = 1 + sum(n.odds for n in region.names)
        unknown = [perception.of_nobody((), len(n.stated)) for n in region.names]
        total = np.full(len(cells), perception.of_nobody(age, 0) * prod(unknown) / whole)
        for i, name in enumerate(region.names):
            seen = self.of_candidate(name, age, cells)
            share = name.odds / whole * prod(unknown[:i] + unknown[i + 1 :])
            total = total + share * seen
        return np.asarray(np.log(np.maximum(total, SMALLEST)))

    def breaks(self, region: Region) -> Iterator[float]:
        """Days on which the likelihood of a region jumps or bends: cells that are cut there can be as long as they like
        and hold all of somebody's last days, or the weeks after a death."""
        for name in region.names:
            born, end = self.lives.birth(name.person).parts, self.lives.death(name.person)
            if len(born) == 1 and born[0].step == 0:
                day = born[0].first
                yield day
                yield from (day + float(years) * DAYS_PER_YEAR for years in perception.stated_edges(name.stated))
            if name.role is ev.Role.LIKENESS or end.dated is None:
                continue
            for edge in (float(end.dated.span.first or 0), (end.dated.span.last or 0) + 1.0):
                yield edge
                if name.role is ev.Role.LAID_OUT:
                    yield edge + LAID_OUT_WITHIN

    def of_candidate(self, name: Candidate, age: Judgements, cells: Cells) -> Array:
        """The likelihood of a region if this name is right, in each cell."""
        day = cells.middle
        if not self.lives.is_informative(name.person):
            return np.full(len(day), perception.of_nobody(age, len(name.stated)))
        if name.role is ev.Role.LIKENESS:
            return self._mean(name.person, _Kernel((), ()), None, cells) * perception.of_nobody(age, 0)
        kernel = _Kernel(age, name.stated)
        if name.role is ev.Role.PRESENT:
            return self._mean(name.person, kernel, self.lives.death(name.person), cells)
        alive, before = (self._alive(name.person, d) for d in (day, day - LAID_OUT_WITHIN))
        allowed = self.lives.known.last_indexed + 1 - FIRST_PHOTOGRAPH
        return np.asarray(self._mean(name.person, kernel, None, cells) * laid_out(before, alive, allowed))

    def _alive(self, person: str, day: Array) -> Array:
        """P(D >= day), over all births before it or not."""
        end = self.lives.death(person)
        unrecorded = np.zeros_like(day)
        for part in self.lives.birth(person).parts:
            unrecorded += part.weight @ end.unrecorded(day, part.days[:, None])
        return mixture(1 - end.chance, end.recorded(day), unrecorded)

    def _mean(self, person: str, kernel: _Kernel, end: Death | None, cells: Cells) -> Array:
        """E_b[kernel(x - b) alive(x | b)] in each cell."""
        return np.asarray(sum(self._part(part, kernel, end, cells) for part in self.lives.birth(person).parts))

    def _part(self, part: BirthPart, kernel: _Kernel, end: Death | None, cells: Cells) -> Array:
        day = cells.middle
        if len(part.weight) == 1:
            value = part.weight[0] * kernel((day - part.first) / DAYS_PER_YEAR)
            return value if end is None else np.asarray(value * end.alive(day, part.first))
        part = part.in_quarters() if cells.quarters else part
        at = (day - part.first) / part.step
        low, high = int(np.floor(at[0])), int(np.floor(at[-1])) + 1
        lags = np.arange(low - len(part.weight) + 1, high + 1)
        value = _convolved(part, self._table(kernel, part.step, lags), lags, end)
        place = np.floor(at).astype(np.int64) - low
        share = at - low - place
        return np.asarray(value[place] * (1 - share) + value[place + 1] * share)

    def _table(self, kernel: _Kernel, step: float, lags: Array) -> Array:
        """The kernel at the ages `lags` (consecutive integers) times `step` days; 0 outside 0 to 125 years. At lag 0 it
        counts half, as half of a cell's births come after the middle of the same cell."""
        whole = _tabulated(kernel, step)
        first, last = max(lags[0], 0), min(lags[-1] + 1, len(whole))
        found = np.zeros(len(lags))
        if first < last:
            found[first - lags[0] : last - lags[0]] = whole[first:last]
        return found


@dataclass(frozen=True)
class _Kernel:
    """The likelihood of a judged age and of `stated` ages (low, high, trust), given the true one."""

    age: Judgements
    stated: StatedAges

    def __call__(self, age: Array) -> Array:
        return perception.age_likelihood(self.age, self.stated, age)


@lru_cache(maxsize=64)
def _tabulated(kernel: _Kernel, step: float) -> Array:
    """A kernel at all ages, `step` days apart: the same ages are judged again and again."""
    table = kernel(np.arange(int(OLDEST * DAYS_PER_YEAR / step) + 1) * step / DAYS_PER_YEAR)
    table[0] *= 0.5
    table.flags.writeable = False
    return table


def _convolved(part: BirthPart, table: Array, lags: Array, end: Death | None) -> Array:
    """The mean over a lattice of births, on the days of the same lattice that all `lags` reach. Convolved directly, not
    by FFT, to keep small values exact."""
    plain = np.convolve(table, part.weight, "valid")
    if end is None:
        return plain
    day = part.first + part.step * lags[len(part.weight) - 1 :]
    value = end.chance * end.recorded(day) * plain
    if end.chance < 1:
        value = value + (1 - end.chance) * np.where(day <= end.first, plain, _surviving(part, table, lags, end))
    return np.asarray(value)


def _surviving(part: BirthPart, table: Array, lags: Array, end: Death) -> Array:
    """The mean over births of kernel and survival, for days after the first possible death."""
    weight = part.weight / end.given(part.days)
    gone = survival((end.last - part.days) / DAYS_PER_YEAR)
    value = np.convolve(table * survival(lags * part.step / DAYS_PER_YEAR), weight, "valid")
    if gone.max() > 1e-12:
        value = value - np.convolve(table, weight * gone, "valid")
    return np.maximum(value, 0.0)

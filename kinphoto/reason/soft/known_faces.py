"""Only for speed: the faces of people whose births are known, for all photographs together.

Three faces in four have one name, show somebody present, and a birth known to within two years. With b its middle,

    F(x) = share * A(x) M(x - b) + rest,          A(x) = P(born by x) * P(not dead at x) * stated ages,

where M is `perception.judged`, smoothed by the width of the birth (`kernels`). Faces that one informant judged in one
photograph form a *set*: their F are multiplied at each of the informant's fifteen points of bias and spread, and the
points are summed out of the product. A face that shares no informant, or whose informant is known well, is summed out
by itself.

**Doubts.** With q(x, i) the probability of a cell and a point, and C what a careless judge says, the chance that a
judgement is careless, given everything else, is

    d s0 / s1,        s0 = sum of q A C / F,        s1 = sum of q A M / F.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import inf

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import SMALLEST, Array, Ints, entries, starts
from kinphoto.reason.model.density import DateDensity, before, mixture, of_date
from kinphoto.reason.model.perception import Judgement, Judgements, Points, StatedAges
from kinphoto.reason.model.prior import MONTH, POINT, Death
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.survival import survival, surviving
from kinphoto.reason.soft.grid import Grid, matching
from kinphoto.reason.soft.kernels import JudgementTables
from kinphoto.reason.soft.uncertain_faces import by_judge


@dataclass(slots=True)
class Face:
    """Somebody present in group `row`, under one name. `age` is the judgement of each of the `judges` (numbers);
    `judged` are the statements and judgements behind it."""

    row: int
    person: str
    share: float
    rest: float
    age: Judgements
    judges: tuple[int, ...]
    judged: tuple[tuple[ev.Age, Judgement], ...]
    stated: StatedAges
    unseen: bool = field(init=False)
    """Whether every age was judged before a name or date was seen."""

    def __post_init__(self) -> None:
        self.unseen = all(age.blind for age, _ in self.judged)

    @property
    def fitted(self) -> bool:
        """Whether an age may suit a date that somebody guessed."""
        return not self.unseen

    @property
    def informant(self) -> int:
        """The number of who judged the age; 0 where it was several, or nobody named."""
        return self.judges[0] if len(self.judges) == 1 else 0


@dataclass(slots=True)
class KnownFace(Face):
    """Somebody whose birth is known: to within `width` days about `born`."""

    born: float
    width: float
    death: Death
    table: int = -1


@dataclass(frozen=True)
class JudgementDoubt:
    """How likely it is that an age was judged carelessly."""

    person: str
    age: ev.Age
    probability: float


@dataclass
class FaceArrays:
    """Faces in ascending order of their rows, as arrays; `points` is 1, or 15 where `sets` of them share points.

    `first` and `last` bound each row (days): where somebody was alive for certain in all of it, A is 1. `fitted`: the
    ages may suit a date that somebody guessed (`fitted_ages`).
    """

    faces: list[KnownFace]
    tables: JudgementTables
    numbers: Mapping[str | None, int]
    weights: Array
    first: Array
    last: Array
    fitted: bool
    sets: Ints = field(init=False)
    """The first face of each set, and the end of the last."""

    def __post_init__(self) -> None:
        self.row = np.array([f.row for f in self.faces], dtype=np.int64)
        own = [(f.born, f.width, f.share, f.rest, f.table, len(f.stated) > 0) for f in self.faces]
        self.born, self.width, self.share, self.rest, table, stated = np.array(own, dtype=np.float64).reshape(-1, 6).T
        self.table = table.astype(np.int64)
        person, self.whose = _each_once([f.person for f in self.faces])
        self.life = Deaths([self.faces[i].death for i in person], self.born[person])
        self.break_row, self.breaks = self._breaks()
        self.certain = np.stack([
            np.where(stated > 0, inf, self.born + self.width / 2), self.life.until[self.whose]
        ])  # fmt: skip
        """From when to when A is 1 of each face: nowhere of one with a stated age."""
        key = np.stack([self.row, np.array([f.informant for f in self.faces], dtype=np.int64)])
        new = np.flatnonzero(np.any(key[:, 1:] != key[:, :-1], axis=0)) + 1 if len(self.weights) > 1 else None
        single = np.arange(len(self.row)) if new is None else np.concatenate([[0], new])[: len(self.row)]
        self.sets = np.append(single, len(self.row)).astype(np.int64)
        self.slip = np.array([max((one.slip_at_most for _, one in f.judged), default=0.0) for f in self.faces])
        self.set_row = self.row[self.sets[:-1]]

    def _breaks(self) -> tuple[Ints, Array]:
        """Days on which a likelihood jumps, inside the bounds of its row, by row in ascending order."""
        point = self.width <= POINT
        dated = (self.life.chance > 0)[self.whose]
        died = self.life.date.take(self.whose[dated])
        rows = [self.row[point], *[self.row[dated]] * 2]
        days = [self.born[point], np.asarray(died.first), np.asarray(died.last)]
        stated = [
            (f.row, f.born + float(years) * DAYS_PER_YEAR)
            for f in self.faces
            if f.stated and f.width <= POINT
            for years in perception.stated_edges(f.stated)
        ]
        rows.append(np.array([row for row, _ in stated], dtype=np.int64))
        row, day = np.concatenate(rows), np.concatenate([*days, [day for _, day in stated]])
        inside = (day > self.first[row]) & (day < self.last[row])
        order = np.argsort(row[inside], kind="stable")
        return row[inside][order], day[inside][order]

    def factors(self, cells: Grid, rows: Ints) -> FaceFactors:
        """These rows' faces; `cells` has a row for each of `rows`."""
        mine, place = matching(self.set_row, rows)
        at, begin = cells.of(place)
        product = np.ones((len(at), len(self.weights)), dtype=np.float32)
        found = []
        sizes = np.diff(self.sets)[mine]
        for batch in range(int(sizes.max(initial=0))):  # first faces, second faces ... of the sets
            chosen = np.flatnonzero(sizes > batch)
            faces, reach = self.sets[mine[chosen]] + batch, begin[chosen + 1] - begin[chosen]
            here = slice(None) if batch == 0 else entries(begin, chosen)[0]  # of the first, every cell
            a, m = self._alive_and_judged(faces, reach, cells.middle[at[here]])
            f = self._value(faces, reach, a, m)
            product[here] *= f
            found.append(FaceBatch(faces, place[chosen], here, starts(reach), a, m, f))
        return FaceFactors(self, cells, at, product, found)

    def _value(self, faces: Ints, sizes: Ints, a: Array, m: Array) -> Array:
        """F from A and M."""
        share, rest = (np.repeat(v[faces], sizes).astype(np.float32)[:, None] for v in (self.share, self.rest))
        found = share * a[:, None] * m
        found += rest
        return np.asarray(found)

    def _alive_and_judged(self, faces: Ints, sizes: Ints, day: Array) -> tuple[Array, Array]:
        """A (cells,) and M (cells, points) of these faces, each on `sizes` cells with these middles."""
        whose = np.repeat(faces, sizes)
        years = (day - self.born[whose]) / DAYS_PER_YEAR
        a = np.ones(len(day), dtype=np.float32)
        odd = np.flatnonzero((day <= self.certain[0, whose]) | (day > self.certain[1, whose]))
        if len(odd):
            a[odd] = self._there(whose[odd], day[odd], years[odd])
        table = self.table[whose]
        if (self.table[faces] >= 0).all():
            return a, self.tables.look_up(table, years)
        m = np.ones((len(day), len(self.weights)), dtype=np.float32)
        judged = np.flatnonzero(table >= 0)
        m[judged] = self.tables.look_up(table[judged], years[judged])
        return a, m

    def _there(self, faces: Ints, day: Array, years: Array) -> Array:
        """A: the probability of being born and not dead, times the likelihood of stated ages."""
        width = self.width[faces] / DAYS_PER_YEAR
        value = perception.born(years, width)
        whose = self.whose[faces]
        late = np.flatnonzero(day > self.life.until[whose])
        value[late] *= self.life.alive(whose[late], day[late])
        for which, ages in self._stated_ages:
            some = np.flatnonzero(which[faces] >= 0)
            low, high, doubt, exact = ages[:, which[faces[some]]]
            value[some] *= perception.stated_age(low, high, years[some], width[some], exact=exact > 0, doubt=doubt)
        return value

    @cached_property
    def _stated_ages(self) -> list[tuple[Ints, Array]]:
        """First, second ... stated ages: for each face its column, or -1; and low, high, doubt, exact in columns."""
        return [_columns(self.faces, k) for k in range(max((len(f.stated) for f in self.faces), default=0))]


@dataclass(frozen=True, slots=True)
class FaceBatch:
    """One face of each of some sets: its row in `cells`, the positions of its cells in the product, A, M and F."""

    faces: Ints
    row: Ints
    here: Ints | slice
    begin: Ints
    a: Array
    m: Array
    f: Array


@dataclass(frozen=True, slots=True)
class FaceFactors:
    """The faces of some rows on some cells: the products of the sets at each point, and at which cells they are."""

    arrays: FaceArrays
    cells: Grid
    at: Ints
    product: Array
    batches: list[FaceBatch]

    def likelihood(self) -> Array:
        """The logarithm of the product of all, in each cell."""
        weights = self.arrays.weights.astype(np.float32)
        value = self.product[:, 0] if len(weights) == 1 else np.einsum("ij,j->i", self.product, weights)
        return self.cells.summed(self.at, np.log(np.maximum(value, SMALLEST)))

    def alive(self) -> Array:
        """The logarithm of the product of all chances to be there, in each cell, whatever their ages."""
        total = np.zeros(len(self.cells.left))
        for batch in self.batches:
            share = np.repeat(self.arrays.share[batch.faces], np.diff(batch.begin))
            there = np.log(np.maximum(mixture(share, 1.0, batch.a), SMALLEST))
            total += self.cells.summed(self.at[batch.here], there)
        return total

    def doubts(self, mass: Array, rows: Array, above: float) -> Iterator[JudgementDoubt]:
        """The judged ages that are careless with a chance greater than `above`.

        `mass` is the probability of each cell; only faces of the flagged `rows` count.
        """
        joint = self.product * self.arrays.weights.astype(np.float32)
        joint *= (mass[self.at] / np.maximum(_summed(joint), SMALLEST)).astype(np.float32)[:, None]
        for batch in self.batches:
            others = joint[batch.here] / batch.f
            others *= batch.a[:, None]
            most = self.arrays.slip[batch.faces] * np.add.reduceat(_summed(others), batch.begin[:-1], dtype=np.float64)
            s1 = np.add.reduceat(np.einsum("ij,ij->i", others, batch.m), batch.begin[:-1], dtype=np.float64)
            for i in np.flatnonzero(rows[batch.row] & (most > above * s1)).tolist():
                yield from self._doubts_of(batch, i, others, above)

    def _doubts_of(self, batch: FaceBatch, i: int, others: Array, above: float) -> Iterator[JudgementDoubt]:
        """The judgements of one face, each by itself."""
        face, here = self.arrays.faces[int(batch.faces[i])], slice(batch.begin[i], batch.begin[i + 1])
        years = (self.cells.middle[self.at[batch.here][here]] - face.born) / DAYS_PER_YEAR
        s1 = float((others[here] * batch.m[here]).sum())
        for k, (age, judged) in enumerate(face.judged):
            without = by_judge((*face.judged[:k], *face.judged[k + 1 :]))
            judges = *(self.arrays.numbers[who] for who in without), self.arrays.numbers[age.informant]
            ages = *without.values(), judged.careless
            slip = self.arrays.tables.likelihood(ages, judges, _months(face.width), years)
            chance = judged.doubt * float((others[here] * slip).sum()) / max(s1, SMALLEST)
            if chance > above:
                yield JudgementDoubt(face.person, age, min(chance, 1.0))


class KnownFaces:
    """All faces of people whose births are known: those alone, and those that share their informant's points."""

    def __init__(
        self, faces: Iterable[KnownFace], numbers: Mapping[str | None, int], informants: Sequence[Points],
        well_known: Sequence[bool], first: Array, last: Array,
    ) -> None:  # fmt: skip
        together: dict[tuple[int, int, bool], list[KnownFace]] = defaultdict(list)
        found: dict[tuple[bool, bool], list[KnownFace]] = {
            (several, fitted): [] for several in (False, True) for fitted in (False, True)
        }
        for face in faces:
            if len(face.judges) != 1 or well_known[face.informant]:
                found[False, face.fitted].append(face)
            else:
                together[face.row, face.informant, face.fitted].append(face)
        for (*_, fitted), same in together.items():
            found[len(same) > 1, fitted].extend(same)
        self.arrays: list[FaceArrays] = []
        for (several, fitted), some in found.items():
            if not some:
                continue
            points = perception.ANYBODY.weights if several else np.ones(1)
            tables = JudgementTables(informants, averaged=len(points) == 1)
            for face in sorted(some, key=lambda f: f.informant):
                if face.age:
                    face.table = tables.index(face.age, face.judges, _months(face.width))
            some.sort(key=lambda f: (f.row, f.informant))
            self.arrays.append(FaceArrays(some, tables, numbers, points, first, last, fitted))

    def factors(self, cells: Grid, rows: Ints) -> list[FaceFactors]:
        """All faces of these rows; `cells` has a row for each."""
        return [arrays.factors(cells, rows) for arrays in self.arrays]


class Deaths:
    """Deaths of people born on the days `born`; `until` is the last day on which each was alive for certain."""

    def __init__(self, deaths: Sequence[Death], born: Array) -> None:
        self.born = born
        any_day = DateDensity(0.0, 1.0)  # of a death without a date, which has no chance
        self.date = DateDensity.stack([any_day if d.dated is None else of_date(d.dated, -inf, inf) for d in deaths])
        rows = np.array([(d.chance, d.first, d.last) for d in deaths], dtype=np.float64)
        self.chance, self.first, self.last = rows.reshape(-1, 3).T
        self.until = np.array([d.surely_until for d in deaths])
        self.reach = np.stack([survival((end - born) / DAYS_PER_YEAR) for end in (self.first, self.last)])

    def alive(self, which: Ints, day: Array) -> Array:
        """P(D >= day) for each of these (see `prior.Death`)."""
        value = np.ones(len(which))
        dated = np.flatnonzero(self.chance[which] > 0)
        value[dated] = 1 - before(day[dated], self.date.take(which[dated]))
        lost = np.flatnonzero(self.chance[which] < 1)
        some = which[lost]
        now = survival((np.maximum(day[lost], self.first[some]) - self.born[some]) / DAYS_PER_YEAR)
        value[lost] = mixture(1 - self.chance[some], value[lost], surviving(now, *self.reach[:, some]))
        return value


def _summed(values: Array) -> Array:
    """The sum over the points (numpy's own is slow where they are few)."""
    return np.asarray(values[:, 0] if values.shape[1] == 1 else np.einsum("ij->i", values))


def _each_once(names: Sequence[str]) -> tuple[Ints, Ints]:
    """Where each name comes first; and which of them each is."""
    first = {name: i for i, name in reversed(list(enumerate(names)))}
    number = {name: k for k, name in enumerate(first)}
    which = np.array([number[name] for name in names], dtype=np.int64)
    return np.array(list(first.values()), dtype=np.int64), which


def _months(width: float) -> int:
    """The width of a birth by which its table is smoothed."""
    return round(width / MONTH)


def _columns(faces: Sequence[KnownFace], k: int) -> tuple[Ints, Array]:
    which, columns = np.full(len(faces), -1), list[tuple[float, float, float, bool]]()
    for i, face in enumerate(faces):
        if len(face.stated) > k:
            low, high, trust = face.stated[k]
            which[i] = len(columns)
            columns.append((low, high, ev.CHANCE_WRONG[trust], trust is ev.Trust.CERTAIN))
    return which, np.array(columns, dtype=np.float64).reshape(-1, 4).T

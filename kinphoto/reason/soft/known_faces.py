"""The faces of people whose births are known, of all photographs at once.

Three faces in four are of this kind: one name, somebody present, a birth known to within two years. With b the middle
of the birth and w its width, such a face has the likelihood (`faces` tells why)

    F(x) = share * A(x) M(x - b) + rest,          A(x) = P(born by x) * P(not dead at x) * stated ages,

where M is what the judged age says (`kernels`), smoothed by w. Nothing is left to be summed out but the bias and spread
of the informant. Faces that one informant judged in one photograph form a *set*: their F are multiplied at each of the
fifteen points and the points summed out of the product. A face whose informant judged no other there, or is known well
enough (`informants`), is summed out by itself.

**Left out.** With mass q(x, i) over cells and points, the chance that a judged age has nothing to do with the true age,
the judgement itself left out of the rest, is

    d c s0 / s1,        s0 = sum of q A / F,        s1 = sum of q A M / F,

for q / F is what the rest makes likely, M = d c + (1 - d) N, and so s1 / s0 is the chance of this judgement if its
judge is careless with chance d.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import ndtr

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.perception import Judgement
from kinphoto.reason.model.prior import ABOUT_NORMAL, POINT, Death
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.survival import survival
from kinphoto.reason.soft.claims import SMALLEST, matching
from kinphoto.reason.soft.grid import Grid, starts
from kinphoto.reason.soft.kernels import Stack

MONTH = DAYS_PER_YEAR / 12


@dataclass(slots=True)
class KnownFace:
    """Somebody whose birth is known, in group `row`. `informant` is the number of who judged the age (0: several, or
    nobody named); `judged` are the statements and judgements behind `age`; `told` the stated ages."""

    row: int
    person: str
    born: float
    width: float
    death: Death
    share: float
    rest: float
    age: Judgement | None = None
    informant: int = 0
    judged: Sequence[tuple[ev.Age, Judgement]] = ()
    told: Sequence[ev.Age] = ()
    table: int = -1


@dataclass(frozen=True)
class JudgementDoubt:
    """How likely it is that a judged age has nothing to do with the true one."""

    person: str
    age: ev.Age
    probability: float


@dataclass
class FaceArrays:
    """Faces in ascending order of their rows, as arrays; `points` is 1, or 15 where `sets` of them share points.

    `first` and `last` bound each row (days): where somebody was alive for certain in all of it, A is 1.
    """

    faces: list[KnownFace]
    stack: Stack
    weights: Array
    first: Array
    last: Array
    sets: Ints = field(init=False)
    """The first face of each set, and the end of the last."""

    def __post_init__(self) -> None:
        self.row = np.array([f.row for f in self.faces], dtype=np.int64)
        own = [(f.born, f.width, f.share, f.rest, f.table, len(f.told) > 0) for f in self.faces]
        self.born, self.width, self.share, self.rest, table, told = np.array(own, dtype=np.float64).reshape(-1, 6).T
        self.table = table.astype(np.int64)
        self.life = Deaths([f.death for f in self.faces], self.born)
        self.break_row, self.breaks = self._breaks()
        early = self.born + self.width / 2 <= self.first[self.row]
        self.simple = early & (self.life.until >= self.last[self.row]) & (told == 0)
        key = np.stack([self.row, np.array([f.informant for f in self.faces], dtype=np.int64)])
        new = np.flatnonzero(np.any(key[:, 1:] != key[:, :-1], axis=0)) + 1 if len(self.weights) > 1 else None
        alone = np.arange(len(self.row)) if new is None else np.concatenate([[0], new])[: len(self.row)]
        self.sets = np.append(alone, len(self.row)).astype(np.int64)
        self.doubt = np.array([f.age.doubt * f.age.careless if f.age is not None else 0.0 for f in self.faces])
        self.several = np.array([len(f.judged) > 1 for f in self.faces], dtype=bool)
        self.set_row = self.row[self.sets[:-1]]

    def _breaks(self) -> tuple[Ints, Array]:
        """Days on which a likelihood jumps, inside the bounds of its row, by row in ascending order."""
        point = self.width <= POINT
        rows = [self.row[point], *[self.row[self.life.chance > 0]] * 2]
        days = [self.born[point], *(ends[self.life.chance > 0] for ends in (self.life.dated, self.life.dated_end))]
        told = [
            (f.row, f.born + float(years) * DAYS_PER_YEAR)
            for f in self.faces
            if f.told and f.width <= POINT
            for age in f.told
            for years in perception.stated_edges(age.low, age.high, exact=age.trust is ev.Trust.CERTAIN)
        ]
        rows.append(np.array([row for row, _ in told], dtype=np.int64))
        row, day = np.concatenate(rows), np.concatenate([*days, [day for _, day in told]])
        inside = (day > self.first[row]) & (day < self.last[row])
        order = np.argsort(row[inside], kind="stable")
        return row[inside][order], day[inside][order]

    def seen(self, cells: Grid, rows: Ints) -> Seen:
        """These rows' faces; `cells` has a row for each of `rows`."""
        mine, place = matching(self.set_row, rows)
        at, begin = cells.of(place)
        product = np.ones((len(at), len(self.weights)), dtype=np.float32)
        found = []
        sizes = np.diff(self.sets)[mine]
        for rank in range(int(sizes.max(initial=0))):  # first faces, second faces ... of the sets
            chosen = np.flatnonzero(sizes > rank)
            faces, reach = self.sets[mine[chosen]] + rank, begin[chosen + 1] - begin[chosen]
            here = slice(None) if rank == 0 else _spread(begin, chosen)  # of the first, every cell
            a, m = self._seen(faces, reach, cells.middle[at[here]])
            f = self._value(faces, reach, a, m)
            product[here] *= f
            found.append(Rank(faces, place[chosen], here, starts(reach), a, m, f))
        return Seen(self, cells, at, product, found)

    def _value(self, faces: Ints, sizes: Ints, a: Array, m: Array) -> Array:
        """F from A and M."""
        share, rest = (np.repeat(v[faces], sizes).astype(np.float32)[:, None] for v in (self.share, self.rest))
        return np.asarray(share * a[:, None] * m + rest)

    def _seen(self, faces: Ints, sizes: Ints, day: Array) -> tuple[Array, Array]:
        """A (cells,) and M (cells, points) of these faces, each on `sizes` cells with these middles."""
        years = (day - np.repeat(self.born[faces], sizes)) / DAYS_PER_YEAR
        a = np.ones(len(day), dtype=np.float32)
        odd = np.flatnonzero(np.repeat(~self.simple[faces], sizes))
        if len(odd):
            whose = np.repeat(faces, sizes)[odd]
            a[odd] = self._there(whose, day[odd], years[odd])
        table = np.repeat(self.table[faces], sizes)
        if (self.table[faces] >= 0).all():
            return a, self.stack.look_up(table, years)
        m = np.ones((len(day), len(self.weights)), dtype=np.float32)
        judged = np.flatnonzero(table >= 0)
        m[judged] = self.stack.look_up(table[judged], years[judged])
        return a, m

    def _there(self, faces: Ints, day: Array, years: Array) -> Array:
        """A: born, not dead, and as old as somebody said."""
        width = self.width[faces] / DAYS_PER_YEAR
        value = perception.within(years, 0.0, 1000.0, width)
        late = np.flatnonzero(day > self.life.until[faces])
        value[late] *= self.life.alive(faces[late], day[late])
        for which, ages in self._told():
            some = np.flatnonzero(which[faces] >= 0)
            low, high, doubt, exact = ages[:, which[faces[some]]]
            value[some] *= perception.stated_age(low, high, years[some], width[some], exact=exact > 0, doubt=doubt)
        return value

    def _told(self) -> list[tuple[Ints, Array]]:
        """First, second ... stated ages: for each face its column, or -1; and low, high, doubt, exact in columns."""
        if not hasattr(self, "_stated"):
            most = max((len(f.told) for f in self.faces), default=0)
            self._stated = [_columns(self.faces, k) for k in range(most)]
        return self._stated


@dataclass(frozen=True, slots=True)
class Rank:
    """One face of each of some sets: its row in `cells`, where its cells lie in the product, and A, M and F there."""

    faces: Ints
    row: Ints
    here: Ints | slice
    begin: Ints
    a: Array
    m: Array
    f: Array


@dataclass(frozen=True, slots=True)
class Seen:
    """The faces of some rows on some cells: the products of the sets at each point, and at which cells they are."""

    crowd: FaceArrays
    cells: Grid
    at: Ints
    product: Array
    ranks: list[Rank]

    def likelihood(self) -> Array:
        """The logarithm of the product of all, in each cell."""
        weights = self.crowd.weights.astype(np.float32)
        value = self.product[:, 0] if len(weights) == 1 else np.einsum("ij,j->i", self.product, weights)
        return self.cells.summed(self.at, np.log(np.maximum(value, SMALLEST)))

    def doubts(self, mass: Array, rows: Array, above: float) -> Iterator[JudgementDoubt]:
        """The judged ages that have nothing to do with the true age with a chance greater than `above`.

        `mass` is the probability of each cell; only faces of the flagged `rows` are looked at.
        """
        joint = self.product * self.crowd.weights.astype(np.float32)
        joint *= (mass[self.at] / np.maximum(_summed(joint), SMALLEST)).astype(np.float32)[:, None]
        for rank in self.ranks:
            others = joint[rank.here] / rank.f
            others *= rank.a[:, None]
            s0 = np.add.reduceat(_summed(others), rank.begin[:-1], dtype=np.float64)
            s1 = np.add.reduceat(np.einsum("ij,ij->i", others, rank.m), rank.begin[:-1], dtype=np.float64)
            chance = self.crowd.doubt[rank.faces] * s0 / np.maximum(s1, SMALLEST)
            for i in np.flatnonzero(rows[rank.row] & (chance > above)).tolist():
                face = self.crowd.faces[int(rank.faces[i])]
                if len(face.judged) == 1:
                    yield JudgementDoubt(face.person, face.judged[0][0], min(float(chance[i]), 1.0))
            for i in np.flatnonzero(rows[rank.row] & self.crowd.several[rank.faces]).tolist():
                yield from self._apart(rank, i, others, above)

    def _apart(self, rank: Rank, i: int, others: Array, above: float) -> Iterator[JudgementDoubt]:
        """Several judgements of one face, each by itself."""
        face, here = self.crowd.faces[int(rank.faces[i])], slice(rank.begin[i], rank.begin[i + 1])
        years = (self.cells.middle[self.at[rank.here][here]] - face.born) / DAYS_PER_YEAR
        for age, judged in face.judged:
            m = self.crowd.stack.made(judged, face.informant, _months(face.width), years)
            s0, s1 = float(others[here].sum()), float((others[here] * m).sum())
            chance = judged.doubt * judged.careless * s0 / max(s1, SMALLEST)
            if chance > above:
                yield JudgementDoubt(face.person, age, min(chance, 1.0))


class KnownFaces:
    """All faces of people whose births are known: those alone, and those that share their informant's points."""

    def __init__(
        self, faces: Iterable[KnownFace], tables: Callable[[Judgement, int, int], Array], known_well: Sequence[bool],
        first: Array, last: Array,
    ) -> None:  # fmt: skip
        together: dict[tuple[int, int], list[KnownFace]] = defaultdict(list)
        alone: list[KnownFace] = []
        shared: list[KnownFace] = []
        for face in faces:
            if face.age is None or len({a.informant for a, _ in face.judged}) > 1 or known_well[face.informant]:
                alone.append(face)
            else:
                together[face.row, face.informant].append(face)
        for same in together.values():
            (shared if len(same) > 1 else alone).extend(same)
        weights = perception.ANYBODY.weights
        self.both: list[FaceArrays] = []
        for some, points in ((alone, np.ones(1)), (shared, weights)):
            stack = Stack(tables if len(points) > 1 else lambda *key: tables(*key) @ weights[:, None])
            for face in sorted(some, key=lambda f: f.informant):
                if face.age is not None:
                    face.table = stack.index(face.age, face.informant, _months(face.width))
            some.sort(key=lambda f: (f.row, f.informant))
            self.both.append(FaceArrays(some, stack, points, first, last))

    def seen(self, cells: Grid, rows: Ints) -> list[Seen]:
        """All faces of these rows; `cells` has a row for each."""
        return [crowd.seen(cells, rows) for crowd in self.both]


class Deaths:
    """Deaths of people born on the days `born`; `until` is the last day on which each was alive for certain."""

    def __init__(self, deaths: Sequence[Death], born: Array) -> None:
        self.born = born
        rows = []
        for d in deaths:
            first, last = (0.0, 1.0) if d.dated is None else (d.dated.span.first or 0, (d.dated.span.last or 0) + 1.0)
            centre, spread = (0.0, 0.0) if d.dated is None else (d.dated.centre or 0.0, d.dated.spread or 0.0)
            rows.append((d.chance, d.first, d.last, first, last, centre, spread))
        values = np.array(rows, dtype=np.float64).reshape(-1, 7).T
        self.chance, self.first, self.last, self.dated, self.dated_end, self.centre, self.spread = values
        self.until = np.array([d.surely_until for d in deaths])
        self.reach = np.stack([survival((end - born) / DAYS_PER_YEAR) for end in (self.first, self.last)])

    def alive(self, which: Ints, day: Array) -> Array:
        """P(D >= day) for each of these (see `prior.Death`)."""
        chance = self.chance[which]
        value = chance * (1 - self._gone(which, day))
        lost = np.flatnonzero(chance < 1)
        value[lost] += (1 - chance[lost]) * self._unrecorded(which[lost], day[lost])
        return np.asarray(value)

    def _gone(self, which: Ints, day: Array) -> Array:
        """P(D < day) by the date of the death."""
        gone = np.clip((day - self.dated[which]) / (self.dated_end - self.dated)[which], 0.0, 1.0)
        about = np.flatnonzero(self.spread[which] > 0)
        whose = which[about]
        normal = ndtr((day[about] - self.centre[whose] - 0.5) / self.spread[whose])
        gone[about] = ABOUT_NORMAL * normal + (1 - ABOUT_NORMAL) * gone[about]
        return np.asarray(gone)

    def _unrecorded(self, which: Ints, day: Array) -> Array:
        """P(D >= day) where no date tells of the death."""
        early, late = self.reach[:, which]
        reach = survival((np.maximum(day, self.first[which]) - self.born[which]) / DAYS_PER_YEAR)
        return np.asarray(np.clip((reach - late) / np.maximum(early - late, SMALLEST), 0.0, 1.0))


def _summed(values: Array) -> Array:
    """The sum over the points (numpy's own is slow where they are few)."""
    return np.asarray(values[:, 0] if values.shape[1] == 1 else np.einsum("ij->i", values))


def _months(width: float) -> int:
    """The width of a birth by which its table is smoothed."""
    return round(width / MONTH)


def _columns(faces: Sequence[KnownFace], k: int) -> tuple[Ints, Array]:
    which, columns = np.full(len(faces), -1), list[tuple[float, float, float, bool]]()
    for i, face in enumerate(faces):
        if len(face.told) > k:
            said = face.told[k]
            which[i] = len(columns)
            columns.append((said.low, said.high, ev.CHANCE_WRONG[said.trust], said.trust is ev.Trust.CERTAIN))
    return which, np.array(columns, dtype=np.float64).reshape(-1, 4).T


def _spread(begin: Ints, chosen: Ints) -> Ints:
    """The places of some lists that stand one behind the other and begin there."""
    sizes = begin[chosen + 1] - begin[chosen]
    first = starts(sizes)
    return np.repeat(begin[chosen] - first[:-1], sizes) + np.arange(first[-1])

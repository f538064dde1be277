"""The bias and spread of each informant, learned where the true age is nearly known.

That is: the age of somebody whose birth is known was judged in a photograph that something other than ages dates
closely. With b and ln k as in `perception`, the posterior of one informant is

    p(b, ln k) ~ N(b; 0, 0.08) N(ln k; 0, 0.3) * product over judgements of  E_x[ share M(x - birth; b, k) + rest ],

the mean taken over the exposure x. It is then integrated over, as two normals with its means and standard deviations,
wherever this informant judged an age. They are taken on a grid about its top, as wide along each of its own axes as the
posterior is. Only ages given unseen are counted: one that was fitted to the date would make its judge look perfect. A
pull towards the middle is learned besides, on a third axis, of whoever judged `BOTH_SIDES` and more of them on either
side of it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, partial

import numpy as np
from scipy.optimize import minimize

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.findings import InformantEstimate
from kinphoto.reason.model.perception import BIAS_SD, PULL_SD, SPREAD_SD, Points
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.claims import GroupStatements
from kinphoto.reason.soft.grid import grid
from kinphoto.reason.soft.known_faces import Face, KnownFace

CLOSE = 2 * DAYS_PER_YEAR
"""A photograph is dated closely enough when nine tenths of what is left of it are within this."""
BOTH_SIDES = 10
"""Judgements of people younger and of people older than the middle from which a pull is learned (ours)."""
ENOUGH = 300
"""Judgements from which one informant is learned at most; more would add nothing."""
WELL_KNOWN = 0.012
"""Standard deviation of a bias below which it does not tie faces together any more."""
COMMON_FROM = 3
"""Judged pictures of somebody from which on what is the same in all of them counts."""
COMMON = (0.0, 0.0008, 0.0016, 0.0032, 0.0064)
"""Variances of what judges have in common, among which one is learned."""
_SHARES: Array = (np.arange(4) + 0.5) / 4
_DEVIATIONS: Array = np.arange(-4.0, 5.0)
"""Standard deviations about the top at which a posterior is taken: of a normal, this far apart sums are exact."""
_NEARBY = 0.01
"""How far apart second derivatives are taken, in standard deviations beforehand."""
TOGETHER = 200_000
"""Numbers that are worked out together."""


@dataclass(frozen=True)
class Informants:
    """What is known of informants, by name."""

    known: Mapping[str, InformantEstimate] = field(default_factory=dict)

    def points(self, name: str | None, common: CommonLook | None = None) -> Points:
        """The points over which an informant's bias and spread are summed out; where somebody has a `common` look, what
        is left to sum out."""
        found = None if name is None else self.known.get(name)
        if found is None and common is None:
            return perception.ANYBODY
        bias, bias_sd, spread, spread_sd, pull = 0.0, BIAS_SD, 0.0, SPREAD_SD, (0.0, 0.0)
        if found is not None:
            bias, bias_sd, spread, spread_sd = found.bias, found.bias_sd, found.log_spread, found.log_spread_sd
            pull = found.pull, found.pull_sd
        if common is None:
            return perception.points(bias, bias_sd, spread, spread_sd, pull=pull)
        left = max(bias_sd**2 - common.of_judges, 0.0) ** 0.5
        look = perception.LOOK * (1 - perception.OWN_LOOK)
        return perception.points(bias + common.older, left, spread, spread_sd, look, pull)

    def bias_variance(self, name: str | None) -> float:
        """The variance of an informant's bias, as far as it is known."""
        found = None if name is None else self.known.get(name)
        return (BIAS_SD if found is None else found.bias_sd) ** 2

    def well_known(self, name: str | None) -> bool:
        """Whether an informant's faces of one photograph need not be taken together."""
        return name is not None and name in self.known and self.known[name].bias_sd < WELL_KNOWN

    @classmethod
    def learned(cls, statements: GroupStatements, appearances: Appearances) -> Informants:
        """What the evidence teaches of everybody who judged an age."""
        ages = _closely_dated(statements, appearances)
        judged: dict[int, list[KnownFace]] = defaultdict(list)
        for face in appearances.known_faces:
            of = judged[face.informant]
            if face.row in ages and face.informant and face.unseen and not face.stated and len(of) < ENOUGH:
                of.append(face)
        names = appearances.informants
        return cls({
            str(names[number]): _learned(str(names[number]), faces, ages) for number, faces in judged.items() if faces
        })  # fmt: skip


@dataclass(frozen=True, slots=True)
class CommonLook:
    """A value of what is the same in all pictures of somebody: how much `older` they look, on the scale, to whoever
    judged them. `of_judges` is how much of its variance is the judges' bias."""

    older: float
    of_judges: float


def common_looks(
    faces: Iterable[Face], names: Sequence[str | None], informants: Informants
) -> dict[str, tuple[CommonLook | None, ...]]:
    """The looks of each of these people, over which to sum: one (None) where they are in too few pictures to matter.

    Pictures share the person's own look, and the biases of their judges as far as they have judges in common: with the
    share s_j of the pictures judged by j, the sum of s_j^2 (sd of the bias of j)^2. It is rounded to one of `COMMON`,
    so that few tables are needed.
    """
    judges: dict[str, list[float]] = defaultdict(lambda: [0.0] * len(names))
    judged: Counter[str] = Counter()
    for face in faces:
        judged[face.person] += bool(face.age)
        for judge in face.judges:
            judges[face.person][judge] += 1 / len(face.judges)
    variances = np.array([informants.bias_variance(name) if name is not None else 0.0 for name in names])
    found: dict[str, tuple[CommonLook | None, ...]] = {}
    for person, many in judged.items():
        if many < COMMON_FROM:
            found[person] = (None,)
            continue
        shared = float((np.array(judges[person]) / many) ** 2 @ variances)
        found[person] = _looks(min(COMMON, key=lambda level: abs(level - shared)))
    return found


@cache
def _looks(of_judges: float) -> tuple[CommonLook, ...]:
    sd = (perception.OWN_LOOK * perception.LOOK * perception.TAU**2 + of_judges) ** 0.5
    return tuple(CommonLook(sd * at, of_judges) for at in perception.OWN_LOOKS[0].tolist())


def _closely_dated(statements: GroupStatements, appearances: Appearances) -> dict[int, Array]:
    """Groups that their own statements date closely: four days of each, equally likely."""
    groups = appearances.groups
    rows = np.intersect1d(
        statements.dated, np.array([f.row for f in appearances.known_faces if f.informant], dtype=np.int64)
    )
    found: dict[int, Array] = {}
    for some in np.array_split(rows, len(rows) // 500 + 1) if len(rows) else ():
        cells = grid(groups.first[some], groups.last[some], *statements.breaks_of(some))
        mass = cells.masses(statements.likelihood(cells, some))
        for i, row in enumerate(some.tolist()):
            here = slice(cells.start[i], cells.start[i + 1])
            rising = np.cumsum(mass[here])
            low, high, *days = np.interp([0.05, 0.95, *_SHARES], rising, cells.right[here])
            if high - low <= CLOSE:
                found[row] = np.array(days)
    return found


def _learned(name: str, faces: list[KnownFace], ages: Mapping[int, Array]) -> InformantEstimate:
    """The posterior of one informant: its top, and the moments of a grid about that, along its own axes."""
    prior_sd = np.array([BIAS_SD, SPREAD_SD, PULL_SD] if _on_both_sides(faces, ages) else [BIAS_SD, SPREAD_SD])
    likelihood = _Judgements(faces, ages)

    def log(at: Array) -> Array:  # in standard deviations beforehand
        return np.asarray(likelihood.log(*(prior_sd * at).T) - (at**2).sum(axis=1) / 2)

    top = minimize(lambda at: -log(at[None])[0], np.zeros(len(prior_sd)), method="BFGS").x
    axes = np.linalg.cholesky(np.linalg.inv(_curvature(log, top)))
    grid = np.stack(np.meshgrid(*[_DEVIATIONS] * len(top)), axis=-1).reshape(-1, len(top))
    at = top + grid @ axes.T
    value = log(at)
    weight = np.exp(value - value.max())
    weight /= weight.sum()
    mean = weight @ at
    sd = (weight @ (at - mean) ** 2) ** 0.5
    values = np.stack([mean, sd], axis=1) * prior_sd[:, None]
    (bias, spread), pull = values[:2].tolist(), values[2].tolist() if len(top) > 2 else (0.0, 0.0)
    return InformantEstimate(name, len(faces), *bias, *spread, *pull)


def _curvature(log: Callable[[Array], Array], top: Array) -> Array:
    """The second derivatives of -log at its top; nowhere flatter than that of what was known beforehand, halved."""
    many, eye = len(top), np.eye(len(top)) * _NEARBY
    points = np.array([
        top + one * eye[i] + other * eye[j]
        for i in range(many) for j in range(many) for one in (1, -1) for other in (1, -1)
    ])  # fmt: skip
    there = log(points).reshape(many, many, 2, 2)
    found = -(there[..., 0, 0] + there[..., 1, 1] - there[..., 0, 1] - there[..., 1, 0]) / (4 * _NEARBY**2)
    values, vectors = np.linalg.eigh((found + found.T) / 2)
    return np.asarray((vectors * np.maximum(values, 0.5)) @ vectors.T)


def _on_both_sides(faces: Iterable[KnownFace], ages: Mapping[int, Array]) -> bool:
    """Whether there are enough people younger and enough people older than the middle."""
    years = np.array([(ages[f.row].mean() - f.born) / DAYS_PER_YEAR for f in faces])
    older = int((perception.scale(years) > perception.MIDDLE).sum())
    return min(older, len(years) - older) >= BOTH_SIDES


class _Judgements:
    """What one informant said of some faces, as arrays: (faces, days)."""

    def __init__(self, faces: Sequence[KnownFace], ages: Mapping[int, Array]) -> None:
        rows = [(f.born, f.share, f.rest, f.age[0].low, f.age[0].high, f.age[0].doubt) for f in faces]
        born, share, rest, low, high, doubt = np.array(rows).T[:, :, None]
        years = (np.array([ages[f.row] for f in faces]) - born) / DAYS_PER_YEAR
        self.place, self.low, self.high = perception.scale(years), low, high
        there = share * (years >= 0)
        self.careful = there * (1 - doubt)
        self.otherwise = there * doubt * perception.careless(low, high, years) + rest

    def log(self, bias: Array, log_spread: Array, pull: Array | None = None) -> Array:
        """The logarithm of the joint likelihood of each bias, ln k and pull."""
        found, factor = np.empty(len(bias)), np.exp(log_spread)
        pull = np.zeros(len(bias)) if pull is None else pull
        for some in np.array_split(np.arange(len(bias)), self.place.size * len(bias) // TOGETHER + 1):
            who = bias[some, None, None], factor[some, None, None]
            at = partial(
                perception.younger_than, place=self.place, bias=who[0], factor=who[1], pull=pull[some, None, None]
            )
            made = self.careful * (at(self.high) - at(self.low)) + self.otherwise
            found[some] = np.log(made.mean(axis=2)).sum(axis=1)
        return found

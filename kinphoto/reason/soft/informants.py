"""The bias and spread of each informant, learned where the true age is nearly known.

That is: the age of somebody whose birth is known was judged in a photograph that something other than ages dates
closely. With b and ln k as in `perception`, the posterior of one informant is

    p(b, ln k) ~ N(b; 0, 0.08) N(ln k; 0, 0.3) * product over judgements of  E_x[ share M(x - birth; b, k) + rest ],

on a grid of b and ln k, the mean taken over the exposure x. It is then integrated over, as two normals with its means
and standard deviations, wherever this informant judged an age. Only ages given unseen are counted: one that was fitted
to the date would make its judge look perfect. A pull towards the middle is learned besides, on the same grid with a
third axis, of whoever judged `BOTH_SIDES` and more of them on either side of it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, partial

import numpy as np

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.density import log_bell
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
"""Variances of what judges have in common that are told apart."""
_SHARES: Array = (np.arange(4) + 0.5) / 4
_REACH = 4.0


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
    own = np.union1d(statements.clues.row, np.array([row for row, *_ in statements.events], dtype=np.int64))
    rows = np.intersect1d(own, np.array([f.row for f in appearances.known_faces if f.informant], dtype=np.int64))
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
    """The posterior of one informant: on a wide grid, then on one about what that finds."""
    names = "bias", "log_spread", "pull"
    prior_sd = np.array([BIAS_SD, SPREAD_SD, PULL_SD])
    nodes = 25, 15, 7 if _on_both_sides(faces, ages) else 1
    mean, sd = np.zeros(3), prior_sd
    for _ in range(2):
        axes = np.ix_(*(
            m + (_REACH * d * np.linspace(-1, 1, n) if n > 1 else np.zeros(1))
            for m, d, n in zip(mean, sd, nodes, strict=True)
        ))  # fmt: skip
        log = sum(log_bell(axis, 0.0, d) for axis, d in zip(axes, prior_sd, strict=True))
        log = log + _log_likelihood(faces, ages, *axes)
        weight = np.exp(log - log.max())
        weight /= weight.sum()
        mean = np.array([(weight * axis).sum() for axis in axes])
        sd = np.array([(weight * (axis - m) ** 2).sum() for axis, m in zip(axes, mean, strict=True)]) ** 0.5
    means, sds = dict(zip(names, mean.tolist(), strict=True)), zip(names, sd.tolist(), strict=True)
    return InformantEstimate(name, len(faces), **means, **{f"{axis}_sd": value for axis, value in sds})


def _on_both_sides(faces: Iterable[KnownFace], ages: Mapping[int, Array]) -> bool:
    """Whether there are enough people younger and enough people older than the middle."""
    years = np.array([(ages[f.row].mean() - f.born) / DAYS_PER_YEAR for f in faces])
    older = int((perception.scale(years) > perception.MIDDLE).sum())
    return min(older, len(years) - older) >= BOTH_SIDES


def _log_likelihood(faces: Iterable[KnownFace], ages: Mapping[int, Array], b: Array, s: Array, p: Array) -> Array:
    """The logarithm of what all judgements together say of bias, ln k and pull, on a grid of them."""
    total, factor = np.zeros(np.broadcast_shapes(b.shape, s.shape, p.shape)), np.exp(s)
    for face in faces:
        years = ((ages[face.row] - face.born) / DAYS_PER_YEAR)[:, None, None, None]
        at = partial(perception.younger_than, place=perception.scale(years), bias=b, factor=factor, pull=p)
        made = perception.judged(face.age[0], at)
        total += np.log((face.share * made * (years >= 0) + face.rest).mean(axis=0))
    return total

"""The bias and spread of each informant, learned where the true age is nearly known.

That is: the age of somebody whose birth is known was judged in a photograph that something other than ages dates
closely. With b and ln k as in `perception`, the posterior of one informant is

    p(b, ln k) ~ N(b; 0, 0.08) N(ln k; 0, 0.3) * product over judgements of  E_x[ share M(x - birth; b, k) + rest ],

on a grid of b and ln k, the mean taken over the exposure x. It is then integrated over, as two normals with its means
and standard deviations, wherever this informant judged an age.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.density import log_bell
from kinphoto.reason.model.findings import InformantEstimate
from kinphoto.reason.model.perception import BIAS_SD, SPREAD_SD, Points
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.claims import GroupStatements
from kinphoto.reason.soft.grid import grid
from kinphoto.reason.soft.known_faces import KnownFace

CLOSE = 2 * DAYS_PER_YEAR
"""A photograph is dated closely enough when nine tenths of what is left of it are within this."""
ENOUGH = 300
"""Judgements from which one informant is learned at most; more would add nothing."""
WELL_KNOWN = 0.012
"""Standard deviation of a bias below which it does not tie faces together any more."""
_SHARES: Array = (np.arange(4) + 0.5) / 4
_REACH = 4.0


@dataclass(frozen=True)
class Informants:
    """What is known of informants, by name."""

    known: Mapping[str, InformantEstimate] = field(default_factory=dict)

    def points(self, name: str | None) -> Points:
        """The points over which an informant's bias and spread are summed out."""
        found = None if name is None else self.known.get(name)
        if found is None:
            return perception.ANYBODY
        return perception.points(found.bias, found.bias_sd, found.log_spread, found.log_spread_sd)

    def bias_sd(self, name: str | None) -> float:
        """The standard deviation of what an informant's bias may be."""
        found = None if name is None else self.known.get(name)
        return BIAS_SD if found is None else found.bias_sd

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
            if face.row in ages and face.informant and face.age and not face.stated and len(of) < ENOUGH:
                of.append(face)
        names = appearances.informants
        return cls({
            str(names[number]): _learned(str(names[number]), faces, ages) for number, faces in judged.items() if faces
        })  # fmt: skip


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
    bias, bias_sd, spread, spread_sd = 0.0, BIAS_SD, 0.0, SPREAD_SD
    for _ in range(2):
        b = bias + _REACH * bias_sd * np.linspace(-1, 1, 25)[:, None]
        s = spread + _REACH * spread_sd * np.linspace(-1, 1, 15)[None, :]
        log = log_bell(b, 0.0, BIAS_SD) + log_bell(s, 0.0, SPREAD_SD) + _log_likelihood(faces, ages, b, s)
        weight = np.exp(log - log.max())
        weight /= weight.sum()
        bias, spread = float((weight * b).sum()), float((weight * s).sum())
        bias_sd = float((weight * (b - bias) ** 2).sum()) ** 0.5
        spread_sd = float((weight * (s - spread) ** 2).sum()) ** 0.5
    return InformantEstimate(name, len(faces), bias, bias_sd, spread, spread_sd)


def _log_likelihood(faces: Iterable[KnownFace], ages: Mapping[int, Array], b: Array, s: Array) -> Array:
    """The logarithm of what all judgements together say of bias and ln k, on a grid of both."""
    total, factor = np.zeros(np.broadcast_shapes(b.shape, s.shape)), np.exp(s)
    for face in faces:
        if face.age is None:
            continue
        years = ((ages[face.row] - face.born) / DAYS_PER_YEAR)[:, None, None]
        made = perception.judged(face.age, partial(perception.younger, age=years, bias=b, factor=factor))
        total += np.log((face.share * made * (years >= 0) + face.rest).mean(axis=0))
    return total

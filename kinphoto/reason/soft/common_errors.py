"""What photographs of one container have in common: vague births, and judges who err the same way.

The errors of two photographs correlate by c_jk, from births and judges in common. Where photographs receive messages of
each other through their container, information that they share already must not count twice (`soft/containers`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from scipy import sparse

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.batches import IN_COMMON
from kinphoto.reason.model.containers import QUARTER_YEAR
from kinphoto.reason.model.perception import BEND, BIAS_SD, TAU
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.grid import QUARTERS
from kinphoto.reason.soft.informants import Informants
from kinphoto.reason.soft.neighbours import Neighbours

KIN = 0.5
"""Share of the variance of a vague birth that vague births of a family have in common: they come from the same
people."""
LEAST = 1e-30
"""The least value that anything is divided by."""
JUDGE = "judge "
"""How the name of a column begins that is of a judge."""


class Sources(Protocol):
    """Whom photographs have in common."""

    appearances: Appearances
    informants: Informants
    neighbours: Neighbours


@dataclass(frozen=True)
class Sharing:
    """What photographs have in common, by the places of their rows. `births` (rows, people) has who with a vague birth
    is in which; `loads` (rows, judges and births) are the loadings of their errors: c = loads loads^T, and the first
    `judges` columns are those of judges; `strips` (rows, strips) has which are frames of one strip of film, which
    passes messages between them. `people` and `names` are what the columns of births and of loads are of."""

    births: sparse.csr_array
    loads: sparse.csr_array
    strips: sparse.csr_array | None = None
    judges: int = 0
    people: tuple[str, ...] = ()
    names: tuple[str, ...] = ()

    def by_births(self, rows: Ints) -> sparse.csr_array:
        """The loadings of these rows on births alone."""
        return self.loads[rows][:, self.judges :]

    def take(self, rows: Ints) -> Sharing:
        """These rows alone, with the same columns."""
        strips = None if self.strips is None else self.strips[rows]
        return replace(self, births=self.births[rows], loads=self.loads[rows], strips=strips)

    def with_waits(self, places: Ints, batch: Ints, likelihood: Array, alone: Array) -> Sharing:
        """The same where these rows are prints of batches, which are off by the same wait (`model/batches`): of all
        rows the `likelihood`, of these what it is `alone`, without their printed dates."""
        left = moments(likelihood[places])[1] / np.maximum(moments(alone)[1], LEAST)
        load = np.sqrt(IN_COMMON * np.clip(1 - left, 0.0, 1.0))
        waits = sparse.coo_array((load, (places, batch)), (len(likelihood), int(batch.max()) + 1)).tocsr()
        loads = sparse.csr_array(sparse.hstack([self.loads, waits]), dtype=np.float32)
        names = self.names or ("",) * self.loads.shape[1]
        return replace(self, loads=loads, names=(*names, *(f"wait {i}" for i in range(waits.shape[1]))))


def moments(likelihood: Array) -> tuple[Array, Array]:
    """Mean (years from the first quarter-year on) and variance of each row."""
    at = ((np.arange(likelihood.shape[1]) + 0.5) * QUARTER_YEAR).astype(likelihood.dtype)
    middle = at.mean()
    both = likelihood @ np.stack([at - middle, (at - middle) ** 2], axis=1)
    return both[:, 0] + middle, np.maximum(both[:, 1] - both[:, 0] ** 2, QUARTER_YEAR**2 / 12)


def apart(of: sparse.csr_array, label: Ints) -> sparse.csr_array:
    """The same, with columns of their own for the rows of each label: rows of different labels share nothing."""
    entries = of.tocoo()
    row, column = entries.coords
    different, place = np.unique(label[row] * of.shape[1] + column, return_inverse=True)
    return sparse.csr_array((entries.data, (row, place)), (of.shape[0], max(len(different), 1)))


def sharing_pairs(of: sparse.csr_array, label: Ints) -> tuple[Ints, Ints]:
    """The different rows of one label that have something in common, each pair both ways."""
    ours = apart(of, label)
    i, j = (ours @ ours.T).tocoo().coords
    return i[i != j], j[i != j]


def summed_by(place: Ints, many: int, weight: Array | float = 1.0) -> sparse.csr_array:
    """The weight of each column where its place is the row."""
    weights = np.broadcast_to(np.asarray(weight, dtype=np.float32), len(place))
    return sparse.csr_array((weights, (place, np.arange(len(place)))), (many, len(place)))


def correlation_with_others(loads: sparse.csr_array, place: Ints, many: int) -> Array:
    """The sum of c_jk over the others at the same place, of so `many`."""
    together = (summed_by(place, many) @ loads)[place]
    alone = loads.multiply(loads).sum(axis=1)
    return np.asarray(np.maximum(np.asarray(loads.multiply(together).sum(axis=1) - alone).ravel(), 0.0))


def in_parts(label: Ints, many: int) -> Iterator[Ints]:
    """The places of rows by label, about `many` at a time, those of one label together."""
    order = np.argsort(label, kind="stable")
    begin = 0
    for end in (*(np.flatnonzero(np.diff(label[order])) + 1).tolist(), len(order)):
        if end - begin >= many or (end == len(order) and end > begin):
            yield order[begin:end]
            begin = end


def shared(beliefs: Sources, rows: Ints, first: int, likelihood: Array) -> Sharing:
    """What these rows have in common. Errors are taken as normal: with D = a + 2 years (53 at most) to a unit of the
    scale of judged ages, a face of age a has the variance (tau D)^2 of its own, (sd of its judge's bias D)^2 of the
    judge and that of the birth; a photograph weighs its faces by their precision."""
    vague, known = beliefs.neighbours.faces, beliefs.appearances.known_faces
    people, born, birth_variance = beliefs.neighbours.birth_moments()
    number = {person: i for i, person in enumerate(people)}
    place = {row: i for i, row in enumerate(rows.tolist())}
    holding = [(place[f.row], number[f.person]) for f in vague if f.row in place]
    births = _sparse(holding, (len(rows), len(people)))
    judges = [_bias_sd(name, beliefs.informants) for name in beliefs.appearances.informants]
    faces = [
        (place[f.row], born[who], who, birth_variance[who], f.informant)
        for f in vague if f.age and f.row in place for who in (number[f.person],)
    ]  # fmt: skip
    faces += [(place[f.row], f.born, -1, 0.0, f.informant) for f in known if f.age and f.row in place]
    if not faces:
        return Sharing(births, _sparse([], (len(rows), 1)), people=people)
    row, day, who, variance, judge = (np.array(column) for column in zip(*faces, strict=True))
    mean, spread = moments(likelihood)
    age = (mean[row] + (QUARTERS[first] - day) / DAYS_PER_YEAR) + 2
    unit = np.clip(age, 2.0, BEND + 2)
    own, bias = (TAU * unit) ** 2, (np.array(judges)[judge] * unit) ** 2
    precision = 1 / (own + bias + variance)
    share = precision / np.bincount(row, precision, minlength=len(rows))[row]
    by_judge = sparse.coo_array((share * bias**0.5, (row, judge)), (len(rows), len(judges))).tocsr()
    by_judge = by_judge[:, 1:]  # the first is nobody in particular
    some = who >= 0
    of_birth = share[some] * variance[some] ** 0.5
    by_birth = sparse.coo_array((of_birth * (1 - KIN) ** 0.5, (row[some], who[some])), births.shape).tocsr()
    kin = sparse.coo_array(
        (of_birth * KIN**0.5, (row[some], np.zeros(int(some.sum()), dtype=np.int64))), (len(rows), 1)
    )
    loads = sparse.hstack([by_judge, by_birth, kin.tocsr()]).tocsr()
    alone = np.bincount(row, share**2 * (own + np.where(judge == 0, bias, 0.0)), minlength=len(rows))
    total = np.maximum(alone + loads.multiply(loads).sum(axis=1), LEAST)
    scale = np.minimum(1.0, spread / total) / total**0.5  # less where something else dates it too
    of_each = sparse.csr_array(loads.multiply(scale[:, None]), dtype=np.float32)
    judged = tuple(f"{JUDGE}{name}" for name in beliefs.appearances.informants[1:])
    names = (*judged, *(f"birth {person}" for person in people))
    names += ("",) * (loads.shape[1] - 1 - len(names))  # where no birth is vague
    return Sharing(births, of_each, None, by_judge.shape[1], people, (*names, "kin"))


def _bias_sd(name: str | None, informants: Informants) -> float:
    found = None if name is None else informants.known.get(name)
    return BIAS_SD if found is None else found.bias_sd


def _sparse(entries: Sequence[tuple[int, int]], shape: tuple[int, int]) -> sparse.csr_array:
    """1 at these places (the more often somebody is in a photograph, it is 1 all the same)."""
    at = np.array(sorted(set(entries)), dtype=np.int64).reshape(-1, 2)
    return sparse.csr_array((np.ones(len(at), np.float32), (at[:, 0], at[:, 1])), (shape[0], max(shape[1], 1)))

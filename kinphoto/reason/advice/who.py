"""Who an unnamed person could be: by nearness in the family, by lifespans, and by apparent age.

The formulas are in docs/method.md ("Somebody without a name"); w_i is *closeness*, given by the caller, L_i the
likelihood of `uncertain_faces`, and

    w_0 = max(STRANGER, AT_LEAST / (1 - AT_LEAST) * sum over i of w_i  int P(x) A_i(x) dx),

with A_i the likelihood without any age. It is a guess to be shown with its reasons, never evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.perception import ORDINARY, Judgements, StatedAges
from kinphoto.reason.model.rivals import undisputed
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.grid import Cells
from kinphoto.reason.soft.summary import Posterior
from kinphoto.reason.soft.uncertain_faces import Candidate, FaceLikelihood, by_judge, judgements, stated_of

STRANGER = 40.0
"""The least weight of somebody who is not near: that of two parents or children of somebody named, so that a stranger
is the likelier the fewer are near (a judgement of the project)."""
AT_LEAST = 0.2
"""Chance of a stranger, however many are near (a judgement of the project)."""


@dataclass(frozen=True, slots=True)
class UnnamedFace:
    """Somebody without a name: their role in the picture, and the ages judged and stated."""

    role: ev.Role = ev.Role.PRESENT
    judged: Judgements = ()
    stated: StatedAges = ()

    def bare(self) -> UnnamedFace:
        """The same without any age."""
        return UnnamedFace(self.role)


@dataclass(frozen=True, slots=True)
class Guess:
    """Somebody it could be. `suits` is how much better or worse the ages suit them than a stranger, as a
    factor (1 where none was given)."""

    person: str
    probability: float
    suits: float


@dataclass(frozen=True, slots=True)
class Guesses:
    """Everybody who was thought of, likeliest first, and the chance that it is somebody else."""

    guesses: tuple[Guess, ...]
    somebody_else: float


def unnamed(photograph: str, known: Lookup) -> dict[str, list[ev.Appearance]]:
    """The people in a photograph without a name: the appearances of each body, by its region, or by its own id."""
    seen = known.seen.get(photograph, ())
    named = {a.region for a in undisputed(seen) if a.region is not None}
    found: dict[str, list[ev.Appearance]] = {}
    for a in seen:
        if a.person is None and not a.denied and (a.region is None or a.region not in named):
            found.setdefault(a.region or a.id, []).append(a)
    return found


def unnamed_face(appearances: Iterable[ev.Appearance], known: Lookup) -> UnnamedFace:
    """What is seen of one body."""
    seen = list(appearances)
    ages = [age for a in seen for age in known.ages.get(a.id, ())]
    return UnnamedFace(seen[0].role, tuple(by_judge(judgements(ages)).values()), stated_of(ages))


def likelihood(person: str, seen: UnnamedFace, cells: Cells, faces: FaceLikelihood) -> Array:
    """L: the likelihood of a body in each cell of time, if it is this person."""
    return faces.of_candidate(Candidate(person, 1.0, seen.role, seen.stated), seen.judged, cells)


def of_a_stranger(seen: UnnamedFace) -> float:
    """The likelihood of a body if it is somebody about whom nothing is known."""
    if not seen.judged or seen.role is ev.Role.LIKENESS:
        return perception.of_nobody(seen.judged, len(seen.stated))
    looks = perception.judged_together(seen.judged, np.arange(0.0, ORDINARY, 0.25)).mean()
    return perception.of_nobody((), len(seen.stated)) * float(looks)


def of_strangers(near: float) -> float:
    """w_0, from the weights of all who are near and were alive."""
    return max(STRANGER, AT_LEAST / (1 - AT_LEAST) * near)


def who(seen: UnnamedFace, closeness: Mapping[str, float], when: Posterior, lives: Lives) -> Guesses:
    """Who it could be of the people in `closeness` (weights, greater than 0), in a photograph taken `when`."""
    faces, cells = FaceLikelihood(lives), Cells(when.edges)
    mass = when.mass / when.mass.sum()

    def mean(person: str, of: UnnamedFace) -> float:
        return float(mass @ likelihood(person, of, cells, faces))

    alive = {person: mean(person, seen.bare()) for person in closeness}
    aged = bool(seen.judged or seen.stated)
    fits = {person: mean(person, seen) for person in closeness} if aged else alive
    stranger = of_a_stranger(seen)
    weights = {p: weight * fits[p] for p, weight in closeness.items()}
    unknown = stranger * of_strangers(sum(weight * alive[p] for p, weight in closeness.items()))
    total = sum(weights.values()) + unknown
    guesses = [
        Guess(p, weight / total, fits[p] / alive[p] / stranger if alive[p] > 0 and aged else 1.0)
        for p, weight in weights.items()
        if weight > 0
    ]
    return Guesses(tuple(sorted(guesses, key=lambda g: -g.probability)), unknown / total)

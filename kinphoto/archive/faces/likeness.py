"""Whom a face is like, among the faces that have a name: one more hint when names are offered, never evidence.

Two faces of one photograph are never of one person, so a face is compared with those of other photographs alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import Connection, RowMapping

from kinphoto.archive.catalogue.regions import overlap
from kinphoto.archive.faces.compared import ComparedFaces, compared
from kinphoto.archive.faces.kept import of_one_face
from kinphoto.faces.likeness import weights
from kinphoto.reason.model.span import DAYS_PER_YEAR

if TYPE_CHECKING:
    from numpy.typing import NDArray

MENTIONED = 0.3
"""The weight from which a likeness is put into words."""


@dataclass(frozen=True, slots=True)
class FaceLikeness:
    """How much a likeness speaks for somebody, and the photograph of theirs that is the likest."""

    weight: float
    photograph: str


def likenesses(connection: Connection, photograph: RowMapping, region: str | None) -> dict[int, FaceLikeness]:
    """Whom the face at `region` (an id, or left,top,width,height) of a photograph is like, or unlike, by row id; nobody
    while it is off, or where no face was found."""
    everybody = compared(connection)
    at = _place(everybody, photograph["id"], region)
    if at is None:
        return {}
    elsewhere = ~np.isin(everybody.named, everybody.of_photograph[photograph["id"]])
    named, people = everybody.named[elsewhere], everybody.people[elsewhere]
    worth = weights(everybody.numbers[named] @ everybody.numbers[at], *years_between(everybody, at, named))
    order = np.argsort(worth, kind="stable")  # the likest of each comes last, and stays
    best = dict(zip(people[order].tolist(), order.tolist(), strict=True))
    found = {who: FaceLikeness(float(worth[place]), everybody.faces[named[place]].code) for who, place in best.items()}
    for who in parted(everybody, at):
        found.pop(who, None)
    return found


def parted(everybody: ComparedFaces, at: int) -> set[int]:
    """The people whose face somebody said is not of the person at this place."""
    if not everybody.said.pairs:
        return set()
    mine = everybody.faces[at].id
    return {
        who
        for place, who in zip(everybody.named.tolist(), everybody.people.tolist(), strict=True)
        if everybody.said.parts(mine, everybody.faces[place].id)
    }


def years_between(
    everybody: ComparedFaces, at: int, others: Sequence[int] | NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The years between a face and each of some named others, and how old whoever is named was on the earlier picture;
    nan where that is not known."""
    mine, days = everybody.days[at], everybody.days[others]
    born = np.array([everybody.born.get(everybody.faces[other].person or 0, nan) for other in others])
    return np.abs(days - mine) / DAYS_PER_YEAR, (np.minimum(days, mine) - born) / DAYS_PER_YEAR


def _place(everybody: ComparedFaces, photograph_id: int, region: str | None) -> int | None:
    """The place of the face that is at a region."""
    if not region:
        return None
    here = [(at, everybody.faces[at]) for at in everybody.of_photograph.get(photograph_id, ())]
    plain = region.strip().upper()
    if plain.startswith("R"):
        return next((at for at, face in here if f"R{face.region_id}" == plain), None)
    try:
        left, top, width, height = (float(part) for part in plain.split(","))
    except ValueError:
        return None
    box = left, top, width, height
    fitting = [(overlap(face.box, box), at) for at, face in here if of_one_face(face.box, box)]
    return max(fitting)[1] if fitting else None


def phrase(found: FaceLikeness | None, sex: str) -> str:
    """ "looks like her in K00012"; "" where it hardly speaks for them."""
    if found is None or found.weight < MENTIONED:
        return ""
    return f"looks like {({'F': 'her', 'M': 'him'}).get(sex, 'them')} in {found.photograph}"

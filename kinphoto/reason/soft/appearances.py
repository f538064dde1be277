"""The faces in all photographs, sorted by how they are worked out.

Faces of people with a known birth go to `known_faces`, with a vague birth to `messages`, and everything but one name,
present, to `uncertain_faces`. Faces that carry no information are left out: of people bounded by the laws alone, and of
people certainly alive for as long as the picture can date from.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.fitted_ages import shift_sd
from kinphoto.reason.model.perception import StatedAges
from kinphoto.reason.model.prior import Death
from kinphoto.reason.soft.births import KnownBirth, Lives
from kinphoto.reason.soft.groups import Groups
from kinphoto.reason.soft.known_faces import Face, KnownFace
from kinphoto.reason.soft.uncertain_faces import (
    Candidate,
    Judged,
    Region,
    by_judge,
    counted,
    judgements,
    regions,
    stated_of,
)


class Appearances:
    """`known` faces, `vague` faces and `unusual` regions, in ascending order of their groups.

    `informants` are the names behind the numbers of faces; the first is nobody in particular. Groups
    without messages (`isolated`) have no vague faces: those are unusual, with births as the tree has them.
    """

    def __init__(self, groups: Groups, lives: Lives, *, isolated: bool = False) -> None:
        self.groups, self.lives, self.isolated = groups, lives, isolated
        self.known_faces: list[KnownFace] = []
        self.vague_faces: list[Face] = []
        self.unusual: dict[int, list[Region]] = defaultdict(list)
        self.numbers: dict[str | None, int] = {None: 0}
        for row, members in enumerate(groups.members):
            seen = lives.known.seen.get(members[0], ())
            if len(members) == 1 and _plain(seen):
                for a in seen:
                    ages = lives.known.ages.get(a.id, ())
                    self._present(row, a.person or "", 1 - ev.CHANCE_WRONG[a.trust], judgements(ages), stated_of(ages))
                continue
            for region in regions(members, lives.known):
                name = region.names[0]
                if len(region.names) == 1 and name.role is ev.Role.PRESENT:
                    self._present(row, name.person, name.odds / (1 + name.odds), region.judged, name.stated)
                else:
                    self.unusual[row].append(region)

    @property
    def informants(self) -> list[str | None]:
        """Everybody who judged an age."""
        return list(self.numbers)

    def shifts(self) -> Array:
        """By how many years the date may be off that the ages of each group suit (standard deviation); 0 of a group
        whose ages were all given unseen."""
        youngest = np.full(len(self.groups.members), np.inf)
        for face in (*self.known_faces, *self.vague_faces):
            if face.fitted:
                youngest[face.row] = min(youngest[face.row], *((age.low + age.high + 1) / 2 for age, _ in face.judged))
        return np.array([shift_sd(age) if age < np.inf else 0.0 for age in youngest.tolist()])

    def _present(self, row: int, person: str, share: float, judged: Judged, stated: StatedAges) -> None:
        """Somebody in a picture, under one name that is right with the chance `share`."""
        if not self.lives.is_informative(person):
            return
        birth, death, judged = self.lives.known_birth(person), self.lives.death(person), counted(judged)
        if birth is not None and not judged and not stated and self._alive_throughout(row, birth, death):
            return
        ages = by_judge(judged)
        age, judges = tuple(ages.values()), tuple([self._number(who) for who in ages])
        rest = (1 - share) * perception.of_nobody(age, len(stated))
        face = row, person, share, rest, age, judges, judged, stated
        if birth is None and self.isolated:
            name = Candidate(person, share / (1 - share), stated=stated)
            self.unusual[row].append(Region(self.groups.members[row][0], (name,), judged))
        elif birth is None:
            self.vague_faces.append(Face(*face))
        else:
            self.known_faces.append(KnownFace(*face, birth.middle, birth.width, death))

    def _number(self, informant: str | None) -> int:
        """The number of who judged an age; 0 of nobody in particular."""
        return self.numbers.setdefault(informant, len(self.numbers))

    def _alive_throughout(self, row: int, birth: KnownBirth, death: Death) -> bool:
        born = birth.middle + birth.width / 2 <= self.groups.first[row]
        return bool(born and death.surely_until >= self.groups.last[row])


def _plain(seen: Sequence[ev.Appearance]) -> bool:
    """Whether every appearance is somebody else's, present, on a region of their own, and nobody denies any."""
    people = {a.person for a in seen}
    places = [a.region for a in seen if a.region is not None]
    return (
        len(people) == len(seen)
        and None not in people
        and len(set(places)) == len(places)
        and all(a.role is ev.Role.PRESENT and not a.denied for a in seen)
    )

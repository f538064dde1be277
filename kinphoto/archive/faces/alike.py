"""Faces without a name that look alike, laid side by side, and named faces that look like nobody of that name.

Both are for a person to look at. Nothing is concluded from them, and a doubt is never a conflict: a child does not look
like the grown-up, and brothers and sisters look alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Annotated

import numpy as np
from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import with_id
from kinphoto.archive.catalogue.regions import Region
from kinphoto.archive.faces.compared import ComparedFace, ComparedFaces, compared
from kinphoto.archive.faces.likeness import years_between
from kinphoto.archive.faces.siblings import SiblingAge, near_in_age
from kinphoto.documents import INTERNAL
from kinphoto.faces.likeness import how_much_counts
from kinphoto.phrases import counted
from kinphoto.reason.model.span import year_of
from kinphoto.store import tables as t
from kinphoto.store.among import among

PAIRED = 0.45
"""Cosine from which two faces are laid side by side: one of two hundred pairs of strangers is so alike."""
TOGETHER = 0.36
"""The mean cosine between the faces of two groups from which they are laid together."""
UNLIKE = 0.12
"""A named face that is less like every other one of that name than strangers are on average (0.16) is reported."""
_OTHERS = 2  # how many others there have to be that were taken within so few years that half of a likeness would count
_COUNTS = 0.5
_CHUNK = 1000


@dataclass(frozen=True, slots=True)
class FaceAlike:
    """A face beside others."""

    photograph: Annotated[str, "the photograph's code"]
    face: Annotated[str, "the id of the frame on offer, `F12`, or of the recorded face, `R3`"]
    year: Annotated[int | None, "about when it was taken; null when that is not known to within years"]
    box: Annotated[Region, INTERNAL] = (0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class PersonBeside:
    """Somebody shown beside faces that look alike, or a name in doubt, to compare."""

    person: Annotated[str, "their id"]
    name: Annotated[str, "their name"]
    years: Annotated[
        int | None,
        "of a brother or sister: how many years older (above 0) or younger (below 0); null when that is not known",
    ]
    face: Annotated[FaceAlike | None, "a face of theirs, taken nearest to these; null when none is compared"]

    @property
    def words(self) -> str:
        """ "2 years older"."""
        if self.years is None:
            return "how many years between is not known"
        apart = counted(abs(self.years), "year")
        return f"{apart} {'older' if self.years > 0 else 'younger'}" if self.years else "less than a year between"


@dataclass(frozen=True, slots=True)
class AlikeGroup:
    """Faces without a name that may be of one person."""

    faces: Annotated[tuple[FaceAlike, ...], "the faces, each of another photograph"]
    like: Annotated[PersonBeside | None, "the named person they look like most; null when they look like nobody"] = None
    siblings: Annotated[
        tuple[PersonBeside, ...], "that person's brothers and sisters near in age, who may look as alike"
    ] = ()


@dataclass(frozen=True, slots=True)
class DoubtfulName:
    """A named face that looks like no other of that name."""

    photograph: Annotated[str, "the photograph's code"]
    face: Annotated[str, "the face's id, `R3`"]
    person: Annotated[str, "who is named on it, with the id"]
    others: Annotated[tuple[FaceAlike, ...], "other faces of that name, taken not many years before or after"]
    siblings: Annotated[tuple[PersonBeside, ...], "brothers and sisters near in age: it may be one of them"] = ()


@dataclass(frozen=True, slots=True)
class LooksAlike:
    """What somebody may want to look at."""

    groups: Annotated[tuple[AlikeGroup, ...], "faces without a name that may be of one person, most first"]
    doubtful: Annotated[tuple[DoubtfulName, ...], "named faces that look like no other of that name"]


def alike(connection: Connection) -> LooksAlike:
    """Groups of unnamed faces that look alike, and doubtful names, each with the brothers and sisters near in age of
    those it may be. Nothing while it is off."""
    everybody = compared(connection)
    groups, doubtful = _groups(everybody), list(_doubtful(everybody))
    like = [_most_like(everybody, group) for group in groups]
    people = {who for who in like if who is not None}
    people |= {who for at, _ in doubtful if (who := everybody.faces[at].person) is not None}
    beside = near_in_age(connection, people)
    ids = people | {one.id for near in beside.values() for one in near}
    rows = connection.execute(select(t.person).where(among(connection, t.person.c.id, ids))).mappings()
    show = _Showing(everybody, {row["id"]: row for row in rows}, beside)
    return LooksAlike(
        tuple(
            AlikeGroup(tuple(_shown(everybody.faces[at]) for at in group), *show.person_and_siblings(who, group))
            for group, who in zip(groups, like, strict=True)
        ),
        tuple(show.doubtful(at, others) for at, others in doubtful),
    )


@dataclass(frozen=True, slots=True)
class _Showing:
    """What is needed to show people beside faces."""

    everybody: ComparedFaces
    rows: dict[int, RowMapping]
    beside: dict[int, list[SiblingAge]]

    def person_and_siblings(
        self, who: int | None, places: Sequence[int]
    ) -> tuple[PersonBeside | None, tuple[PersonBeside, ...]]:
        """Somebody, and their brothers and sisters, each with the face taken nearest to these."""
        if who is None:
            return None, ()
        near = self.beside.get(who, ())
        return self._person(who, None, places), tuple(self._person(one.id, one.years, places) for one in near)

    def doubtful(self, at: int, others: Sequence[int]) -> DoubtfulName:
        """A named face that is unlike the others of that name."""
        face = self.everybody.faces[at]
        assert face.person is not None
        _, siblings = self.person_and_siblings(face.person, [at])
        shown = tuple(_shown(self.everybody.faces[other]) for other in others)
        return DoubtfulName(face.code, face.key, with_id(self.rows[face.person]), shown, siblings)

    def _person(self, who: int, years: float | None, places: Sequence[int]) -> PersonBeside:
        faces = self.everybody.faces
        here = {faces[at].photograph_id for at in places}
        days = [day for at in places if (day := faces[at].day) is not None]
        middle = sum(days) / len(days) if days else None
        theirs = [face for face in faces if face.person == who and face.photograph_id not in here]
        nearest = min(
            theirs,
            key=lambda face: inf if middle is None or face.day is None else abs(face.day - middle),
            default=None,
        )
        row = self.rows[who]
        return PersonBeside(
            row["code"], row["name"], None if years is None else round(years),
            None if nearest is None else _shown(nearest),
        )  # fmt: skip


def _most_like(everybody: ComparedFaces, group: Sequence[int]) -> int | None:
    """The named person whose face is the likest to these, where it is alike enough to be laid together with them and
    nobody said it is somebody else."""
    taken = {everybody.faces[at].photograph_id for at in group}
    named = [
        at
        for at in everybody.named.tolist()
        if everybody.faces[at].photograph_id not in taken and not _laid_apart(everybody, group, [at])
    ]
    if not named:
        return None
    alike = (everybody.numbers[named] @ everybody.numbers[list(group)].T).mean(axis=1)
    best = int(alike.argmax())
    return everybody.faces[named[best]].person if alike[best] >= TOGETHER else None


def _shown(face: ComparedFace) -> FaceAlike:
    return FaceAlike(face.code, face.key, None if face.day is None else year_of(int(face.day)), face.box)


def _groups(everybody: ComparedFaces) -> list[list[int]]:
    """The likest two first; groups grow together while they are alike on average and of different photographs."""
    faces = everybody.faces
    open_ = [at for at, face in enumerate(faces) if face.person is None and not face.settled]
    group_of = {at: [at] for at in open_}
    for one, other in _pairs(everybody, open_):
        mine, theirs = group_of[one], group_of[other]
        if mine is theirs:
            continue
        photographs = {faces[at].photograph_id for at in mine} & {faces[at].photograph_id for at in theirs}
        if (
            photographs
            or _laid_apart(everybody, mine, theirs)
            or (everybody.numbers[mine] @ everybody.numbers[theirs].T).mean() < TOGETHER
        ):
            continue
        mine += theirs
        for at in theirs:
            group_of[at] = mine
    groups = {id(group): group for group in group_of.values() if len(group) > 1}
    return sorted((sorted(group) for group in groups.values()), key=lambda group: (-len(group), group))


def _laid_apart(everybody: ComparedFaces, mine: Sequence[int], theirs: Sequence[int]) -> bool:
    """Whether somebody said of two of them that they are two people."""
    return bool(everybody.said.pairs) and any(
        everybody.said.parts(everybody.faces[one].id, everybody.faces[other].id) for one in mine for other in theirs
    )


def _pairs(everybody: ComparedFaces, places: Sequence[int]) -> list[tuple[int, int]]:
    """Every two of these that are alike, the likest first."""
    numbers, found = everybody.numbers[list(places)], []
    for start in range(0, len(places), _CHUNK):
        cosines = numbers[start : start + _CHUNK] @ numbers.T
        for row, column in np.argwhere(cosines >= PAIRED).tolist():
            if column > start + row:
                found.append((float(cosines[row, column]), places[start + row], places[column]))
    return [(one, other) for _, one, other in sorted(found, reverse=True)]


def _doubtful(everybody: ComparedFaces) -> Iterator[tuple[int, list[int]]]:
    """The place of each face that is unlike the others of that name, and the places of these."""
    of_person: dict[int, list[int]] = defaultdict(list)
    for at in everybody.named.tolist():
        of_person[everybody.faces[at].person or 0].append(at)
    for person, places in of_person.items():
        for at in places if len(places) > _OTHERS else ():
            mine = everybody.faces[at]
            if (mine.id, person) in everybody.said.right:
                continue
            near = how_much_counts(*years_between(everybody, at, places)) >= _COUNTS
            others = [
                other
                for other, counts in zip(places, near.tolist(), strict=True)
                if counts and everybody.faces[other].photograph_id != mine.photograph_id
            ]
            if len(others) >= _OTHERS and (everybody.numbers[others] @ everybody.numbers[at]).max() < UNLIKE:
                yield at, others

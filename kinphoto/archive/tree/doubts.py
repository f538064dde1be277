"""What is uncertain about people with pictures when a tree is imported again: reported, without moving any pictures.

Somebody may have been found on thin grounds, may be missing although somebody like them is there, or may have become
two in the tree. Only where the tree itself says that two are one now (one has the identifiers of both) are their
pictures moved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from kinphoto.archive.tree import same_ids
from kinphoto.archive.tree.matching import Matched, resemblance
from kinphoto.archive.tree.relatives import ENOUGH, Kin, shared
from kinphoto.archive.tree.traits import PersonTraits

GONE_ID = "-gone"
"""Added to the id of somebody who is gone when somebody else has it now."""
MOST = 3
"""How many people are listed at most as possibly the same."""


@dataclass(frozen=True, slots=True)
class MatchDoubt:
    """Something uncertain about a person in the archive (row id): why, and which people in the file (codes) it is
    about. `was` is their former name, where they were found under a different one."""

    person_id: int
    why: str
    others: tuple[str, ...] = ()
    was: str = ""

    @property
    def open(self) -> bool:
        """Whether the keeper can say that the person is one of the others: only for somebody who is gone."""
        return self.why == GONE


GONE = "no longer in the file, but somebody there may be the same person"
SPLIT = "found again, but somebody new in the file may be the same person"
BACK = "in the file again as a separate person; the pictures stayed with the other one"
EXCHANGED = "found by name and life, but somebody else in the file now has their identifier"


def doubts(
    matched: Matched,
    before: dict[int, PersonTraits],
    now: Iterable[PersonTraits],
    linked: set[int],
    kin_before: Callable[[], Kin[int]],
    kin_now: Callable[[], Kin[str]],
) -> tuple[tuple[MatchDoubt, ...], dict[int, int]]:
    """The doubts about those who are `linked`, and which of them were merged into whom (ids)."""
    concerned = sorted(linked & before.keys())
    if not concerned:
        return (), {}
    people = {person.code: person for person in now}
    owner = {uid: person for person in people.values() for uid in person.uids}
    likeness = _Likeness(matched, before, people, kin_before, kin_now)
    code_of = {row_id: code for code, row_id in matched.people.items()}
    found: list[MatchDoubt] = []
    merged: dict[int, int] = {}
    for row_id in concerned:
        code = code_of.get(row_id)
        holder = next((owner[uid] for uid in before[row_id].uids if uid in owner), None)
        if code is None and holder is not None and holder.code in matched.people:
            merged[row_id] = matched.people[holder.code]
        else:
            found += _doubts_about(row_id, code, holder, matched, likeness)
    return tuple(found), merged


def _id_before(person: PersonTraits) -> str:
    """The id somebody had while they were in the tree."""
    return person.code.partition(GONE_ID)[0]


def _doubts_about(
    row_id: int, code: str | None, holder: PersonTraits | None, matched: Matched, likeness: _Likeness
) -> Iterator[MatchDoubt]:
    if code is None:
        if others := likeness.candidates(row_id, new_only=False):
            yield MatchDoubt(row_id, GONE, others)
    elif code in matched.weak:
        yield MatchDoubt(row_id, f"found by {matched.weak[code]}", (code,))
    elif holder is not None and holder.code != code:
        yield MatchDoubt(row_id, EXCHANGED, (holder.code,))
    elif others := likeness.candidates(row_id, new_only=True):
        yield MatchDoubt(row_id, SPLIT, others)


class _Likeness:
    """Who in the file may be a person of the archive: namesakes, and relatives of the same relatives."""

    def __init__(
        self,
        matched: Matched,
        before: dict[int, PersonTraits],
        now: dict[str, PersonTraits],
        kin_before: Callable[[], Kin[int]],
        kin_now: Callable[[], Kin[str]],
    ) -> None:
        self._matched, self._before, self._now = matched, before, now
        self._kin_before, self._kin_now = kin_before, kin_now
        self._codes = {row_id: code for code, row_id in matched.people.items()}
        self._namesakes = same_ids.by_name(now)

    def candidates(self, row_id: int, *, new_only: bool) -> tuple[str, ...]:
        """The most alike, at most three; among those new in the file, or among all."""
        if new_only and len(self._matched.people) == len(self._now):
            return ()
        person = self._before[row_id]
        near = {code for name in person.names for code in self._namesakes.get(name, ())}
        near |= self._relatives_of_relatives(row_id) | ({_id_before(person)} & self._now.keys())
        scores = {}
        for code in near - {self._codes.get(row_id)}:
            found, same_record = code in self._matched.people, self._has_their_id(person, self._now[code])
            if found and (new_only or not (same_record or self._can_be_one(person, self._now[code]))):
                continue
            likeness = resemblance(person, self._now[code])
            common = shared(code, row_id, self._matched.people, self._kin_before(), self._kin_now())
            by_likeness = likeness >= ENOUGH and (common or likeness >= ENOUGH + 0.9)
            by_record = same_record or (not found and self._can_be_one_record(person, self._now[code], common))
            if by_likeness or (by_record and not new_only):
                scores[code] = likeness + len(common)
        return tuple(sorted(scores, key=lambda code: (-scores[code], code))[:MOST])

    def _relatives_of_relatives(self, row_id: int) -> set[str]:
        """The relatives in the file of this person's former relatives."""
        kin = self._kin_now()
        beside = (self._codes[other] for _, other in self._kin_before().get(row_id, ()) if other in self._codes)
        return {one for code in beside for _, one in kin.get(code, ())}

    def _has_their_id(self, a: PersonTraits, b: PersonTraits) -> bool:
        """Whether b has the id that a had, and the same name, in a file that keeps its ids."""
        return self._matched.keeps_ids and _id_before(a) == b.code and not set(a.names).isdisjoint(b.names)

    def _can_be_one_record(self, a: PersonTraits, b: PersonTraits, common: list[str]) -> bool:
        """Whether somebody left in the archive and somebody left in the file can be one person although their births
        are far apart or their names differ: by their relatives, or by an id that the file keeps."""
        if self._matched.keeps_ids and a.code == b.code and {a.sex, b.sex} != {"M", "F"}:
            return bool(common) or same_ids.given_similar(a, b)
        return same_ids.can_be_one_record(a, b, common)

    @staticmethod
    def _can_be_one(a: PersonTraits, b: PersonTraits) -> bool:
        """Whether two people who were both in the tree before can have been one all along: with exactly the same name,
        and lives that need no correction. A dead child and a sister named after it are two."""
        born, died = a.born.meet(b.born), a.died.meet(b.died)
        return not set(a.names).isdisjoint(b.names) and not born.empty and not died.empty

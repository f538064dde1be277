"""Only for speed: what of an earlier look at the whole archive still holds after a change.

A change touches few photographs. A group is the *same* when its photographs, everything stated of them, its bounds, and
the lives of everybody on it are what they were; then its factors are too. It is *still* when, besides, what births tell
it moves its belief by less than `STILL`, and *at rest* when its container tells it the same, to the step. What is
worked out of a group at rest is taken over.

What was learned from everything (informants, the rate of photographs over the years) stays as it was. So a look that
starts from an earlier one is nearly that which starts from nothing, and not the same: it is for the moment after a
change, until everything is dated again from the beginning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.groups import Groups

STILL = 1e-4
"""By how much a belief may move (total variation) and still count as it was: a day or two in a range of ten years
(*ours*)."""
_OF_PHOTOGRAPHS = (ev.Appearance, ev.Age, ev.DateClaim, ev.EventClaim, ev.Made, ev.Relation)


@dataclass
class Earlier:
    """The earlier groups; of each group now its row then (-1: it was not there), and whether it is the same. `people`
    are those whose lives are bounded otherwise now, with their families."""

    groups: Groups
    row: Ints
    same: Array
    people: frozenset[str]
    still: Array = field(init=False)
    rest: Array = field(init=False)

    def __post_init__(self) -> None:
        self.still, self.rest = self.same.copy(), self.same.copy()

    @property
    def now(self) -> Ints:
        """For each group then, its row now; -1 of those that are there no more."""
        found = np.full(len(self.groups.members), -1, dtype=np.int64)
        there = np.flatnonzero(self.row >= 0)
        found[self.row[there]] = there
        return found


def earlier(then: Groups, before: Lives, groups: Groups, now: Lives) -> Earlier | None:
    """What still holds of these earlier groups and lives; None where so much is different that it is no help."""
    if now.known.last_indexed != before.known.last_indexed:
        return None
    touched = _touched(before.known, now.known)
    if touched is None:
        return None
    people = frozenset(_with_families(_otherwise_bounded(before, now), now.known))
    moved = people | set(_different(before.bounds.event, now.bounds.event))
    touched.update(_different(before.bounds.printed, now.bounds.printed))
    rows = {members: i for i, members in enumerate(then.members)}
    row = np.array([rows.get(members, -1) for members in groups.members], dtype=np.int64)
    there = np.maximum(row, 0)
    same = (row >= 0) & (then.first[there] == groups.first) & (then.last[there] == groups.last)
    for i, members in enumerate(groups.members):
        same[i] &= touched.isdisjoint(members) and moved.isdisjoint(_bearing_on(members, now.known))
    return Earlier(then, row, same, people)


def comparable(before: Lookup, now: ev.Evidence) -> bool:
    """Whether people are the same, and photographs the same kinds of objects: then what was contradictory then still
    is, if it is stated still."""
    photographs = {p.id: p for p in now.photographs}
    both = before.photographs.keys() & photographs.keys()
    known = all(_as_object(before.photographs[p]) == _as_object(photographs[p]) for p in both)
    return known and before.sexes == {p.id: p.sex for p in now.people}


def _touched(before: Lookup, now: Lookup) -> set[str] | None:
    """The photographs of which something else is stated; None where something else is stated of a life."""
    both = before.photographs.keys() | now.photographs.keys()
    found = {p for p in both if _as_object(before.photographs.get(p)) != _as_object(now.photographs.get(p))}
    for key in before.statements.keys() | now.statements.keys():
        one, other = before.statements.get(key), now.statements.get(key)
        if one is other or one == other:
            continue
        for known, statement in ((before, one), (now, other)):
            if statement is None:
                continue
            if not isinstance(statement, _OF_PHOTOGRAPHS):
                return None
            found.update(_photographs(statement, known))
    return found


def _as_object(photograph: ev.Photograph | None) -> tuple[int, bool, bool] | None:
    return None if photograph is None else (photograph.indexed, photograph.printed, photograph.page)


def _photographs(statement: ev.Statement, known: Lookup) -> Iterator[str]:
    match statement:
        case ev.Age(appearance=appearance):
            seen = known.statements.get(appearance)
            if isinstance(seen, ev.Appearance):
                yield seen.photograph
        case ev.Relation(photograph=one, other=other):
            yield from (one, other)
        case ev.Appearance() | ev.DateClaim() | ev.EventClaim() | ev.Made():
            yield statement.photograph


def _otherwise_bounded(before: Lives, now: Lives) -> set[str]:
    """The people whose births or deaths have other hard bounds."""
    a, b = before.bounds, now.bounds
    return {*_different(a.birth, b.birth), *_different(a.death, b.death)}


def _different(one: Mapping[str, object], other: Mapping[str, object]) -> Iterator[str]:
    return (key for key in one.keys() | other.keys() if one.get(key) != other.get(key))


def _with_families(people: Iterable[str], known: Lookup) -> set[str]:
    """These people and everybody whose birth theirs bears on: parents, children and couples."""
    found = set(people)
    for person in tuple(found):
        found.update(link.parent for link in known.parents.get(person, ()))
        found.update(link.child for link in known.children.get(person, ()))
        found.update(one for event in known.marriages.get(person, ()) for one in known.spouses[event])
    return found


def _bearing_on(members: Iterable[str], known: Lookup) -> Iterator[str]:
    """Everybody whose life bears on these photographs, and the events they show."""
    for photograph in members:
        yield from (a.person for a in known.seen.get(photograph, ()) if a.person)
        for shown in known.shown.get(photograph, ()):
            yield from known.spouses.get(shown.event, ())
            yield from (shown.event, shown.event.partition(":")[0])


def places(rows: Ints, wanted: Ints) -> tuple[Array, Ints]:
    """Whether each of the `wanted` is among the rows (ascending), and where."""
    place = np.minimum(np.searchsorted(rows, wanted), len(rows) - 1)
    return rows[place] == wanted, place

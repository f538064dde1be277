"""Constraints between days, and how they are built.

A constraint says `left − right ≤ days`. Variables are births, deaths, events, exposures and, where an object was made
later than the picture was taken (prints and copies), its making. Variable 0 is the origin, day 0, so `x − origin ≤ c`
is an upper bound. Each constraint *rests* on a set of statements and is off when one of them is set aside: an age
stated for a face is off with the name of the face. `laws.py` says which constraints there are.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Ints, starts
from kinphoto.reason.model.rivals import rivals, undisputed
from kinphoto.reason.model.span import Span


class VariableKind(StrEnum):
    """What a variable is the day of."""

    ORIGIN = "origin"
    BIRTH = "birth"
    DEATH = "death"
    EVENT = "event"
    EXPOSURE = "exposure"
    PRINT = "print"
    """The making of the object: a print, or a copy of any kind."""
    RANK = "rank"
    """The place of a photograph in the order they were taken: not a day."""
    ALTERNATIVE = "alternative"
    HULL = "hull"


@dataclass(frozen=True, slots=True)
class Variables:
    """The variables by index: `kinds[v]`, and `ids[v]` of the person, event or photograph; and the way back.

    `births` and `deaths` hold everybody of the evidence and `exposures` every photograph, each in the order of the
    evidence and without gaps. The id of an alternative or hull is its photograph's.
    """

    kinds: tuple[VariableKind, ...]
    ids: tuple[str, ...]
    births: dict[str, int]
    deaths: dict[str, int]
    events: dict[str, int]
    exposures: dict[str, int]
    prints: dict[str, int]


@dataclass(frozen=True, slots=True)
class Constraints:
    """`left[i] − right[i] ≤ days[i]`, resting on the statements `rests[start[i]:start[i + 1]]` (indices).

    `statements` holds each once, in the order of the evidence. Hull `hulls[h]` spans the alternatives
    `alternatives[hull_start[h]:hull_start[h + 1]]`. All arrays are int64.
    """

    variables: Variables
    statements: tuple[ev.Statement, ...]
    left: Ints
    right: Ints
    days: Ints
    start: Ints
    rests: Ints
    hulls: Ints
    hull_start: Ints
    alternatives: Ints


RANKING = {ev.Related.BEFORE: -1, ev.Related.AFTER: 1, ev.Related.COPY_OF: 0, ev.Related.SAME_NEGATIVE: 0}
"""How the rank of the first photograph differs from that of the other."""


class VariableIndex:
    """Which variable each thing is, and which statements are about things that can be dated."""

    def __init__(self, evidence: ev.Evidence, by_kind: dict[type[ev.Statement], list[Any]], index: dict[str, int]):
        self.index = index
        self.kinds: list[VariableKind] = [VariableKind.ORIGIN]
        self.ids: list[str] = [""]
        self.births = self.add(VariableKind.BIRTH, [p.id for p in evidence.people])
        self.deaths = self.add(VariableKind.DEATH, [p.id for p in evidence.people])
        self.exposures = self.add(VariableKind.EXPOSURE, [p.id for p in evidence.photographs])
        self.dated = {p.id for p in evidence.photographs if not p.page}
        self.copies = {r.photograph for r in by_kind[ev.Relation] if r.related is ev.Related.COPY_OF and self.joins(r)}
        made_later = [p.id for p in evidence.photographs if not p.page and (p.printed or p.id in self.copies)]
        self.prints = self.add(VariableKind.PRINT, made_later)
        ranked = [r for r in by_kind[ev.Relation] if r.related in RANKING and self.joins(r)]
        self.ranks = self.add(VariableKind.RANK, dict.fromkeys(p for r in ranked for p in (r.photograph, r.other)))
        self.events = self._events(by_kind)
        self._dates = _dates_of_events(by_kind) if by_kind[ev.RelativeDate] else {}
        named = undisputed(by_kind[ev.Appearance])
        seen = [a for a in named if a.person in self.births and a.photograph in self.dated]
        self.rivals = rivals(seen)
        faces = [a for group in self.rivals for a in group]
        first = len(self.ids)
        self.add(VariableKind.ALTERNATIVE, [a.photograph for a in faces])
        self.day_of = {a.id: self.exposures[a.photograph] for a in seen}
        self.day_of |= {a.id: first + i for i, a in enumerate(faces)}
        self.seen: dict[str, ev.Appearance] = {a.id: a for a in seen}
        self.first_hull = len(self.ids)
        self.add(VariableKind.HULL, [group[0].photograph for group in self.rivals])

    def add(self, kind: VariableKind, ids: Iterable[str]) -> dict[str, int]:
        """New variables of one kind, and the index of each."""
        first, new = len(self.ids), list(ids)
        self.ids += new
        self.kinds += [kind] * len(new)
        return {name: first + i for i, name in enumerate(new)}

    def _events(self, by_kind: dict[type[ev.Statement], list[Any]]) -> dict[str, int]:
        """Events by key; somebody's birth or death as an event (`I12:BIRT`) is the variable of that."""
        chosen = (
            s.event for kind in (ev.EventDate, ev.Marriage, ev.EventClaim, ev.RelativeDate) for s in by_kind[kind]
        )
        keys = {key: self._life_event(key) for key in chosen}
        lives = {key: life for key, life in keys.items() if life is not None}
        return lives | self.add(VariableKind.EVENT, [key for key in keys if key not in lives])

    def _life_event(self, key: str) -> int | None:
        person, _, tag = key.rpartition(":")
        lives = {"BIRT": self.births, "DEAT": self.deaths}.get(tag)
        return None if lives is None else lives.get(person)

    def date_of(self, event: str) -> ev.EventDate | ev.LifeDate | None:
        """The date that the evidence has for an event, a birth or a death; None where an end of it is open."""
        found = self._dates.get(event)
        return found if found is not None and found.date.span.bounded else None

    def joins(self, relation: ev.Relation) -> bool:
        """Whether a relation joins two photographs that have dates."""
        return relation.photograph in self.dated and relation.other in self.dated

    def making(self, photograph: str) -> int:
        """When the object was made: its printing or copying, otherwise the exposure."""
        return self.prints.get(photograph, self.exposures[photograph])

    def of(self, statements: Iterable[ev.Statement]) -> Ints:
        """The indices of statements."""
        return np.array([self.index[s.id] for s in statements], dtype=np.int64)


def _dates_of_events(by_kind: dict[type[ev.Statement], list[Any]]) -> dict[str, ev.EventDate | ev.LifeDate]:
    """The first date of each event by its key."""
    dates = [*by_kind[ev.EventDate], *by_kind[ev.LifeDate]]
    return {date.key: date for date in reversed(dates) if date.key}


class ConstraintBuilder:
    """The constraints while they are being collected, block by block."""

    def __init__(self) -> None:
        self.blocks: list[tuple[Ints, Ints, Ints, Ints]] = []

    def add(self, left: Any, right: Any, days: Any, *rests: Any) -> None:
        """`left − right ≤ days`, each resting on one statement of each of `rests`. Arrays of one length, or scalars."""
        columns = np.broadcast_arrays(*(np.asarray(c, dtype=np.int64) for c in (left, right, days, *rests)))
        left, right, days = (np.atleast_1d(c) for c in columns[:3])
        on = np.array(columns[3:], dtype=np.int64).reshape(len(rests), len(left))
        self.blocks.append((left, right, days, on.T))

    def within(self, variables: Any, spans: Sequence[Span], *rests: Any) -> None:
        """Each variable is in its span."""
        self.not_after(variables, spans, *rests)
        self.not_before(variables, spans, *rests)

    def not_before(self, variables: Any, spans: Sequence[Span], *rests: Any) -> None:
        """Each variable is no earlier than the start of its span."""
        self._ends(True, variables, [None if s.first is None else -s.first for s in spans], *rests)

    def not_after(self, variables: Any, spans: Sequence[Span], *rests: Any) -> None:
        """Each variable is no later than the end of its span."""
        self._ends(False, variables, [s.last for s in spans], *rests)

    def _ends(self, start: bool, variables: Any, ends: list[int | None], *rests: Any) -> None:
        closed = np.array([end is not None for end in ends], dtype=bool)
        days = np.array([end for end in ends if end is not None], dtype=np.int64)
        one = np.asarray(variables, dtype=np.int64)[closed]
        left, right = (0, one) if start else (one, 0)
        self.add(left, right, days, *(np.asarray(r)[closed] for r in rests))

    def build(self, v: VariableIndex, statements: tuple[ev.Statement, ...]) -> Constraints:
        """The constraints as arrays."""
        left, right, days = (np.concatenate([block[i] for block in self.blocks]) for i in range(3))
        sizes = np.concatenate([np.full(len(rests), rests.shape[1]) for *_, rests in self.blocks])
        rests = np.concatenate([rests.ravel() for *_, rests in self.blocks])
        groups = v.rivals
        faces = [v.day_of[a.id] for group in groups for a in group]
        return Constraints(
            Variables(tuple(v.kinds), tuple(v.ids), v.births, v.deaths, v.events, v.exposures, v.prints),
            statements, left, right, days, starts(sizes), rests,
            v.first_hull + np.arange(len(groups), dtype=np.int64),
            np.cumsum([0, *map(len, groups)], dtype=np.int64),
            np.array(faces, dtype=np.int64),
        )  # fmt: skip


def columns(variables: dict[str, int], keys: Iterable[str | None]) -> Ints:
    """The variables of these ids."""
    return np.array([variables[key] for key in keys if key is not None], dtype=np.int64)

"""Laws and statements as constraints between days: `_parent_links` forbids a child before its mother's own birth.

`_lives`, `_pictures`, `_parent_links`, `_marriages` and `_appearances` are the laws of docs/method.md, with their
numbers in `model/limits.py`. A constraint says `left − right ≤ days`. Variables are births, deaths, events, exposures
and, where an object was made later than the picture was taken (prints and copies), its making. Variable 0 is the
origin, day 0, so `x − origin ≤ c` is an upper bound. Each constraint *rests* on a set of statements and is off when one
of them is set aside: an age stated for a face is off with the name of the face. Laws rest on nothing; a law of kinship
rests on the link.

**What makes no constraint.** Judged ages, a denial and the name it denies (two people disagree, so neither is taken at
their word), people not identified, and whatever refers to an album page or to something outside the evidence.

**Rival names.** One of several names on a region is right and nobody knows which, so X, the day of the picture, is only
known to be in the hull of what each allows. That is not a difference constraint, but can be written with two kinds of
helping variables. An *alternative* is the day of the picture if this name is right: constraints lead from the person's
life and stated ages to it and never back, so a name that may be wrong narrows nobody's life. A *hull* is no earlier
than the earliest of its alternatives and no later than the latest, and constraints lead from it to X and never back.
This is sound, since X is at least one of its alternatives, and concludes nothing else. The constraint between hull and
X rests on all the names.

**Orders.** Of two photographs of one day either can be the earlier, so "before" means `≤`, and a ring of such orders
would go unseen. Each photograph with an order therefore has a *rank* besides, without bounds: "before" and "after" put
a step between two ranks, and one exposure has one rank.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Ints, starts
from kinphoto.reason.model.limits import (
    AFTER_FATHERS_DEATH,
    ALLOWANCE,
    EVENT_AFTER,
    EVENT_BEFORE,
    FIRST_PHOTOGRAPH,
    LAID_OUT_WITHIN,
    LONGEST_LIFE,
    OLDEST_FATHER,
    OLDEST_MOTHER,
    SAME_OCCASION,
    YOUNGEST_PARENT,
    YOUNGEST_SPOUSE,
)
from kinphoto.reason.model.span import SAME_YEAR, Span, at_least, at_most, whole_years


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
    """The place of a photograph in the order in which they were taken: no day."""
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


def build_constraints(evidence: ev.Evidence) -> Constraints:
    """All constraints of the evidence."""
    statements = tuple({s.id: s for s in reversed(evidence.statements)}.values())[::-1]
    by_kind: dict[type[ev.Statement], list[Any]] = defaultdict(list)
    for statement in evidence.statements:
        by_kind[type(statement)].append(statement)
    variables = _VariableIndex(evidence, by_kind, {s.id: i for i, s in enumerate(statements)})
    builder = _ConstraintBuilder()
    _lives(variables, builder)
    _pictures(evidence.photographs, variables, builder)
    _rivals(variables, builder)
    for kind, of_kind in by_kind.items():
        _OF_KIND[kind](of_kind, variables, builder)
    return builder.build(variables, statements)


class _VariableIndex:
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
        ranked = [r for r in by_kind[ev.Relation] if r.related in _RANKING and self.joins(r)]
        self.ranks = self.add(VariableKind.RANK, dict.fromkeys(p for r in ranked for p in (r.photograph, r.other)))
        self.events = self._events(by_kind)
        self._dates = _dates_of_events(by_kind) if by_kind[ev.RelativeDate] else {}
        named = ev.undisputed(by_kind[ev.Appearance])
        seen = [a for a in named if a.person in self.births and a.photograph in self.dated]
        self.rivals = ev.rivals(seen)
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


class _ConstraintBuilder:
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

    def build(self, v: _VariableIndex, statements: tuple[ev.Statement, ...]) -> Constraints:
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


def _columns(variables: dict[str, int], keys: Iterable[str | None]) -> Ints:
    return np.array([variables[key] for key in keys if key is not None], dtype=np.int64)


# --- laws -------------------------------------------------------------------------------------------------------------


def _lives(variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """Nobody dies before birth or lives longer than anybody ever did."""
    births, deaths = (np.array(list(v.values()), dtype=np.int64) for v in (variables.births, variables.deaths))
    builder.add(births, deaths, 0)
    builder.add(deaths, births, at_most(LONGEST_LIFE))


def _pictures(photographs: Sequence[ev.Photograph], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """Taken since there is photography, made when taken or later, and both before it was first scanned."""
    indexed = {p.id: p.indexed for p in photographs}
    exposures = list(variables.exposures.values())
    builder.within(exposures, [Span(FIRST_PHOTOGRAPH, indexed[p]) for p in variables.exposures])
    prints = np.array(list(variables.prints.values()), dtype=np.int64)
    builder.add(_columns(variables.exposures, variables.prints), prints, 0)
    builder.not_after(prints, [Span(None, indexed[p]) for p in variables.prints])


def _rivals(variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """The picture was taken within the hull of what each of the rival names allows."""
    for hull, group in enumerate(variables.rivals, variables.first_hull):
        exposure, rests = variables.exposures[group[0].photograph], variables.of(group)
        builder.add([exposure], [hull], [0], *rests)
        builder.add([hull], [exposure], [0], *rests)


# --- statements, one function per kind --------------------------------------------------------------------------------


def _life_dates(statements: list[ev.LifeDate], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """A birth or death is in its span; a christening is not before the birth, a burial not before the death;
    somebody who is alive was born and has not died."""
    statements = [s for s in statements if s.person in variables.births]
    for event, lives, close in (
        (ev.LifeEvent.BIRTH, variables.births, builder.within),
        (ev.LifeEvent.CHRISTENING, variables.births, builder.not_after),
        (ev.LifeEvent.DEATH, variables.deaths, builder.within),
        (ev.LifeEvent.BURIAL, variables.deaths, builder.not_after),
    ):
        chosen = [s for s in statements if s.event is event]
        close(_columns(lives, (s.person for s in chosen)), [s.date.span for s in chosen], variables.of(chosen))
    alive = [s for s in statements if s.event is ev.LifeEvent.ALIVE]
    people, spans, rests = [s.person for s in alive], [s.date.span for s in alive], variables.of(alive)
    builder.not_after(_columns(variables.births, people), spans, rests)
    builder.not_before(_columns(variables.deaths, people), spans, rests)


def _event_dates(statements: list[ev.EventDate], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """An event is in the span of its date."""
    builder.within(
        [variables.events[s.event] for s in statements], [s.date.span for s in statements], variables.of(statements)
    )


def _parent_links(statements: list[ev.ParentLink], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """A parent is at least ten years older than the child, so nobody is born before their mother, and not too old at
    the birth; the mother is alive then, the father was within a year."""
    statements = [s for s in statements if s.child in variables.births and s.parent in variables.births]
    child, parent = (
        _columns(variables.births, ids) for ids in ([s.child for s in statements], [s.parent for s in statements])
    )
    mother = np.array([s.parent_sex == "F" for s in statements], dtype=bool)
    rests = variables.of(statements)
    builder.add(parent, child, -at_least(YOUNGEST_PARENT), rests)
    builder.add(child, parent, np.where(mother, at_most(OLDEST_MOTHER), at_most(OLDEST_FATHER)), rests)
    death = _columns(variables.deaths, (s.parent for s in statements))
    builder.add(child, death, np.where(mother, 0, AFTER_FATHERS_DEATH), rests)


def _marriages(statements: list[ev.Marriage], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """Each of the couple is alive, and no small child."""
    couples = [(s, spouse) for s in statements for spouse in s.spouses if spouse in variables.births]
    wedding = [variables.events[s.event] for s, _ in couples]
    rests = variables.of(s for s, _ in couples)
    builder.add(_columns(variables.births, (p for _, p in couples)), wedding, -at_least(YOUNGEST_SPOUSE), rests)
    builder.add(wedding, _columns(variables.deaths, (p for _, p in couples)), 0, rests)


def _appearances(statements: list[ev.Appearance], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """In a picture: alive. A likeness: had been born. Laid out: dead, and not for long."""
    statements = [s for s in statements if s.id in variables.seen]
    for role in ev.Role:
        seen = [s for s in statements if s.role is role]
        day, rests = np.array([variables.day_of[s.id] for s in seen], dtype=np.int64), variables.of(seen)
        birth, death = (_columns(lives, (s.person for s in seen)) for lives in (variables.births, variables.deaths))
        if role is ev.Role.LAID_OUT:
            builder.add(death, day, 0, rests)
            builder.add(day, death, LAID_OUT_WITHIN, rests)
            continue
        builder.add(birth, day, 0, rests)
        if role is ev.Role.PRESENT:
            builder.add(day, death, 0, rests)


def _ages(statements: list[ev.Age], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """A stated age in completed years, a year allowed either way; of somebody laid out it is the age at death."""
    statements = [s for s in statements if s.basis is ev.AgeBasis.STATED and s.appearance in variables.seen]
    statements = [s for s in statements if variables.seen[s.appearance].role is not ev.Role.LIKENESS]
    faces = [variables.seen[s.appearance] for s in statements]
    give = [0 if s.trust is ev.Trust.CERTAIN else ALLOWANCE for s in statements]
    since = [LAID_OUT_WITHIN if a.role is ev.Role.LAID_OUT else 0 for a in faces]
    most = [at_most(s.high + 1 + more) + late for s, more, late in zip(statements, give, since, strict=True)]
    least = [at_least(max(0.0, s.low - less)) for s, less in zip(statements, give, strict=True)]
    day, birth = [variables.day_of[a.id] for a in faces], _columns(variables.births, (a.person for a in faces))
    rests = variables.of(faces), variables.of(statements)
    builder.add(day, birth, most, *rests)
    builder.add(birth, day, np.negative(np.array(least, dtype=np.int64)), *rests)


def _date_claims(statements: list[ev.DateClaim], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """A claim bounds the exposure, the making of the print, or both, on both sides or only from above. A printer's
    stamp is not earlier than the exposure.

    A photographer's mark dates both, but on a copy only the copying: the exposure is its original's.
    """
    originals = {p: day for p, day in variables.exposures.items() if p not in variables.copies}
    bounds = (
        (variables.exposures, _OF_EXPOSURE, builder.within),
        (originals, {ev.Claim.IMPRINT}, builder.within),
        (variables.exposures, _BEFORE_IT, builder.not_after),
        (variables.prints, _OF_PRINT, builder.within),
        (variables.prints, _BEFORE_IT, builder.not_after),
    )
    statements = [s for s in statements if s.photograph in variables.dated]
    for days, claims, close in bounds:
        chosen = [s for s in statements if s.claim in claims and s.photograph in days]
        close(_columns(days, (s.photograph for s in chosen)), [s.date.span for s in chosen], variables.of(chosen))


_OF_EXPOSURE = {claim for claim in ev.Claim if claim.of_exposure}
_OF_PRINT = {ev.Claim.PRINT_STAMP, ev.Claim.IMPRINT}
_BEFORE_IT = {ev.Claim.WRITTEN, ev.Claim.POSTMARK, ev.Claim.PRINT_STAMP}


def _event_claims(statements: list[ev.EventClaim], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """The picture of an event is taken about then, or when the couple next goes to town."""
    statements = [s for s in statements if s.photograph in variables.dated]
    day, event = (
        _columns(variables.exposures, (s.photograph for s in statements)),
        [variables.events[s.event] for s in statements],
    )
    builder.add(day, event, EVENT_AFTER, variables.of(statements))
    builder.add(event, day, EVENT_BEFORE, variables.of(statements))


def _relative_dates(statements: list[ev.RelativeDate], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """The picture is taken that long before or after the event; in the year of one that has a date, in that year."""
    statements = [s for s in statements if s.photograph in variables.dated]
    for s in statements:
        day, event = variables.exposures[s.photograph], variables.events[s.event]
        if s.lapse.first is not None:
            builder.add(event, day, -s.lapse.first, variables.of([s]))
        if s.lapse.last is not None:
            builder.add(day, event, s.lapse.last, variables.of([s]))
    dated = [(s, date) for s in statements if s.lapse == SAME_YEAR and (date := variables.date_of(s.event))]
    builder.within(
        _columns(variables.exposures, (s.photograph for s, _ in dated)),
        [whole_years(date.date.span) for _, date in dated],
        variables.of(s for s, _ in dated), variables.of(date for _, date in dated),
    )  # fmt: skip


def _made(statements: list[ev.Made], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """A process or format bounds the making of a print, and the exposure of what lay in the camera.

    A copy may have been in a camera too (a slide of an old portrait); its window bounds when it was copied.
    """
    statements = [s for s in statements if s.photograph in variables.dated]
    taken = [s.original and s.photograph not in variables.copies for s in statements]
    pairs = zip(statements, taken, strict=True)
    days = [variables.exposures[s.photograph] if camera else variables.making(s.photograph) for s, camera in pairs]
    builder.within(days, [s.window for s in statements], variables.of(statements))


def _lies_in(_: list[ev.LiesIn | ev.Numbered], __: _VariableIndex, ___: _ConstraintBuilder) -> None:
    """Where it lies, and its number there, make a date likely or unlikely, and rule out none."""


def _relations(statements: list[ev.Relation], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """Before or after; within a day of each other; or the same exposure. A part of a page makes no constraint."""
    for related, ahead, back in (
        (ev.Related.BEFORE, 0, None),
        (ev.Related.AFTER, None, 0),
        (ev.Related.SAME_OCCASION, SAME_OCCASION, SAME_OCCASION),
        (ev.Related.COPY_OF, 0, 0),
        (ev.Related.SAME_NEGATIVE, 0, 0),
    ):
        chosen = [s for s in statements if s.related is related and variables.joins(s)]
        one, other = (
            _columns(variables.exposures, ids) for ids in ([s.photograph for s in chosen], [s.other for s in chosen])
        )
        if ahead is not None:
            builder.add(one, other, ahead, variables.of(chosen))
        if back is not None:
            builder.add(other, one, back, variables.of(chosen))
    _ranks([s for s in statements if s.related in _RANKING and variables.joins(s)], variables, builder)


def _ranks(statements: list[ev.Relation], variables: _VariableIndex, builder: _ConstraintBuilder) -> None:
    """What was taken earlier has the lower rank, what has one exposure the same."""
    one, other = (
        _columns(variables.ranks, ids) for ids in ([s.photograph for s in statements], [s.other for s in statements])
    )
    step, rests = np.array([_RANKING[s.related] for s in statements], dtype=np.int64), variables.of(statements)
    up, down = step <= 0, step >= 0
    builder.add(one[up], other[up], step[up], rests[up])
    builder.add(other[down], one[down], -step[down], rests[down])


_RANKING = {ev.Related.BEFORE: -1, ev.Related.AFTER: 1, ev.Related.COPY_OF: 0, ev.Related.SAME_NEGATIVE: 0}
"""How the rank of the first photograph differs from that of the other."""

_OF_KIND: dict[type[ev.Statement], Callable[[list[Any], _VariableIndex, _ConstraintBuilder], None]] = {
    ev.LifeDate: _life_dates,
    ev.EventDate: _event_dates,
    ev.ParentLink: _parent_links,
    ev.Marriage: _marriages,
    ev.Appearance: _appearances,
    ev.Age: _ages,
    ev.DateClaim: _date_claims,
    ev.EventClaim: _event_claims,
    ev.RelativeDate: _relative_dates,
    ev.Made: _made,
    ev.Relation: _relations,
    ev.LiesIn: _lies_in,
    ev.Numbered: _lies_in,
}

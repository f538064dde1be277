"""One statement about a photograph's date as a bar on the axis of time, with words for those who do not see it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from kinphoto.archive.dates.contributions import DENIED, is_own
from kinphoto.archive.dates.lying import is_of_strip
from kinphoto.archive.words.labels import from_to, label, likely, source
from kinphoto.archive.words.sentences import Sentences
from kinphoto.phrases import listed
from kinphoto.reason.advice.single_statements import (
    SingleStatements,
    age_likelihood,
    as_posterior,
    date_likelihood,
    relative_likelihood,
)
from kinphoto.reason.dating import LocalInference
from kinphoto.reason.hard.conflict import BELIEVED
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.findings import HOLDS, Conflict
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.rivals import rivals, undisputed
from kinphoto.reason.model.span import Span
from kinphoto.reason.soft.container_messages import density_of
from kinphoto.reason.soft.grid import Cells, cells
from kinphoto.reason.soft.summary import days, shortest

STANDING, OFF, ASIDE, WITHDRAWN = "standing", "off", "aside", "withdrawn"
POINTS = 120
"""Points of a bar's curve."""
MOST_OTHERS = 3
"""Statements named in the note of one that does not fit with them."""
Points = tuple[tuple[int, float], ...]
_BORN = (ev.LifeEvent.BIRTH, ev.LifeEvent.CHRISTENING)
_DIED = (ev.LifeEvent.DEATH, ev.LifeEvent.BURIAL)


@dataclass(frozen=True, slots=True)
class Bar:
    """One statement. `label` and `source` are its two lines; `words` say in full what it allows or makes likely.

    `first` to `last` are the days it allows by itself, None where it leaves them open. A *soft* bar (an age judged by
    eye) rules nothing out: its span holds nine tenths of its `curve`, points (day, height 0 to 1). A *hesitant* one
    moves the likely range without ruling days out. `state` is "standing", "off" (for this view), "aside" (it does not
    fit) or "withdrawn" (by a person), explained in `note`. `without` is the date without it in words, if asked for;
    `of` is the appearance an age or a life date belongs to, `lives` are the dates of life that come with an appearance;
    `person` and `other` are codes of a person and a photograph to link to.
    """

    id: str
    kind: str
    label: str
    source: str
    words: str
    first: int | None
    last: int | None
    soft: bool
    hesitant: bool
    curve: Points
    trust: str
    state: str
    note: str
    without: str | None = None
    of: str | None = None
    lives: tuple[str, ...] = ()
    person: str | None = None
    other: str | None = None


@dataclass(frozen=True)
class Bars:
    """What the bars of one photograph (its code) are made from.

    `evidence` is all that bears on it, `local_inference` what was concluded without the statements `off` and those set
    `aside` (each with its conflict), and `withdrawn` the withdrawn statements about it.
    """

    code: str
    evidence: ev.Evidence
    withdrawn: tuple[ev.Statement, ...]
    local_inference: LocalInference
    off: frozenset[str]
    aside: Mapping[str, Conflict]
    say: Sentences

    def bar(self, statement: ev.Statement) -> Bar:
        """The bar of one statement."""
        curve = self.likelihood(statement, self._whole)
        span, words = self._hard(statement) if curve is None else _soft(curve, self._whole)
        state = self.state(statement)
        seen = statement if isinstance(statement, ev.Appearance) else self._seen(statement)
        life = self._life(seen) if statement is seen and seen is not None and not seen.denied else []
        return Bar(
            id=statement.id,
            kind=statement.kind,
            label=label(self.say, statement, self.code),
            source=source(self.say, statement, life),
            words=words,
            first=span.first,
            last=span.last,
            soft=curve is not None,
            hesitant=curve is None and statement.firmness not in BELIEVED,
            curve=(),
            trust=str(statement.trust),
            state=state,
            note=self._note(statement, state),
            of=None if seen is None or seen is statement else seen.id,
            lives=tuple(date.id for date in life),
            person=next(iter(self.say.about(statement.id)), None),
            other=next((p for p in self.say.photographs(statement.id) if p != self.code), None),
        )

    def curve(self, statement: ev.Statement, first: int, last: int) -> Points:
        """How likely a soft statement makes the days from `first` to `last`."""
        axis = Cells(np.linspace(first, last + 1.0, POINTS + 1))
        height = self.likelihood(statement, axis)
        if height is None or height.max() <= 0:
            return ()
        heights = (height / height.max()).round(4).tolist()
        return tuple(zip(axis.middle.astype(int).tolist(), heights, strict=True))

    def likelihood(self, statement: ev.Statement, on: Cells) -> Array | None:
        """How likely a statement makes each cell, where that says more than the days it allows."""
        if isinstance(statement, ev.DateClaim) and statement.claim.of_exposure:
            return date_likelihood(statement, on)
        if isinstance(statement, ev.RelativeDate):
            return relative_likelihood(statement, self.local_inference.lives, on)
        if isinstance(statement, ev.LiesIn | ev.Numbered):
            told = self._told(statement).get(self.code)
            return None if told is None else density_of(told, on)
        if is_of_strip(statement):
            told = self.local_inference.by_strips.get(self.code)
            return None if told is None else density_of(told, on)
        seen = self._seen(statement)
        if isinstance(statement, ev.Age) and statement.basis is ev.AgeBasis.APPARENT and seen is not None:
            return age_likelihood(statement, seen, self.local_inference.lives, on)
        return None

    def state(self, statement: ev.Statement) -> str:
        """Whether it is used, or why not."""
        if statement.id in {each.id for each in self.withdrawn}:
            return WITHDRAWN
        seen = self._seen(statement)
        names = {statement.id} if seen is None else {statement.id, seen.id}
        if isinstance(statement, ev.Numbered):
            names |= {statement.container}
        return OFF if names & self.off else ASIDE if not names.isdisjoint(self.aside) else STANDING

    def _told(self, statement: ev.LiesIn | ev.Numbered) -> Mapping[str, bytes]:
        """The message of a container by the place of the photograph there alone, or with its number."""
        every, without = self.evidence.from_containers, self.evidence.messages_without
        if isinstance(statement, ev.Numbered):
            return every if statement.id in without else {}
        return {**every, **next(iter(without.values()), {})}

    def _hard(self, statement: ev.Statement) -> tuple[Span, str]:
        """The days it allows, and that in words."""
        if isinstance(statement, ev.Appearance):
            if statement.denied or statement.person is None:
                return Span(), "says nothing about the date"
            span = self._apart(statement).life(statement)
        elif isinstance(statement, ev.Numbered):
            return Span(), "says nothing about the date"
        elif isinstance(statement, ev.Made) and not statement.original:
            return (
                statement.window,
                f"made {from_to(statement.window)}; the picture can be older if this is a copy",
            )
        elif isinstance(statement, ev.LifeDate):
            born, died = statement.event in _BORN, statement.event in _DIED
            span = Span(statement.date.span.first if born else None, statement.date.span.last if died else None)
        elif isinstance(statement, ev.Age) and statement.basis is ev.AgeBasis.APPARENT:
            return Span(), "says nothing about the date, because no dates are known for this person"
        else:
            seen = self._seen(statement)
            span = self._apart(statement).allows({statement.id} if seen is None else {statement.id, seen.id})
        return span, from_to(span)

    def _apart(self, statement: ev.Statement) -> SingleStatements:
        """Where to look up what a statement says by itself: among those in use, with it added if it is not."""
        if self.state(statement) == STANDING:
            return self._standing
        seen = self._seen(statement)
        more = [s for s in (seen, statement) if s is not None and s not in self._left.statements]
        evidence = replace(self._left, statements=(*self._left.statements, *more))
        return SingleStatements(evidence, self.code, self._own | {s.id for s in more})

    def _seen(self, statement: ev.Statement) -> ev.Appearance | None:
        """The appearance that an age is of."""
        found = self.say.statements.get(statement.appearance) if isinstance(statement, ev.Age) else None
        return found if isinstance(found, ev.Appearance) else None

    def _life(self, seen: ev.Appearance) -> list[ev.LifeDate]:
        """The dates that begin and end the life of somebody in it."""
        known = (
            s for s in reversed(self.evidence.statements) if isinstance(s, ev.LifeDate) and s.person == seen.person
        )
        dates = {s.event: s for s in known}
        ends = (next((dates[e] for e in events if e in dates), None) for events in (_BORN, _DIED))
        return [date for date in ends if date is not None]

    def _note(self, statement: ev.Statement, state: str) -> str:
        if state == WITHDRAWN:
            return "no longer used"
        if state == OFF:
            return "switched off for now"
        if state == ASIDE:
            seen = self._seen(statement)
            return self._unfit(
                statement, self.aside[statement.id if statement.id in self.aside or seen is None else seen.id]
            )
        contested, rivalling = self._names
        return (
            DENIED
            if statement.id in contested
            else "one of several names for this face"
            if statement.id in rivalling
            else ""
        )

    def _unfit(self, statement: ev.Statement, conflict: Conflict) -> str:
        """ "does not fit with …; without it, the rest agrees" """
        others = [self.say.sentence(s) for s in conflict.statements if s != statement.id and s in self.say.statements]
        more = [f"{len(others) - MOST_OTHERS} more"] if len(others) > MOST_OTHERS else []
        against = listed([*others[:MOST_OTHERS], *more]) or "the rest"
        return f"does not fit with: {against}; without it, the rest agrees"

    @cached_property
    def _whole(self) -> Cells:
        """All days that the laws allow."""
        indexed = next(p.indexed for p in self.evidence.photographs if p.id == self.code)
        return cells(FIRST_PHOTOGRAPH, indexed)

    @cached_property
    def _left(self) -> ev.Evidence:
        return self.evidence.without(self.off | self.aside.keys())

    @cached_property
    def _own(self) -> frozenset[str]:
        return frozenset(s.id for s in self._left.statements if is_own(s, self.code, self.say))

    @cached_property
    def _standing(self) -> SingleStatements:
        return SingleStatements(self._left, self.code, self._own)

    @cached_property
    def _names(self) -> tuple[set[str], set[str]]:
        """The names on this photograph that somebody denies, and those that share one face."""
        seen = [s for s in self._left.statements if isinstance(s, ev.Appearance) and s.photograph == self.code]
        named = undisputed(seen)
        names = {s.id for s in seen if s.person is not None and not s.denied}
        return names - {s.id for s in named}, {s.id for group in rivals(named) for s in group}


def _soft(likelihood: Array, on: Cells) -> tuple[Span, str]:
    """The shortest days that hold nine tenths of a likelihood, and in words also those that hold nearly all."""
    alone = as_posterior(likelihood, on)
    if alone is None:
        return Span(), "fits no day at all"
    inner, outer = (Span(*days(*shortest(alone, holds))) for holds in (HOLDS, 0.99))
    return inner, likely(inner, outer)

"""The statements behind one photograph's date, in reading order, and how much each of them matters: for the explanation
in words and for the strip."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

from kinphoto.archive.words.sentences import Sentences
from kinphoto.gedcom.wording import month
from kinphoto.reason.dating import date_locally
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate, Estimate, State
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.rivals import undisputed
from kinphoto.reason.model.span import year_of

NOTABLE = 200
"""Days by which an end of a range must move for a reader to care."""
A_MONTH = 31
DENIED = "Somebody says that it is not them, so the name is not used."


@dataclass(frozen=True, slots=True)
class Contribution:
    """One statement, and what it contributes."""

    id: Annotated[
        str,
        "`S12` a statement, `A7` an appearance, `N4` a number, `E5` a date of the tree, `L9` a parent link, `M3` a "
        "marriage",
    ]
    kind: Annotated[str, "`appearance`, `apparent-age`, `stated-age`, `inscription`, `birth`, ..."]
    text: Annotated[str, "the statement as a sentence"]
    trust: Annotated[str, "`certain`, `strong`, `fair` or `weak`"]
    informant: Annotated[str | None, "who told us, or null"]
    aside: Annotated[bool, "true when it is set aside because it does not fit with the rest"]
    without: Annotated[Estimate | None, "the date without this statement; null for one set aside"]
    effect: Annotated[str, "the same in words"]


class WhatIf:
    """Estimates of one photograph without some of the statements, each worked out once. `births` are estimates from the
    whole archive, for people on whom more bears than this evidence."""

    def __init__(
        self, evidence: ev.Evidence, code: str, present: Estimate, births: Sequence[BirthEstimate] = ()
    ) -> None:
        self.evidence = evidence
        self.births = births
        self.code = code
        self.present = present
        self._made: dict[frozenset[str], Estimate] = {}
        seen = [s for s in evidence.statements if isinstance(s, ev.Appearance)]
        self.contested = {s.id for s in seen} - {s.id for s in undisputed(seen)}

    def without(self, *statements: str) -> Estimate:
        """The estimate without these statements (and what rests on them)."""
        left_out = frozenset(statements)
        if left_out not in self._made:
            found = date_locally(self._near.without(left_out), [self.code], births=self.births)
            self._made[left_out] = found.dated_exposures[self.code].estimate
        return self._made[left_out]

    def moves(self, *statements: str) -> int:
        """By how many days the ends of the range move without them."""
        other = self.without(*statements)
        then, now = other.shown_range, self.present.shown_range
        return abs(then[0] - now[0]) + abs(then[1] - now[1])

    @cached_property
    def _near(self) -> ev.Evidence:
        """The part of the evidence that can bear on the photograph."""
        return focus(self.evidence, self.code)

    @cached_property
    def supported(self) -> set[int]:
        """Days that some statement gives to the month or more closely."""
        spans = (
            s.date.span for s in self.evidence.statements if isinstance(s, ev.LifeDate | ev.EventDate | ev.DateClaim)
        )
        close = [x for x in spans if x.first is not None and x.last is not None and x.last - x.first < A_MONTH]
        return {day for x in close for day in (x.first, x.last) if day is not None}


def is_own(statement: ev.Statement, code: str, say: Sentences) -> bool:
    """Whether a statement is about the photograph `code` itself."""
    return code in say.photographs(statement.id)


def own_in_order(own: Sequence[ev.Statement], near: ev.Evidence, aside: Collection[str]) -> Iterator[ev.Statement]:
    """A photograph's own statements: each name, then its ages, then the dates of that person's life that matter."""
    lives: dict[str, list[ev.LifeDate]] = defaultdict(list)
    for statement in near.statements:
        if isinstance(statement, ev.LifeDate):
            lives[statement.person].append(statement)
    shown = {s.id for s in own}
    ages: dict[str, list[ev.Statement]] = defaultdict(list)
    for statement in own:
        if isinstance(statement, ev.Age):
            ages[statement.appearance].append(statement)
    for statement in own:
        if isinstance(statement, ev.Age):
            continue
        yield statement
        if isinstance(statement, ev.Appearance):
            yield from ages[statement.id]
            for life in lives.get(statement.person or "", ()):
                bounds = life.event in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH)
                if life.id not in shown and (bounds or life.id in aside):
                    shown.add(life.id)
                    yield life


def far_that_matter(
    own: Sequence[ev.Statement], near: ev.Evidence, what_if: WhatIf, aside: Collection[str], say: Sentences
) -> Iterator[ev.Statement]:
    """The day of an event that it shows or is dated by, and what else of the people in it moves the range."""
    shown = {s.id for s in own_in_order(own, near, aside)}
    people = {p for s in own if isinstance(s, ev.Appearance) for p in say.about(s.id)}
    events = {s.event for s in own if isinstance(s, ev.EventClaim | ev.RelativeDate)}
    for statement in near.statements:
        if isinstance(statement, ev.EventDate | ev.LifeDate) and statement.key in events and statement.id not in shown:
            yield statement
            continue
        far = statement.id not in shown and statement.id not in aside and not isinstance(statement, ev.Made)
        if far and not people.isdisjoint(say.about(statement.id)) and what_if.moves(statement.id) >= NOTABLE:
            yield statement


def weighed(statement: ev.Statement, aside: bool, what_if: WhatIf, say: Sentences) -> Contribution:
    """One statement with what the date would be without it."""
    without = None if aside else what_if.without(statement.id)
    effect = "It does not fit with the rest." if aside else _effect(statement, what_if)
    return Contribution(
        statement.id,
        statement.kind,
        say.opening(statement.id),
        str(statement.trust),
        statement.informant,
        aside,
        without,
        effect,
    )


def _effect(statement: ev.Statement, what_if: WhatIf) -> str:
    if (
        isinstance(statement, ev.Appearance)
        and statement.person
        and not statement.denied
        and statement.id in what_if.contested
    ):
        return DENIED
    supported = what_if.supported
    without = range_words(what_if.without(statement.id), supported)
    if what_if.moves(statement.id) < NOTABLE or without == range_words(what_if.present, supported):
        return "It makes little difference."
    return f"Without it: {without}."


def range_words(estimate: Estimate, supported: set[int]) -> str:
    """ "between 1917 and 1926", or what is possible where nothing is likely."""
    if estimate.state is State.OPEN or estimate.likely_from is None:
        return f"any time from {_day(estimate.earliest, supported)} to {_day(estimate.latest, supported)}"
    first, last = (year_of(day) for day in estimate.shown_range)
    return f"{first}" if first == last else f"between {first} and {last}"


def _day(day: int, supported: set[int]) -> str:
    """Month and year when a statement gives that much, otherwise the year."""
    return month(day) if day in supported else str(year_of(day))

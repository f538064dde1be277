"""Why a photograph is dated as it is, in words: what each statement contributes, and the range without it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from kinphoto.archive.dating import DatedPhotograph, estimates, find_dated, read_settlement, refresh
from kinphoto.archive.gathering import gather
from kinphoto.archive.sentences import Sentences, age_words, on
from kinphoto.archive.stories import kind_of
from kinphoto.archive.wording import when
from kinphoto.reason import evidence as ev
from kinphoto.reason.dating import outlook
from kinphoto.reason.findings import Estimate, State
from kinphoto.reason.focus import focus
from kinphoto.reason.span import year_of

if TYPE_CHECKING:
    from kinphoto.archive import Archive

NOTABLE = 200  # days by which an end of a range must move for a reader to care
A_MONTH = 31
MOST_CLAUSES = 4  # reasons the paragraph gives; the list below it has them all


@dataclass(frozen=True, slots=True)
class Part:
    """One statement: what it says, whether it was set aside, and the estimate without it (None when set aside)."""

    id: str
    kind: str
    text: str
    trust: str
    informant: str | None
    aside: bool
    without: Estimate | None
    effect: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """One photograph's estimate in words, with its parts, the laws that bound it, and the conflicts it is part of."""

    dated: DatedPhotograph
    text: str
    parts: tuple[Part, ...]
    laws: tuple[str, ...]
    conflicts: tuple[str, ...]


def explain(archive: Archive, photograph: str) -> Explanation:
    """Explain one photograph. Raises NotFoundError or AmbiguousError when it cannot be told which."""
    refresh(archive)
    with archive.reading() as connection:
        wanted = find_dated(connection, photograph)
        dated = estimates(connection, [wanted])[wanted]
        settled, whole = read_settlement(connection), gather(connection)
    code = dated.code
    near = focus(whole, code)
    aside = frozenset(settled.aside)
    what_if = _WhatIf(near.without(aside), code, dated.estimate)
    say = Sentences(whole)
    own = [s for s in near.statements if _is_own(s, code, say)]
    parts = tuple(_part(s, s.id in aside, what_if, say) for s in _in_order(own, near, what_if, aside, say))
    conflicts = tuple(c.id for c in settled.conflicts if code in c.photographs)
    return Explanation(
        dated, _text(dated.estimate, parts, what_if, say), parts, _laws(dated.estimate, parts), conflicts
    )


class _WhatIf:
    """Estimates of one photograph with some statement left out, made once each."""

    def __init__(self, evidence: ev.Evidence, code: str, present: Estimate) -> None:
        self.evidence = evidence
        self.code = code
        self.present = present
        self._made: dict[str, Estimate] = {}
        seen = [s for s in evidence.statements if isinstance(s, ev.Appearance)]
        self.contested = {s.id for s in seen} - {s.id for s in ev.undisputed(seen)}

    def without(self, statement_id: str) -> Estimate:
        """The estimate without this statement (and what rests on it)."""
        if statement_id not in self._made:
            self._made[statement_id] = outlook(self.evidence, self.code, (statement_id,)).estimate
        return self._made[statement_id]

    def moves(self, statement_id: str) -> int:
        """By how many days the ends of the range move without it: what the statement is worth."""
        other = self.without(statement_id)
        then, now = _shown(other), _shown(self.present)
        return abs(then[0] - now[0]) + abs(then[1] - now[1])

    @cached_property
    def supported(self) -> set[int]:
        """Days that some statement gives to the month or better."""
        spans = (
            s.date.span for s in self.evidence.statements if isinstance(s, ev.LifeDate | ev.EventDate | ev.DateClaim)
        )
        close = [x for x in spans if x.first is not None and x.last is not None and x.last - x.first < A_MONTH]
        return {day for x in close for day in (x.first, x.last) if day is not None}


def _is_own(said: ev.Statement, code: str, say: Sentences) -> bool:
    return code in say.photographs(said.id)


def _in_order(
    own: list[ev.Statement], near: ev.Evidence, what_if: _WhatIf, aside: frozenset[str], say: Sentences
) -> Iterator[ev.Statement]:
    """The photograph's own statements and, behind each person, the dates of that life that matter; then the rest."""
    lives: dict[str, list[ev.LifeDate]] = defaultdict(list)
    for said in near.statements:
        if isinstance(said, ev.LifeDate):
            lives[said.person].append(said)
    shown = {s.id for s in own}
    own_people = {p for s in own if isinstance(s, ev.Appearance) for p in say.about(s.id)}
    ages: dict[str, list[ev.Statement]] = defaultdict(list)
    for said in own:
        if isinstance(said, ev.Age):
            ages[said.appearance].append(said)
    for said in own:
        if isinstance(said, ev.Age):
            continue
        yield said
        if isinstance(said, ev.Appearance):
            yield from ages[said.id]
            for life in lives.get(said.person or "", ()):
                bounds = life.event in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH)
                if life.id not in shown and (bounds or life.id in aside):
                    shown.add(life.id)
                    yield life
    for said in near.statements:
        far = said.id not in shown and said.id not in aside and not isinstance(said, ev.Made)
        if far and not own_people.isdisjoint(say.about(said.id)) and what_if.moves(said.id) >= NOTABLE:
            yield said


def _part(said: ev.Statement, aside: bool, what_if: _WhatIf, say: Sentences) -> Part:
    without = None if aside else what_if.without(said.id)
    effect = "The rest does not fit with it." if aside else _effect(said, what_if)
    return Part(said.id, kind_of(said), say.opening(said.id), str(said.trust), said.informant, aside, without, effect)


def _effect(said: ev.Statement, what_if: _WhatIf) -> str:
    if isinstance(said, ev.Appearance) and said.person and not said.denied and said.id in what_if.contested:
        return "Somebody says that it is not, so the name bears on nothing."
    supported = what_if.supported
    without = _range(what_if.without(said.id), supported)
    if what_if.moves(said.id) < NOTABLE or without == _range(what_if.present, supported):
        return "It changes little here."
    return f"Without it: {without}."


def _shown(estimate: Estimate) -> tuple[int, int]:
    """The range a reader is told: the likely one, or the possible one where nothing is likely."""
    if estimate.likely_from is None or estimate.likely_to is None:
        return estimate.earliest, estimate.latest
    return estimate.likely_from, estimate.likely_to


def _range(estimate: Estimate, supported: set[int]) -> str:
    if estimate.state is State.OPEN or estimate.likely_from is None:
        return f"any time from {_day(estimate.earliest, supported)} to {_day(estimate.latest, supported)}"
    first, last = (year_of(day) for day in _shown(estimate))
    return f"{first}" if first == last else f"between {first} and {last}"


def _day(day: int, supported: set[int]) -> str:
    """Month and year when a statement gives that much, otherwise the year."""
    return f"{date.fromordinal(day):%B %Y}" if day in supported else str(year_of(day))


def _text(estimate: Estimate, parts: tuple[Part, ...], what_if: _WhatIf, say: Sentences) -> str:
    """The paragraph: the date, what it mostly rests on, and what it would be without the weightiest statement."""
    head = when(estimate)
    sentences = [head[:1].upper() + head[1:] + "."]
    told = [p for p in parts if not p.aside]
    if estimate.state is State.OPEN:
        sentences.append("Nothing said about it bears on its date yet.")
        return " ".join(sentences)
    why = list(_because(told, what_if, say))
    if why:
        sentences.append(_join(why) + ".")
    sentences += _counterfactual(told, what_if, say)
    return " ".join(sentences)


def _because(parts: list[Part], what_if: _WhatIf, say: Sentences) -> Iterator[str]:
    """The weightiest statements as clauses, each person once."""
    weight = {p.id: what_if.moves(p.id) for p in parts}
    lives: dict[str, list[str]] = defaultdict(list)
    ranked: list[tuple[int, str]] = []
    for part in parts:
        person = _whose(say.statements[part.id], say)
        if person is not None:
            lives[person].append(part.id)
        elif weight[part.id] >= NOTABLE:
            ranked.append((weight[part.id], say.sentence(part.id)))
    for person, ids in lives.items():
        ranked.append((max(weight[i] for i in ids), _person_clause(person, ids, weight, say)))
    ranked.sort(key=lambda pair: -pair[0])
    yield from (clause for _, clause in ranked[:MOST_CLAUSES] if clause)


def _whose(said: ev.Statement, say: Sentences) -> str | None:
    """Whose life or looks a statement is about; None when it is about something else."""
    match said:
        case ev.LifeDate(event=ev.LifeEvent.BIRTH | ev.LifeEvent.DEATH) | ev.Age() | ev.Appearance(denied=False):
            return next(iter(say.about(said.id)), None)
    return None


def _person_clause(person: str, ids: list[str], weight: dict[str, int], say: Sentences) -> str:
    """ "Ada Marsh was born on 2 May 1917 and looks 6 to 8"; "" when nothing of it matters."""
    said = [say.statements[i] for i in ids]
    ages = [s for s in said if isinstance(s, ev.Age)]
    lives = [s for s in said if isinstance(s, ev.LifeDate)]
    born = [
        f"was born {on(s.date)}" for s in lives if s.event is ev.LifeEvent.BIRTH and (ages or weight[s.id] >= NOTABLE)
    ]
    died = [f"died {on(s.date)}" for s in lives if s.event is ev.LifeEvent.DEATH and weight[s.id] >= NOTABLE]
    clauses = [*born, *_ages(ages), *died]
    return f"{say.name(person)} {_and(clauses)}" if clauses else ""


def _ages(said: list[ev.Age]) -> Iterator[str]:
    """ "looks 6 to 8 or 7": what several people judge or know, each basis once."""
    for basis, verb in ((ev.AgeBasis.APPARENT, "looks"), (ev.AgeBasis.STATED, "is said to be")):
        ages = dict.fromkeys(age_words(s.low, s.high) for s in said if s.basis is basis)
        if ages:
            yield f"{verb} {' or '.join(ages)}"


def _counterfactual(parts: list[Part], what_if: _WhatIf, say: Sentences) -> Iterator[str]:
    """ "Without her age it could be any time from May 1917 to November 1926." """
    moving = [p for p in parts if what_if.moves(p.id) >= NOTABLE]
    said = [
        p
        for p in moving
        if isinstance(say.statements[p.id], ev.Age | ev.DateClaim | ev.EventClaim | ev.Made | ev.Relation)
    ]
    best = max(said or moving, key=lambda p: what_if.moves(p.id), default=None)
    if best is None:
        return
    other = what_if.without(best.id)
    supported = what_if.supported
    possible = replace(other, state=State.OPEN, likely_from=None, likely_to=None, best=None)
    yield f"Without {_called(best, say)} it could be {_range(possible, supported)}."


def _called(part: Part, say: Sentences) -> str:
    """What a statement is called in passing."""
    said = say.statements[part.id]
    match said:
        case ev.Age():
            people = say.about(said.id)
            return f"{_possessive(say.name(people[0] if people else None))} age"
        case ev.Appearance():
            return say.name(said.person)
        case ev.LifeDate():
            return f"the {said.event} of {say.name(said.person)}"
        case ev.DateClaim():
            names = {ev.Claim.TAKEN: "what was said of when it was taken", ev.Claim.WRITTEN: "what was written"}
            return names.get(said.claim, f"the {said.claim.replace('-', ' ')}")
        case ev.EventClaim():
            return say.event(said.event)
        case ev.Made():
            return f"the {said.what}"
        case ev.Relation():
            return f"the tie to {said.other}"
    return "that"


def _laws(estimate: Estimate, parts: tuple[Part, ...]) -> tuple[str, ...]:
    """The laws at work, in words."""
    kinds = {p.kind for p in parts if not p.aside}
    laws = []
    if "appearance" in kinds:
        laws.append("nobody is photographed before birth or alive after death")
    if estimate.state is State.OPEN:
        laws.append("a photograph is not older than photography, nor younger than its first scan")
    return tuple(laws)


def _possessive(name: str) -> str:
    return f"{name}'" if name.endswith("s") else f"{name}'s"


def _and(clauses: list[str]) -> str:
    return clauses[0] if len(clauses) == 1 else f"{', '.join(clauses[:-1])} and {clauses[-1]}"


def _join(clauses: Iterable[str]) -> str:
    text = "; ".join(clauses)
    return text[:1].upper() + text[1:]

"""Why a photograph is dated as it is, in words: what each statement contributes, and the range without it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.contributions import (
    NOTABLE,
    Contribution,
    WhatIf,
    far_that_matter,
    is_own,
    own_in_order,
    range_words,
    weighed,
)
from kinphoto.archive.dates.estimates import DatedPhotograph, estimates, find_dated, read_settlement, refresh
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.words.dates import one_of, when
from kinphoto.archive.words.sentences import Sentences, age_words, on
from kinphoto.phrases import listed, opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Estimate, State

if TYPE_CHECKING:
    from kinphoto.archive import Archive

MOST_CLUES = 5
"""Clues that a reader is given; what else was said is counted."""
CANDIDATES = 12
"""Clues that are tried beside those that matter by themselves, weightiest first."""


@dataclass(frozen=True, slots=True)
class Clue:
    """Statements that make one point: somebody's name, life and looks, or an event and its date.

    `effect` says what the date would be without them.
    """

    statements: tuple[str, ...]
    text: str
    effect: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """One photograph's estimate in words: the few clues that matter, weightiest first, the statements by themselves,
    the laws that bound it, and the conflicts it is part of.

    `parts` are all statements, or those alone that are set aside or that somebody denies; `others` counts those that
    are neither there nor in a clue.
    """

    dated: DatedPhotograph
    text: str
    clues: tuple[Clue, ...]
    parts: tuple[Contribution, ...]
    others: int
    laws: tuple[str, ...]
    conflicts: tuple[str, ...]


def explain(archive: Archive, photograph: str, *, everything: bool = True) -> Explanation:
    """Explain one photograph; without `everything` only by what matters, which is quicker. Raises NotFoundError or
    AmbiguousError when it cannot be told which."""
    refresh(archive)
    with archive.reading() as connection:
        wanted = find_dated(connection, photograph)
        dated = estimates(connection, [wanted])[wanted]
        settled, around = read_settlement(connection), near(connection, wanted)
        namesakes = named_apart(connection, {p.id for p in around.gathered.people})
    code, evidence, aside = dated.code, around.evidence, frozenset(settled.aside)
    what_if = WhatIf(evidence.without(aside), code, dated.estimate, around.births)
    say = Sentences(around.gathered, namesakes)
    own = [s for s in evidence.statements if is_own(s, code, say)]
    told = [*own_in_order(own, evidence, aside), *far_that_matter(own, evidence, what_if, aside, say)]
    conflicts = tuple(c.id for c in settled.conflicts if code in c.photographs)
    standing = [s for s in told if s.id not in aside and s.id not in what_if.contested]
    clues = [] if dated.estimate.state is State.OPEN else list(_clues(standing, what_if, say))
    text = _text(dated.estimate, clues, what_if, say)
    shown = told if everything else [s for s in told if s.id in aside or s.id in what_if.contested]
    parts = tuple(weighed(s, s.id in aside, what_if, say) for s in shown)
    others = {s.id for s in told} - {s.id for s in shown} - {each for clue in clues for each in clue.statements}
    return Explanation(dated, text, tuple(clues), parts, len(others), _laws(dated.estimate, standing), conflicts)


def _text(estimate: Estimate, clues: list[Clue], what_if: WhatIf, say: Sentences) -> str:
    """The paragraph: the date, what it mostly rests on, and what it would be without the weightiest statement."""
    sentences = [opening(when(estimate)) + "."]
    if estimate.state is State.OPEN:
        sentences.append("Nothing said about it bears on its date yet.")
        return " ".join(sentences)
    if clues:
        sentences.append("; ".join(clue.text for clue in clues) + ".")
    if one_of(estimate.edtf):
        sentences.append("Nothing else that is known tells which.")
    else:
        sentences += _counterfactual([say.statements[each] for clue in clues for each in clue.statements], what_if, say)
    return " ".join(sentences)


def _clues(standing: Sequence[ev.Statement], what_if: WhatIf, say: Sentences) -> Iterator[Clue]:
    """The few clues that matter, as clauses, weightiest first."""
    told: dict[str, list[str]] = defaultdict(list)
    for said in standing:
        told[_point(said, say)].append(said.id)
    for at, ids in enumerate(that_matter([tuple(ids) for ids in told.values()], what_if)):
        clause = _clause(ids, what_if, say)
        text = opening(clause) if at == 0 else clause
        yield Clue(ids, text, f"Without it: {range_words(what_if.without(*ids), what_if.supported)}.")


def that_matter(clues: Sequence[tuple[str, ...]], what_if: WhatIf) -> list[tuple[str, ...]]:
    """Of clues (the ids of their statements) those that a reader needs, weightiest first, at most MOST_CLUES.

    First those without which the range would be another. Where two say the same, neither is missed as long as there is
    the other: so whichever brings the range nearest to what it is comes next, until these alone give about that range.
    """
    weight = {ids: what_if.moves(*ids) for ids in clues}
    ranked = sorted(clues, key=lambda ids: -weight[ids])
    chosen = [ids for ids in ranked if weight[ids] >= NOTABLE][:MOST_CLUES]
    rest = [ids for ids in ranked if ids not in chosen]

    def apart(some: list[tuple[str, ...]]) -> int:
        left_out = [s for ids in clues if ids not in some for s in ids]
        return what_if.moves(*left_out) if left_out else 0

    while rest and len(chosen) < MOST_CLUES and (now := apart(chosen)) >= NOTABLE:
        nearest, best = min(((apart([*chosen, ids]), ids) for ids in rest[:CANDIDATES]), key=lambda pair: pair[0])
        if nearest >= now:
            break
        chosen.append(best)
        rest.remove(best)
    return chosen


def _point(said: ev.Statement, say: Sentences) -> str:
    """What a statement makes its point with: a person, an event, or itself."""
    if isinstance(said, ev.EventClaim | ev.EventDate):
        return said.event
    return _whose(said, say) or said.id


def _clause(ids: Sequence[str], what_if: WhatIf, say: Sentences) -> str:
    """One clue in words; of somebody's life and looks only what matters."""
    first = say.statements[ids[0]]
    person = _whose(first, say)
    if person is None:
        return "; ".join(say.sentence(each) for each in ids)
    weight = {each: what_if.moves(each) for each in ids}
    return _person_clause(person, ids, weight, say) or say.sentence(ids[0])


def _whose(said: ev.Statement, say: Sentences) -> str | None:
    """Whose life or looks a statement is about; None when it is about something else."""
    match said:
        case ev.LifeDate(event=ev.LifeEvent.BIRTH | ev.LifeEvent.DEATH) | ev.Age() | ev.Appearance(denied=False):
            return next(iter(say.about(said.id)), None)
    return None


def _person_clause(person: str, ids: Sequence[str], weight: dict[str, int], say: Sentences) -> str:
    """ "Ada Marsh was born on 2 May 1917 and looks 6 to 8"; "" when nothing of it matters."""
    said = [say.statements[i] for i in ids]
    ages = [s for s in said if isinstance(s, ev.Age)]
    lives = [s for s in said if isinstance(s, ev.LifeDate)]
    born = [
        f"was born {on(s.date)}" for s in lives if s.event is ev.LifeEvent.BIRTH and (ages or weight[s.id] >= NOTABLE)
    ]
    died = [f"died {on(s.date)}" for s in lives if s.event is ev.LifeEvent.DEATH and weight[s.id] >= NOTABLE]
    clauses = [*born, *_ages(ages), *died]
    return f"{say.name(person)} {listed(clauses)}" if clauses else ""


def _ages(said: list[ev.Age]) -> Iterator[str]:
    """ "looks 6 to 8 or 7": what several people judge or know, each basis once."""
    for basis, verb in ((ev.AgeBasis.APPARENT, "looks"), (ev.AgeBasis.STATED, "is said to be")):
        ages = dict.fromkeys(age_words(s.low, s.high) for s in said if s.basis is basis)
        if ages:
            yield f"{verb} {' or '.join(ages)}"


def _counterfactual(told: Sequence[ev.Statement], what_if: WhatIf, say: Sentences) -> Iterator[str]:
    """ "Without her age it could be any time from May 1917 to November 1926." """
    moving = [s for s in told if what_if.moves(s.id) >= NOTABLE]
    said = [s for s in moving if isinstance(s, ev.Age | ev.DateClaim | ev.EventClaim | ev.Made | ev.Relation)]
    best = max(said or moving, key=lambda s: what_if.moves(s.id), default=None)
    if best is None:
        return
    other = what_if.without(best.id)
    supported = what_if.supported
    possible = replace(other, state=State.OPEN, likely_from=None, likely_to=None, best=None)
    yield f"Without {_called(best, say)} it could be {range_words(possible, supported)}."


def _called(said: ev.Statement, say: Sentences) -> str:
    """What a statement is called in passing."""
    match said:
        case ev.Age():
            people = say.about(said.id)
            return _age_of(say.name(people[0] if people else None))
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


def _laws(estimate: Estimate, standing: Sequence[ev.Statement]) -> tuple[str, ...]:
    """The laws at work, in words."""
    laws = []
    if any(isinstance(s, ev.Appearance) for s in standing):
        laws.append("nobody is photographed before birth or alive after death")
    if estimate.state is State.OPEN:
        laws.append("a photograph is not older than photography, nor younger than its first scan")
    return tuple(laws)


def _age_of(name: str) -> str:
    """ "Ada Marsh's age", "the age of Ada Marsh (1850 to 1920)"."""
    if name.endswith(")"):
        return f"the age of {name}"
    return f"{name}' age" if name.endswith("s") else f"{name}'s age"

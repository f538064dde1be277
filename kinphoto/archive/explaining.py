"""Why a photograph is dated as it is, in words: what each statement contributes, and the range without it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kinphoto.archive.closeup import near
from kinphoto.archive.dating import DatedPhotograph, estimates, find_dated, read_settlement, refresh
from kinphoto.archive.parts import (
    NOTABLE,
    Part,
    WhatIf,
    far_that_matter,
    is_own,
    own_in_order,
    range_words,
    weighed,
)
from kinphoto.archive.sentences import Sentences, age_words, on
from kinphoto.archive.wording import when
from kinphoto.phrases import listed
from kinphoto.reason import evidence as ev
from kinphoto.reason.findings import Estimate, State

if TYPE_CHECKING:
    from kinphoto.archive import Archive

MOST_CLAUSES = 4  # reasons the paragraph gives; the list below it has them all


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
        settled, around = read_settlement(connection), near(connection, wanted)
    code, evidence, aside = dated.code, around.evidence, frozenset(settled.aside)
    what_if = WhatIf(evidence.without(aside), code, dated.estimate)
    say = Sentences(around.gathered)
    own = [s for s in evidence.statements if is_own(s, code, say)]
    told = [*own_in_order(own, evidence, aside), *far_that_matter(own, evidence, what_if, aside, say)]
    parts = tuple(weighed(s, s.id in aside, what_if, say) for s in told)
    conflicts = tuple(c.id for c in settled.conflicts if code in c.photographs)
    return Explanation(
        dated, _text(dated.estimate, parts, what_if, say), parts, _laws(dated.estimate, parts), conflicts
    )


def _text(estimate: Estimate, parts: tuple[Part, ...], what_if: WhatIf, say: Sentences) -> str:
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


def _because(parts: list[Part], what_if: WhatIf, say: Sentences) -> Iterator[str]:
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
    return f"{say.name(person)} {listed(clauses)}" if clauses else ""


def _ages(said: list[ev.Age]) -> Iterator[str]:
    """ "looks 6 to 8 or 7": what several people judge or know, each basis once."""
    for basis, verb in ((ev.AgeBasis.APPARENT, "looks"), (ev.AgeBasis.STATED, "is said to be")):
        ages = dict.fromkeys(age_words(s.low, s.high) for s in said if s.basis is basis)
        if ages:
            yield f"{verb} {' or '.join(ages)}"


def _counterfactual(parts: list[Part], what_if: WhatIf, say: Sentences) -> Iterator[str]:
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
    yield f"Without {_called(best, say)} it could be {range_words(possible, supported)}."


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


def _join(clauses: Iterable[str]) -> str:
    text = "; ".join(clauses)
    return text[:1].upper() + text[1:]

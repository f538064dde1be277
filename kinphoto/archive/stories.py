"""What does not fit together, told as short stories: a question, the statements side by side, and the ways out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kinphoto.archive.dating import read_settlement, refresh
from kinphoto.archive.gathering import gather
from kinphoto.archive.sentences import EVENT_WORDS, Sentences
from kinphoto.reason import evidence as ev
from kinphoto.reason.findings import Conflict

if TYPE_CHECKING:
    from kinphoto.archive import Archive


LONGEST_WAY = 2
"""A way out that sets more statements aside than this is no advice to a reader (scripts get them all)."""


@dataclass(frozen=True, slots=True)
class Told:
    """One statement in words."""

    id: str
    kind: str
    text: str
    trust: str
    informant: str | None


@dataclass(frozen=True, slots=True)
class Story:
    """One conflict: `headline` is the question it raises, `advice` says what could be set aside."""

    id: str
    headline: str
    statements: tuple[Told, ...]
    advice: str
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    aside: tuple[str, ...]
    ways_out: tuple[tuple[str, ...], ...]
    tie: bool


@dataclass(frozen=True, slots=True)
class Surprise:
    """An appearance that is possible but unlikely: its judged age hardly fits."""

    photograph: str
    person: str
    statement: str
    probability: float
    text: str


@dataclass(frozen=True, slots=True)
class StoryBook:
    """Everything that does not fit together, and what is set aside so that the rest does."""

    stories: tuple[Story, ...]
    aside: tuple[str, ...]
    unlikely: tuple[Surprise, ...]
    expected_false_alarms: float


def conflicts(archive: Archive) -> StoryBook:
    """The conflicts of the whole archive as stories."""
    refresh(archive)
    with archive.reading() as connection:
        settled, evidence = read_settlement(connection), gather(connection)
    say = Sentences(evidence)
    surprises = tuple(
        Surprise(u.photograph, u.person, u.statement, u.probability, _surprise(say, u.statement))
        for u in settled.unlikely
    )
    stories = tuple(tell(say, conflict) for conflict in settled.conflicts)
    return StoryBook(stories, settled.aside, surprises, settled.expected_false_alarms)


def tell(say: Sentences, conflict: Conflict) -> Story:
    """One conflict as a story."""
    return Story(
        id=conflict.id,
        headline=_question(say, conflict.aside[0] if conflict.aside else conflict.statements[0]),
        statements=tuple(told(say, s) for s in conflict.statements),
        advice=_advice(say, conflict),
        photographs=conflict.photographs,
        people=conflict.people,
        aside=conflict.aside,
        ways_out=conflict.ways_out,
        tie=conflict.tie,
    )


def told(say: Sentences, statement_id: str) -> Told:
    """One statement in words, with its kind and trust."""
    said = say.statements[statement_id]
    return Told(said.id, kind_of(said), say.opening(said.id), str(said.trust), said.informant)


def kind_of(said: ev.Statement) -> str:
    """The kind of a statement as scripts read it: `appearance`, `stated-age`, `inscription`, `birth` ..."""
    match said:
        case ev.Age():
            return f"{said.basis}-age"
        case ev.DateClaim():
            return str(said.claim)
        case ev.Made():
            return said.what
        case ev.Relation():
            return str(said.related)
        case ev.LifeDate():
            return str(said.event)
        case ev.Appearance():
            return "appearance"
        case ev.EventClaim():
            return "event"
        case ev.EventDate():
            return "event-date"
        case ev.ParentLink():
            return "parent-link"
        case ev.Marriage():
            return "marriage"
    raise TypeError(f"no name for the kind {type(said).__name__}")


def _question(say: Sentences, statement_id: str) -> str:
    """What somebody would ask about this statement."""
    said = say.statements[statement_id]
    match said:
        case ev.Appearance():
            return f"Is that {say.name(said.person)} in {said.photograph}?"
        case ev.Age():
            return f"How old was {', '.join(say.name(p) for p in say.about(said.id))} in {say.photographs(said.id)[0]}?"
        case ev.LifeDate():
            verb = {"birth": "born", "christening": "christened", "burial": "buried"}.get(said.event)
            return f"When was {say.name(said.person)} {verb}?" if verb else f"When did {say.name(said.person)} die?"
        case ev.EventDate():
            return f"When was {say.event(said.event)}?"
        case ev.ParentLink():
            parent = {"F": "mother", "M": "father"}.get(said.parent_sex, "parent")
            return f"Who was the {parent} of {say.name(said.child)}?"
        case ev.Marriage():
            return f"Did {' and '.join(say.name(p) for p in said.spouses)} marry?"
        case ev.DateClaim():
            return f"When was {said.photograph} taken?"
        case ev.EventClaim():
            return f"Is {EVENT_WORDS.get(said.event.partition(':')[2], 'that event')} shown in {said.photograph}?"
        case ev.Made():
            return f"What kind of picture is {said.photograph}?"
        case ev.Relation():
            return f"How do {said.photograph} and {said.other} hang together?"
    raise TypeError(f"no question for the kind {type(said).__name__}")


def _advice(say: Sentences, conflict: Conflict) -> str:
    """The ways out in words, the best first."""
    ways = conflict.ways_out or ((conflict.aside,) if conflict.aside else ())
    if not ways:
        return "These cannot all be true."
    short = [way for way in ways if len(way) <= LONGEST_WAY] or list(ways[:1])
    told = [_way(say, way) for way in short[:3]]
    if conflict.tie and len(told) > 1:
        start = f"They cannot all be true, and nothing here tells which: set aside either {' or '.join(told)}."
    elif len(told) > 1:
        start = f"They cannot all be true. Set aside for now: {told[0]}. It could also be {' or '.join(told[1:])}."
    else:
        start = f"They cannot all be true. Set aside for now: {told[0]}."
    touches = [s for way in ways[:1] for s in way if isinstance(say.statements[s], ev.ParentLink)]
    quiet = " This touches who somebody's parents were: look at it alone first." if touches else ""
    return start + quiet


def _way(say: Sentences, way: tuple[str, ...]) -> str:
    return " and ".join(f"that {say.sentence(s)} [{s}]" for s in way)


def _surprise(say: Sentences, statement_id: str) -> str:
    return f"{say.sentence(statement_id)}, which hardly fits everything else known"

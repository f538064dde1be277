"""What does not fit together, told as short stories: a question, the statements side by side, and the ways out.

The stories are told once, when the conflicts are found, and kept in words: so that they can be read at once, without
gathering what the whole archive knows.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from kinphoto.archive.words.sentences import EVENT_WORDS, Sentences, on
from kinphoto.archive.words.ways_out import Way, advice, ways
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict, Findings
from kinphoto.store import tables as t

_KEY = "stories"


@dataclass(frozen=True, slots=True)
class StatementInWords:
    """One statement in words."""

    id: str
    kind: str
    text: str
    trust: str
    informant: str | None


@dataclass(frozen=True, slots=True)
class Story:
    """One conflict: `headline` is the question it raises, `ways` the ways out in words, `advice` all of them in one
    paragraph."""

    id: str
    headline: str
    statements: tuple[StatementInWords, ...]
    advice: str
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    aside: tuple[str, ...]
    ways_out: tuple[tuple[str, ...], ...]
    tie: bool
    ways: tuple[Way, ...]


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
    """Everything that does not fit together, and what is set aside so that the rest does.

    `current` is False when something was changed since the conflicts were found.
    """

    stories: tuple[Story, ...]
    aside: tuple[str, ...]
    unlikely: tuple[Surprise, ...]
    expected_false_alarms: float
    current: bool = True


def people_named(evidence: ev.Evidence, findings: Findings) -> set[str]:
    """The people (codes) whom the stories of these findings name."""
    say = Sentences(evidence)
    named = {s for c in findings.conflicts for some in (c.statements, *c.ways_out) for s in some}
    named |= {u.statement for u in findings.unlikely}
    return {person for each in named for person in (*say.about(each), *_at_event(say, each))}


def _at_event(say: Sentences, statement_id: str) -> Sequence[str]:
    """The couple of an event that a photograph shows."""
    said = say.statements[statement_id]
    return say.spouses.get(said.event, ()) if isinstance(said, ev.EventClaim) else ()


def book(evidence: ev.Evidence, findings: Findings, namesakes: Mapping[str, str] | None = None) -> StoryBook:
    """What was found in this evidence, in words; `namesakes` tell people of one name apart."""
    say = Sentences(evidence, namesakes)
    surprises = tuple(
        Surprise(u.photograph, u.person, u.statement, u.probability, _surprise(say, u.statement))
        for u in findings.unlikely
    )
    stories = tuple(tell(say, conflict) for conflict in findings.conflicts)
    return StoryBook(stories, findings.aside, surprises, findings.expected_false_alarms)


def keep(connection: Connection, stories: StoryBook) -> None:
    """Keep the stories for reading, in place of those kept before."""
    connection.execute(delete(t.setting).where(t.setting.c.key == _KEY))
    connection.execute(insert(t.setting).values(key=_KEY, value=json.dumps(asdict(stories))))


def kept(connection: Connection) -> StoryBook:
    """The stories as they were kept last; whether they are `current` is the caller's to know."""
    found = connection.scalar(select(t.setting.c.value).where(t.setting.c.key == _KEY))
    told = json.loads(found) if found else asdict(StoryBook((), (), (), 0.0))
    return StoryBook(
        tuple(_story(one) for one in told["stories"]),
        tuple(told["aside"]),
        tuple(Surprise(**one) for one in told["unlikely"]),
        told["expected_false_alarms"],
    )


def _story(told: dict[str, Any]) -> Story:
    """A story from its JSON, which has no tuples."""
    lists = {key: tuple(told[key]) for key in ("photographs", "people", "aside")}
    inner = {
        "statements": tuple(StatementInWords(**one) for one in told["statements"]),
        "ways_out": tuple(tuple(way) for way in told["ways_out"]),
        "ways": tuple(Way(**(way | {"statements": tuple(way["statements"])})) for way in told["ways"]),
    }
    return Story(**(told | lists | inner))


def tell(say: Sentences, conflict: Conflict) -> Story:
    """One conflict as a story."""
    found = ways(say, conflict)
    return Story(
        id=conflict.id,
        headline=_question(say, conflict.aside[0] if conflict.aside else conflict.statements[0]),
        statements=tuple(told(say, s) for s in conflict.statements),
        advice=advice(found),
        photographs=conflict.photographs,
        people=conflict.people,
        aside=conflict.aside,
        ways_out=conflict.ways_out,
        tie=conflict.tie,
        ways=found,
    )


def told(say: Sentences, statement_id: str) -> StatementInWords:
    """One statement in words, with its kind and trust."""
    said = say.statements[statement_id]
    return StatementInWords(said.id, kind_of(said), say.opening(said.id), str(said.trust), said.informant)


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
            if said.event is ev.LifeEvent.ALIVE:
                return f"Was {say.name(said.person)} alive {on(said.date)}?"
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


def _surprise(say: Sentences, statement_id: str) -> str:
    return f"{say.sentence(statement_id)}, which hardly fits everything else known"

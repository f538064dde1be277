"""What does not fit together, told as short stories: a question, the statements side by side, and the ways out.

The stories are told once, when the conflicts are found, and kept in words: so that they can be read at once, without
gathering what the whole archive knows.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Annotated, Any

from sqlalchemy import Connection, delete, insert, select

from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import Sentences
from kinphoto.archive.words.ways_out import Way, advice, ways
from kinphoto.documents import Key
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict, Findings
from kinphoto.store import tables as t

_KEY = "stories"


@dataclass(frozen=True, slots=True)
class StatementInWords:
    """One statement in words."""

    id: Annotated[str, "the statement's id; of the tree `E5` a date, `L9` a parent link, `M3` a marriage"]
    kind: Annotated[str, "as in `explain`"]
    text: Annotated[str, "the statement as a sentence"]
    trust: Annotated[str, "`certain`, `strong`, `fair` or `weak`, for the tree by the quality mark of its source"]
    informant: Annotated[str | None, "who said it, or null"]


@dataclass(frozen=True, slots=True)
class Story:
    """One conflict as a short story."""

    id: Annotated[str, "the conflict's id, which depends on its statements alone"]
    headline: Annotated[str, "the question it raises"]
    statements: Annotated[
        tuple[StatementInWords, ...], "the statements that cannot all be true: take any one away and the rest can"
    ]
    advice: Annotated[str, "all ways out in one paragraph"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs concerned"]
    people: Annotated[tuple[str, ...], "ids of the people concerned"]
    aside: Annotated[tuple[str, ...], "those of them that are set aside"]
    ways_out: Annotated[tuple[tuple[str, ...], ...], "other sets that would settle this conflict, cheapest first"]
    tie: Annotated[bool, "true when nothing tells the best ways out apart"]
    ways: Annotated[tuple[Way, ...], "the ways out in words"]


@dataclass(frozen=True, slots=True)
class Surprise:
    """An appearance that is possible but unlikely: its judged age hardly fits."""

    photograph: Annotated[str, "a photograph with a judged age that hardly fits"]
    person: Annotated[str, "whose age"]
    statement: Annotated[str, "the judgement's id"]
    probability: Annotated[float, "the chance that the judgement has nothing to do with the age"]
    text: Annotated[str, "the same in words"]


@dataclass(frozen=True, slots=True)
class StoryBook:
    """Everything that does not fit together, and what is set aside so that the rest does."""

    stories: Annotated[tuple[Story, ...], Key("conflicts")]
    aside: Annotated[tuple[str, ...], "the least costly set of statements whose removal settles every conflict"]
    unlikely: tuple[Surprise, ...]
    expected_false_alarms: Annotated[float, "how many of the unlikely ones are expected to be right after all"]
    current: Annotated[bool, "false when something was changed since the conflicts were found"] = True


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
    return StatementInWords(said.id, said.kind, say.opening(said.id), str(said.trust), said.informant)


def _question(say: Sentences, statement_id: str) -> str:
    """What somebody would ask about this statement."""
    said = say.statements[statement_id]
    return say.fill(words_of(said).question, said)


def _surprise(say: Sentences, statement_id: str) -> str:
    return f"{say.sentence(statement_id)}, which hardly fits everything else known"

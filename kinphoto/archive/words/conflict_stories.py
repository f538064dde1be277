"""Conflicts as short stories: a question, the statements side by side, and the ways out.

The stories are written once, when the conflicts are found, and kept as words, so that a page can show them without
gathering the evidence of the whole archive.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any

from kinphoto.archive.words.dates import years_from_to
from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import Sentences
from kinphoto.archive.words.ways_out import Way, advice, ways
from kinphoto.documents import Key, read_json
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict, Findings, OutOfPlace
from kinphoto.reason.model.span import iso

_UNLIKELY = "which hardly fits the rest"


@dataclass(frozen=True, slots=True)
class StatementInWords:
    """One statement in words."""

    id: Annotated[str, "the statement's id; of the tree `E5` a date, `L9` a parent link, `M3` a marriage"]
    kind: Annotated[str, "as in `explain`"]
    text: Annotated[str, "the statement as a sentence"]
    trust: Annotated[str, "`certain`, `strong`, `fair` or `weak`, for the tree by the quality mark of its source"]
    informant: Annotated[str | None, "who said it, or null"]


@dataclass(frozen=True, slots=True)
class ConflictStory:
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
    tie: Annotated[bool, "true when the best ways out are equally good"]
    ways: Annotated[tuple[Way, ...], "the ways out in words"]


@dataclass(frozen=True, slots=True)
class Surprise:
    """An appearance that is possible but unlikely: its judged age hardly fits."""

    photograph: Annotated[str, "a photograph with a judged age that hardly fits"]
    person: Annotated[str, "whose age"]
    statement: Annotated[str, "the judgement's id"]
    probability: Annotated[float, "the chance that the age was judged carelessly"]
    text: Annotated[str, "the same in words"]


@dataclass(frozen=True, slots=True)
class Misplaced:
    """A photograph that is possible but unlikely where it is kept, or on its strip of film: it is of another time than
    the others there."""

    photograph: Annotated[
        str, "a photograph that is of another time than the others in its container or on its strip of film"
    ]
    container: Annotated[int | None, "the container's number, for programs; null for its strip of film"]
    container_name: Annotated[str, "its name; empty for a strip"]
    probability: Annotated[
        float, "the chance that it does not belong there; before anything is known 0.05, of a strip by its trust"
    ]
    own_from: Annotated[str, "by what is known of itself: start of the shortest interval that holds 90 %"]
    own_to: Annotated[str, "end of that interval"]
    others_from: Annotated[str, "by the others there: start of that interval for one more photograph"]
    others_to: Annotated[str, "end of that interval"]
    text: Annotated[str, "the same in words"]


@dataclass(frozen=True, slots=True)
class StoryBook:
    """All conflicts, and what is set aside so that the rest fits together."""

    stories: Annotated[tuple[ConflictStory, ...], Key("conflicts")]
    aside: Annotated[tuple[str, ...], "the least costly set of statements whose removal settles every conflict"]
    unlikely: tuple[Surprise, ...]
    expected_false_alarms: Annotated[float, "how many of the unlikely ones are expected to be right after all"]
    out_of_place: tuple[Misplaced, ...] = ()
    current: Annotated[bool, "false when something was changed since the conflicts were found"] = True


def people_named(evidence: ev.Evidence, findings: Findings) -> set[str]:
    """The people (codes) named in the stories of these findings."""
    say = Sentences(evidence)
    named = {s for c in findings.conflicts for some in (c.statements, *c.ways_out) for s in some}
    named |= {u.statement for u in findings.unlikely}
    couples = (say.spouses.get(s.event, ()) for s in map(say.statements.get, named) if isinstance(s, ev.EventClaim))
    return {person for each in named for person in say.about(each)}.union(*couples)


def book(
    evidence: ev.Evidence, findings: Findings, namesakes: Mapping[str, str] | None = None,
    containers: Mapping[int, str] | None = None,
) -> StoryBook:  # fmt: skip
    """The findings in words; `namesakes` has longer names for people who share theirs, `containers` the names of the
    containers (by row id)."""
    say = Sentences(evidence, namesakes)
    surprises = tuple(
        Surprise(u.photograph, u.person, u.statement, u.probability, f"{say.sentence(u.statement)}, {_UNLIKELY}")
        for u in findings.unlikely
    )
    stories = tuple(story_of(say, conflict) for conflict in findings.conflicts)
    misplaced = tuple(_misplaced(one, containers or {}) for one in findings.out_of_place)
    return StoryBook(stories, findings.aside, surprises, findings.expected_false_alarms, misplaced)


def _misplaced(one: OutOfPlace, containers: Mapping[int, str]) -> Misplaced:
    number = None if one.container is None else int(one.container[1:])
    name = "" if number is None else containers.get(number, "")
    there = f"named {one.theme} in {name}" if one.theme else f"in {name}"
    what = "the rest of its strip of film" if number is None else f"what else is {there}"
    own, others = years_from_to(one.own_from, one.own_to), years_from_to(one.others_from, one.others_to)
    text = f"on its own evidence it is from {own}, but {what} is likely from {others}"
    return Misplaced(
        one.photograph, number, name, round(one.probability, 3), iso(one.own_from) or "", iso(one.own_to) or "",
        iso(one.others_from) or "", iso(one.others_to) or "", text,
    )  # fmt: skip


@lru_cache(maxsize=2)
def from_json(text: str | None) -> StoryBook:
    """The stories from the JSON they are kept as; None is none. The caller knows whether they are still `current`."""
    if text is None:
        return StoryBook((), (), (), 0.0)
    book = read_json(text)
    stories, unlikely = map(_story, book["stories"]), (Surprise(**one) for one in book["unlikely"])
    misplaced = tuple(Misplaced(**one) for one in book.get("out_of_place", ()))
    return StoryBook(**(book | {"stories": tuple(stories), "unlikely": tuple(unlikely), "out_of_place": misplaced}))


def _story(row: dict[str, Any]) -> ConflictStory:
    statements = tuple(StatementInWords(**one) for one in row["statements"])
    return ConflictStory(**(row | {"statements": statements, "ways": tuple(Way(**way) for way in row["ways"])}))


def story_of(say: Sentences, conflict: Conflict) -> ConflictStory:
    """One conflict as a story."""
    found = ways(say, conflict)
    asked = say.statements[(conflict.aside or conflict.statements)[0]]
    return ConflictStory(
        id=conflict.id,
        headline=say.fill(words_of(asked).question, asked),
        statements=tuple(statement_in_words(say, s) for s in conflict.statements),
        advice=advice(found),
        photographs=conflict.photographs,
        people=conflict.people,
        aside=conflict.aside,
        ways_out=conflict.ways_out,
        tie=conflict.tie,
        ways=found,
    )


def statement_in_words(say: Sentences, statement_id: str) -> StatementInWords:
    """One statement in words, with its kind and trust."""
    one = say.statements[statement_id]
    return StatementInWords(one.id, one.kind, say.opening(one.id), str(one.trust), one.informant)

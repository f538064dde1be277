"""What in the tree is impossible, and what is unlikely, with or without photographs.

Contradictions are found by the same network that is used for the photographs (`reason.conflict`), with the whole tree:
one that runs through four generations as well as a death before a birth. What is possible but unlikely is found by
limits (`reason.unlikely`). To these come the births that photographs suggest where the tree leaves them open
(`births`). Nothing is changed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.garbage import no_collection
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.dates.evidence import gather_tree
from kinphoto.archive.people import births
from kinphoto.archive.people.births import SuggestedBirth
from kinphoto.archive.words.conflict_stories import StatementInWords, statement_in_words, story_of
from kinphoto.archive.words.sentences import Sentences
from kinphoto.archive.words.tree_laws import in_words, laws_behind, limit
from kinphoto.documents import INLINE, Key
from kinphoto.reason.hard.conflict import settle
from kinphoto.reason.hard.unlikely import ImplausibleFact, implausible_facts, rival_dates
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Fact:
    """A statement of the tree in words."""

    told: Annotated[StatementInWords, INLINE]
    line: Annotated[int | None, "its line in the file; null for a link, which has several"]
    family: Annotated[str | None, "the family of a link or marriage; null for a date"]


@dataclass(frozen=True, slots=True)
class Impossible:
    """Facts of the tree that cannot all be true."""

    id: Annotated[str, "a contradiction's id, which stays the same as long as its facts do"]
    headline: Annotated[str, Key("text"), "the question it raises"]
    people: Annotated[tuple[Named, ...], "the people it is about"]
    facts: Annotated[tuple[Fact, ...], "the facts that cannot all be true; without any one of them the rest can"]
    laws: Annotated[tuple[str, ...], "the laws that forbid it, with their sources"]
    advice: Annotated[str, "the ways out, in words"]
    aside: Annotated[tuple[str, ...], "the facts that are set aside for now"]


@dataclass(frozen=True, slots=True)
class UnlikelyFacts:
    """Something possible but unlikely."""

    kind: Annotated[str, "which limit is exceeded: `old-mother`, `young-spouse`, `siblings-close`, ..."]
    text: Annotated[str, "what is unlikely, in words"]
    people: Annotated[tuple[Named, ...], "the people it is about"]
    facts: Annotated[tuple[Fact, ...], "the facts it rests on"]
    limit: Annotated[str, "the limit, and whose judgement it is"]


@dataclass(frozen=True, slots=True)
class TreeCheck:
    """What was found in a tree."""

    people: Annotated[int, "how many people were looked at"]
    impossible: tuple[Impossible, ...]
    unlikely: tuple[UnlikelyFacts, ...]
    births: Annotated[
        tuple[SuggestedBirth, ...],
        (
            "births that the tree leaves open and photographs suggest; no proof, because whoever judged the ages "
            "may have known the tree"
        ),
    ] = ()


def needs_estimates(connection: Connection) -> bool:
    """Whether photographs can suggest births, which rest on the estimates."""
    return births.can_be_suggested(connection)


@no_collection()
def check(connection: Connection) -> TreeCheck:
    """What in the tree is impossible, what is unlikely, and the births that photographs suggest."""
    evidence, others = gather_tree(connection)
    settled = settle(evidence)
    odd = [*implausible_facts(evidence.without(frozenset(settled.aside))), *rival_dates(evidence, others)]
    concerned = {s for c in settled.conflicts for s in c.statements} | {s for o in odd for s in o.statements}
    everything = ev.Evidence(evidence.people, (), (*evidence.statements, *others))
    words = _Words(connection, everything, concerned)
    return TreeCheck(
        len(evidence.people),
        tuple(words.impossible(conflict) for conflict in settled.conflicts),
        tuple(words.unlikely(found) for found in odd),
        births.of_tree(connection),
    )


class _Words:
    """Words for what was found: names, lines of the file, families."""

    def __init__(self, connection: Connection, evidence: ev.Evidence, concerned: Iterable[str]) -> None:
        self.say = Sentences(evidence)
        numbers = [_ID.fullmatch(id_) for id_ in concerned]
        ids = {kind: sorted(int(n[2]) for n in numbers if n and n[1] == kind) for kind in "ELM"}
        e, k, f = t.event.c, t.parent_link.c, t.family.c
        self.lines = {f"E{i}": line for i, line in rows_of(connection, select(e.id, e.line), e.id, ids["E"])}
        families = select(k.id, f.code).join(t.family, f.id == k.family_id)
        self.families = {f"L{i}": code for i, code in rows_of(connection, families, k.id, ids["L"])}
        self.families |= {f"M{i}": code for i, code in rows_of(connection, select(f.id, f.code), f.id, ids["M"])}

    def impossible(self, conflict: Conflict) -> Impossible:
        """A conflict."""
        story = story_of(self.say, conflict)
        return Impossible(
            story.id,
            story.headline,
            self._people(story.people),
            tuple(self._fact(statement) for statement in story.statements),
            laws_behind(self.say.statements[s] for s in conflict.statements),
            story.advice,
            story.aside,
        )

    def unlikely(self, found: ImplausibleFact) -> UnlikelyFacts:
        """Something unlikely."""
        facts = tuple(self._fact(statement_in_words(self.say, s)) for s in found.statements)
        return UnlikelyFacts(
            found.kind, in_words(found, self.say), self._people(found.people), facts, limit(found.kind)
        )

    def _fact(self, statement: StatementInWords) -> Fact:
        return Fact(statement, self.lines.get(statement.id), self.families.get(statement.id))

    def _people(self, codes: Iterable[str]) -> tuple[Named, ...]:
        return tuple(Named(code, self.say.name(code)) for code in codes)


_ID = re.compile(r"([ELM])(\d+)")

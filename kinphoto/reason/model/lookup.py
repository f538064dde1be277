"""Only for speed: the evidence by what it is about, built once."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cached_property

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.subjects import Photograph


@dataclass
class Lookup:
    """Statements by photograph, person and event, in the order of the evidence."""

    photographs: dict[str, Photograph] = field(default_factory=dict)
    sexes: dict[str, str] = field(default_factory=dict)
    statements: dict[str, ev.Statement] = field(default_factory=dict)
    seen: dict[str, list[ev.Appearance]] = field(default_factory=lambda: defaultdict(list))
    """Appearances by photograph, denials among them."""
    ages: dict[str, list[ev.Age]] = field(default_factory=lambda: defaultdict(list))
    """Ages by appearance."""
    claims: dict[str, list[ev.DateClaim]] = field(default_factory=lambda: defaultdict(list))
    shown: dict[str, list[ev.EventClaim]] = field(default_factory=lambda: defaultdict(list))
    by_event: dict[str, list[ev.RelativeDate]] = field(default_factory=lambda: defaultdict(list))
    made: dict[str, list[ev.Made]] = field(default_factory=lambda: defaultdict(list))
    relations: list[ev.Relation] = field(default_factory=list)
    """All but part-of, which has no bearing on dates; between known, different photographs only."""
    lives: dict[tuple[str, ev.LifeEvent], ev.LifeDate] = field(default_factory=dict)
    """The first of each kind per person."""
    events: dict[str, ev.EventDate] = field(default_factory=dict)
    parents: dict[str, list[ev.ParentLink]] = field(default_factory=lambda: defaultdict(list))
    children: dict[str, list[ev.ParentLink]] = field(default_factory=lambda: defaultdict(list))
    spouses: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """The couple of a marriage, by event."""
    marriages: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    """Events of marriage by person."""

    @cached_property
    def last_indexed(self) -> int:
        """The latest day on which any photograph can have been taken."""
        return max((p.indexed for p in self.photographs.values()), default=0)


def look_up(evidence: ev.Evidence) -> Lookup:
    """Sort the statements of `evidence`; what refers to nothing in it is left out."""
    found = Lookup({p.id: p for p in evidence.photographs}, {p.id: p.sex for p in evidence.people})
    for statement in evidence.statements:
        found.statements[statement.id] = statement
        _add(statement, found)
    return found


def _add(statement: ev.Statement, found: Lookup) -> None:
    match statement:
        case ev.Appearance():
            found.seen[statement.photograph].append(statement)
        case ev.Age():
            found.ages[statement.appearance].append(statement)
        case ev.DateClaim():
            found.claims[statement.photograph].append(statement)
        case ev.EventClaim():
            found.shown[statement.photograph].append(statement)
        case ev.RelativeDate():
            found.by_event[statement.photograph].append(statement)
        case ev.Made():
            found.made[statement.photograph].append(statement)
        case ev.Relation(photograph=one, other=other, related=related):
            if related is not ev.Related.PART_OF and one != other and {one, other} <= found.photographs.keys():
                found.relations.append(statement)
        case ev.LifeDate():
            found.lives.setdefault((statement.person, statement.event), statement)
        case ev.EventDate():
            found.events.setdefault(statement.event, statement)
        case ev.ParentLink():
            found.parents[statement.child].append(statement)
            found.children[statement.parent].append(statement)
        case ev.Marriage():
            found.spouses[statement.event] = statement.spouses
            for person in statement.spouses:
                found.marriages[person].append(statement.event)

"""What can bear on a photograph: a walk over people, photographs and events.

- A photograph leads to everybody in it, to related photographs, to those printed together with it (`batches`), and to
  the events it shows; an event leads to its couple (or to the person born or dead) and to other photographs of it.
- Everybody in a picture, or of an event that is shown, is *opened*: their parents, children and partners are reached.
- A birth known to within a year blocks the path: relatives' dates bound that person's life, but nothing else about them
  can move this photograph. From anybody else the walk goes on to all their photographs and opens their family too.

A `Source` answers what is next to what, for evidence in memory (`focus`) or for the rows of an archive.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Set
from dataclasses import dataclass, field
from typing import Generic, Protocol, TypeVar

from kinphoto.reason.model.span import Span

Id = TypeVar("Id", str, int)
"""What photographs and people are known by in a source: codes, or row ids. Events have keys: `F3:MARR`, `I12:BIRT`."""

EXACT = 366
"""Days: a birth known this closely blocks the walk."""


def is_exact(birth: Span) -> bool:
    """Whether a birth is known so closely that other photographs cannot move it."""
    return birth.first is not None and birth.last is not None and birth.last - birth.first <= EXACT


class Kin(Protocol[Id]):
    """Answers who is of whose family."""

    def families(self, people: Set[Id]) -> Mapping[Id, Set[Id]]:
        """The parents, children and partners of each."""

    def exactly_born(self, people: Set[Id]) -> Set[Id]:
        """Those of them whose birth is known to within a year."""


class Source(Kin[Id], Protocol[Id]):
    """Answers what is next to what."""

    def shown(self, photographs: Set[Id]) -> tuple[Set[Id], Set[Id], Set[str]]:
        """The photographs related to these or printed together with them, everybody in them or of the events they show,
        and these events."""

    def events(self, people: Set[Id]) -> Set[str]:
        """The marriages, births and deaths of these people."""

    def showing(self, people: Set[Id], events: Set[str]) -> Set[Id]:
        """The photographs that somebody of these is in, or that show one of these events."""

    def best_first(self, photographs: Set[Id]) -> list[Id]:
        """The order in which to go to them where there is not room for all."""


@dataclass(frozen=True, slots=True)
class Bound:
    """How many photographs and people the walk may open; what the photograph itself shows is always opened."""

    photographs: int = sys.maxsize
    people: int = sys.maxsize


UNBOUNDED = Bound()


@dataclass
class Walk(Generic[Id]):
    """What was reached: `photographs` nearest first, `people`, some of them `opened`, and the `events` by which
    further photographs were looked for. `complete` is False when there was more than the bound allowed."""

    photographs: list[Id] = field(default_factory=list)
    people: set[Id] = field(default_factory=set)
    opened: set[Id] = field(default_factory=set)
    events: set[str] = field(default_factory=set)
    complete: bool = True

    def open(self, kin: Kin[Id], pictured: Set[Id], room: int = sys.maxsize) -> set[Id]:
        """Open everybody pictured (`room` at most), then the families of those with inexact births, and so on; returns
        the people with inexact births."""
        self.people |= pictured
        found: set[Id] = set()
        edge = set(pictured - self.opened)
        vague = edge - kin.exactly_born(edge)
        while edge:
            if len(edge) > room:
                self.complete, edge = False, set(sorted(edge)[:room])
                vague = vague & edge
            room -= len(edge)
            self.opened |= edge
            near = kin.families(edge)
            self.people.update(*near.values())
            found |= vague
            edge = {other for one in vague for other in near[one]} - self.opened
            edge -= kin.exactly_born(edge)
            vague = edge
        return found

    def step(self, source: Source[Id], ring: list[Id], bound: Bound) -> list[Id]:
        """Go to the photographs of a ring; returns the next one."""
        room = max(bound.people - len(self.opened), 0)
        related, pictured, events = source.shown(set(ring))
        vague = self.open(source, pictured, room if self.photographs else max(room, len(pictured)))
        self.photographs += ring
        self.events |= events | source.events(vague)
        nearer: Set[Id] = related - set(self.photographs)
        farther: Set[Id] = source.showing(vague, self.events) - nearer - set(self.photographs)
        left = max(bound.photographs - len(self.photographs), 0)
        if len(nearer) + len(farther) <= left:
            return sorted(nearer) + sorted(farther)
        self.complete = False
        return (source.best_first(nearer) + source.best_first(farther))[:left]


def walk(source: Source[Id], start: Id, bound: Bound = UNBOUNDED) -> Walk[Id]:
    """What can bear on the photograph `start`; only the nearest of it where that is beyond the bound."""
    reached = Walk[Id]()
    ring = [start]
    while ring:
        ring = reached.step(source, ring, bound)
    return reached

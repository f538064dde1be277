"""The part of the evidence that can bear on one photograph, so that "what if" questions need not ask the whole archive.

Evidence hangs together: a statement touches people, photographs and events. From the photograph everything within
reach is collected. Somebody whose birth is known to within a year is a wall. When they are in a picture that was
reached, their family's dates still tell when they can have been alive, but none of their other photographs can move
this one; when they are merely of the family of somebody reached, only their own dates count.

The rows of an archive are walked by the same rules in `archive/dates/neighbourhood.py`.
"""

from __future__ import annotations

from collections import defaultdict

from kinphoto.reason.model import evidence as ev

EXACT = 366
"""Days: a birth known this closely is a wall."""


def focus(evidence: ev.Evidence, photograph: str) -> ev.Evidence:
    """The evidence that can bear on `photograph` (its id), in the order of the whole evidence."""
    seen = {s.id: s for s in evidence.statements if isinstance(s, ev.Appearance)}
    touched = [_things(s, seen) for s in evidence.statements]
    reached = _Reach(evidence, touched).of(("photograph", photograph))
    return ev.Evidence(
        tuple(p for p in evidence.people if ("person", p.id) in reached),
        tuple(x for x in evidence.photographs if ("photograph", x.id) in reached),
        tuple(s for s, about in zip(evidence.statements, touched, strict=True) if about and reached.issuperset(about)),
    )


class _Reach:
    """What hangs together, by the statements and the things that each of them touches."""

    def __init__(self, evidence: ev.Evidence, touched: list[tuple[ev.Thing, ...]]) -> None:
        self.near: dict[ev.Thing, set[ev.Thing]] = defaultdict(set)
        for about in touched:
            for thing in about:
                self.near[thing].update(about)
        self.walls = _walls(evidence)
        self.shown: set[ev.Thing] = {("event", s.event) for s in evidence.statements if isinstance(s, ev.EventClaim)}

    def of(self, start: ev.Thing) -> set[ev.Thing]:
        """Everything that bears on `start`."""
        reached, done, edge = {start}, set[ev.Thing](), [start]
        while edge:
            thing = edge.pop()
            if thing in done:
                continue
            done.add(thing)
            near = self.near[thing]
            if thing in self.walls:
                reached |= {other for other in near if other[0] != "photograph"}
                continue
            reached |= near
            pictured = thing[0] == "photograph" or thing in self.shown
            edge += [other for other in near - done if pictured or other not in self.walls]
        return reached


def _things(said: ev.Statement, seen: dict[str, ev.Appearance]) -> tuple[ev.Thing, ...]:
    """What hangs together by a statement; an age is of its appearance."""
    if not isinstance(said, ev.Age):
        return said.touches()
    return seen[said.appearance].touches() if said.appearance in seen else ()


def _walls(evidence: ev.Evidence) -> set[ev.Thing]:
    """People whose birth is known to within a year."""
    found: set[ev.Thing] = set()
    for said in evidence.statements:
        if isinstance(said, ev.LifeDate) and said.event is ev.LifeEvent.BIRTH:
            first, last = said.date.span.first, said.date.span.last
            if first is not None and last is not None and last - first <= EXACT:
                found.add(("person", said.person))
    return found

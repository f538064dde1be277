"""The part of the evidence that can bear on one photograph, so that "what if" questions need not ask the whole archive.

Evidence hangs together: a statement touches people, photographs and events. From the photograph everything within
reach is collected. Somebody whose birth is known to within a year is a wall: their family's dates still tell when they
can have been alive, but none of their other photographs can move this one.
"""

from __future__ import annotations

from collections import defaultdict

from kinphoto.reason import evidence as ev

EXACT = 366
"""Days: a birth known this closely is a wall."""

Thing = tuple[str, str]  # ("person", id), ("photograph", id) or ("event", key)


def focus(evidence: ev.Evidence, photograph: str) -> ev.Evidence:
    """The evidence that can bear on `photograph` (its id), in the order of the whole evidence."""
    touched = _touched(evidence)
    around: dict[Thing, list[str]] = defaultdict(list)
    for statement, things in touched.items():
        for thing in things:
            around[thing].append(statement)
    reached = _reach(("photograph", photograph), touched, around, _walls(evidence))
    return ev.Evidence(
        tuple(p for p in evidence.people if ("person", p.id) in reached),
        tuple(x for x in evidence.photographs if ("photograph", x.id) in reached),
        tuple(s for s in evidence.statements if touched[s.id] and all(t in reached for t in touched[s.id])),
    )


def _reach(
    start: Thing, touched: dict[str, tuple[Thing, ...]], around: dict[Thing, list[str]], walls: set[Thing]
) -> set[Thing]:
    """Everything that hangs together with `start`; behind a wall only the next people and events."""
    reached, edge = {start}, [start]
    while edge:
        thing = edge.pop()
        near = {other for statement in around[thing] for other in touched[statement]} - reached
        if thing in walls:
            reached |= {other for other in near if other[0] != "photograph"}
            continue
        reached |= near
        edge += near
    return reached


def _touched(evidence: ev.Evidence) -> dict[str, tuple[Thing, ...]]:
    """What each statement is about, by its id."""
    seen = {s.id: s for s in evidence.statements if isinstance(s, ev.Appearance)}
    return {s.id: _things(s, seen) for s in evidence.statements}


def _things(said: ev.Statement, seen: dict[str, ev.Appearance]) -> tuple[Thing, ...]:
    match said:
        case ev.Age():
            return _things(seen[said.appearance], seen) if said.appearance in seen else ()
        case ev.Appearance(photograph=photograph, person=person):
            return (("photograph", photograph), ("person", person)) if person else (("photograph", photograph),)
        case ev.LifeDate(person=person):
            return (("person", person),)
        case ev.ParentLink():
            return ("person", said.child), ("person", said.parent)
        case ev.Marriage():
            return ("event", said.event), *(("person", p) for p in said.spouses)
        case ev.EventDate():
            return (("event", said.event),)
        case ev.EventClaim():
            return ("photograph", said.photograph), ("event", said.event)
        case ev.Relation(photograph=photograph, other=other, related=related):
            return (("photograph", photograph),) if related is ev.Related.PART_OF else (
                ("photograph", photograph), ("photograph", other)
            )  # fmt: skip
        case ev.DateClaim(photograph=photograph) | ev.Made(photograph=photograph):
            return (("photograph", photograph),)
    return ()


def _walls(evidence: ev.Evidence) -> set[Thing]:
    """People whose birth is known to within a year."""
    found: set[Thing] = set()
    for said in evidence.statements:
        if isinstance(said, ev.LifeDate) and said.event is ev.LifeEvent.BIRTH:
            first, last = said.date.span.first, said.date.span.last
            if first is not None and last is not None and last - first <= EXACT:
                found.add(("person", said.person))
    return found

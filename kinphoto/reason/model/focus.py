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

Thing = tuple[str, str]  # ("person", id), ("photograph", id) or ("event", key)


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

    def __init__(self, evidence: ev.Evidence, touched: list[tuple[Thing, ...]]) -> None:
        self.near: dict[Thing, set[Thing]] = defaultdict(set)
        for about in touched:
            for thing in about:
                self.near[thing].update(about)
        self.walls = _walls(evidence)
        self.shown: set[Thing] = {("event", s.event) for s in evidence.statements if isinstance(s, ev.EventClaim)}

    def of(self, start: Thing) -> set[Thing]:
        """Everything that bears on `start`."""
        reached, done, edge = {start}, set[Thing](), [start]
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
            return (("event", said.event), *_life(said.event))
        case ev.EventClaim():
            return ("photograph", said.photograph), ("event", said.event), *_life(said.event)
        case ev.Relation(photograph=photograph, other=other, related=related):
            return (("photograph", photograph),) if related is ev.Related.PART_OF else (
                ("photograph", photograph), ("photograph", other)
            )  # fmt: skip
        case ev.DateClaim(photograph=photograph) | ev.Made(photograph=photograph):
            return (("photograph", photograph),)
    return ()


def _life(event: str) -> tuple[Thing, ...]:
    """Whose birth or death an event is (`I12:BIRT`), if it is one."""
    code, _, tag = event.partition(":")
    return (("person", code),) if tag in ("BIRT", "DEAT") else ()


def _walls(evidence: ev.Evidence) -> set[Thing]:
    """People whose birth is known to within a year."""
    found: set[Thing] = set()
    for said in evidence.statements:
        if isinstance(said, ev.LifeDate) and said.event is ev.LifeEvent.BIRTH:
            first, last = said.date.span.first, said.date.span.last
            if first is not None and last is not None and last - first <= EXACT:
                found.add(("person", said.person))
    return found

"""The part of the evidence that can bear on one photograph (`walk`), so that "what if" questions need not use all of
it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Set
from dataclasses import replace

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.batches import printed_together
from kinphoto.reason.model.walk import is_exact, walk


def focus(evidence: ev.Evidence, photograph: str) -> ev.Evidence:
    """The evidence that can bear on `photograph` (its id), in the order of the whole evidence. Names and numbers bear
    on it by the others in its container alone, so they are left out with these."""
    seen = {s.id: s for s in evidence.statements if isinstance(s, ev.Appearance)}
    touched = [_things(s, seen) for s in evidence.statements]
    source = _Evidence(evidence, touched)
    found = walk(source, photograph)
    photographs, events = set(found.photographs), found.events | source.events(found.opened)
    kinds = (("photograph", photographs), ("person", found.people), ("event", events))
    reached = {(kind, name) for kind, names in kinds for name in names}
    return ev.Evidence(
        tuple(p for p in evidence.people if p.id in found.people),
        tuple(replace(x, theme="", number=None) for x in evidence.photographs if x.id in photographs),
        tuple(s for s, about in zip(evidence.statements, touched, strict=True) if about and reached.issuperset(about)),
        from_containers={p: message for p, message in evidence.from_containers.items() if p in photographs},
        fitted=evidence.fitted,
        messages_without=evidence.messages_without,
    )


class _Evidence:
    """The source of the walk: things are neighbours when one statement touches both, and prints
    of one batch are."""

    def __init__(self, evidence: ev.Evidence, touched: list[tuple[ev.Thing, ...]]) -> None:
        self.near: dict[ev.Thing, set[ev.Thing]] = defaultdict(set)
        for about in touched:
            for thing in about:
                self.near[thing].update(about)
        claims = (s for s in evidence.statements if isinstance(s, ev.DateClaim))
        for batch in printed_together({p.id: p for p in evidence.photographs}, claims):
            together = {("photograph", photograph) for photograph in batch}
            for thing in together:
                self.near[thing] |= together
        births = [s for s in evidence.statements if isinstance(s, ev.LifeDate) and s.event is ev.LifeEvent.BIRTH]
        self.exact = {s.person for s in births if is_exact(s.date.span)}

    def families(self, people: Set[str]) -> dict[str, set[str]]:
        return {one: self._neighbours("person", [one], "person") for one in people}

    def exactly_born(self, people: Set[str]) -> Set[str]:
        return people & self.exact

    def shown(self, photographs: Set[str]) -> tuple[set[str], set[str], set[str]]:
        related, people, events = (
            self._neighbours("photograph", photographs, kind) for kind in ("photograph", "person", "event")
        )
        return related, people | self._neighbours("event", events, "person"), events

    def events(self, people: Set[str]) -> set[str]:
        return self._neighbours("person", people, "event")

    def showing(self, people: Set[str], events: Set[str]) -> set[str]:
        return self._neighbours("person", people, "photograph") | self._neighbours("event", events, "photograph")

    def best_first(self, photographs: Set[str]) -> list[str]:
        return sorted(photographs)

    def _neighbours(self, kind: str, names: Iterable[str], other: str) -> set[str]:
        """The things of the kind `other` that a statement touches together with one of these."""
        return {name for one in names for at, name in self.near[kind, one] if at == other}


def _things(statement: ev.Statement, seen: dict[str, ev.Appearance]) -> tuple[ev.Thing, ...]:
    """What a statement connects; an age belongs to its appearance."""
    if not isinstance(statement, ev.Age):
        return statement.touches()
    return seen[statement.appearance].touches() if statement.appearance in seen else ()

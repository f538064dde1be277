"""The bounds inside which the soft layer works: what laws and statements of strong or certain trust leave possible."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH, LONGEST_LIFE
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.span import Span, at_most


@dataclass(frozen=True)
class HardBounds:
    """First and last possible day by identifier. What is missing or open is bounded by the laws alone."""

    exposure: Mapping[str, Span] = field(default_factory=dict)
    printed: Mapping[str, Span] = field(default_factory=dict)
    birth: Mapping[str, Span] = field(default_factory=dict)
    death: Mapping[str, Span] = field(default_factory=dict)
    event: Mapping[str, Span] = field(default_factory=dict)

    def narrowed(self, births: Iterable[BirthEstimate]) -> HardBounds:
        """With what else is known of these people's births and deaths."""
        born, died = dict(self.birth), dict(self.death)
        for estimate in births:
            if estimate.possible is not None:
                born[estimate.person] = _inside(self.birth.get(estimate.person), *estimate.possible[:2])
                died[estimate.person] = _inside(self.death.get(estimate.person), *estimate.possible[2:])
        return replace(self, birth=born, death=died)

    def of_exposure(self, photograph: str, known: Lookup) -> Span:
        """When the picture can have been taken."""
        return _closed(self.exposure.get(photograph), FIRST_PHOTOGRAPH, known.photographs[photograph].indexed)

    def of_print(self, photograph: str, known: Lookup) -> Span:
        """When the object can have been printed."""
        return _closed(self.printed.get(photograph), FIRST_PHOTOGRAPH, known.photographs[photograph].indexed)

    def of_birth(self, person: str, known: Lookup) -> Span:
        """When somebody can have been born."""
        return _closed(self.birth.get(person), FIRST_PHOTOGRAPH - at_most(LONGEST_LIFE), known.last_indexed)

    def of_death(self, person: str, known: Lookup) -> Span:
        """When somebody can have died."""
        born = self.of_birth(person, known)
        return _closed(self.death.get(person), born.first or 0, (born.last or 0) + at_most(LONGEST_LIFE))

    def of_event(self, event: str, known: Lookup) -> Span:
        """When an event can have been."""
        first = FIRST_PHOTOGRAPH - at_most(LONGEST_LIFE)
        return _closed(self.event.get(event), first, known.last_indexed + at_most(LONGEST_LIFE))


def _inside(span: Span | None, first: int, last: int) -> Span:
    """`span` cut to these days, if they have any in common."""
    start = first if span is None or span.first is None else max(span.first, first)
    end = last if span is None or span.last is None else min(span.last, last)
    return Span(start, end) if start <= end or span is None else span


def _closed(span: Span | None, first: int, last: int) -> Span:
    """`span` with its open ends closed."""
    if span is None:
        return Span(first, last)
    if span.first is not None and span.last is not None and span.first <= span.last:
        return span
    start = first if span.first is None else span.first
    end = max(last, start) if span.last is None else span.last
    return Span(start, max(start, end))

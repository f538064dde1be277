"""What each statement alone implies for a photograph's date, beside the lives of the people in it.

The days it *allows*: the bounds of the exposure if of all statements about the photograph only this one (and the name
that an age belongs to) is kept. How *likely* it makes each day: for judged ages, and for dates with a normal component.
Lives are as the tree and other photographs bound them, without this photograph.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.conflict import BELIEVED, Settled
from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.hard.laws import build_constraints
from kinphoto.reason.model import density, perception
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.density import before, of_date
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH, LAID_OUT_WITHIN
from kinphoto.reason.model.prior import event_day
from kinphoto.reason.model.span import Shape, Span
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.grid import Cells
from kinphoto.reason.soft.summary import Posterior
from kinphoto.reason.soft.uncertain_faces import Candidate, FaceLikelihood


@dataclass(frozen=True)
class SingleStatements:
    """One photograph (its id) and the statements about it: `own` are their ids in `evidence`."""

    evidence: ev.Evidence
    photograph: str
    own: frozenset[str]

    @cached_property
    def _network(self) -> tuple[Settled, nw.Flags]:
        """The network without the photograph's own statements; and flags of all that are left out."""
        constraints = build_constraints(self.evidence)
        out = np.array([s.id in self.own or s.firmness not in BELIEVED for s in constraints.statements], dtype=bool)
        bounds = nw.solve(nw.build(constraints), out)
        return Settled(constraints, bounds, bounds, ()), out

    @cached_property
    def bounds(self) -> HardBounds:
        """The bounds of lives and events without this photograph."""
        return self._network[0].bounds

    def life(self, statement: ev.Appearance) -> Span:
        """The days on which the person of an appearance can have been in a picture so."""
        born, died = (lives.get(statement.person or "", Span()) for lives in (self.bounds.birth, self.bounds.death))
        match statement.role:
            case ev.Role.LAID_OUT:
                return Span(died.first, None if died.last is None else died.last + LAID_OUT_WITHIN)
            case ev.Role.LIKENESS:
                return self._inside(Span(born.first, None))
        return self._inside(Span(born.first, died.last))

    def allows(self, statements: Collection[str]) -> Span:
        """The days of the exposure that these statements leave; an end is open where only the laws close it."""
        empty, out = self._network
        constraints, off = empty.constraints, out.copy()
        off[[i for i, s in enumerate(constraints.statements) if s.id in statements]] = False
        bounds = nw.solve(empty.strong.network, off)
        return (
            self._inside(bounds.span(constraints.variables.exposures[self.photograph])) if bounds.feasible else Span()
        )

    def _inside(self, span: Span) -> Span:
        """A span, with an end open where only the laws bound it."""
        indexed = next(p.indexed for p in self.evidence.photographs if p.id == self.photograph)
        first = None if span.first is None or span.first <= FIRST_PHOTOGRAPH else span.first
        return Span(first, None if span.last is None or span.last >= indexed else span.last)


def age_likelihood(statement: ev.Age, seen: ev.Appearance, lives: Lives, cells: Cells) -> Array | None:
    """The likelihood of a judged age in each cell, up to a factor; None where it carries no information."""
    if seen.person is None or seen.role is ev.Role.LIKENESS or seen.person not in lives.known.sexes:
        return None
    if not lives.is_informative(seen.person):
        return None
    judged = perception.judgement(statement.low, statement.high, ev.CHANCE_WRONG[statement.trust])
    careful = replace(judged, doubt=0.0)
    return FaceLikelihood(lives).of_candidate(Candidate(seen.person, 1.0, seen.role), (careful,), cells)


def date_likelihood(statement: ev.DateClaim, cells: Cells) -> Array | None:
    """How likely a date "about" or "perhaps" some day makes each cell; None for one that is flat inside its span."""
    if statement.date.shape not in (Shape.ABOUT, Shape.DOUBTFUL):
        return None
    rising = before(cells.edges, of_date(statement.date, float(cells.edges[0]), float(cells.edges[-1])))
    return np.asarray(np.diff(rising) / cells.width)


def relative_likelihood(statement: ev.RelativeDate, lives: Lives, cells: Cells) -> Array | None:
    """How likely a date given by an event makes each cell; None where nothing is known about the event."""
    when = event_day(statement.event, lives.known, lives.bounds.of_event(statement.event, lives.known))
    if when is None:
        return None
    rising = density.taken_since(cells.edges, when.days, when.weight, statement.lapse, float(cells.edges[-1]))
    return np.asarray(np.diff(rising) / cells.width)


def as_posterior(likelihood: Array, cells: Cells) -> Posterior | None:
    """A likelihood as if nothing else were known; None where it is nothing everywhere."""
    mass = likelihood * cells.width
    return Posterior(cells.edges, mass / mass.sum()) if mass.sum() > 0 else None

"""What a change did to the dates: those of photographs as they were kept before it, compared with those that are kept
now. What was there before is read first, then something is said, then the two are compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.dates.contributions import NOTABLE
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.dates.neighbourhood import WIDER, reach
from kinphoto.archive.dates.whole import is_small
from kinphoto.errors import KinphotoError
from kinphoto.reason.model.findings import Estimate
from kinphoto.store import tables as t

KeptDates = Mapping[str, Estimate]
"""The estimates of some photographs, by code, as they were kept at some moment."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One photograph with its date before a change and now."""

    code: str
    before: Estimate
    after: Estimate

    @property
    def narrower(self) -> int:
        """By how many days the range that is shown became shorter; below 0 it became longer."""
        (a, b), (c, d) = self.before.shown_range, self.after.shown_range
        return (b - a) - (d - c)

    @property
    def notable(self) -> bool:
        """Whether an end of the range moved so far that a reader cares."""
        was, now = self.before.shown_range, self.after.shown_range
        return max(abs(was[0] - now[0]), abs(was[1] - now[1])) >= NOTABLE


@dataclass(frozen=True, slots=True)
class Moves:
    """What moved: the photograph that was asked about (None for none that has a date), whether it moved or not, and
    the others that did, those that became clearest first."""

    photograph: Moved | None
    others: tuple[Moved, ...]


def kept_around(connection: Connection, photograph: str | None = None) -> dict[str, Estimate]:
    """The dates that a change about this photograph may move, as they are kept: in an archive of a family's size all of
    them, in a larger one those of the photographs connected with it. Empty where there is no such photograph."""
    p, e = t.photograph.c, t.estimate.c
    query = select(p.code, *t.estimate.c).join(t.photograph, p.id == e.photograph_id)
    if not is_small(connection):
        if photograph is None:
            return {}
        try:
            row = find_photograph(connection, photograph)
        except KinphotoError:
            return {}
        if row["page"]:
            return {}
        query = query.where(p.id.in_(reach(connection, int(row["id"]), WIDER).found.photographs))
    return {row["code"]: as_estimate(row) for row in connection.execute(query).mappings()}


def moved_since(connection: Connection, before: KeptDates, photograph: str | None = None) -> Moves:
    """Which of these photographs have another date now than they had `before`. Those that became disputed, or are no
    longer, have moved only if their range did."""
    p, e = t.photograph.c, t.estimate.c
    query = select(p.code, *t.estimate.c).join(t.photograph, p.id == e.photograph_id).where(p.code.in_(list(before)))
    now = {row["code"]: as_estimate(row) for row in connection.execute(query).mappings()}
    every = {code: Moved(code, estimate, now[code]) for code, estimate in before.items() if code in now}
    own = every.pop(photograph or "", None)
    others = sorted((one for one in every.values() if one.notable), key=lambda one: (-one.narrower, one.code))
    return Moves(own, tuple(others))

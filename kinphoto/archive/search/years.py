"""The archive by decades: how much is from each, some pictures of it, and all of one decade in order of date."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import ColumnElement, Connection, and_, func, select

from kinphoto.archive.catalogue.privacy import photographs_shown, public_view
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.collection.shown_unasked import shown_unasked
from kinphoto.reason.model.span import span_of_years, year_of
from kinphoto.store import tables as t

T = TypeVar("T")

A_PAGE = 120
"""Photographs of a decade shown at once."""
A_FEW = 5
"""Pictures that stand for a decade."""


@dataclass(frozen=True, slots=True)
class Decade:
    """A decade by its first year (None: photographs without a date), how many photographs are from it, and a few that
    stand for them, the earliest first."""

    first: int | None
    count: int
    few: tuple[PhotographCard, ...]


@dataclass(frozen=True, slots=True)
class DecadePage:
    """A page of the photographs of a decade, from number `start` of `count` on, in order of date. `before` and `after`
    are the nearest decades from which there is something."""

    first: int | None
    start: int
    count: int
    photographs: tuple[PhotographCard, ...]
    before: int | None
    after: int | None


def decades(connection: Connection, *, for_anybody: bool = False) -> tuple[Decade, ...]:
    """Every decade from the first to the last that has photographs, by their best dates, and at the end those without a
    date. With `for_anybody` as if there were only what anybody may see."""
    public = public_view(connection, for_anybody)
    p, e = t.photograph.c, t.estimate.c
    query = select(p.id, e.best).select_from(t.photograph).outerjoin(t.estimate, e.photograph_id == p.id)
    query = query.where(p.page == 0, *photographs_shown(connection, p.id, public))
    by: dict[int | None, list[int]] = defaultdict(list)
    for id_, best in connection.execute(query.order_by(e.best, e.earliest, p.id)):
        by[_decade_of(best)].append(id_)
    tried = {first: _spread(ids, 3 * A_FEW) for first, ids in by.items()}
    shown = shown_unasked(connection, {id_ for ids in tried.values() for id_ in ids})
    drawn = cards(connection, [id_ for ids in tried.values() for id_ in ids if id_ in shown], public)
    few = {first: _chosen([drawn[id_] for id_ in ids if id_ in drawn]) for first, ids in tried.items()}
    dated = sorted(first for first in by if first is not None)
    every: list[int | None] = [*range(dated[0], dated[-1] + 10, 10)] if dated else []
    return tuple(
        Decade(first, len(by[first]), few.get(first, ())) for first in [*every, *([None] if None in by else [])]
    )


def decade(connection: Connection, first: int | None, start: int = 0, *, for_anybody: bool = False) -> DecadePage:
    """The photographs of the decade that begins with this year, or without a date (None), from number `start` on.
    With `for_anybody` as if there were only what anybody may see."""
    public = public_view(connection, for_anybody)
    p, e = t.photograph.c, t.estimate.c
    query = select(p.id).select_from(t.photograph).outerjoin(t.estimate, e.photograph_id == p.id)
    query = query.where(p.page == 0, _of_decade(first), *photographs_shown(connection, p.id, public))
    count = connection.scalar(query.with_only_columns(func.count())) or 0
    ids = connection.scalars(query.order_by(e.best, e.earliest, p.id).limit(A_PAGE).offset(max(start, 0))).all()
    shown = tuple(cards(connection, ids, public).values())
    before, after = None, None
    if first is not None:
        here, best = span_of_years(first, first + 9), e.best
        others = select(func.max(best)).join(t.photograph, p.id == e.photograph_id)
        others = others.where(p.page == 0, *photographs_shown(connection, p.id, public))
        before = _decade_of(connection.scalar(others.where(best < here.first)))
        after = _decade_of(connection.scalar(others.with_only_columns(func.min(best)).where(best > here.last)))
    return DecadePage(first, max(start, 0), count, shown, before, after)


def _decade_of(day: int | None) -> int | None:
    return None if day is None else year_of(day) // 10 * 10


def _of_decade(first: int | None) -> ColumnElement[bool]:
    best = t.estimate.c.best
    if first is None:
        return best.is_(None)
    days = span_of_years(first, first + 9)
    return and_(best >= days.first, best <= days.last)


def _chosen(tried: Sequence[PhotographCard]) -> tuple[PhotographCard, ...]:
    """A few that have a picture; those with a face without a name only where there are no others, as a decade could
    influence somebody who is about to judge an age."""
    pictured = [one for one in tried if one.recto]
    complete = [one for one in pictured if one.names and not one.nameless]
    return tuple(_spread(complete or pictured, A_FEW))


def _spread(all_: list[T], most: int) -> list[T]:
    """At most `most` of them, from the first to the last at even distances."""
    if len(all_) <= most:
        return all_
    return [all_[round(at * (len(all_) - 1) / (most - 1))] for at in range(most)]

"""The photographs that somebody could help with, for the first page: a name, or a date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import Connection, and_, exists, func, select

from kinphoto.archive.catalogue.privacy import photographs_shown, public_view
from kinphoto.archive.collection.container_pages import Missing, lacks
from kinphoto.archive.collection.photograph_cards import cards
from kinphoto.archive.collection.shown_unasked import shown_unasked
from kinphoto.archive.collection.views import PhotographView, views
from kinphoto.store import tables as t

MOST = 40
"""Photographs that are offered one after the other."""


class MissingFact(StrEnum):
    """What a photograph wants."""

    NAMES = "names"
    """Some of its faces have no name."""
    ANYBODY = "anybody"
    """Nobody is named in it."""
    DATE = "date"
    """Everybody is named, and there is no date."""
    NOTHING = "nothing"
    """To be looked at."""


@dataclass(frozen=True, slots=True)
class OpenPhotograph:
    """A photograph and what it wants; `box` is the name of the container it is in, "" for none."""

    view: PhotographView
    want: MissingFact
    box: str


def open_photographs(connection: Connection, most: int = MOST, *, for_anybody: bool = False) -> list[OpenPhotograph]:
    """At most `most` photographs with a picture, those nearest to being complete first: a face or two without a name,
    then those in which nobody is named, then those without a date, then any. None that nobody asked for should be shown
    (`shown_unasked`). With `for_anybody` those that anybody may see, which want nothing of them."""
    chosen: dict[int, MissingFact] = {}
    for want, ids in _in_turn(connection, 3 * most, for_anybody):
        fitting = shown_unasked(connection, [id_ for id_ in ids if id_ not in chosen])
        chosen.update((id_, want) for id_ in ids if id_ in fitting)
        if len(chosen) >= most:
            break
    drawn = {id_: card for id_, card in cards(connection, list(chosen)[:most]).items() if card.recto}
    wants = {card.code: chosen[id_] for id_, card in drawn.items()}
    p, c = t.photograph.c, t.container.c
    boxes = select(p.code, c.name).join(t.container, c.id == p.container_id).where(p.code.in_(list(wants)))
    called = {row.code: row.name for row in connection.execute(boxes)}
    found = views(connection, list(wants), for_anybody=for_anybody)
    return [OpenPhotograph(one, wants[one.card.code], called.get(one.card.code, "")) for one in found]


def _in_turn(connection: Connection, most: int, for_anybody: bool) -> Sequence[tuple[MissingFact, list[int]]]:
    a, p, e = t.appearance.c, t.photograph.c, t.estimate.c
    public = public_view(connection, for_anybody)
    every = select(p.id).select_from(t.photograph).outerjoin(t.estimate, e.photograph_id == p.id).where(p.page == 0)
    every = every.where(*photographs_shown(connection, p.id, public)).order_by(p.container_id, p.position, p.id)
    any_ = MissingFact.NOTHING, list(connection.scalars(every.limit(most)))
    if public is not None:
        return [any_]
    here = and_(a.denied == 0, a.withdrawn == 0)
    nameless = (
        select(a.photograph_id).where(here, a.person_id.is_(None), a.region_id.is_not(None))
        .group_by(a.photograph_id).order_by(func.count(), a.photograph_id)
    )  # fmt: skip
    some = exists().where(a.photograph_id == p.id, a.person_id.is_(None), here)
    return [
        (MissingFact.NAMES, list(connection.scalars(nameless.limit(most)))),
        (MissingFact.ANYBODY, list(connection.scalars(every.where(lacks(Missing.NAMES), ~some).limit(most)))),
        (MissingFact.DATE, list(connection.scalars(every.where(lacks(Missing.DATE)).limit(most)))),
        any_,
    ]

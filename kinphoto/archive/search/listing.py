"""Lists of photographs by what they lack, where they are and when they were taken; conditions combine."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import ColumnElement, Connection, or_, select

from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.collection import arranging
from kinphoto.archive.collection.container_pages import Missing, lacks, named_boxes
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.search.question import SearchQuery, understood
from kinphoto.archive.search.searching import taken_in
from kinphoto.documents import INLINE
from kinphoto.errors import InvalidValueError
from kinphoto.store import tables as t
from kinphoto.store.among import among


@dataclass(frozen=True, slots=True, kw_only=True)
class ListQuery:
    """The conditions of a list, which all have to hold. `box` is a container with those inside it, "" for what is in
    none; `years` is a year, a decade (1920s) or a range (1920-1935)."""

    lacking: Collection[Missing] = ()
    box: str | None = None
    years: str | None = None


@dataclass(frozen=True, slots=True)
class ListedPhotograph:
    """A photograph on a list."""

    picture: Annotated[PhotographCard, INLINE]
    place: Annotated[str, "where it was taken"]
    box: Annotated[str, "the container it is in; empty for none"]


def listed(connection: Connection, wanted: ListQuery) -> tuple[ListedPhotograph, ...]:
    """The photographs that match, in the order of their boxes; by date where years are asked for.

    Raises NotFoundError or AmbiguousError for a box, InvalidValueError for years that cannot be understood.
    """
    between = None
    if wanted.years is not None:
        words, between = understood(SearchQuery(text=wanted.years))
        if words or between is None:
            raise InvalidValueError(
                f"'{wanted.years}' is not a year", remedy="Give one like 1924, a decade like 1920s, or 1920-1935."
            )
    p, e = t.photograph.c, t.estimate.c
    conditions: list[ColumnElement[bool]] = [lacks(each) for each in wanted.lacking]
    if wanted.box is not None:
        conditions.append(_in_box(connection, wanted.box))
    if between is not None:
        conditions.append(taken_in(between))
    query = select(p.id, p.container_id, p.position, p.place)
    query = query.outerjoin(t.estimate, e.photograph_id == p.id).where(*conditions)
    rows = {row.id: row for row in connection.execute(query.order_by(p.position, p.id))}
    pictures, names = cards(connection, rows, drawn=False), {box.id: box.name for box in named_boxes(connection)}
    order = {id_: at for at, id_ in enumerate(names)}
    found = [
        ListedPhotograph(pictures[id_], row.place, names.get(row.container_id, ""))
        for id_, row in sorted(
            rows.items(), key=lambda pair: (order.get(pair[1].container_id, len(order)), pair[1].position, pair[0])
        )
    ]
    return tuple(found if between is None else sorted(found, key=_taken))


def _in_box(connection: Connection, box: str) -> ColumnElement[bool]:
    """In this container or one inside it; in none for ""."""
    p, c = t.photograph.c, t.container.c
    if not box.strip():
        return p.container_id.is_(None)
    parents = {row.id: row.parent_id for row in connection.execute(select(c.id, c.parent_id))}
    return or_(among(connection, p.container_id, within(parents, {arranging.find(connection, box)["id"]})))


def _taken(one: ListedPhotograph) -> tuple[int, str]:
    e = one.picture.estimate
    return (e.best if e.best is not None else e.earliest) if e else 0, one.picture.code

"""Lists of photographs by what they lack, where they lie and when they were taken; what is asked combines."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, func, or_, select

from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.collection import arranging
from kinphoto.archive.collection.container_pages import Missing, lacks, named_boxes
from kinphoto.archive.people.pictures import Picture, pictures_by_id
from kinphoto.archive.search.searching import SearchQuery, taken_in, understood
from kinphoto.errors import InvalidValueError
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.archive import Archive


@dataclass(frozen=True, slots=True, kw_only=True)
class ListQuery:
    """What is asked of a list; everything given has to fit. `box` is a container with those inside it, "" for what lies
    nowhere; `years` is a year, a decade (1920s) or a range (1920-1935)."""

    lacking: Collection[Missing] = ()
    box: str | None = None
    years: str | None = None


@dataclass(frozen=True, slots=True)
class ListedPhotograph:
    """A photograph on a list: its picture with names and date, where it lies, and how many faces have no name."""

    picture: Picture
    page: bool
    place: str
    box: str
    nameless: int


def listed(archive: Archive, wanted: ListQuery) -> tuple[ListedPhotograph, ...]:
    """The photographs that fit, as they lie in their boxes; by date where years are asked for.

    Raises NotFoundError or AmbiguousError for a box, InvalidValueError for years that cannot be understood.
    """
    between = None
    if wanted.years is not None:
        words, between = understood(SearchQuery(text=wanted.years))
        if words or between is None:
            raise InvalidValueError(
                f"'{wanted.years}' is not a year", remedy="Give one like 1924, a decade like 1920s, or 1920-1935."
            )
    archive.refresh_estimates()
    with archive.reading() as connection:
        p, e = t.photograph.c, t.estimate.c
        conditions: list[ColumnElement[bool]] = [lacks(each) for each in wanted.lacking]
        if wanted.box is not None:
            conditions.append(_in_box(connection, wanted.box))
        if between is not None:
            conditions.append(taken_in(between))
        query = select(p.id, p.container_id, p.position, p.page, p.place)
        query = query.outerjoin(t.estimate, e.photograph_id == p.id).where(*conditions)
        rows = {row.id: row for row in connection.execute(query.order_by(p.position, p.id))}
        pictures = pictures_by_id(connection, rows)
        nameless, names = _nameless(connection, rows), {box.id: box.name for box in named_boxes(connection)}
        shelf = {id_: at for at, id_ in enumerate(names)}
        found = [
            ListedPhotograph(
                pictures[id_], bool(row.page), row.place, names.get(row.container_id, ""), nameless.get(id_, 0)
            )
            for id_, row in sorted(
                rows.items(), key=lambda pair: (shelf.get(pair[1].container_id, len(shelf)), pair[1].position, pair[0])
            )
        ]
    return tuple(found if between is None else sorted(found, key=_taken))


def _in_box(connection: Connection, box: str) -> ColumnElement[bool]:
    """Lying in this container or one inside it; nowhere for ""."""
    p, c = t.photograph.c, t.container.c
    if not box.strip():
        return p.container_id.is_(None)
    within = {int(arranging.find(connection, box)["id"])}
    inside = {row.id: row.parent_id for row in connection.execute(select(c.id, c.parent_id))}
    edge = within
    while edge:
        edge = {id_ for id_, parent in inside.items() if parent in edge} - within
        within = within | edge
    return or_(among(connection, p.container_id, within))


def _nameless(connection: Connection, ids: Collection[int]) -> dict[int, int]:
    """How many faces of each photograph have no name."""
    a = t.appearance.c
    query = select(a.photograph_id, func.count()).where(a.person_id.is_(None), a.denied == 0, a.withdrawn == 0)
    return {row[0]: row[1] for row in rows_of(connection, query.group_by(a.photograph_id), a.photograph_id, ids)}


def _taken(one: ListedPhotograph) -> tuple[int, str]:
    e = one.picture.estimate
    return (e.best if e.best is not None else e.earliest) if e else 0, one.picture.code

"""Containers as they are shown: the list of all of them, and one of them with its photographs in physical order.

Read by queries on indexes, a page at a time, so that a hundred thousand photographs open as fast as a shoe box.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any

from sqlalchemy import ColumnElement, Connection, Integer, Select, and_, cast, exists, false, func, or_, select

from kinphoto.archive.catalogue.finding import is_row_id
from kinphoto.archive.catalogue.privacy import Public, photographs_shown, public_view
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.collection.photograph_page import ContainerName, ScanShown, boxes_above, scanned
from kinphoto.documents import INLINE, INTERNAL, Key
from kinphoto.errors import NotFoundError
from kinphoto.reason.model.findings import State
from kinphoto.store import tables as t


class Missing(StrEnum):
    """What a photograph may still lack."""

    DATE = "undated"
    NAMES = "unnamed"
    RESOLUTION = "disputed"


@dataclass(frozen=True, slots=True)
class Tally:
    """How many photographs there are, and how many of them lack something. Album pages are not counted."""

    photographs: Annotated[int, "how many photographs are in it, without those of containers inside it"] = 0
    undated: Annotated[int, "how many of them are not dated"] = 0
    unnamed: Annotated[int, "in how many nobody is named"] = 0
    disputed: Annotated[int, "how many are part of a conflict"] = 0


@dataclass(frozen=True, slots=True)
class ContainerRow:
    """One container in the list, with what is directly in it. `cover` is a scan in it."""

    id: Annotated[int, "its number, for programs; 0 for the photographs in none"]
    name: Annotated[str, "its name"]
    depth: Annotated[int, "how many others it is inside; the one it is in comes before it"]
    tally: Annotated[Tally, INLINE]
    cover: Annotated[ScanShown | None, INTERNAL]


@dataclass(frozen=True, slots=True)
class ContainerPage:
    """A container with those it is inside, those in it, and a page of its photographs from number `start` (0 the first)
    of `count` that match. `id` is None for photographs that are in no container yet."""

    id: Annotated[int | None, "a container's number, for programs"]
    name: Annotated[str, "its name"]
    note: Annotated[str, "what was noted about it"]
    folder: Annotated[str | None, "the folder of scans it stands for, or null"]
    arrangement: Annotated[
        str | None,
        "what was recorded about the order in it: `in-order`, `backwards`, `not-in-order`, or null for nothing",
    ]
    above: Annotated[tuple[ContainerName, ...], INTERNAL]
    inside: Annotated[tuple[ContainerRow, ...], INTERNAL]
    tally: Annotated[Tally, INLINE]
    photographs: Annotated[tuple[PhotographCard, ...], INTERNAL]
    start: Annotated[int, INTERNAL]
    count: Annotated[int, INTERNAL]

    @property
    def above_names(self) -> Annotated[list[str], Key("inside"), "the containers it is inside, the outermost first"]:
        """The names of those above it."""
        return [box.name for box in self.above]

    @property
    def inside_names(self) -> Annotated[list[str], Key("boxes"), "the containers in it"]:
        """The names of those in it."""
        return [each.name for each in self.inside]


A_PAGE = 120
"""Photographs shown of a container at once."""


def container_rows(connection: Connection, *, for_anybody: bool = False) -> tuple[ContainerRow, ...]:
    """Every container, each after the one it is in, in the order of their names; last the photographs in none, if any.

    Folders of scans whose photographs were all moved elsewhere are left out. With `for_anybody` as if there were only
    what anybody may see.
    """
    public = public_view(connection, for_anybody)
    tallies, covers = tally(connection, None, public), _covers(connection, None, public)
    loose = tallies.get(None)
    nowhere = [ContainerRow(0, "", 0, loose, covers.get(None))] if loose else []
    there = (
        ContainerRow(row.id, row.name, depth, tallies.get(row.id, Tally()), covers.get(row.id))
        for row, depth in _in_order(connection, public)
    )
    return (*there, *nowhere)


def named_boxes(connection: Connection, *, for_anybody: bool = False) -> tuple[ContainerName, ...]:
    """The same containers by name only, in the same order."""
    return tuple(
        ContainerName(row.id, row.name) for row, _ in _in_order(connection, public_view(connection, for_anybody))
    )


def _in_order(connection: Connection, public: Public | None) -> Iterator[tuple[Any, int]]:
    """The containers (id, name) in the order of the list, each with its depth."""
    c = t.container.c
    filled = exists().where(t.photograph.c.container_id == c.id)
    below: dict[int | None, list[Any]] = defaultdict(list)
    for row in connection.execute(select(c.id, c.name, c.parent_id, (c.folder.is_(None) | filled).label("stays"))):
        if public is None or row.id in public.containers:
            below[row.parent_id].append(row)

    def walk(parent: int | None, depth: int) -> Iterator[tuple[Any, int]]:
        for row in sorted(below.get(parent, ()), key=lambda row: _natural(row.name)):
            within = list(walk(row.id, depth + 1))
            if row.stays or within:
                yield row, depth
                yield from within

    yield from walk(None, 0)


def container_page(
    connection: Connection, container_id: int | None, missing: Missing | None = None, start: int = 0, *,
    for_anybody: bool = False,
) -> ContainerPage:  # fmt: skip
    """One container (its row id; None: what is in none yet), a page of its photographs from number `start` on. Raises
    NotFoundError. With `for_anybody` as if there were only what anybody may see."""
    public = public_view(connection, for_anybody)
    c, p = t.container.c, t.photograph.c
    row = None
    if container_id is not None and is_row_id(container_id) and (public is None or container_id in public.containers):
        row = connection.execute(select(t.container).where(c.id == container_id)).mappings().first()
    if row is None and container_id is not None:
        raise NotFoundError(f"there is no box {container_id}", remedy="Look for it in the list of boxes.")
    # == None becomes IS NULL, for what is in none
    here = and_(p.container_id == container_id, *photographs_shown(connection, p.id, public))
    fitting = here if missing is None else and_(here, lacks(missing, public))
    ids = connection.scalars(
        _dated(select(p.id)).where(fitting).order_by(p.position, p.id).limit(A_PAGE).offset(max(start, 0))
    ).all()
    own = tally(connection, {container_id}, public).get(container_id, Tally())
    count = own.photographs if missing is None else getattr(own, missing.value)
    pages = connection.scalar(select(func.count()).select_from(t.photograph).where(here, p.page == 1)) or 0
    return ContainerPage(
        container_id,
        row["name"] if row else "",
        row["note"] if row else "",
        row["folder"] if row else None,
        (row["arrangement"] or None) if row else None,
        tuple(boxes_above(connection, row["parent_id"])) if row else (),
        tuple(_inside(connection, container_id, public)) if row else (),
        own,
        tuple(cards(connection, ids, public).values()),
        max(start, 0),
        count + (pages if missing is None else 0),
    )


A_FEW = 4
"""Pictures that show what is in a container."""


def few_of_containers(
    connection: Connection, containers: Sequence[int], *, for_anybody: bool = False
) -> dict[int, tuple[ScanShown, ...]]:
    """The first few scans in each of these containers (row ids; 0: in none), for a list that shows what is inside. With
    `for_anybody` of what anybody may see."""
    public, p = public_view(connection, for_anybody), t.photograph.c
    allowed = photographs_shown(connection, p.id, public)
    firsts: dict[int, Sequence[int]] = {}
    for each in containers:
        here = select(p.id).where(p.container_id == (each or None), *allowed)
        firsts[each] = connection.scalars(here.order_by(p.position, p.id).limit(A_FEW)).all()
    drawn = cards(connection, [id_ for ids in firsts.values() for id_ in ids], public)
    return {each: tuple(scan for id_ in ids if (scan := drawn[id_].recto) is not None) for each, ids in firsts.items()}


def lacks(missing: Missing, public: Public | None = None) -> ColumnElement[bool]:
    """The photographs (joined with their estimates) that lack this; disputes are not shown to the `public`."""
    a, p, e = t.appearance.c, t.photograph.c, t.estimate.c
    named = exists().where(a.photograph_id == p.id, a.person_id.is_not(None), a.denied == 0, a.withdrawn == 0)
    conditions: dict[Missing, ColumnElement[bool]] = {
        Missing.DATE: or_(e.state.is_(None), e.state == State.OPEN),
        Missing.NAMES: ~named,
        Missing.RESOLUTION: e.state == State.DISPUTED if public is None else false(),
    }
    return and_(p.page == 0, conditions[missing])


def tally(
    connection: Connection, containers: Collection[int | None] | None, public: Public | None = None
) -> dict[int | None, Tally]:
    """Counts of what is directly in these containers (row ids; None: in none), or in each; with `public` of what that
    holds."""
    p = t.photograph.c

    def number(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.sum(cast(condition, Integer))

    query = _dated(select(p.container_id, func.count(), *(number(lacks(missing, public)) for missing in Missing)))
    query = query.where(p.page == 0, *photographs_shown(connection, p.id, public)).group_by(p.container_id)
    if containers is not None:
        wanted = [p.container_id.in_([id_ for id_ in containers if id_ is not None])]
        query = query.where(or_(*wanted, *([p.container_id.is_(None)] if None in containers else [])))
    return {row[0]: Tally(*(value or 0 for value in row[1:])) for row in connection.execute(query)}


def _dated(query: Select[Any]) -> Select[Any]:
    p = t.photograph.c
    return query.select_from(t.photograph).outerjoin(t.estimate, t.estimate.c.photograph_id == p.id)


def _inside(connection: Connection, container_id: int | None, public: Public | None) -> Iterator[ContainerRow]:
    c = t.container.c
    query = select(c.id, c.name).where(c.parent_id == container_id)
    rows = [row for row in connection.execute(query) if public is None or row.id in public.containers]
    if not rows:
        return
    ids = [row.id for row in rows]
    tallies, covers = tally(connection, set(ids), public), _covers(connection, ids, public)
    for row in sorted(rows, key=lambda row: _natural(row.name)):
        yield ContainerRow(row.id, row.name, 0, tallies.get(row.id, Tally()), covers.get(row.id))


def _covers(
    connection: Connection, containers: Collection[int] | None, public: Public | None
) -> dict[int | None, ScanShown]:
    """For each container the scan of its first photograph that may be shown."""
    p, s = t.photograph.c, t.scan.c
    first = select(func.min(p.id)).where(*photographs_shown(connection, p.id, public)).group_by(p.container_id)
    if containers is not None:
        first = first.where(p.container_id.in_(containers))
    query = (
        select(p.container_id, t.scan)
        .join(t.photograph, p.id == s.photograph_id)
        .where(p.id.in_(first), s.side == "recto")
        .order_by(s.position.desc(), s.id.desc())
    )
    return {row["container_id"]: scanned(row) for row in connection.execute(query).mappings()}


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Names in the order people expect: "box 2" before "box 10"."""
    parts = filter(None, re.split(r"([0-9]+)", name.casefold()))
    numbered = ((part, part.lstrip("0") if part[0] in "0123456789" else None) for part in parts)
    return [(1, 0, part) if number is None else (0, len(number), number) for part, number in numbered]

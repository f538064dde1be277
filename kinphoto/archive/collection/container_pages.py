"""Containers as one sees them: the shelf with every box on it, and one box opened, its photographs in physical order.

Read by queries on indexes, a page at a time, so that a shelf of a hundred thousand photographs opens as fast as a
shoe box.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Integer,
    RowMapping,
    Select,
    and_,
    cast,
    exists,
    false,
    func,
    or_,
    select,
)

from kinphoto.archive.catalogue.finding import is_row_id
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.privacy import Public, photographs_shown, undisputed
from kinphoto.archive.collection.photograph_page import ContainerName, ScanShown, boxes_above, scanned
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.errors import NotFoundError
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.store import tables as t


class Missing(StrEnum):
    """What a photograph may still lack."""

    DATE = "undated"
    NAMES = "unnamed"
    RESOLUTION = "disputed"


@dataclass(frozen=True, slots=True)
class Tally:
    """How many photographs there are, and how many of them want something. Album pages are not counted."""

    photographs: int = 0
    undated: int = 0
    unnamed: int = 0
    disputed: int = 0


@dataclass(frozen=True, slots=True)
class ContainerRow:
    """One container on the shelf, `depth` boxes deep, with what lies directly in it. `cover` is a scan in it."""

    id: int
    name: str
    depth: int
    tally: Tally
    cover: ScanShown | None


@dataclass(frozen=True, slots=True)
class PhotographCard:
    """A photograph as one of many: what to show of it, who is in it by name, and how many faces have none.
    `estimate` is None for an album page and for what has not been dated yet."""

    code: str
    title: str
    page: bool
    recto: ScanShown | None
    sides: tuple[str, ...]
    names: tuple[str, ...]
    nameless: int
    estimate: Estimate | None

    @property
    def disputed(self) -> bool:
        """Whether it bears on a conflict."""
        return self.estimate is not None and self.estimate.state is State.DISPUTED


@dataclass(frozen=True, slots=True)
class ContainerPage:
    """A container opened: those above it, those in it, and a page of its photographs from number `start` (0 the first)
    of `count` that fit what was asked for. `id` is None for photographs that lie nowhere yet."""

    id: int | None
    name: str
    note: str
    folder: str | None
    above: tuple[ContainerName, ...]
    inside: tuple[ContainerRow, ...]
    tally: Tally
    photographs: tuple[PhotographCard, ...]
    start: int
    count: int


A_PAGE = 120
"""Photographs shown of a container at once."""


def container_rows(connection: Connection, public: Public | None = None) -> tuple[ContainerRow, ...]:
    """Every container, each behind the one it lies in, in the order of their names; last what lies nowhere, if any.

    Folders of scans whose photographs were all put elsewhere are left out. With `public` as if there were only what
    that holds.
    """
    tallies, covers = tally(connection, None, public), _covers(connection, None, public)
    loose = tallies.get(None)
    nowhere = [ContainerRow(0, "", 0, loose, covers.get(None))] if loose else []
    there = (
        ContainerRow(row.id, row.name, depth, tallies.get(row.id, Tally()), covers.get(row.id))
        for row, depth in _container_row(connection, public)
    )
    return (*there, *nowhere)


def named_boxes(connection: Connection, public: Public | None = None) -> tuple[ContainerName, ...]:
    """The containers on the shelf by name only, in the same order."""
    return tuple(ContainerName(row.id, row.name) for row, _ in _container_row(connection, public))


def _container_row(connection: Connection, public: Public | None) -> Iterator[tuple[Any, int]]:
    """The containers (id, name) in the order of the shelf, each with how deep it lies."""
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
    connection: Connection, container_id: int | None, wanting: Missing | None = None, start: int = 0,
    public: Public | None = None,
) -> ContainerPage:  # fmt: skip
    """One container (None: what lies nowhere), a page of it. Raises NotFoundError when there is none such; with
    `public` as if there were only what that holds."""
    c, p = t.container.c, t.photograph.c
    row = None
    if container_id is not None and is_row_id(container_id) and (public is None or container_id in public.containers):
        row = connection.execute(select(t.container).where(c.id == container_id)).mappings().first()
    if row is None and container_id is not None:
        raise NotFoundError(f"there is no box {container_id}", remedy="It may have been renamed: look on the shelf.")
    # == None becomes IS NULL, for what lies nowhere
    here = and_(p.container_id == container_id, *photographs_shown(connection, p.id, public))
    fitting = here if wanting is None else and_(here, lacks(wanting, public))
    ids = connection.scalars(
        _dated(select(p.id)).where(fitting).order_by(p.position, p.id).limit(A_PAGE).offset(max(start, 0))
    ).all()
    own = tally(connection, {container_id}, public).get(container_id, Tally())
    count = own.photographs if wanting is None else getattr(own, wanting.value)
    pages = connection.scalar(select(func.count()).select_from(t.photograph).where(here, p.page == 1)) or 0
    return ContainerPage(
        container_id,
        row["name"] if row else "",
        row["note"] if row else "",
        row["folder"] if row else None,
        tuple(boxes_above(connection, row["parent_id"])) if row else (),
        tuple(_inside(connection, container_id, public)) if row else (),
        own,
        tuple(cards(connection, ids, public)),
        max(start, 0),
        count + (pages if wanting is None else 0),
    )


def cards(connection: Connection, ids: Collection[int], public: Public | None = None) -> list[PhotographCard]:
    """These photographs as one shows many, in the order of `ids`; with `public` those that it holds, without backs and
    without the word that something does not fit together."""
    if public is not None:
        ids = [id_ for id_ in ids if id_ in public.photographs]
    p, s = t.photograph.c, t.scan.c
    columns = select(p.id, p.code, p.title, p.page, *t.estimate.c)
    rows = {row[0]: row._mapping for row in rows_of(connection, _dated(columns), p.id, set(ids))}
    scans: dict[int, list[RowMapping]] = defaultdict(list)
    wanted = select(
        s.photograph_id,
        s.id,
        s.side,
        s.path,
        s.width,
        s.height,
        s.ppi,
        s.missing,
        s.sha256,
        s.turn,
        s.orientation,
        s.superseded,
    ).order_by(s.side != "recto", s.position, s.id)
    if public is not None:
        wanted = wanted.where(s.side != "verso")
    for row in rows_of(connection, wanted, s.photograph_id, set(ids)):
        scans[row[0]].append(row._mapping)
    names, nameless = _who(connection, set(ids))
    told = undisputed if public is not None else lambda estimate: estimate
    return [
        PhotographCard(
            row["code"], row["title"], bool(row["page"]), scanned(scans[id_][0]) if scans[id_] else None,
            tuple(scan["side"] for scan in scans[id_]), tuple(names.get(id_, ())), nameless.get(id_, 0),
            None if row["state"] is None else told(as_estimate(row)),
        )
        for id_, row in ((id_, rows[id_]) for id_ in ids if id_ in rows)
    ]  # fmt: skip


def cards_by_code(connection: Connection, codes: Sequence[str]) -> list[PhotographCard]:
    """The same by their codes; those that are not there are left out."""
    p = t.photograph.c
    ids = {row[0]: row[1] for row in connection.execute(select(p.code, p.id).where(p.code.in_(codes)))}
    return cards(connection, [ids[code] for code in codes if code in ids])


def lacks(wanting: Missing, public: Public | None = None) -> ColumnElement[bool]:
    """The photographs (joined with their estimates) that want this; what is disputed is not told to the `public`."""
    p, e = t.photograph.c, t.estimate.c
    if wanting is Missing.RESOLUTION and public is not None:
        return false()
    match wanting:
        case Missing.DATE:
            return and_(p.page == 0, or_(e.state.is_(None), e.state == State.OPEN))
        case Missing.NAMES:
            return and_(p.page == 0, ~_named())
    return and_(p.page == 0, e.state == State.DISPUTED)


def tally(
    connection: Connection, containers: Collection[int | None] | None, public: Public | None = None
) -> dict[int | None, Tally]:
    """Counts of what lies directly in these containers (row ids; None: nowhere), or in each; with `public` of what that
    holds."""
    p = t.photograph.c

    def number(condition: ColumnElement[bool]) -> ColumnElement[int]:
        return func.sum(cast(condition, Integer))

    query = _dated(select(p.container_id, func.count(), *(number(lacks(wanting, public)) for wanting in Missing)))
    query = query.where(p.page == 0, *photographs_shown(connection, p.id, public)).group_by(p.container_id)
    if containers is not None:
        wanted = [p.container_id.in_([id_ for id_ in containers if id_ is not None])]
        query = query.where(or_(*wanted, *([p.container_id.is_(None)] if None in containers else [])))
    return {row[0]: Tally(*(value or 0 for value in row[1:])) for row in connection.execute(query)}


def _dated(query: Select[Any]) -> Select[Any]:
    p = t.photograph.c
    return query.select_from(t.photograph).outerjoin(t.estimate, t.estimate.c.photograph_id == p.id)


def _named() -> ColumnElement[bool]:
    """That somebody is named in the photograph."""
    a, p = t.appearance.c, t.photograph.c
    return exists().where(a.photograph_id == p.id, a.person_id.is_not(None), a.denied == 0, a.withdrawn == 0)


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


def _who(connection: Connection, ids: Collection[int]) -> tuple[dict[int, list[str]], dict[int, int]]:
    """The names in each photograph, in the order in which they were put down, and how many faces have none."""
    a, p = t.appearance.c, t.person.c
    query = (
        select(a.photograph_id, p.name, a.person_id)
        .outerjoin(t.person, p.id == a.person_id)
        .where(a.withdrawn == 0, a.denied == 0)
        .order_by(a.id)
    )
    names: dict[int, list[str]] = defaultdict(list)
    nameless: dict[int, int] = defaultdict(int)
    for photograph_id, name, person_id in rows_of(connection, query, a.photograph_id, ids):
        if person_id is None:
            nameless[photograph_id] += 1
        elif name not in names[photograph_id]:
            names[photograph_id].append(name)
    return names, nameless


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Names in the order people expect: "box 2" before "box 10"."""
    parts = filter(None, re.split(r"([0-9]+)", name.casefold()))
    numbered = ((part, part.lstrip("0") if part[0] in "0123456789" else None) for part in parts)
    return [(1, 0, part) if number is None else (0, len(number), number) for part, number in numbered]

"""The company a face is in: who was named beside it, who lies in the same container, who was named last.

By queries on indexes, for somebody who is typing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.catalogue.identity import same_as
from kinphoto.archive.catalogue.regions import parse_region, same_face
from kinphoto.errors import NotFoundError
from kinphoto.reason.model.evidence import Role
from kinphoto.store import tables as t

LATELY = 30
"""How many names back are remembered."""


@dataclass(frozen=True, slots=True)
class NearbyPeople:
    """Row ids of people. `beside`: named in this photograph, not on this face. `waiting`: known to be in it, on no face
    yet. `on_face`: named on this one. `excluded`: those who cannot be named on it, because somebody said that it is not
    them or because they are elsewhere in the picture. `often`: in how many other photographs of the container each is.
    `lately`: the people named last, newest first."""

    beside: tuple[int, ...]
    waiting: frozenset[int]
    on_face: frozenset[int]
    excluded: frozenset[int]
    often: dict[int, int]
    lately: tuple[int, ...]
    box: str


def nearby_people(connection: Connection, photograph: RowMapping, region: str | None) -> NearbyPeople:
    """The company of a face: `region` is its id, or left,top,width,height; None for somebody who is on no face.

    Raises NotFoundError for an id that is not of this photograph, InvalidValueError for no region at all.
    """
    others = same_as(connection)
    rows = [
        dict(row) | {"person_id": others.get(row["person_id"], row["person_id"])}
        for row in _appearances(connection, photograph["id"])
    ]
    face = _face(connection, photograph, region)
    named = [row for row in rows if row["person_id"] is not None and not row["denied"]]
    on_face = {row["person_id"] for row in named if face is not None and row["region_id"] == face}
    beside = [row["person_id"] for row in named if row["person_id"] not in on_face]
    name = connection.scalar(select(t.container.c.name).where(t.container.c.id == photograph["container_id"]))
    return NearbyPeople(
        tuple(dict.fromkeys(beside)),
        frozenset(row["person_id"] for row in named if region is not None and row["region_id"] is None),
        frozenset(on_face),
        frozenset(_excluded(rows, face, region is not None)),
        _often(connection, photograph, others),
        _lately(connection, others),
        name or "",
    )


def _excluded(rows: list[dict[str, Any]], face: int | None, framed: bool) -> set[int]:
    """Those denied here or in the whole photograph, and those who are at another place of it.

    Of two or more names on one face it is open which is right, so neither keeps its person from another; and a face
    that has a name already can have any rival. A likeness is no body.
    """
    said_not = {row["person_id"] for row in rows if row["denied"] and row["region_id"] in (None, face)}
    named = [row for row in rows if row["person_id"] is not None and not row["denied"] and row["role"] != Role.LIKENESS]
    if face is not None and any(row["region_id"] == face for row in named):
        return said_not
    elsewhere = set()
    for row in named:
        alone = len({r["person_id"] for r in named if r["region_id"] == row["region_id"]}) == 1
        if (row["region_id"] is not None and alone) or not framed:
            elsewhere.add(row["person_id"])
    return said_not | elsewhere


def _face(connection: Connection, photograph: RowMapping, region: str | None) -> int | None:
    """The row id of the face meant; None for one that is not drawn yet."""
    if region is None:
        return None
    rows = connection.execute(select(t.region).where(t.region.c.photograph_id == photograph["id"])).mappings().all()
    plain = region.strip().upper()
    if re.fullmatch(r"R[0-9]{1,18}", plain):
        if all(row["id"] != int(plain[1:]) for row in rows):
            raise NotFoundError(f"there is no {plain} in {photograph['code']}", remedy="Give the region itself.")
        return int(plain[1:])
    found = same_face(parse_region(region), rows)
    return None if found is None else int(found["id"])


def _appearances(connection: Connection, photograph_id: int) -> list[RowMapping]:
    a = t.appearance.c
    query = select(a.person_id, a.region_id, a.role, a.denied).where(a.photograph_id == photograph_id, a.withdrawn == 0)
    return list(connection.execute(query.order_by(a.id)).mappings())


def _often(connection: Connection, photograph: RowMapping, others: dict[int, int]) -> dict[int, int]:
    if photograph["container_id"] is None:
        return {}
    a, p = t.appearance.c, t.photograph.c
    rows = connection.execute(
        select(a.person_id, func.count(a.photograph_id.distinct()))
        .join(t.photograph, p.id == a.photograph_id)
        .where(p.container_id == photograph["container_id"], p.id != photograph["id"])
        .where(a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None))
        .group_by(a.person_id)
    )
    often: dict[int, int] = {}
    for id_, times in rows:
        often[others.get(id_, id_)] = often.get(others.get(id_, id_), 0) + times
    return often


def _lately(connection: Connection, others: dict[int, int]) -> tuple[int, ...]:
    """Whoever the newest changes of appearances name: a face that is named later keeps its row."""
    r, a = t.change_row.c, t.appearance.c
    newest = select(r.table_name, r.first_id, r.last_id).order_by(r.id.desc()).limit(3 * LATELY)
    ids: dict[int, None] = {}
    for table, first, last in connection.execute(newest):
        if table == t.appearance.name:
            ids.update(dict.fromkeys(range(last, max(first, last - LATELY) - 1, -1)))
    recent = list(ids)[:LATELY]
    rows = connection.execute(
        select(a.id, a.person_id).where(a.id.in_(recent), a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None))
    )
    who = {id_: others.get(person_id, person_id) for id_, person_id in rows}
    return tuple(dict.fromkeys(who[id_] for id_ in recent if id_ in who))

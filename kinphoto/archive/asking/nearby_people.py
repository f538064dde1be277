"""The people around a face: those named beside it, those in the same container, those named last.

By queries on indexes, for somebody who is typing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.regions import parse_region, same_face
from kinphoto.archive.catalogue.rivals import with_rivals
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
    """The people around a face: `region` is its id, or left,top,width,height; None for somebody who is on no face.

    Raises NotFoundError for an id of another photograph, InvalidValueError for something that is not a region.
    """
    identity = read_identity(connection)
    a = t.appearance.c
    query = select(a.person_id, a.region_id, a.role, a.denied).where(a.photograph_id == photograph["id"])
    found = connection.execute(query.where(a.withdrawn == 0).order_by(a.id)).mappings()
    rows = [dict(row) | {"person_id": identity.of(row["person_id"])} for row in found]
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
        _often(connection, photograph, identity),
        _lately(connection, identity),
        name or "",
    )


def _excluded(rows: list[dict[str, Any]], face: int | None, framed: bool) -> set[int]:
    """Those denied here or in the whole photograph, and those who are at another place of it.

    While a face has several names, nobody knows which is right, so its people may be elsewhere; and a face that has a
    name can be given any other as well. A likeness takes nobody's place.
    """
    denied = {row["person_id"] for row in rows if row["denied"] and row["region_id"] in (None, face)}
    named = [row for row in rows if row["person_id"] is not None and not row["denied"] and row["role"] != Role.LIKENESS]
    if face is not None and any(row["region_id"] == face for row in named):
        return denied
    unsettled = {None, *with_rivals((row["region_id"], row["person_id"]) for row in named)}
    elsewhere = {row["person_id"] for row in named if row["region_id"] not in unsettled or not framed}
    return denied | elsewhere


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


def _often(connection: Connection, photograph: RowMapping, identity: Identity) -> dict[int, int]:
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
        often[identity.of(id_)] = often.get(identity.of(id_), 0) + times
    return often


def _lately(connection: Connection, identity: Identity) -> tuple[int, ...]:
    """The people named in the newest changes: a face that is named later keeps its row."""
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
    who = {id_: identity.of(person_id) for id_, person_id in rows}
    return tuple(dict.fromkeys(who[id_] for id_ in recent if id_ in who))

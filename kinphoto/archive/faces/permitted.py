"""Whose faces may be compared: nobody's who was left out, and nobody's who may be living unless the keeper allows it.

A face without a name may be a living person's, unless the photograph was certainly taken longer ago than anybody lives.
It is asked anew each time, as people are named, die, and are left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.privacy import taken_long_ago
from kinphoto.archive.faces.kept import Front, KeptFace, matched, regions_of
from kinphoto.store import tables as t
from kinphoto.store.among import among


def may_be_compared(
    connection: Connection, there: Sequence[Front], found: dict[str, list[KeptFace]], *, living: bool
) -> set[int]:
    """The ids of the faces that may be compared with others."""
    there = [front for front in there if found.get(front.sha256)]
    ids = {front.photograph_id for front in there}
    framed, named = regions_of(connection, ids), named_in(connection, ids)
    identity = read_identity(connection)
    out = {identity.of(id_) for id_ in connection.scalars(select(t.uncompared_person.c.person_id))}
    people = {who for rows in named.values() for _, who in rows}
    alive = set() if living else may_be_living(connection, people)
    long_ago = ids if living else taken_long_ago(connection, ids, None)
    allowed: set[int] = set()
    for front in there:
        here = named.get(front.photograph_id, [])
        unplaced = any(region is None and who in out for region, who in here)
        regions = matched(front, found[front.sha256], framed[front.photograph_id])
        for face in found[front.sha256]:
            on_it = {who for region, who in here if region is not None and region == regions.get(face.id)}
            of_nobody = front.photograph_id in long_ago and not unplaced
            if (not on_it & (out | alive)) if on_it else of_nobody:
                allowed.add(face.id)
    return allowed


def named_in(connection: Connection, photographs: set[int]) -> dict[int, list[tuple[int | None, int]]]:
    """Of each photograph the region (row id; None for nowhere) and the person of everybody named in it."""
    a, identity = t.appearance.c, read_identity(connection)
    query = select(a.photograph_id, a.region_id, a.person_id).where(
        a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None), among(connection, a.photograph_id, photographs)
    )
    named: dict[int, list[tuple[int | None, int]]] = defaultdict(list)
    for row in connection.execute(query):
        named[row.photograph_id].append((row.region_id, identity.of(row.person_id)))
    return named

"""A face for each person, for lists: the newest one that somebody framed, of a photograph that may be shown unasked."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.privacy import photographs_shown, public_view
from kinphoto.archive.catalogue.rivals import read_with_rivals
from kinphoto.archive.collection.shown_unasked import shown_unasked
from kinphoto.store import tables as t


def portraits(connection: Connection, people: Sequence[str], *, for_anybody: bool = False) -> dict[str, int]:
    """The region (row id) that shows each of these people (ids as in the tree); whoever has none is left out, also who
    has a rival on every face."""
    p, a = t.person.c, t.appearance.c
    identity = read_identity(connection)
    codes = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(list(people))))}
    names = identity.names(codes)
    query = select(a.person_id, a.region_id, a.photograph_id)
    query = query.where(a.region_id.is_not(None), a.denied == 0, a.withdrawn == 0)
    query = query.where(*photographs_shown(connection, a.photograph_id, public_view(connection, for_anybody)))
    rows = list(rows_of(connection, query.order_by(a.region_id.desc()), a.person_id, set(names)))
    shown = shown_unasked(connection, {row.photograph_id for row in rows})
    rivals = read_with_rivals(connection, {row.region_id for row in rows}, identity)
    found: dict[str, int] = {}
    for row in rows:
        if row.photograph_id in shown and row.region_id not in rivals:
            found.setdefault(codes[names[row.person_id]], row.region_id)
    return found

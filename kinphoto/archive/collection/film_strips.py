"""Whether what was cut out of one scan may be frames of one strip of film. That is only offered: who cut the film, and
what was laid on the glass beside it, no picture shows."""

from __future__ import annotations

from sqlalchemy import Connection, RowMapping, or_, select

from kinphoto.reason.model import evidence as ev
from kinphoto.scans import upright
from kinphoto.store import tables as t
from kinphoto.store.among import among

_FILM = ("slide-35mm", "colour-slide", "nitrate-negative", "safety-negative")
"""Processes and formats that come in strips and rolls; glass does not."""


def perhaps_one_strip(connection: Connection, scan: RowMapping) -> tuple[str, ...]:
    """The photographs (codes) cut out of this scan of film, in their order on it, if there are several and nobody has
    recorded, or withdrawn, that any of them are on one strip; none otherwise."""
    f, p, s = t.print_frame.c, t.photograph.c, t.statement.c
    query = select(p.id, p.code).join(t.print_frame, f.photograph_id == p.id).where(f.scan_id == scan["id"])
    parts = {row.id: row.code for row in connection.execute(query.order_by(f.position, f.id))}
    if len(parts) < 2 or not _is_film(connection, scan, parts):
        return ()
    ends = or_(among(connection, s.photograph_id, parts), among(connection, s.other_id, parts))
    tied = connection.scalar(select(s.id).where(s.kind == ev.Related.SAME_STRIP, ends).limit(1))
    return () if tied is not None else tuple(parts.values())


def _is_film(connection: Connection, scan: RowMapping, parts: dict[int, str]) -> bool:
    """Whether it is shown as the positive of a negative, or recorded to be film."""
    if scan["turn"] & upright.POSITIVE:
        return True
    s, of = t.statement.c, [scan["photograph_id"], *parts]
    said = select(s.id).where(among(connection, s.photograph_id, of), s.kind.in_(("process", "format")))
    if connection.scalar(said.where(s.value.in_(_FILM), s.withdrawn == 0).limit(1)) is not None:
        return True
    turns = select(t.scan.c.turn).where(among(connection, t.scan.c.photograph_id, list(parts)))
    return any(turn & upright.POSITIVE for turn in connection.scalars(turns))

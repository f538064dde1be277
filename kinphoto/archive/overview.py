"""How much is in an archive and how far it has got: the figures a newcomer and an evening's work begin with."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Overview:
    """Counts of what is in the archive. Album pages are no photographs."""

    photographs: int
    scans: int
    people: int


def overview(connection: Connection) -> Overview:
    """Count."""

    def count(query: object) -> int:
        return int(connection.scalar(query) or 0)  # type: ignore[call-overload]

    return Overview(
        photographs=count(select(func.count()).select_from(t.photograph).where(t.photograph.c.page == 0)),
        scans=count(select(func.count()).select_from(t.scan)),
        people=count(select(func.count()).select_from(t.person).where(t.person.c.same_as_id.is_(None))),
    )

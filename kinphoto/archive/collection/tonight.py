"""What was scanned this evening: an evening ends at four in the morning, so that midnight does not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated

from sqlalchemy import Connection, func, select

from kinphoto.store import tables as t

DAY_BEGINS = 4
"""The hour at which the next evening's count begins."""


@dataclass(frozen=True, slots=True)
class Tonight:
    """How much was scanned since the day began."""

    scans: Annotated[int, "scans added since four in the morning"]
    photographs: Annotated[int, "photographs they are; backs and rescans do not count"]
    quota: Annotated[int | None, "how many prints an evening somebody means to scan, or null"]

    @property
    def words(self) -> str:
        """ "12 of 40 tonight", "12 tonight"."""
        return f"{self.photographs} of {self.quota} tonight" if self.quota else f"{self.photographs} tonight"


def tonight(connection: Connection, now: datetime | None = None) -> Tonight:
    """What was scanned since the evening began."""
    s = t.scan.c
    here = s.indexed_at >= evening_begins(now or datetime.now().astimezone())
    scans, photographs = connection.execute(
        select(func.count(), func.count(s.photograph_id.distinct())).where(here)
    ).one()
    return Tonight(scans, photographs, connection.scalar(select(t.quota.c.prints)))


def evening_begins(now: datetime) -> str:
    """The moment at which the evening's count began, as the archive writes times."""
    begins = now.replace(hour=DAY_BEGINS, minute=0, second=0, microsecond=0)
    if begins > now:
        begins -= timedelta(days=1)
    return begins.astimezone(UTC).isoformat(timespec="seconds")

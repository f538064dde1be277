"""What was scanned this evening: an evening ends at four in the morning, so that midnight does not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.store import tables as t

DAY_BEGINS = 4
"""The hour at which the next evening's count begins."""

_NEWEST = 2_000  # scans that are looked at first, as all others are older: an evening has a hundred or two


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
    s, begins = t.scan.c, evening_begins(now or datetime.now().astimezone())
    newest = connection.execute(select(s.indexed_at, s.photograph_id).order_by(s.id.desc()).limit(_NEWEST)).all()
    if len(newest) == _NEWEST and newest[-1].indexed_at >= begins:  # a whole archive was added today
        newest = connection.execute(select(s.indexed_at, s.photograph_id)).all()
    here = [row.photograph_id for row in newest if row.indexed_at >= begins]
    return Tonight(len(here), len(set(here)), connection.scalar(select(t.quota.c.prints)))


def evening_begins(now: datetime) -> str:
    """The moment at which the evening's count began, as the archive writes times."""
    begins = now.replace(hour=DAY_BEGINS, minute=0, second=0, microsecond=0)
    if begins > now:
        begins -= timedelta(days=1)
    return begins.astimezone(UTC).isoformat(timespec="seconds")


def evening(moment: datetime) -> date:
    """The day whose evening a moment belongs to."""
    return (moment - timedelta(hours=DAY_BEGINS)).date()

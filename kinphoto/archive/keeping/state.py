"""How well the archive is kept: how old the last copy elsewhere is, and whether the scans were read again in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, func, select

from kinphoto.archive.keeping.fixity import FINE, overdue
from kinphoto.archive.keeping.notes import BACKUP, DAILY, PACKAGE, read_note
from kinphoto.phrases import counted, listed
from kinphoto.store import tables as t
from kinphoto.store.root_rows import roots_with_scans

_OLD = 30  # days after which a backup is worth a word


@dataclass(frozen=True, slots=True)
class KeepState:
    """How well the archive is kept."""

    scans: Annotated[int, "how many scans there are"]
    backup: Annotated[str | None, "the folder of the last backup; null when there is none"]
    backup_at: Annotated[str | None, "when it was made (UTC)"]
    backup_days: Annotated[int | None, "how many days ago that was"]
    not_in_it: Annotated[int, "how many scans were not in it"]
    same_disk: Annotated[bool, "whether it is on the same disk as the archive"]
    daily: Annotated[str | None, "where `kinphoto serve` makes a backup every day; null when it does not"]
    package: Annotated[str | None, "the folder of the last package; null when there is none"]
    package_at: Annotated[str | None, "when it was made (UTC)"]
    overdue: Annotated[int, "how many files of scans were not read again for more than a quarter of a year"]
    problems: Annotated[int, "how many files were not what they should be when they were last read"]
    away: Annotated[Sequence[str], "folders of scans that are not there"]
    advice: Annotated[Sequence[str], "what would be good to do, in words, the most pressing first"]


def state(connection: Connection, now: datetime | None = None) -> KeepState:
    """How well the archive is kept, as noted."""
    backup, daily, package = (read_note(connection, key) or {} for key in (BACKUP, DAILY, PACKAGE))
    days = None
    if backup:
        days = max(0, ((now or datetime.now(UTC)) - datetime.fromisoformat(backup["at"])).days)
    scans = connection.scalar(select(func.count()).select_from(t.scan)) or 0
    late = overdue(connection)
    recordings = connection.scalar(select(func.count()).select_from(t.story).where(t.story.c.sound != ""))
    bad = connection.scalar(select(func.count()).select_from(t.fixity).where(t.fixity.c.problem != FINE)) or 0
    away = [root.path for root in roots_with_scans(connection) if not Path(root.path).is_dir()]
    not_in_it, same = int(backup.get("not_in_it", 0)), bool(backup.get("same_disk", False))
    return KeepState(
        scans=scans,
        backup=backup.get("folder"),
        backup_at=backup.get("at"),
        backup_days=days,
        not_in_it=not_in_it,
        same_disk=same,
        daily=daily.get("target"),
        package=package.get("folder"),
        package_at=package.get("at"),
        overdue=late,
        problems=bad,
        away=away,
        advice=[
            *_of_the_scans(away, bad, late, recordings=bool(recordings)),
            *(_of_the_backup(days, not_in_it, same=same) if scans or backup else ()),
        ],
    )


def ago(days: int) -> str:
    """ "today", "3 days ago", "5 weeks ago", "4 months ago"."""
    if days < 2:
        return "yesterday" if days else "today"
    if days < 21:
        return f"{days} days ago"
    return f"{days // 7} weeks ago" if days < 90 else f"{days // 30} months ago"


def _of_the_scans(away: Sequence[str], bad: int, late: int, *, recordings: bool) -> list[str]:
    lines = []
    if away:
        lines.append(
            f"The scans in {listed(away)} cannot be found. If their disk is not plugged in, plug it in; if they moved: "
            "kinphoto scans where OLD-FOLDER NEW-FOLDER."
        )
    if bad:
        are = (
            counted(bad, "scan or recording is", "scans or recordings are")
            if recordings
            else counted(bad, "scan is", "scans are")
        )
        lines.append(
            f"{are} not as they should be. kinphoto keep verify says which, and what to do."
            if bad > 1
            else f"{are} not as it should be. kinphoto keep verify says which, and what to do."
        )
    if late:
        have = (
            counted(late, "scan or recording has", "scans or recordings have")
            if recordings
            else counted(late, "scan has", "scans have")
        )
        lines.append(
            f"{have} not been read again for more than three months. When you have a moment: "
            "kinphoto keep verify --minutes 20."
        )
    return lines


def _of_the_backup(days: int | None, not_in_it: int, *, same: bool) -> list[str]:
    if days is None:
        return ["There is no copy of this archive elsewhere yet. To make one: kinphoto keep backup /media/DISK/NAME."]
    lines = []
    if days > _OLD:
        lines.append(f"The last copy elsewhere was made {ago(days)}. When its disk is at hand: kinphoto keep backup.")
    if not_in_it:
        lines.append(f"{counted(not_in_it, 'scan is', 'scans are')} not in the last backup.")
    if same:
        lines.append("The last backup is on the same disk as the archive; one on another disk would be safer.")
    return lines

"""While somebody scans: the newest scans, and what the newest of them is to the one before."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.collection import joining, replacing
from kinphoto.archive.collection.joining import Joined
from kinphoto.archive.collection.photograph_page import ScanShown, scanned
from kinphoto.archive.collection.replacing import Replaced
from kinphoto.archive.collection.scans_added import FiledScan
from kinphoto.archive.collection.watching import notes_about
from kinphoto.errors import NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class LatestScan:
    """One of the newest scans."""

    scan: ScanShown
    name: str
    photograph: str
    box: str
    notes: tuple[str, ...]


def latest(connection: Connection, most: int = 12, theme: str = "") -> tuple[LatestScan, ...]:
    """The newest scans, the newest first; the first with what to look at, compared with the `theme` in use."""
    p, c, s = t.photograph.c, t.container.c, t.scan.c
    query = (
        select(t.scan, p.code, c.name.label("box"))
        .join(t.photograph, p.id == s.photograph_id)
        .outerjoin(t.container, c.id == p.container_id)
        .order_by(s.id.desc())
    )
    found: list[LatestScan] = []
    for row in connection.execute(query.limit(most)).mappings():
        notes = () if found else notes_about(connection, FiledScan(row["path"], row["code"]), theme)
        found.append(LatestScan(scanned(row), Path(row["path"]).name, row["code"], row["box"] or "", notes))
    return tuple(found)


def back_of_previous(work: Work, scan_id: int | None = None) -> Joined:
    """The newest scan, or that with this row id, is the back of the one before. Raises NotFoundError without one."""
    newest, before = _with_the_one_before(work.connection, scan_id)
    return joining.join(work, [before["path"], newest["path"]], side="verso")


def again(work: Work, scan_id: int | None = None) -> Replaced:
    """The newest scan, or that with this row id, shows the same side of the same print as the one before, and takes its
    place. Raises NotFoundError without one, InvalidValueError when it is sideways and faces are framed."""
    newest, before = _with_the_one_before(work.connection, scan_id)
    return replacing.replace(work, before["path"], {**newest})


def _with_the_one_before(connection: Connection, scan_id: int | None) -> tuple[RowMapping, RowMapping]:
    """A scan, otherwise the newest, and the last one before it that is of another photograph."""
    s = t.scan.c
    which = s.id == scan_id if scan_id is not None else s.id == select(func.max(s.id)).scalar_subquery()
    newest = connection.execute(select(t.scan).where(which)).mappings().first()
    other = None
    if newest is not None:
        query = select(t.scan).where(s.photograph_id != newest["photograph_id"], s.id < newest["id"])
        other = connection.execute(query.order_by(s.id.desc()).limit(1)).mappings().first()
    if newest is None or other is None:
        raise NotFoundError("there is no scan before this one", remedy="Scan the front first.")
    return newest, other

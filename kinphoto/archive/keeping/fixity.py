"""Whether the scans and recordings are still what they were: each is read again from its disk, the one that was not
read for longest first, in portions as long as somebody has time.

A changed scan is known by its time: whoever edits a file gives it a new one, while a disk that
fails does not. An edited picture that opens is recorded as a new version of its scan (a line of the history). Bytes
that changed by themselves, or that are no picture any more, are damage. A recording is never edited here, so one that
changed in any way is damaged. Nothing is ever written to a scan or a recording.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Connection, Engine, Text, case, delete, func, insert, select, type_coerce

from kinphoto.archive.collection.scanning import add_scans
from kinphoto.archive.collection.scans_added import FiledScan
from kinphoto.archive.keeping.backup import POOL, pool_path
from kinphoto.archive.keeping.bag import DATA
from kinphoto.archive.keeping.contents import FORMER, KeptFile, recording_files, scan_files
from kinphoto.archive.keeping.notes import BACKUP, PACKAGE, read_note
from kinphoto.archive.keeping.package import INDEX
from kinphoto.scans.copying import read_back, several_at_once
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.root_rows import read_roots
from kinphoto.store.roots import as_stored
from kinphoto.store.session import deriving, now, reading

Progress = Callable[[int, int], None]
QUARTER = timedelta(days=91)
"""In which every scan should be read once."""
VANISHED, ROTTED, UNREADABLE, EDITED, FINE = "vanished", "rotted", "unreadable", "edited", ""
_NOTE_EVERY = 2.0  # seconds of reading that a power cut may make us repeat


@dataclass(frozen=True, slots=True)
class ScanProblem:
    """A file that is not what it was."""

    path: Annotated[str, "a file that is not what it was"]
    photographs: Annotated[Sequence[str], "codes of the photographs it shows"]
    stories: Annotated[Sequence[str], "ids of the stories of which it is the recording; empty for a scan"]
    problem: Annotated[str, "`vanished`, `rotted` (its bytes changed by themselves) or `unreadable`"]
    what_to_do: Annotated[str, "what to do, in words"]
    copy: Annotated[str | None, "a good copy of it in the last backup or package, or null"]


@dataclass(frozen=True, slots=True)
class Verified:
    """What reading the scans and recordings again found."""

    read: Annotated[int, "how many files were read now"]
    read_bytes: Annotated[int, "their size together"]
    files: Annotated[int, "how many files of scans and recordings there are"]
    recordings: Annotated[int, "how many of them are recordings of stories"]
    waiting: Annotated[int, "how many of them were not read for longer than a quarter of a year, or never"]
    edited: Annotated[Sequence[FiledScan], "scans that somebody edited; recorded as new versions"]
    problems: Annotated[Sequence[ScanProblem], "everything that is wrong now, also what was found earlier"]
    away: Annotated[Sequence[str], "folders of scans that are not there at all, as when a disk is not plugged in"]


class _Read(NamedTuple):
    """What reading one file found."""

    found: str
    size: int = 0


def verify(
    engine: Engine,
    minutes: float | None = None,
    progress: Progress | None = None,
    *,
    younger_than: timedelta | None = None,
) -> Verified:
    """Read scans and recordings again for this many minutes, or all of them. Those that were read more recently than
    `younger_than` are left alone. What was read counts also when it is interrupted."""
    until = None if minutes is None else time.monotonic() + 60 * minutes
    report = progress or (lambda _done, _total: None)
    with reading(engine) as connection:
        away = {root.id: root.path for root in read_roots(connection) if not Path(root.path).is_dir()}
        queue = [file for file in _by_age(connection, younger_than) if file.root not in away]
    seen: dict[KeptFile, _Read] = {}
    noted = 0
    since = time.monotonic()
    try:
        for file, read in several_at_once(_look, _until(queue, until)):
            seen[file] = read
            report(len(seen), len(queue))
            if time.monotonic() - since > _NOTE_EVERY:
                _note(engine, dict(list(seen.items())[noted:]))
                noted, since = len(seen), time.monotonic()
    finally:
        _note(engine, dict(list(seen.items())[noted:]))
    edited = _record_edits(engine, [file for file, read in seen.items() if read.found == EDITED])
    with reading(engine) as connection:
        recordings = recording_files(connection)
        return Verified(
            read=len(seen),
            read_bytes=sum(read.size for read in seen.values()),
            files=len(scan_files(connection)) + len(recordings),
            recordings=len(recordings),
            waiting=overdue(connection),
            edited=edited,
            problems=problems(connection),
            away=sorted(away.values()),
        )


def overdue(connection: Connection, age: timedelta = QUARTER) -> int:
    """How many files were not read for longer than a quarter of a year."""
    s, f = t.scan.c, t.fixity.c
    stored: Any = type_coerce(s.path, Text)
    page = func.length("#page=") + func.length(s.page)
    file = case((s.page > 0, func.substr(stored, 1, func.length(stored) - page)), else_=stored)
    limit = (datetime.now(UTC) - age).isoformat(timespec="seconds")
    query = select(func.count(file.distinct())).select_from(t.scan).outerjoin(t.fixity, f.path == file)
    query = query.where(func.coalesce(f.checked_at, s.indexed_at) < limit, ~stored.contains(FORMER))
    story = t.story.c
    told = select(func.count(story.sound.distinct())).outerjoin(t.fixity, f.path == story.sound)
    told = told.where(story.sound != "", func.coalesce(f.checked_at, story.said_at) < limit)
    return (connection.scalar(query) or 0) + (connection.scalar(told) or 0)


def problems(connection: Connection) -> list[ScanProblem]:
    """What was wrong when each file was last read, and what to do about it."""
    f = t.fixity.c
    bad = {row.path: row for row in connection.execute(select(f.path, f.problem).where(f.problem != FINE))}
    if not bad:
        return []
    files = {file.stored: file for file in _files(connection) if file.stored in bad}
    codes = _codes(connection, files.values())
    copies = _Copies(connection)
    return [
        _problem(file, bad[stored].problem, codes.get(file.source, ()), copies.of(file))
        for stored, file in sorted(files.items())
    ]


def _files(connection: Connection) -> list[KeptFile]:
    return [*scan_files(connection), *recording_files(connection)]


def _by_age(connection: Connection, younger_than: timedelta | None) -> list[KeptFile]:
    """The files that are to be read, the one that was not read for longest first; at the same age by their paths, as
    disks read them fastest. One with another checksum than then was never read."""
    f = t.fixity.c
    read = {row.path: row for row in connection.execute(select(f.path, f.checked_at, f.sha256, f.problem))}
    s = t.scan.c
    added = {row[0]: row[1] for row in connection.execute(select(as_stored(s.path), s.indexed_at))}
    added |= {row[0]: row[1] for row in connection.execute(select(t.story.c.sound, t.story.c.said_at))}
    limit = "9999" if younger_than is None else (datetime.now(UTC) - younger_than).isoformat(timespec="seconds")
    waiting: list[tuple[str, KeptFile]] = []
    for file in _files(connection):
        row = read.get(file.stored)
        known = row is not None and row.sha256 == file.sha256
        at = row.checked_at if row is not None and known else added.get(file.stored, "") if younger_than else ""
        if at < limit:
            waiting.append((at, file))
    return [file for _, file in sorted(waiting, key=lambda pair: (pair[0], pair[1].stored))]


def _until(queue: Sequence[KeptFile], until: float | None) -> Iterator[KeptFile]:
    for file in queue:
        if until is not None and time.monotonic() >= until:
            return
        yield file


def _look(file: KeptFile) -> _Read:
    """Read one file from its disk."""
    path = Path(file.source)
    try:
        before = path.stat()
        sha256 = read_back(path)
        after = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return _Read(VANISHED)
    except OSError:
        return _Read(UNREADABLE)
    if sha256 == file.sha256:
        return _Read(FINE, after.st_size)
    if file.story:
        return _Read(ROTTED, after.st_size)
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or after.st_mtime_ns != file.mtime_ns:
        return _Read(EDITED, after.st_size)
    return _Read(ROTTED, after.st_size)


def _note(engine: Engine, seen: dict[KeptFile, _Read]) -> None:
    """Note what was read. What was edited is noted when it is recorded."""
    rows = [
        {"path": file.stored, "checked_at": now(), "sha256": file.sha256, "problem": read.found}
        for file, read in seen.items()
        if read.found != EDITED
    ]
    if rows:
        _replace(engine, rows)


def _replace(engine: Engine, rows: Sequence[dict[str, str]]) -> None:
    with deriving(engine) as connection:
        connection.execute(delete(t.fixity).where(among(connection, t.fixity.c.path, {row["path"] for row in rows})))
        connection.execute(insert(t.fixity), list(rows))


def _record_edits(engine: Engine, files: Sequence[KeptFile]) -> list[FiledScan]:
    """Record edited pictures as new versions; those that are no picture any more are damaged."""
    if not files:
        return []
    done = add_scans(engine, [file.source for file in files])
    refused = {each.path for each in done.unreadable}
    with reading(engine) as connection:
        now_known = {file.stored: file.sha256 for file in scan_files(connection)}
    _replace(
        engine,
        [
            {
                "path": file.stored,
                "checked_at": now(),
                "sha256": now_known.get(file.stored, file.sha256),
                "problem": ROTTED if file.source in refused else FINE,
            }
            for file in files
        ],
    )
    return list(done.changed)


def _codes(connection: Connection, files: Collection[KeptFile]) -> dict[str, tuple[str, ...]]:
    s, p = t.scan.c, t.photograph.c
    wanted = {file.source for file in files}
    found: dict[str, tuple[str, ...]] = {}
    for path, page, code in connection.execute(
        select(s.path, s.page, p.code).join(t.photograph, p.id == s.photograph_id).order_by(p.code)
    ):
        file = file_path(path, page)
        if file in wanted:
            found[file] = (*found.get(file, ()), code)
    return found


def _problem(file: KeptFile, problem: str, codes: Sequence[str], copy: str | None) -> ScanProblem:
    if problem == VANISHED and file.story:
        words = "It is not in the archive's folder any more."
    elif problem == VANISHED:
        words = "It is not there. If its disk is not plugged in, plug it in. If you moved it: kinphoto scans where."
    elif problem == ROTTED and file.story:
        words = "It is not the recording that was put in: its bytes changed. Keep the damaged file until you are sure."
    elif problem == UNREADABLE:
        words = "Its disk cannot read it and may be dying. Make a package of everything now: kinphoto keep bag FOLDER."
    else:
        words = (
            "Its bytes changed, and nobody saved it: the disk may be dying. Keep the damaged file until you are sure."
        )
    if copy is not None:
        words += f" A good copy is {copy}; put that in its place."
    elif file.story:
        words += " No copy is known here: look in older backups, and ask who recorded it."
    elif problem != VANISHED:
        words += " No copy is known here: look in older backups, or scan the photograph again."
    return ScanProblem(file.source, codes, (file.story,) if file.story else (), problem, words, copy)


class _Copies:
    """Where good copies of files may be: in the last backup and the last package."""

    def __init__(self, connection: Connection) -> None:
        backup, package = read_note(connection, BACKUP), read_note(connection, PACKAGE)
        self._pool = Path(backup["target"]) / POOL if backup else None
        self._packed: dict[str, Path] = {}
        if package:
            data = Path(package["folder"]) / DATA
            try:
                index = json.loads((data / INDEX).read_text(encoding="utf-8"))
                self._packed = {each["sha256"]: data / each["packed"] for each in index["files"] if each["packed"]}
            except (OSError, ValueError, KeyError):
                pass  # that disk is not plugged in

    def of(self, file: KeptFile) -> str | None:
        """A copy with the checksum of the file, which is read to be sure."""
        places = [self._packed.get(file.sha256)]
        if self._pool is not None:
            places.append(pool_path(self._pool, file.sha256, file.path))
        for place in places:
            try:
                if place is not None and read_back(place) == file.sha256:
                    return str(place)
            except OSError:
                continue
        return None

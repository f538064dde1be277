"""A copy of the archive in another place, made while it is in use.

    TARGET/
      READ ME FIRST.txt
      2026-11-29T172005Z/          one backup: the database as it was at one moment, and contents.json,
        kinphoto.db                which says of every file where it belongs and under which checksum it is kept
        contents.json
      files/3f/3fa2….jpg           every scan and every other file, once, named after its SHA-256

A file that is there already is not copied again, and none is ever replaced or removed: an edited scan is kept beside
what it was before. What was copied is flushed, read back from the disk and compared.
"""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import sqlite3
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Connection, Engine

from kinphoto.archive.keeping.contents import KeptFile, own_files, refuse_inside, scan_files
from kinphoto.archive.keeping.notes import BACKUP, DAILY, read_note, write_note
from kinphoto.errors import ArchiveError, InvalidValueError, UnreadableFileError
from kinphoto.phrases import sized
from kinphoto.scans.copying import copy_hashed, disk_of, free_space, read_back, several_at_once
from kinphoto.scans.fixity import sha256_at
from kinphoto.store.atomic import new_folder, remove
from kinphoto.store.opening import DATABASE, connect, database_url, folder_of
from kinphoto.store.root_rows import read_roots
from kinphoto.store.roots import roots_of
from kinphoto.store.session import deriving, reading

_ENDING = re.compile(r"\.[A-Za-z0-9]{1,11}$")
Progress = Callable[[int, int], None]
POOL, CONTENTS, READ_ME = "files", "contents.json", "READ ME FIRST.txt"
_DAILY_KEPT, _WEEKLY_KEPT = 7, 35  # days for which one a day is kept, then one a week; after that one a month

_WORDS = """This folder holds backups of an archive of family photographs, made by kinphoto.

Each folder whose name is a date is one backup: the archive's database (SQLite 3) as it was then, and contents.json,
which lists every file with its place and its SHA-256. The files themselves are in "files", each once, named after its
SHA-256, with the ending it had. They can be opened as they are.

To restore: kinphoto keep restore THIS-FOLDER NEW-FOLDER
Do not rename, edit or remove anything in here.
"""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was made."""

    folder: Annotated[str, "the folder of this backup, inside the one you named"]
    at: Annotated[str, "when, UTC"]
    scans: Annotated[int, "how many image files are in it"]
    copied: Annotated[int, "how many files were copied; the others were there already"]
    copied_bytes: Annotated[int, "their size together"]
    not_in_it: Annotated[int, "how many image files of the archive are not in it"]
    missing: Annotated[Sequence[str], "image files that are in no backup because they are not where they should be"]
    changed: Annotated[Sequence[str], "image files that are not what was added; they were copied as they are now"]
    unreadable: Annotated[Sequence[str], "files that could not be read or copied, and why"]
    same_disk: Annotated[bool, "whether it is on the same disk as the archive, and would be lost with it"]
    dropped: Annotated[Sequence[str], "older backups that were removed, as newer ones are close to them"]


class _Entry(NamedTuple):
    """A file in a backup; `kept` is its SHA-256 as it was copied, "" when it is not in it."""

    file: KeptFile
    kept: str
    copied: int = 0
    problem: str = ""


def back_up(
    engine: Engine,
    target: Path | str | None = None,
    progress: Progress | None = None,
    *,
    scans: bool = True,
    check: bool = False,
    now: datetime | None = None,
) -> BackedUp:
    """Copy the archive, with its scans unless told otherwise, into a folder that may hold earlier backups of it (when
    none is named, the one that was used last), while others go on working. With `check`, copies that are there already
    are read too, and made again where they are not what they should be.

    Raises InvalidValueError when no folder is known or it is where backups must not be, and ArchiveError when it
    cannot be written or there is no room. An attempt that fails leaves earlier backups as they were.
    """
    at, report = now or datetime.now(UTC), progress or (lambda _done, _total: None)
    with reading(engine) as connection:
        place = _target(connection, target)
    remedy = "Check that the disk is plugged in, has room and may be written to. Earlier backups are unharmed."
    with new_folder(place, at.strftime("%Y-%m-%dT%H%M%SZ"), "the backup cannot be written", remedy) as made:
        part = made.part
        part.mkdir()
        (place / POOL).mkdir(exist_ok=True)
        copy_database(engine, part / DATABASE)
        files = _files(part / DATABASE, folder_of(engine), roots_of(engine.dialect).elsewhere)
        wanted = [each for each in files if scans or not each.is_scan]
        _refuse_without_room(place, wanted)
        entries = _copy_all(place / POOL, wanted, report, check=check)
        if not scans:
            there = _pool_names(place / POOL)
            entries += [_as_it_is(place / POOL, there, each) for each in files if each.is_scan]
        _note_contents(engine, part, place, entries, at)
        os.sync()
        entries = _read_back(place / POOL, entries)
    done = _result(made.path, at, entries, same=disk_of(place) == disk_of(folder_of(engine)))
    done = _with_dropped(done, place, at.date())
    note = {
        "target": str(place), "at": at.isoformat(timespec="seconds"), "folder": done.folder, "scans": done.scans,
        "not_in_it": done.not_in_it, "same_disk": done.same_disk, "whole": not done.unreadable,
    }  # fmt: skip
    with deriving(engine) as connection:
        write_note(connection, BACKUP, note)
    return done


def set_daily(engine: Engine, *, wanted: bool, target: Path | str | None = None) -> None:
    """Have the server make a backup a day into a folder, or no longer."""
    with deriving(engine) as connection:
        place = str(_target(connection, target)) if wanted else ""
        write_note(connection, DAILY, {"target": place} if wanted else None)


def copy_database(engine: Engine, to: Path) -> None:
    """Write the database as it is at one moment, as one file that nothing is missing from, and check it.

    Nobody waits: SQLite copies what one reader sees, while others write (https://www.sqlite.org/backup.html). Raises
    OSError when it cannot be written, ArchiveError when the database is damaged.
    """
    with reading(engine) as connection:
        source: Any = connection.connection.driver_connection
        try:
            with closing(sqlite3.connect(to)) as copy:
                copy.execute("PRAGMA synchronous=OFF").close()  # the whole file is flushed when it is finished
                source.backup(copy)
                copy.execute("PRAGMA journal_mode=DELETE").close()
                found = [row[0] for row in copy.execute("PRAGMA integrity_check")]
        except sqlite3.Error as problem:
            raise OSError(str(problem)) from problem
    if found != ["ok"]:
        raise ArchiveError(
            f"the archive's database is damaged ({found[0]})",
            where=str(folder_of(engine) / DATABASE),
            remedy="Keep it as it is, and restore your last backup to a new folder: kinphoto keep restore.",
        )


def _target(connection: Connection, target: Path | str | None) -> Path:
    """The folder for backups. Raises InvalidValueError when there is none, or it is in the archive or among scans."""
    note = read_note(connection, BACKUP) or read_note(connection, DAILY)
    if target is None and note is None:
        raise InvalidValueError(
            "no folder for the backup was named",
            remedy="Name a folder on another disk: kinphoto keep backup /media/DISK/our-photographs.",
        )
    place = Path(os.path.realpath(target or str((note or {})["target"])))
    refuse_inside(connection, place, "backup")
    if place.is_dir() and any(place.iterdir()) and not (place / POOL).is_dir() and not _only_our_parts(place):
        raise InvalidValueError(
            "this folder holds other things, not backups",
            where=str(place),
            remedy=f"Name a new folder in it: {place / 'kinphoto-backup'}.",
        )
    return place


def _only_our_parts(place: Path) -> bool:
    return all(each.name.startswith(".") or each.name == READ_ME for each in place.iterdir())


def _files(database: Path, folder: Path, elsewhere: dict[int, str]) -> list[KeptFile]:
    """The files that the copied database names, so that both are of one moment, and those of the archive's folder."""
    copy = connect(database_url(database.parent))
    roots_of(copy.dialect).elsewhere = elsewhere
    try:
        with copy.connect() as connection, connection.begin():
            found = scan_files(connection)
    finally:
        copy.dispose()
    return [*found, *own_files(folder, {each.source for each in found})]


def _refuse_without_room(place: Path, files: Sequence[KeptFile]) -> None:
    there = _pool_names(place / POOL)
    needed = sum(each.size for each in files if _pool_name(each.sha256, each.path) not in there)
    if needed > (free := free_space(place)):
        raise ArchiveError(
            f"the backup needs {sized(needed)} more, and the disk has {sized(free)} free",
            where=str(place),
            remedy="Make room, or use a larger disk; --without-scans backs up everything but the scans.",
        )


def pool_path(pool: Path, sha256: str, path: str) -> Path:
    """Where the file of this checksum is kept, with the ending it has."""
    return Path(f"{pool}/{_pool_name(sha256, path)}")


def _pool_name(sha256: str, path: str) -> str:
    ending = _ENDING.search(path)
    return f"{sha256[:2]}/{sha256}{ending[0].lower() if ending else ''}" if sha256 else "none"


def _pool_names(pool: Path) -> set[str]:
    """Everything that is in the pool."""
    with os.scandir(pool) as folders:
        inside = [folder for folder in folders if folder.is_dir()]
    return {f"{folder.name}/{name}" for folder in inside for name in os.listdir(folder.path)}  # noqa: PTH208 (faster)


def _copy_all(pool: Path, files: Sequence[KeptFile], report: Progress, *, check: bool) -> list[_Entry]:
    entries: list[_Entry] = []
    for _, entry in several_at_once(lambda file: _copy(pool, file, check=check), files):
        entries.append(entry)
        report(len(entries), len(files))
    return sorted(entries, key=lambda entry: (entry.file.root, entry.file.path))


def _copy(pool: Path, file: KeptFile, *, check: bool) -> _Entry:
    """Put one file into the pool, unless it is there; one that is gone may be there from an earlier backup."""
    there = pool_path(pool, file.sha256, file.path)
    kept_already = (
        _is_kept(there, file.size) and bool(file.sha256) and (not check or sha256_at(str(there)) == file.sha256)
    )
    try:
        state = Path(file.source).stat()
        if kept_already and (state.st_size, state.st_mtime_ns) == (file.size, file.mtime_ns):
            return _Entry(file, file.sha256)
        if kept_already or not file.sha256:
            now = sha256_at(file.source)
            if _is_kept(pool_path(pool, now, file.path), state.st_size):
                return _Entry(file, now)
        return _Entry(file, *copy_hashed(file.source, pool, lambda sha256: pool_path(pool, sha256, file.path)))
    except FileNotFoundError:
        return _Entry(file, file.sha256 if kept_already else "")
    except (OSError, UnreadableFileError) as problem:
        if isinstance(problem, OSError) and problem.errno in (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EFBIG):
            raise  # nothing else can be copied either
        if not Path(file.source).exists():
            return _Entry(file, file.sha256 if kept_already else "")
        return _Entry(
            file, file.sha256 if kept_already else "", problem=str(getattr(problem, "strerror", "") or problem)
        )


def _as_it_is(pool: Path, there: Collection[str], file: KeptFile) -> _Entry:
    """What the pool has of a file that is not to be copied."""
    kept = _pool_name(file.sha256, file.path) in there and _is_kept(pool_path(pool, file.sha256, file.path), file.size)
    return _Entry(file, file.sha256 if kept else "")


def _is_kept(path: Path, size: int) -> bool:
    try:
        return path.stat().st_size == size
    except OSError:
        return False


def _read_back(pool: Path, entries: Sequence[_Entry]) -> list[_Entry]:
    """Read what was copied from its disk again; a copy that is not what was written is thrown away."""
    fresh = [entry for entry in entries if entry.copied]
    bad: dict[_Entry, _Entry] = {}
    for entry, found in several_at_once(lambda e: read_back(pool_path(pool, e.kept, e.file.path)), fresh):
        if found != entry.kept:
            remove(pool_path(pool, entry.kept, entry.file.path))
            bad[entry] = entry._replace(kept="", problem="the copy is not what was written: the disk may be failing")
    return [bad.get(entry, entry) for entry in entries]


def _note_contents(engine: Engine, part: Path, place: Path, entries: Sequence[_Entry], at: datetime) -> None:
    with reading(engine) as connection:
        roots = {root.id: root.path for root in read_roots(connection)}
    head = {
        "made": at.isoformat(timespec="seconds"),
        "archive": os.path.realpath(folder_of(engine)),
        "database_sha256": sha256_at(str(part / DATABASE)),
        "roots": roots,
    }
    files = [
        {
            "root": entry.file.root, "path": entry.file.path, "sha256": entry.kept, "recorded": entry.file.sha256,
            "size": entry.copied or entry.file.size, "mtime_ns": entry.file.mtime_ns,
        }
        for entry in entries
    ]  # fmt: skip
    (part / CONTENTS).write_text(listing(head, files), encoding="utf-8")
    if not (place / READ_ME).exists():
        (place / READ_ME).write_text(_WORDS, encoding="utf-8")


def listing(head: Mapping[str, Any], files: Sequence[Mapping[str, Any]]) -> str:
    """A JSON document of these facts, and of the files with a line each."""
    facts = json.dumps(head, ensure_ascii=False).removesuffix("}")
    return facts + ', "files": [\n' + ",\n".join(json.dumps(each, ensure_ascii=False) for each in files) + "\n]}\n"


def _result(folder: Path, at: datetime, entries: Sequence[_Entry], *, same: bool) -> BackedUp:
    images = [entry for entry in entries if entry.file.is_scan]
    here = [entry for entry in images if entry.kept]
    return BackedUp(
        folder=str(folder),
        at=at.isoformat(timespec="seconds"),
        scans=len(here),
        copied=sum(bool(entry.copied) for entry in entries),
        copied_bytes=sum(entry.copied for entry in entries),
        not_in_it=len(images) - len(here),
        missing=[entry.file.source for entry in images if not entry.kept and not entry.problem],
        changed=[entry.file.source for entry in here if entry.kept != entry.file.sha256],
        unreadable=[f"{entry.file.source}: {entry.problem}" for entry in entries if entry.problem],
        same_disk=same,
        dropped=[],
    )


def backups_in(place: Path) -> list[Path]:
    """The backups in a folder, the newest first."""
    found = [each.parent for each in place.glob(f"*/{CONTENTS}") if not each.parent.name.startswith(".")]
    return sorted(found, key=lambda each: each.name, reverse=True)


def _with_dropped(done: BackedUp, place: Path, today: date) -> BackedUp:
    """Remove databases of backups that are close to newer ones: one a day is kept for a week, then one a week for four
    weeks, then one a month. The copies of the scans stay."""
    kept: set[tuple[Any, ...]] = set()
    dropped: list[str] = []
    for folder in backups_in(place):
        try:
            day = date.fromisoformat(folder.name[:10])
        except ValueError:
            continue
        age = (today - day).days
        slot: tuple[Any, ...] = (day.year, day.month)
        if age < _DAILY_KEPT:
            slot = ("day", day)
        elif age < _WEEKLY_KEPT:
            slot = ("week", *day.isocalendar()[:2])
        if slot in kept and str(folder) != done.folder:
            shutil.rmtree(folder, ignore_errors=True)
            dropped.append(str(folder))
        kept.add(slot)
    return replace(done, dropped=dropped)

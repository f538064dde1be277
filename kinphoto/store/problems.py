"""What SQLite's errors mean for the person whose archive it is: damaged, in use, not permitted, no room, or a failing
disk. An intact archive must never be called damaged, because the remedy for that is a backup.

SQLite's result codes: https://www.sqlite.org/rescode.html. The lower byte is the kind.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DatabaseError, OperationalError

from kinphoto.errors import ArchiveError

_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_IN_USE = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL}
_NOT_PERMITTED = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM}
_NO_ROOM = {sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_SHMSIZE}
"""The codes for a file that may not grow (a quota, a limit); a full disk has a code of its own."""
NOTHING_CHANGED = "nothing was changed."


@contextmanager
def explained(engine: Engine) -> Iterator[None]:
    """Turn an error of the database into an ArchiveError that says why and what to do."""
    try:
        yield
    except DatabaseError as problem:
        refusal = explain(engine, problem)
        if refusal is None:
            raise
        raise refusal from problem


def explain(engine: Engine, problem: DatabaseError) -> ArchiveError | None:
    """What an error means; None where it is a fault of the program."""
    code = getattr(problem.orig, "sqlite_errorcode", None)
    path = Path(engine.url.database or "")
    kind = None if code is None else code & 0xFF
    if kind in _DAMAGED:
        return damaged(path)
    if kind in _IN_USE:
        return ArchiveError(
            "the archive is in use by another program",
            where=str(path),
            remedy=f"Wait until it is finished, or close it, and try again; {NOTHING_CHANGED}",
        )
    if kind in _NOT_PERMITTED:
        return not_writable(path)
    if kind == sqlite3.SQLITE_FULL or code in _NO_ROOM:
        return ArchiveError(
            "the disk is full",
            where=str(path.parent),
            remedy=f"Free some space on it, or raise your quota, and try again; {NOTHING_CHANGED}",
        )
    if kind == sqlite3.SQLITE_CANTOPEN:
        return _cannot_be_opened(path)
    if kind == sqlite3.SQLITE_IOERR:
        return ArchiveError(
            f"the disk reported an error ({problem.orig})",
            where=str(path),
            remedy=f"Check that the disk is still connected and has room, and try again; {NOTHING_CHANGED}",
        )
    if isinstance(problem, OperationalError):
        return ArchiveError(
            f"the database cannot do this ({problem.orig})",
            where=str(path),
            remedy=f"Try again, and report this if it happens again; {NOTHING_CHANGED}",
        )
    return None


def damaged(path: Path) -> ArchiveError:
    """The file is not an archive, or not a complete one."""
    return ArchiveError(
        f"{path.name} is not a kinphoto archive, or it is damaged",
        where=str(path),
        remedy="Keep it, and restore a backup to a different folder; your scans are untouched.",
    )


def not_writable(path: Path) -> ArchiveError:
    """The archive cannot be written to, though perhaps read."""
    if _on_read_only_disk(path):
        why, remedy = "it is on a read-only disk", "Copy the whole folder to another disk and use that"
    elif missing := unwritable(path):
        why = f"you do not have permission to write to {missing.name or missing}"
        remedy = "Ask whoever it belongs to, or change its permissions"
    else:
        why = "its file was moved, replaced or made read-only"
        remedy = "Close every kinphoto that has it open, and try again"
    return ArchiveError(f"the archive cannot be changed: {why}", where=str(path), remedy=f"{remedy}; {NOTHING_CHANGED}")


def unwritable(path: Path) -> Path | None:
    """The first of what a change of a database writes to (the file, those SQLite keeps beside it, their folder) that
    this person may not write to."""
    there = [path, *(each for each in companions(path) if os.path.lexists(each)), path.parent]
    return next((each for each in there if not os.access(each, os.W_OK)), None)


def companions(path: Path) -> list[Path]:
    """The files that SQLite keeps beside a database."""
    return [path.with_name(path.name + suffix) for suffix in ("-wal", "-shm", "-journal")]


def not_readable(path: Path) -> ArchiveError:
    """This person is not allowed to read the archive."""
    return ArchiveError(
        "you do not have permission to read this archive",
        where=str(path),
        remedy="Ask whoever it belongs to, or change the permissions of the folder and of the files in it.",
    )


def _cannot_be_opened(path: Path) -> ArchiveError:
    if not os.path.lexists(path):
        return ArchiveError(
            f"{path.name} is no longer there",
            where=str(path),
            remedy="Was the folder moved, or its disk disconnected? Bring it back and try again.",
        )
    if not os.access(path, os.R_OK):
        return not_readable(path)
    if not os.access(path.parent, os.W_OK):
        return not_writable(path)
    return ArchiveError(
        "the archive cannot be opened",
        where=str(path),
        remedy="Check the permissions of the folder and of the files in it, and close other programs that use them.",
    )


def _on_read_only_disk(path: Path) -> bool:
    try:
        return bool(os.statvfs(path.parent).f_flag & os.ST_RDONLY)
    except (OSError, AttributeError):  # no such call on Windows
        return False

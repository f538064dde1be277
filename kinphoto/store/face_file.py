"""The file `faces.db` beside an archive's database: what two networks made of its scans, and nothing a person said.

Faces are biometric data, so they are in a file of their own: no backup, package or export takes it along, and erasing
it erases everything. Its being there is the switch: without it nothing is searched. SQLite keeps nothing of it in
other files (journal in memory; lost in a power cut, it can be made again) and overwrites what is deleted
(`secure_delete`).
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from kinphoto.errors import ArchiveError

FILE = "faces.db"
VERSION = 2
"""Of its tables. One of another version is emptied: all but the switch can be made again."""
_PATIENCE = 20.0  # seconds to wait for another program that is writing
_TABLES = f"""
CREATE TABLE IF NOT EXISTS switch (
    since TEXT NOT NULL, who TEXT NOT NULL, living INTEGER NOT NULL, compare INTEGER NOT NULL
) STRICT;
CREATE TABLE searched (sha256 TEXT PRIMARY KEY, version INTEGER NOT NULL, turn INTEGER NOT NULL) STRICT;
CREATE TABLE face (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    sha256 TEXT NOT NULL, -- of the scan on which it was seen and its points are
    front TEXT NOT NULL, -- of the scan on which its frame is: another one when it was seen on a detail
    "left" REAL NOT NULL, top REAL NOT NULL, width REAL NOT NULL, height REAL NOT NULL,
    score REAL NOT NULL, points TEXT NOT NULL, descriptor BLOB,
    drawn INTEGER NOT NULL DEFAULT 0 -- a person framed it, and the search had missed it
) STRICT;
CREATE INDEX face_of_scan ON face (sha256);
CREATE INDEX face_on_front ON face (front);
PRAGMA user_version = {VERSION};
"""


def path_in(folder: Path) -> Path:
    """Where it is, or would be."""
    return folder / FILE


def is_there(folder: Path) -> bool:
    """Whether faces are searched for in this archive."""
    return path_in(folder).is_file()


def create(folder: Path) -> None:
    """Make an empty one that only its owner may read. Raises ArchiveError where it cannot be made."""
    path = path_in(folder)
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return
    except OSError as problem:
        raise ArchiveError(
            f"faces cannot be kept here ({problem.strerror})",
            where=str(path),
            remedy="Check permissions and free space.",
        ) from problem
    with closing(sqlite3.connect(path, timeout=_PATIENCE)) as file:
        _prepare(file)
        file.executescript(_TABLES)


def revision(folder: Path) -> tuple[int, int, bytes]:
    """A mark that is another one whenever something was written: the file, when it was last written to, and what SQLite
    counts up with each change (bytes 24 to 27 of its header)."""
    with path_in(folder).open("rb") as file:
        state = os.fstat(file.fileno())
        return state.st_ino, state.st_mtime_ns, file.read(28)[24:]


@contextmanager
def reading(folder: Path) -> Iterator[sqlite3.Connection]:
    """For looking something up. Raises ArchiveError where there is none or it cannot be read."""
    with _opened(folder, "ro") as file:
        yield file


@contextmanager
def writing(folder: Path) -> Iterator[sqlite3.Connection]:
    """For a change, which is kept when the block ends. Raises ArchiveError likewise."""
    with _opened(folder, "rw") as file, file:
        yield file


@contextmanager
def _opened(folder: Path, mode: str) -> Iterator[sqlite3.Connection]:
    path = path_in(folder)
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=_PATIENCE)) as file:
            if file.execute("PRAGMA user_version").fetchone()[0] != VERSION:
                _empty(path)
            file.row_factory = sqlite3.Row
            if mode == "rw":
                _prepare(file)
            yield file
    except sqlite3.DatabaseError as problem:
        missing = not path.exists()
        raise ArchiveError(
            "faces are not searched for here" if missing else f"what is known about faces cannot be read ({problem})",
            where=str(folder if missing else path),
            remedy="Turn it on: kinphoto faces on." if missing else "Erase it and begin again: kinphoto faces off.",
        ) from problem


def _prepare(file: sqlite3.Connection) -> None:
    for pragma in ("journal_mode=MEMORY", "secure_delete=ON", "temp_store=MEMORY"):
        file.execute(f"PRAGMA {pragma}").close()


def _empty(path: Path) -> None:
    """Give one of an older version the tables of this one: what was found is searched for again."""
    with closing(sqlite3.connect(path, timeout=_PATIENCE)) as file, file:
        _prepare(file)
        for table in ("searched", "face", "apart"):
            file.execute(f"DROP TABLE IF EXISTS {table}")
        file.executescript(_TABLES)


def erase(folder: Path) -> bool:
    """Overwrite it and remove it; whether there was one. Raises ArchiveError where that cannot be."""
    path = path_in(folder)
    try:
        with path.open("r+b") as file:
            size = os.fstat(file.fileno()).st_size
            for at in range(0, size, 1 << 20):
                file.write(bytes(min(1 << 20, size - at)))
            file.flush()
            os.fsync(file.fileno())
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as problem:
        raise ArchiveError(
            f"what is known about faces cannot be erased ({problem.strerror})",
            where=str(path),
            remedy="Make sure you may write to the folder, and try again; or remove this file yourself.",
        ) from problem
    for left in path.parent.glob(f"{FILE}-*"):
        left.unlink(missing_ok=True)
    return True

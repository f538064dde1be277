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
_PATIENCE = 20.0  # seconds to wait for another program that is writing
_TABLES = """
CREATE TABLE switch (since TEXT NOT NULL, who TEXT NOT NULL, living INTEGER NOT NULL, compare INTEGER NOT NULL) STRICT;
CREATE TABLE searched (sha256 TEXT PRIMARY KEY, version INTEGER NOT NULL, turn INTEGER NOT NULL) STRICT;
CREATE TABLE face (
    id INTEGER PRIMARY KEY AUTOINCREMENT, sha256 TEXT NOT NULL, "left" REAL NOT NULL, top REAL NOT NULL,
    width REAL NOT NULL, height REAL NOT NULL, score REAL NOT NULL, points TEXT NOT NULL, descriptor BLOB
) STRICT;
CREATE INDEX face_of_scan ON face (sha256);
CREATE TABLE apart (one INTEGER NOT NULL, other INTEGER NOT NULL, PRIMARY KEY (one, other)) STRICT;
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
    with writing(folder) as file:
        file.executescript(_TABLES)


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
            file.row_factory = sqlite3.Row
            for pragma in ("journal_mode=MEMORY", "secure_delete=ON", "temp_store=MEMORY") if mode == "rw" else ():
                file.execute(f"PRAGMA {pragma}").close()
            yield file
    except sqlite3.DatabaseError as problem:
        missing = not path.exists()
        raise ArchiveError(
            "faces are not searched for here" if missing else f"what is known of faces cannot be read ({problem})",
            where=str(folder if missing else path),
            remedy="Turn it on: kinphoto faces on." if missing else "Erase it and begin again: kinphoto faces off.",
        ) from problem


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
            f"what is known of faces cannot be erased ({problem.strerror})",
            where=str(path),
            remedy="Make sure you may write to the folder, and try again; or remove this file yourself.",
        ) from problem
    for left in path.parent.glob(f"{FILE}-*"):
        left.unlink(missing_ok=True)
    return True

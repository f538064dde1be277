"""The file of an archive's database: creating it, opening it for writing or only for reading, and checkpoints.

SQLite writes changes to a second file first, `kinphoto.db-wal`, and moves them into `kinphoto.db` later: that is a
checkpoint. A third file, `-shm`, goes with the second, and even a reader must be able to write to it. Where that is not
allowed, the database is opened as one that nobody changes (`immutable`), which is safe only while `-wal` is empty and
the file stays as it is; so both are checked before and after. See https://www.sqlite.org/wal.html and
https://www.sqlite.org/uri.html.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, create_engine, create_mock_engine, event
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import DatabaseError, DisconnectionError, NoResultFound

from kinphoto.errors import ArchiveError
from kinphoto.store import tables as t
from kinphoto.store.problems import companions, damaged, explain, explained, not_readable, not_writable, unwritable
from kinphoto.store.roots import Root, roots_of

DATABASE = "kinphoto.db"
_PATIENCE = 20_000
"""Milliseconds to wait for another program that is writing."""


def database_url(folder: Path) -> URL:
    """The database of an archive folder, whatever characters its path has."""
    return URL.create("sqlite", database=str(folder.absolute() / DATABASE))


def folder_of(engine: Engine) -> Path:
    """The folder of the archive that this engine opens."""
    return Path(str(engine.url.database)).parent


def connect(url: str | URL) -> Engine:
    """An engine for the archive's database; SQLite gets WAL, foreign keys and a patient lock.

    Transactions are begun by us (`BEGIN IMMEDIATE` for writing), not implicitly by the driver, so that two
    processes wait for each other instead of failing half way. It never creates the file: `create` does that.
    """
    engine = create_engine(url)
    if engine.dialect.name == "sqlite":
        if engine.url.database:
            _open_by_path(engine, Path(engine.url.database).absolute())

        @event.listens_for(engine, "connect")
        def _prepare(connection: Any, _record: Any) -> None:
            connection.isolation_level = None
            for pragma in (
                f"busy_timeout={_PATIENCE}",
                "foreign_keys=ON",
                "synchronous=FULL",  # with NORMAL a power cut can undo what was committed
                "fullfsync=ON",  # macOS: the disk's own cache too
                "cache_size=-16000",  # KiB; with the default of 2 MB a large import writes pages again and again
            ):
                connection.execute(f"PRAGMA {pragma}").close()

        @event.listens_for(engine, "begin")
        def _begin(connection: Connection) -> None:
            begin = connection.get_execution_options().get("begin", "BEGIN")
            connection.exec_driver_sql(begin)
            if begin.startswith("BEGIN"):
                load_roots(connection)

    return engine


def load_roots(connection: Connection) -> None:
    """Read what the paths of scans are relative to, as it is in this transaction.

    The driver is asked directly: SQLAlchemy would roll back what has just begun where there is no such table.
    """
    wanted = "SELECT id, path FROM scan_root"
    with closing(connection.connection.cursor()) as cursor:
        try:
            rows = cursor.execute(wanted).fetchall()
        except sqlite3.Error as problem:
            if "no such table" not in str(problem):
                connection.exec_driver_sql(wanted)  # fails again, as everybody expects it
                raise
            rows = []  # not created yet, or of an older release
    roots_of(connection.dialect).set(Root(*row) for row in rows)


def require_archive(folder: Path) -> None:
    """Raise ArchiveError, which says what to do, when this folder holds no archive or may not be read."""
    path = folder / DATABASE
    try:
        found = stat.S_ISREG(path.stat().st_mode)
    except PermissionError as problem:
        raise not_readable(folder) from problem
    except (OSError, ValueError):  # none there, or a name that no folder can have
        found = False
    if not found:
        refuse_leftovers(path)
        raise ArchiveError("there is no archive here", where=str(folder), remedy="Create one: kinphoto init DIR.")


def is_here(folder: Path) -> bool:
    """Whether there is an archive, or what is left of one, in this folder; False where it may not be read."""
    path = folder / DATABASE
    return os.path.isfile(path) or (not os.path.lexists(path) and bool(_leftovers(path)))  # noqa: PTH113 (Path.is_file raises where it may not look)


@dataclass(frozen=True, slots=True)
class _Opened:
    """How a file was opened, and its fingerprint if it must not change meanwhile."""

    options: str
    seen: tuple[int, ...] | None = None


def _open_by_path(engine: Engine, path: Path) -> None:
    """Open connections to this file with the permissions of the moment, and reopen older ones when it has changed."""

    @event.listens_for(engine, "do_connect")
    def _connect(_dialect: Any, record: Any, arguments: list[Any], options: dict[str, Any]) -> None:
        opened = _how_to_open(path)
        record.info["opened"] = opened
        arguments[0], options["uri"] = f"{path.as_uri()}?{opened.options}", True

    @event.listens_for(engine, "checkout")
    def _reopen_if_changed(_connection: Any, record: Any, _proxy: Any) -> None:
        opened = record.info.get("opened")
        if opened is not None and (opened.seen or _read_only(record)) and opened != _how_to_open(path):
            raise DisconnectionError  # the pool makes another connection


def _how_to_open(path: Path) -> _Opened:
    """For writing where permitted, else for reading. Raises ArchiveError where neither is."""
    real = Path(os.path.realpath(path))
    if not os.path.exists(real) or unwritable(real) is None:  # noqa: PTH110 (Path.exists raises where it may not look)
        return _Opened("mode=rw")
    if not os.access(real, os.R_OK):
        raise not_readable(path)
    wal, shm = (real.with_name(real.name + suffix) for suffix in ("-wal", "-shm"))
    if not _size(wal):
        return _Opened("mode=ro&immutable=1", _fingerprint(real))
    if shm.exists():
        return _Opened("mode=ro")
    raise ArchiveError(
        f"the newest changes are in {wal.name}, which can only be read with permission to write here",
        where=str(path.parent),
        remedy="Copy the whole folder to a place where you may write, and use the copy.",
    )


def refuse_to_change(engine: Engine) -> None:
    """Raise ArchiveError, which says why, where the database may be read but not changed."""
    path = engine.url.database if engine.dialect.name == "sqlite" else None
    if path and unwritable(Path(os.path.realpath(path))) is not None:
        raise not_writable(Path(path))


def is_read_only(connection: Connection) -> bool:
    """Whether the database was opened only for reading."""
    return _read_only(connection.connection)


def _read_only(record: Any) -> bool:
    opened = record.info.get("opened")
    return opened is not None and opened.options != "mode=rw"


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def _fingerprint(path: Path) -> tuple[int, ...]:
    """Shows whether a file was changed or replaced."""
    found = path.stat()
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


@contextmanager
def unchanged(engine: Engine, connection: Connection) -> Iterator[None]:
    """Check that a database opened as `immutable` was not changed while it was read.

    Raises ArchiveError when it was: nothing is damaged, but what was read must not be used.
    """
    seen = getattr(connection.connection.info.get("opened"), "seen", None)
    if seen is None:  # SQLite itself keeps what is read apart from what is changed
        yield
        return
    path = Path(os.path.realpath(engine.url.database or ""))

    def changed() -> bool:
        return not path.exists() or _fingerprint(path) != seen

    try:
        yield
    except DatabaseError as problem:
        if changed():
            raise _changed_meanwhile(path) from problem
        raise
    if changed():
        raise _changed_meanwhile(path)


def keep_in_memory(connection: Connection, tables: Sequence[Table]) -> None:
    """Shadow these tables by copies in memory where the database was opened only for reading: SQLite finds the copies
    first wherever this connection names them."""
    if not _read_only(connection.connection):
        return
    connection.exec_driver_sql("PRAGMA temp_store=MEMORY")
    for table in tables:
        connection.exec_driver_sql(f"CREATE TEMP TABLE IF NOT EXISTS {table.name} AS SELECT * FROM main.{table.name}")
        for key in table.primary_key:
            connection.exec_driver_sql(
                f"CREATE INDEX IF NOT EXISTS temp.in_memory_{table.name} ON {table.name} ({key.name})"
            )


def _changed_meanwhile(path: Path) -> ArchiveError:
    return ArchiveError(
        "somebody else changed the archive while it was being read", where=str(path), remedy="Run the command again."
    )


def create(engine: Engine) -> None:
    """Create every table, marked with the newest migration, in one transaction, in a new file.

    Raises ArchiveError where there is one already or it cannot be written; then no file of ours is left.
    """
    path = Path(engine.url.database) if engine.dialect.name == "sqlite" and engine.url.database else None
    if path is not None:
        _make_empty(path)
    try:
        _use_wal(engine)
        with engine.connect().execution_options(begin="BEGIN IMMEDIATE") as connection, connection.begin():
            for definition in _definitions():
                connection.exec_driver_sql(definition)
            connection.exec_driver_sql("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)")
            connection.exec_driver_sql(f"INSERT INTO alembic_version VALUES ('{t.SCHEMA}')")
    except BaseException as problem:
        if path is not None:
            engine.dispose()
            for each in (path, *companions(path)):
                each.unlink(missing_ok=True)
        refusal = explain(engine, problem) if isinstance(problem, DatabaseError) else None
        if refusal is None:
            raise
        raise refusal from problem


@cache
def _definitions() -> tuple[str, ...]:
    """The statements that make every table and index. Putting them together takes far longer than carrying them out."""
    found: list[str] = []
    dialect = sqlite.dialect()
    noting = create_mock_engine("sqlite://", lambda made, *_: found.append(str(made.compile(dialect=dialect))))
    t.metadata.create_all(noting, checkfirst=False)
    return tuple(found)


def _make_empty(path: Path) -> None:
    """Create an empty file, unless there is an archive or what is left of one."""
    if os.path.lexists(path):
        raise ArchiveError(
            "there is already an archive in this folder",
            where=str(path.parent),
            remedy="Use it, or choose another folder.",
        )
    refuse_leftovers(path)
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
    except OSError as problem:
        raise ArchiveError(
            f"no archive can be created here ({problem.strerror})",
            where=str(path.parent),
            remedy="Check free space and permissions, or choose another folder.",
        ) from problem


def refuse_leftovers(path: Path) -> None:
    """Raise ArchiveError when the files SQLite keeps beside a database are there without it: they may hold the newest
    changes, and a new database of that name would destroy them."""
    if (left := _leftovers(path)) and not os.path.lexists(path):
        raise ArchiveError(
            f"{path.name} is missing, but {' and '.join(left)} is still here and may hold the newest changes",
            where=str(path.parent),
            remedy=f"Put {path.name} back beside it. If you no longer have it, move what is left to another folder, "
            "and do not delete that before you are sure.",
        )


def _leftovers(path: Path) -> list[str]:
    return [each.name for each in companions(path) if os.path.lexists(each)]


def check(engine: Engine) -> None:
    """Check that the database is an archive of this program's schema; upgrade an older one.

    Raises ArchiveError when it is not an archive, is newer than this program, or cannot be opened.
    """
    path = Path(engine.url.database or "")
    try:
        with explained(engine), engine.connect() as connection, connection.begin(), unchanged(engine, connection):
            if not connection.exec_driver_sql("SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'").first():
                raise _no_tables(path)
            found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one()
        with explained(engine):
            _use_wal(engine)
    except NoResultFound as problem:
        raise damaged(path) from problem
    if found == t.SCHEMA:
        return
    if found > t.SCHEMA:
        raise ArchiveError(
            f"the archive was made by a newer kinphoto (its tables are version {found}, this program knows {t.SCHEMA})",
            where=str(engine.url.database),
            remedy="Install the newest kinphoto.",
        )
    from kinphoto.store.upgrading import upgrade

    upgrade(engine, t.SCHEMA)


def _use_wal(engine: Engine) -> None:
    """Have a writable database keep changes in `-wal` first, so that no reader waits for a writer. The file remembers
    it; a file that is not an archive is left alone."""
    if engine.dialect.name != "sqlite":
        return
    with engine.connect().execution_options(begin="SELECT 1") as connection:  # not inside a transaction
        if not _read_only(connection.connection):
            connection.exec_driver_sql("PRAGMA journal_mode=WAL")


def _no_tables(path: Path) -> ArchiveError:
    if _size(path):
        return damaged(path)
    return ArchiveError(
        f"{path.name} is empty: creating the archive was interrupted, or its content is lost",
        where=str(path),
        remedy="If it was new, move this file away and run kinphoto init again; otherwise restore a backup.",
    )


def checkpoint(engine: Engine) -> bool:
    """Move every change into `kinphoto.db` itself, so that this file alone is the whole archive.

    Never waits: while others read or write, or where the disk refuses, the rest stays in `kinphoto.db-wal`, where it is
    just as safe. Returns whether everything was moved.
    """
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return True
    path = Path(engine.url.database)
    if unwritable(path) is not None:
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=0)) as connection:
            connection.execute("PRAGMA wal_checkpoint(PASSIVE)").close()  # as much as possible
            busy, _, _ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            return not busy
    except sqlite3.Error:
        return False


def close(engine: Engine) -> None:
    """Close every connection that is not in use, after a checkpoint. The engine can be used again."""
    checkpoint(engine)
    engine.dispose()

"""Upgrading the database of an older release, after a copy of it was set aside.

Imported only when an archive is older: Alembic takes longer to start than most commands.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DatabaseError

from kinphoto.errors import ArchiveError
from kinphoto.store.atomic import atomic_write

SCRIPTS = Path(__file__).parent / "migrations"
VERSIONS = (SCRIPTS / "versions",)
"""The folders that hold the migrations."""


def upgrade(engine: Engine, schema: str) -> None:
    """Run the migrations up to `schema` (a number such as "0002") in one transaction.

    A database in a file is first copied beside it, as `kinphoto.db.before-0002`. Raises ArchiveError, with nothing
    changed, when the copy or a migration fails.
    """
    copy = set_aside(engine, f"before-{schema}")
    kept = f"; a copy from before the upgrade is in {copy}" if copy else ""
    try:
        with _migrating(engine) as connection:
            command.upgrade(_config(connection), schema)
    except (DatabaseError, CommandError) as problem:
        raise ArchiveError(
            f"the archive could not be upgraded for this kinphoto ({getattr(problem, 'orig', problem)})",
            where=str(engine.url.database),
            remedy=f"Nothing was changed{kept}. Use the version of kinphoto you had before, and report this.",
        ) from problem


def set_aside(engine: Engine, suffix: str) -> Path | None:
    """Copy a database file to a place beside it, also while others use it; None where there is no such file.

    Raises ArchiveError when it cannot be written.
    """
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return None
    source = Path(engine.url.database)
    copy = source.with_name(f"{source.name}.{suffix}")
    with atomic_write(
        copy,
        "the archive comes from an older kinphoto, and it cannot be copied before the upgrade",
        "Check free space and permissions there, then run the command again; nothing was changed.",
    ) as part:
        try:
            with closing(sqlite3.connect(source, timeout=20)) as here, closing(sqlite3.connect(part)) as there:
                here.backup(there)
        except sqlite3.Error as problem:
            raise OSError(str(problem)) from problem
    return copy


@contextmanager
def _migrating(engine: Engine) -> Iterator[Connection]:
    """One transaction in which tables can be rebuilt without deleting the rows that refer to them."""
    with engine.connect().execution_options(begin="BEGIN IMMEDIATE") as connection:
        is_sqlite = engine.dialect.name == "sqlite"
        if is_sqlite:
            connection.connection.cursor().execute("PRAGMA foreign_keys=OFF")  # has no effect inside a transaction
        try:
            with connection.begin():
                yield connection
                if is_sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
                    raise CommandError("some rows would refer to rows that do not exist")
        finally:
            if is_sqlite:
                connection.connection.cursor().execute("PRAGMA foreign_keys=ON")


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", "\n".join(str(folder).replace("%", "%%") for folder in VERSIONS))
    config.attributes["connection"] = connection
    return config

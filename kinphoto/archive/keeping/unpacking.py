"""Making the archive again from a package, so that nothing is different: the same rows, the same history, the same
scans, in a new folder."""

from __future__ import annotations

import json
import logging
import os
import sqlite3
import tempfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import islice
from pathlib import Path, PurePosixPath
from shlex import quote
from typing import Any

from sqlalchemy import create_engine

from kinphoto.archive.keeping.backup import Progress
from kinphoto.archive.keeping.bag import DATA
from kinphoto.archive.keeping.contents import ARCHIVE
from kinphoto.archive.keeping.package import DEPOSIT, INDEX
from kinphoto.archive.keeping.package_tables import TABLES, lines_of
from kinphoto.archive.keeping.restoring import Restored, RestoredFile, below, holds_backup, new_places, put, refuse_full
from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.scans.fixity import sha256_at
from kinphoto.store import opening
from kinphoto.store import tables as t

_ROWS = 500


def unpack(package: Path | str, folder: Path | str, progress: Progress | None = None) -> Restored:
    """Make the archive of a package in a new folder, with all its scans in it.

    Raises NotFoundError when there is no package; ArchiveError when something that is needed is not what was packed,
    it was made by a newer kinphoto, the folder is not empty, or there is no room.
    """
    bag, to = Path(package), Path(os.path.realpath(folder))
    manifest = _manifest(bag)
    refuse_full(to)
    data = bag / DATA
    index = json.loads((data / INDEX).read_text(encoding="utf-8"))
    if index["schema"] > t.SCHEMA:
        raise ArchiveError(
            "the package was made by a newer kinphoto", where=str(bag), remedy="Install the newest kinphoto."
        )
    roots = {int(id_): path for id_, path in index["roots"].items()}
    places = new_places(roots, index["archive"], to)
    placed = [
        RestoredFile(
            below(data, each["packed"]) if each["packed"] else None,
            below(places.get(each["root"], to), each["path"]),
            manifest.get(f"{DATA}/{each['packed']}", ""),
            each["size"],
            each["mtime_ns"],
        )
        for each in index["files"]
        if not PurePosixPath(each["path"]).is_absolute()
    ]
    with tempfile.TemporaryDirectory() as temporary:
        database = Path(temporary) / opening.DATABASE
        _fill(database, data / TABLES, index["schema"])
        missing, damaged = put(database, to, placed, places, progress)
    scans = sum(each["root"] != ARCHIVE and bool(each["packed"]) for each in index["files"])
    return Restored(str(to), index["made"], scans, 0, missing, damaged)


def _manifest(bag: Path) -> dict[str, str]:
    """The checksums of the payload. Raises NotFoundError when this is not a package of an archive, ArchiveError when it
    is not complete or a file that all else depends on is not what was packed."""
    import bagit

    logging.getLogger("bagit").setLevel(logging.CRITICAL)
    try:
        found = bagit.Bag(str(bag))
        entries = {path: sums["sha256"] for path, sums in found.payload_entries().items()}
        if f"{DATA}/{DEPOSIT}" in entries:
            raise ArchiveError(
                f"this package was made for {_made_for(bag)} and holds only what may go to them, so no archive can be "
                "made of it",
                where=str(bag),
                remedy="Use a whole package (kinphoto keep bag without --for), or a backup.",
            )
        if f"{DATA}/{INDEX}" not in entries:
            raise KeyError
    except (bagit.BagError, OSError, KeyError, UnicodeError) as problem:
        raise NotFoundError(
            "there is no package of an archive here",
            where=str(bag),
            remedy=f"It holds backups: kinphoto keep restore {quote(str(bag))} NEW-FOLDER."
            if holds_backup(bag)
            else "Name the folder that keep bag made: it holds bagit.txt and a folder data.",
        ) from problem
    needed = [path for path in entries if path == f"{DATA}/{INDEX}" or path.startswith(f"{DATA}/{TABLES}/")]
    for path in needed:
        file = bag / path
        if not file.is_file() or sha256_at(str(file)) != entries[path]:
            raise ArchiveError(
                "this package is damaged: this file is not what was packed",
                where=str(file),
                remedy="Use another copy of the package, or a backup (kinphoto keep restore).",
            )
    return entries


def _made_for(bag: Path) -> str:
    try:
        return f"'{json.loads((bag / DATA / DEPOSIT).read_text(encoding='utf-8'))['for']}'"
    except (OSError, ValueError, KeyError, TypeError):
        return "somebody"


def _fill(database: Path, tables: Path, schema: str) -> None:
    """Make a database with the tables of that release, and put the rows in as they were."""
    engine = create_engine(f"sqlite:///{database}")
    try:
        if schema == t.SCHEMA:
            t.metadata.create_all(engine)
            with engine.begin() as connection:
                connection.exec_driver_sql(
                    "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)"
                )
                connection.exec_driver_sql(f"INSERT INTO alembic_version VALUES ('{schema}')")
        else:
            from kinphoto.store.upgrading import upgrade

            upgrade(engine, schema)
    finally:
        engine.dispose()
    with closing(sqlite3.connect(database)) as connection:
        connection.execute("PRAGMA synchronous=OFF").close()
        for file in sorted(tables.glob("*.json")):
            if file.stem != "columns":
                _insert(connection, file)
        connection.commit()
        if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
            raise ArchiveError("some rows of this package refer to rows that are not in it", where=str(tables))


def _insert(connection: sqlite3.Connection, file: Path) -> None:
    known = {row[1] for row in connection.execute(f'PRAGMA table_info("{file.stem}")')}
    rows = lines_of(file)
    while chunk := list(islice(rows, _ROWS)):
        names = list(chunk[0])
        if not known.issuperset(names):
            raise ArchiveError("this table is not one of kinphoto's", where=str(file))
        columns = ", ".join(f'"{name}"' for name in names)
        marks = ", ".join("?" * len(names))
        connection.executemany(f'INSERT INTO "{file.stem}" ({columns}) VALUES ({marks})', _values(chunk))


def _values(rows: Sequence[dict[str, Any]]) -> Iterator[list[Any]]:
    for row in rows:
        yield [_packed(value) for value in row.values()]


def _packed(value: Any) -> Any:
    """A value as the database has it: rows that a change noted, and other bytes, which the package has in hex."""
    if isinstance(value, list):
        return zlib.compress(json.dumps(value).encode(), 1)
    return bytes.fromhex(value["hex"]) if isinstance(value, dict) else value

"""An index of the words on and about each photograph, and of what was told, so that searching a hundred thousand is
immediate; the names of its files, today's and former ones, are among them.

It is a file of its own beside the database, `words.db`: SQLite's full-text index of the words, folded like names and
found by their beginnings. What anybody may read (title, place and code) has a column of its own, so that a search for
somebody who has not signed in looks at nothing else. The index is derived: what was changed since the last search is
read again by the change log, and a missing file is made again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterator
from contextlib import closing
from functools import cached_property
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, func, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.search.quoting import FORMER_NAMES, NAMES
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of
from kinphoto.store.session import rows_before

FILE = "words.db"
_FORMAT = "5"  # of the file; one of another format is made again
_ELSEWHERE = {
    sqlite3.SQLITE_BUSY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_READONLY,
}  # fmt: skip
"""Why the file cannot be used just now, whole as it may be: then one is made in memory, for this search only."""
_TIMEOUT = 20.0  # seconds to wait for another who writes to it
_MANY = 5_000  # photographs beyond which everything is read


class WordList:
    """The index of one archive, brought up to the state that `connection` sees whenever it is asked."""

    def __init__(self, connection: Connection) -> None:
        self._path = folder_of(connection.engine) / FILE
        self._connection = connection

    def having(self, word: str, *, for_anybody: bool = False) -> set[int]:
        """The photographs (row ids) in whose words one begins with `word`, a single folded one; `for_anybody` in those
        that anybody may read."""
        return self._found("words", f'open : "{word}"*' if for_anybody else f'"{word}"*')

    def told_with(self, word: str) -> set[int]:
        """The stories (row ids) in whose words one begins with `word`, a single folded one."""
        return self._found("told", f'"{word}"*')

    def _found(self, table: str, where: str) -> set[int]:
        try:
            return self._look_up(table, where, self._path)
        except sqlite3.OperationalError as problem:
            if problem.sqlite_errorcode & 0xFF in _ELSEWHERE:
                return self._look_up(table, where, ":memory:")
        except sqlite3.DatabaseError:  # damaged
            pass
        self._path.unlink(missing_ok=True)  # damaged, or none of ours: it can be thrown away
        return self._look_up(table, where, self._path)

    @cached_property
    def _newest(self) -> int:
        """The newest change that `connection` sees."""
        return self._connection.scalar(select(func.max(t.change.c.id))) or 0

    def _look_up(self, table: str, where: str, path: Path | str) -> set[int]:
        with closing(sqlite3.connect(path, timeout=_TIMEOUT)) as index, index:
            self._update(index)
            found = index.execute(f"SELECT rowid FROM {table} WHERE {table} MATCH ?", (where,))
            return {row[0] for row in found}

    def _update(self, index: sqlite3.Connection) -> None:
        """Read again what was changed since the index was last brought up to date."""
        newest = self._newest
        known = index.execute("SELECT 1 FROM sqlite_master WHERE name = 'state'").fetchone()
        form, as_of = index.execute("SELECT form, as_of FROM state").fetchone() if known else ("", 0)
        if form == _FORMAT and as_of == newest:
            return
        index.execute("BEGIN IMMEDIATE")
        if form != _FORMAT or as_of > newest:
            self._create_tables(index)
            as_of = 0
        touched = self._touched(as_of) if as_of else None
        if touched is not None and len(touched) > _MANY:
            touched = None
        self._write(index, touched)
        self._write_told(index, self._touched_stories(as_of) if as_of else None)
        index.execute("UPDATE state SET as_of = ?", (newest,))

    def _create_tables(self, index: sqlite3.Connection) -> None:
        for name in ("words", "told", "state"):
            index.execute(f"DROP TABLE IF EXISTS {name}")
        index.execute("CREATE VIRTUAL TABLE words USING fts5(open, kept, prefix='2 3')")
        index.execute("CREATE VIRTUAL TABLE told USING fts5(words, prefix='2 3')")
        index.execute("CREATE TABLE state (form TEXT, as_of INTEGER)")
        index.execute("INSERT INTO state VALUES (?, 0)", (_FORMAT,))

    def _write(self, index: sqlite3.Connection, ids: set[int] | None) -> None:
        """Write the words of these photographs, or of all."""
        if ids is None:
            index.execute("DELETE FROM words")
        else:
            index.executemany("DELETE FROM words WHERE rowid = ?", ((id_,) for id_ in ids))
        texts = _texts(self._connection, ids)
        index.executemany(
            "INSERT INTO words (rowid, open, kept) VALUES (?, ?, ?)",
            ((id_, fold(open_), fold(kept)) for id_, (open_, kept) in texts.items()),
        )

    def _write_told(self, index: sqlite3.Connection, ids: set[int] | None) -> None:
        """Write the words of these stories, or of all."""
        if ids is None:
            index.execute("DELETE FROM told")
        else:
            index.executemany("DELETE FROM told WHERE rowid = ?", ((id_,) for id_ in ids))
        s = t.story.c
        query = select(s.id, s.title, s.text, s.date_text, s.sound_name).where(s.withdrawn == 0)
        index.executemany(
            "INSERT INTO told (rowid, words) VALUES (?, ?)",
            ((row[0], fold(" ".join(row[1:]))) for row in _read(self._connection, query, ids)),
        )

    def _touched_stories(self, as_of: int) -> set[int]:
        r = t.change_row.c
        notes = select(r.first_id, r.last_id).where(r.change_id > as_of, r.table_name == t.story.name)
        return {id_ for first, last in self._connection.execute(notes) for id_ in range(first, last + 1)}

    def _touched(self, as_of: int) -> set[int]:
        """The photographs with something that was changed after change `as_of`."""
        r, f = t.change_row.c, t.former_name.c
        tables = ("photograph", "statement", "scan", "former_name")
        notes = select(t.change_row).where(r.change_id > as_of, r.table_name.in_(tables))
        found: set[int] = set()
        for note in self._connection.execute(notes).mappings().all():
            first, last = note["first_id"], note["last_id"]
            if note["table_name"] == "photograph":
                found.update(range(first, last + 1))
                continue
            if note["table_name"] == "former_name":
                scans = {row["scan_id"] for row in rows_before(note)}
                scans.update(self._connection.scalars(select(f.scan_id).where(f.id.between(first, last))))
                owner = select(t.scan.c.photograph_id).where(among(self._connection, t.scan.c.id, scans))
                found.update(self._connection.scalars(owner))
                continue
            table = t.scan if note["table_name"] == "scan" else t.statement
            found.update(self._connection.scalars(select(table.c.photograph_id).where(table.c.id.between(first, last))))
            found.update(row["photograph_id"] for row in rows_before(note))
        return found


def _texts(connection: Connection, ids: Collection[int] | None) -> dict[int, tuple[str, str]]:
    """For each photograph what anybody may read of its object, and everything else written on or about it."""
    p, s = t.photograph.c, t.statement.c
    open_ = select(p.id, p.code, p.title, p.place)
    own = select(p.id, p.note, p.maker, p.former_number, p.rights)
    statements = select(s.photograph_id, s.text, s.date_text).where(
        s.withdrawn == 0, (s.text != "") | (s.date_text != "")
    )
    read = {row[0]: " ".join(filter(None, row[1:])) for row in _read(connection, open_, ids)}
    kept = {row[0]: " ".join(filter(None, row[1:])) for row in _read(connection, own, ids)}
    files = (*_read(connection, NAMES, ids), *_read(connection, FORMER_NAMES, ids))
    names = ((photograph_id, Path(file_path(path, page)).name) for photograph_id, path, page in files)
    for photograph_id, *words in (*_read(connection, statements, ids), *names):
        if photograph_id in kept:
            kept[photograph_id] += " " + " ".join(words)
    return {id_: (words, kept[id_]) for id_, words in read.items()}


def _read(connection: Connection, query: Select[Any], ids: Collection[int] | None) -> Iterator[Any]:
    if ids is None:
        yield from connection.execute(query)
    else:
        yield from rows_of(connection, query, query.selected_columns[0], ids)  # type: ignore[arg-type]

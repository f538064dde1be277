"""Units of work on an archive's database, and the journal through which every change of it goes.

One unit of work is one transaction and one line of the change log. `Work` writes rows and notes, for each, what is
needed to undo it: for an insert only the range of ids, for an update or a delete the rows as they were. Undo swaps the
noted state with the present one and notes that in turn, so an undo can be undone.
"""

from __future__ import annotations

import json
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    RowMapping,
    Table,
    bindparam,
    delete,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.exc import IntegrityError

from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import keep_in_memory, unchanged
from kinphoto.store.problems import explained
from kinphoto.store.roots import ScanPath, as_stored, stored

Row = dict[str, Any]
_CHUNK = 500  # ids per IN list, well under SQLite's limit on parameters
_PACK = 50  # rows per INSERT in bulk, for the same reason
# Each row that is written needs these, and to put them together takes longer than to carry them out.
_NEXT = select(t.counter.c.next).where(t.counter.c.name == bindparam("counter")).with_for_update()
_BEGIN_COUNTING = insert(t.counter)
_COUNT_ON = update(t.counter).where(t.counter.c.name == bindparam("counter")).values(next=bindparam("start_of_next"))
_NOTE = insert(t.change_row)


def now() -> str:
    """The present moment, UTC, ISO 8601 to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A consistent view for reading. Raises ArchiveError when the database is damaged or cannot be read."""
    with explained(engine), engine.connect() as connection, connection.begin(), unchanged(engine, connection):
        yield connection


@contextmanager
def working(engine: Engine, what: str, extends: int | None = None) -> Iterator[Work]:
    """One change: committed with its log line when the block ends, rolled back when it raises.

    A block that writes nothing leaves no line. `Work.what` may be set inside the block when the words are only
    known later. With `extends`, the id of an earlier change, what is written joins that change unless another came
    after it; so a long command can commit as it goes and still be one line. Raises ArchiveError when another
    process holds the archive for more than twenty seconds, when it may not be written to, or when the disk is full.
    """
    with explained(engine), _writing(engine) as connection:
        work = Work(connection, what)
        if extends is not None:
            work.extend(extends)
        yield work
        work.close()
    made = _MADE.get()
    if made is not None and work.id is not None and work.id not in made:
        made.append(work.id)


_MADE: ContextVar[list[int] | None] = ContextVar("made", default=None)


@contextmanager
def noting_changes() -> Iterator[list[int]]:
    """The numbers of the changes that are made in this thread while the block runs, added as each is committed."""
    made: list[int] = []
    token = _MADE.set(made)
    try:
        yield made
    finally:
        _MADE.reset(token)


@contextmanager
def deriving(engine: Engine) -> Iterator[Connection]:
    """Store what is derived from everything else, without a line in the log. Where the archive may only be read, it is
    kept in memory, for the next reader. Raises ArchiveError as `working` does."""
    with explained(engine), _writing(engine) as connection:
        keep_in_memory(connection, (t.estimate, t.from_container, t.one_container, t.setting, t.scan_check))
        yield connection


@contextmanager
def rehearsing(engine: Engine) -> Iterator[Work]:
    """A change made to see what it would do, and always rolled back. Raises ArchiveError as `working` does."""
    try:
        with working(engine, "") as work:
            yield work
            raise _RehearsedError
    except _RehearsedError:
        pass


class _RehearsedError(Exception):
    """Rolls a rehearsal back. Never leaves this module."""


@contextmanager
def _writing(engine: Engine) -> Iterator[Connection]:
    with engine.connect().execution_options(begin="BEGIN IMMEDIATE") as connection, connection.begin():
        yield connection


class Work:
    """The journal of one change. Read with `connection`, write only with the methods here."""

    def __init__(self, connection: Connection, what: str) -> None:
        self.connection = connection
        self.what = what
        self.at = now()
        self.id: int | None = None
        self._undoes: int | None = None

    def extend(self, change_id: int) -> None:
        """Add what follows to an earlier change, if that is the newest there is.

        Estimates made since then are marked as out of date, because they count as made after that change.
        """
        if change_id == self.connection.scalar(select(func.max(t.change.c.id))):
            self.id = change_id
            self.connection.execute(delete(t.setting).where(t.setting.c.key == "estimates_as_of"))

    def insert(self, table: Table, rows: Sequence[Mapping[str, Any]]) -> range:
        """Insert rows (all with the same keys, no `id`) and return the ids they got, in order."""
        if not rows:
            return range(0)
        ids = self.take(table.name, len(rows))
        self.connection.execute(insert(table), [{"id": i, **row} for i, row in zip(ids, rows, strict=True)])
        self._note_absent(table, ids)
        return ids

    def insert_many(self, table: Table, columns: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> range:
        """The same for very many rows, as tuples in the order of `columns`; only columns with a default in the database
        may be missing. Twice as fast: the values go to the driver as they are, many rows in one statement."""
        if not rows:
            return range(0)
        ids = self.take(table.name, len(rows))
        dialect = self.connection.dialect
        paths = [at for at, name in enumerate(columns) if isinstance(table.c[name].type, ScanPath)]
        if paths:
            rows = [
                tuple(stored(self.connection, v) if at in paths and v else v for at, v in enumerate(r)) for r in rows
            ]
        names = ", ".join(dialect.identifier_preparer.quote(name) for name in ("id", *columns))
        mark = "?" if dialect.paramstyle == "qmark" else "%s"
        marks = f"({', '.join([mark] * (len(columns) + 1))})"
        packed = len(rows) - len(rows) % _PACK
        for size, places in ((_PACK, range(0, packed, _PACK)), (1, range(packed, len(rows)))):
            if places:
                command = f"INSERT INTO {table.name} ({names}) VALUES {', '.join([marks] * size)}"
                self.connection.exec_driver_sql(command, [_flat(ids, rows, at, at + size) for at in places])
        self._note_absent(table, ids)
        return ids

    def insert_as(self, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
        """Insert rows that have their `id` already, from `take`; their other keys may differ."""
        by_keys: dict[tuple[str, ...], list[Mapping[str, Any]]] = {}
        for row in rows:
            by_keys.setdefault(tuple(row), []).append(row)
        for alike in by_keys.values():
            self.connection.execute(insert(table), alike)
        self._note_absent(table, [row["id"] for row in rows])

    def insert_one(self, table: Table, **values: Any) -> int:
        """Insert one row and return its id."""
        return self.insert(table, [values]).start

    def update(self, table: Table, ids: Sequence[int], **values: Any) -> None:
        """Set the same values on the rows of these ids."""
        self.rewrite(table, [{"id": i, **values} for i in ids])

    def rewrite(self, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
        """Set each row's own values; every mapping has its `id` and the same other keys."""
        if not rows:
            return
        self._note_present(table, self._rows(table, [row["id"] for row in rows]))
        _set(self.connection, table, rows)

    def delete(self, table: Table, ids: Sequence[int]) -> None:
        """Delete the rows of these ids."""
        self._note_present(table, self._rows(table, ids))
        for chunk in _chunks(ids):
            self.connection.execute(delete(table).where(table.c.id.in_(chunk)))

    def take(self, name: str, count: int = 1) -> range:
        """The next `count` numbers of a counter (a table's name, `photograph.code` ...), each used only once, whatever
        is undone."""
        found = self.connection.scalar(_NEXT, {"counter": name})
        start = int(found or 1)
        if found is None:
            self.connection.execute(_BEGIN_COUNTING, {"name": name, "next": start + count})
        else:
            self.connection.execute(_COUNT_ON, {"counter": name, "start_of_next": start + count})
        return range(start, start + count)

    def undo(self, change_id: int) -> str:
        """Undo change `change_id` and return its words.

        Raises NotFoundError when there is no such change, ArchiveError when it was already undone or a later change
        has to be undone first.
        """
        found = self.connection.execute(select(t.change).where(t.change.c.id == change_id)).mappings().first()
        if found is None:
            raise NotFoundError(f"there is no change {change_id}", remedy="To see them all: kinphoto log.")
        if found["undone_by_id"] is not None:
            raise ArchiveError(
                f"change {change_id} was already undone",
                remedy=f"To redo it: kinphoto undo {found['undone_by_id']}.",
            )
        notes = (
            self.connection.execute(
                select(t.change_row).where(t.change_row.c.change_id == change_id).order_by(t.change_row.c.id.desc())
            )
            .mappings()
            .all()
        )
        self._refuse_if_changed_later(change_id, notes)
        self._undoes = change_id
        self._change()
        for note in notes:
            try:
                self._swap(note)
            except IntegrityError as problem:
                raise self._blocked(change_id, self._in_the_way(note)) from problem
        self._mark_undone(change_id)
        return str(found["what"])

    def close(self) -> None:
        """Write the final words of the log line, if anything was changed."""
        if self.id is not None:
            self.connection.execute(update(t.change).where(t.change.c.id == self.id).values(what=self.what))

    def _change(self) -> int:
        """The id of this change; its line is written when the first row is."""
        if self.id is None:
            self.id = self.take("change").start
            self.connection.execute(
                insert(t.change).values(id=self.id, at=self.at, what=self.what, undoes_id=self._undoes)
            )
        return self.id

    def _rows(self, table: Table, ids: Sequence[int]) -> list[Row]:
        found: list[Row] = []
        for chunk in _chunks(ids):
            query = select(*map(as_stored, table.c)).where(table.c.id.in_(chunk))
            found += [dict(row) for row in self.connection.execute(query).mappings()]
        return found

    def _note_absent(self, table: Table, ids: Sequence[int]) -> None:
        """Note that the rows of these ids were not there before."""
        for run in _runs(sorted(ids)):
            self._note(table, run[0], run[-1], None)

    def _note_present(self, table: Table, rows: list[Row]) -> None:
        """Note rows as they are now."""
        by_id = {row["id"]: row for row in rows}
        for run in _runs(sorted(by_id)):
            self._note(table, run[0], run[-1], [by_id[i] for i in run])

    def _note(self, table: Table, first: int, last: int, before: list[Row] | None) -> None:
        packed = None if before is None else zlib.compress(json.dumps(before).encode(), 1)
        note = {
            "id": self.take("change_row").start,
            "change_id": self._change(),
            "table_name": table.name,
            "first_id": first,
            "last_id": last,
            "before": packed,
        }
        self.connection.execute(_NOTE, note)

    def _swap(self, note: RowMapping) -> None:
        """Put the rows of one note back as they were, noting how they are now."""
        table = t.metadata.tables[note["table_name"]]
        inside = table.c.id.between(note["first_id"], note["last_id"])
        before = rows_before(note)
        query = select(*map(as_stored, table.c)).where(inside)
        present = [dict(row) for row in self.connection.execute(query).mappings()]
        here, there = {row["id"] for row in present}, {row["id"] for row in before}
        self._note_present(table, present)
        self._note_absent(table, sorted(there - here))
        if here - there:
            self.connection.execute(delete(table).where(inside))
        if there - here:
            apart = _references_to_itself(table)  # rows that refer to each other cannot be inserted one after the other
            missing = [row for row in before if row["id"] not in here]
            self.connection.execute(insert(table), [row | apart for row in missing])
            if apart:
                _set(self.connection, table, missing)
        if there & here:
            _set(self.connection, table, [row for row in before if row["id"] in here])

    def _refuse_if_changed_later(self, change_id: int, notes: Sequence[RowMapping]) -> None:
        """Rows are swapped only while they are as the change left them, never under a later change still in force.

        A later change of these rows that was undone, or redone and undone again, does not stand in the way: its undos
        switch it off and on, and after an even number of switches everything is as it was.
        """
        r, c = t.change_row.c, t.change.c
        later: set[int] = set()
        for note in notes:
            touching = (
                select(c.id)
                .join(t.change_row, r.change_id == c.id)
                .where(r.table_name == note["table_name"], r.first_id <= note["last_id"], r.last_id >= note["first_id"])
                .where(c.id > change_id)
                .distinct()
            )
            later.update(self.connection.scalars(touching))
        roots = self._roots(later)
        turned = Counter(roots.values())
        if standing := [id_ for id_ in later if turned[roots[id_]] % 2]:
            raise self._blocked(change_id, max(standing))

    def _blocked(self, change_id: int, later: int) -> ArchiveError:
        what = self.connection.scalar(select(t.change.c.what).where(t.change.c.id == later))
        return ArchiveError(
            f"change {change_id} cannot be undone before change {later} ({what})",
            remedy=f"Undo that one first: kinphoto undo {later}.",
        )

    def _in_the_way(self, note: RowMapping) -> int:
        """The newest change of a row that keeps a note's rows from being put back: one that refers to them, one of the
        same name or code where only one may have it, or one that they refer to and that is gone."""
        target, before = t.metadata.tables[note["table_name"]], rows_before(note)
        rows: list[tuple[str, Iterable[int]]] = []
        for table in t.metadata.tables.values():
            for key in table.foreign_keys:
                if key.references(target) and "id" in table.c:
                    refers = key.parent.between(note["first_id"], note["last_id"])
                    rows.append((table.name, self._ids(table, refers)))
        for column in target.c:
            values = {row[column.name] for row in before} - {None}
            if column.unique:
                rows.append((target.name, self._ids(target, among(self.connection, column, values))))
            for key in column.foreign_keys:
                there = self._ids(key.column.table, among(self.connection, key.column, values))
                rows.append((key.column.table.name, values.difference(there)))
        r = t.change_row.c
        newest = select(func.max(r.change_id)).where(r.change_id != self.id)
        return max(
            self.connection.scalar(newest.where(r.table_name == name, r.first_id <= id_, r.last_id >= id_)) or 0
            for name, ids in rows
            for id_ in ids
        )

    def _ids(self, table: Table, which: ColumnElement[bool]) -> Sequence[int]:
        return self.connection.scalars(select(table.c.id).where(which)).all()

    def _roots(self, changes: Iterable[int]) -> dict[int, int]:
        """What each of these changes switches on or off: itself, or the change at the end of its chain of undos."""
        c = t.change.c
        found = self.connection.execute(select(c.id, c.undoes_id).where(c.undoes_id.is_not(None)))
        undoes = {row.id: row.undoes_id for row in found}
        roots = {}
        for change in changes:
            root = change
            while root in undoes:
                root = undoes[root]
            roots[change] = root
        return roots

    def _mark_undone(self, change_id: int) -> None:
        """Along the chain of undos every second one is in force: undoing an undo redoes what it had undone."""
        by: int | None = self._change()
        current: int | None = change_id
        while current is not None:
            self.connection.execute(update(t.change).where(t.change.c.id == current).values(undone_by_id=by))
            by = current if by is None else None
            current = self.connection.scalar(select(t.change.c.undoes_id).where(t.change.c.id == current))


def rows_before(note: RowMapping) -> list[Row]:
    """The rows of a note of the journal (`change_row`) as they were before the change, without those it added; paths in
    their stored form."""
    found: list[Row] = [] if note["before"] is None else json.loads(zlib.decompress(note["before"]))
    return found


def last_change(connection: Connection) -> int | None:
    """The newest change that is not an undo and has not been undone."""
    c = t.change.c
    found = connection.scalar(select(func.max(c.id)).where(c.undone_by_id.is_(None), c.undoes_id.is_(None)))
    return None if found is None else int(found)


def _set(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    columns = [key for key in rows[0] if key != "id"]
    command = update(table).where(table.c.id == bindparam("_id")).values({k: bindparam(f"_{k}") for k in columns})
    connection.execute(command, [{f"_{key}": value for key, value in row.items()} for row in rows])


def _references_to_itself(table: Table) -> dict[str, None]:
    """The columns that refer to rows of the same table, each with None."""
    return {column.name: None for column in table.c if any(key.references(table) for key in column.foreign_keys)}


def _flat(ids: range, rows: Sequence[tuple[Any, ...]], start: int, end: int) -> tuple[Any, ...]:
    """The values of some rows in one flat tuple, each row after its id."""
    values: list[Any] = []
    for at in range(start, end):
        values.append(ids[at])
        values += rows[at]
    return tuple(values)


def _chunks(ids: Sequence[int]) -> Iterator[list[int]]:
    for start in range(0, len(ids), _CHUNK):
        yield list(ids[start : start + _CHUNK])


def _runs(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    """Split ascending ids into runs of neighbours: 1 2 3 7 8 gives (1 2 3) and (7 8)."""
    start = 0
    for at in range(1, len(ids) + 1):
        if at == len(ids) or ids[at] != ids[at - 1] + 1:
            yield ids[start:at]
            start = at

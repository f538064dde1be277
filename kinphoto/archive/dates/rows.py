"""Rows of the archive's tables by what stands in a column: asked of the database, each once, or looked up among all
rows where these are held in memory, as they were at one moment of the archive."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from functools import cache
from typing import Any, Protocol
from weakref import WeakKeyDictionary

from sqlalchemy import Column, Connection, Engine, RowMapping, Select, Table, bindparam, select

from kinphoto.archive.catalogue.freshness import Stamp, stamp
from kinphoto.store import tables as t
from kinphoto.store.among import FEW, among

Row = Mapping[str, Any] | RowMapping
Columns = tuple[Column[Any], ...]
TABLES = (
    t.person, t.photograph, t.appearance, t.statement, t.event, t.family, t.parent_link, t.partner, t.informant,
    t.container,
)  # fmt: skip
"""What dates are concluded from."""


class Rows(Protocol):
    """Rows of one moment."""

    def every(self, table: Table) -> Sequence[Row]:
        """All rows of a table, by their ids."""

    def having(self, column: Column[Any], values: Collection[Any], only: Columns = ()) -> list[Row]:
        """The rows of the column's table in which it has one of these values, in any order; of rows that can be very
        many `only` these columns, of which it is one."""


class AskedRows:
    """Rows of one view of the database. What was asked for once is not asked for again."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: dict[tuple[Column[Any], Columns], dict[Any, list[Row]]] = defaultdict(dict)
        self._every: dict[Table, Sequence[Row]] = {}

    def every(self, table: Table) -> Sequence[Row]:
        """All rows of a table, by their ids."""
        if table not in self._every:
            self._every[table] = _found(self._connection, select(table).order_by(table.c.id))
        return self._every[table]

    def having(self, column: Column[Any], values: Collection[Any], only: Columns = ()) -> list[Row]:
        """The rows of the column's table in which it has one of these values, in any order; `only` these columns."""
        known = self._known[column, only]
        if new := [value for value in values if value not in known]:
            known.update((value, []) for value in new)
            for row in self._ask(column, new, only):
                known[row[column.name]].append(row)
        return [row for value in values for row in known[value]]

    def _ask(self, column: Column[Any], values: Collection[Any], only: Columns) -> list[Row]:
        return rows_among(self._connection, _of(column, only), column, values)


class HeldRows:
    """All rows that dates are concluded from, in memory."""

    def __init__(self, connection: Connection) -> None:
        self._tables = {table: _found(connection, select(table).order_by(table.c.id)) for table in TABLES}
        self._by: dict[Column[Any], dict[Any, list[Row]]] = {}

    def every(self, table: Table) -> Sequence[Row]:
        """All rows of a table, by their ids."""
        return self._tables[table]

    def having(self, column: Column[Any], values: Collection[Any], only: Columns = ()) -> list[Row]:
        """The rows of the column's table in which it has one of these values, in any order; with all columns."""
        by = self._by.get(column)
        if by is None:
            found: dict[Any, list[Row]] = defaultdict(list)
            for row in self._tables[column.table]:
                found[row[column.name]].append(row)
            by = self._by[column] = dict(found)
        return [row for value in values for row in by.get(value, ())]


_HELD: WeakKeyDictionary[Engine, tuple[Stamp, HeldRows]] = WeakKeyDictionary()
"""Of an archive that is open and not too large: all rows, and as of when."""


def hold_rows(connection: Connection) -> HeldRows:
    """Read all rows, and hold them until others are held."""
    rows = HeldRows(connection)
    _HELD[connection.engine] = stamp(connection), rows
    return rows


def rows_now(connection: Connection) -> Rows:
    """The rows of this view: those in memory if nothing was changed since they were read."""
    made, rows = _HELD.get(connection.engine, (None, None))
    return rows if rows is not None and made == stamp(connection) else AskedRows(connection)


def rows_among(
    connection: Connection, query: Select[Any], column: Column[Any], values: Collection[Any]
) -> list[Row]:  # fmt: skip
    """The rows of a query, which is put together once, whose `column` has one of the values."""
    if len(values) > FEW:
        return _found(connection, query.where(among(connection, column, values)))
    return _found(connection, _listed(query, column), {"wanted": sorted(values)}) if values else []


def _found(connection: Connection, query: Select[Any], given: Mapping[str, Any] | None = None) -> list[Row]:
    found = connection.execute(query, given)
    names = tuple(found.keys())
    return [dict(zip(names, row, strict=True)) for row in found.all()]  # looked into far quicker than mappings


@cache
def _of(column: Column[Any], only: Columns) -> Select[Any]:
    return select(*only) if only else select(column.table)


@cache
def _listed(query: Select[Any], column: Column[Any]) -> Select[Any]:
    """The query for a list of `wanted` values of the column."""
    return query.where(column.in_(bindparam("wanted", expanding=True)))

"""Ids as the tree writes them (`I12`, `f3`), found however somebody types them.

An id that somebody has now never means anybody else, whoever had it in an earlier file of the tree.
"""

from __future__ import annotations

from functools import cache

from sqlalchemy import Connection, RowMapping, Select, Table, bindparam, func, select

from kinphoto.store import tables as t


def row_of(connection: Connection, table: Table, id_: int) -> RowMapping:
    """The row with this id; it has to be there."""
    return connection.execute(_with_id(table), {"wanted": id_}).mappings().one()


@cache
def _with_id(table: Table) -> Select[tuple[object, ...]]:
    """The question, put together once."""
    return select(table).where(table.c.id == bindparam("wanted"))


def with_id(person: RowMapping) -> str:
    """How a message names somebody (a row of table person): "Ada Marsh (I12)"."""
    return f"{person['name'] or 'somebody without a name'} ({person['code']})"


def with_code(connection: Connection, table: Table, text: str) -> RowMapping | None:
    """The person or family whose id this is, with or without its @: as it stands, or else in other letter case."""
    return next(iter(_having(connection, select(table), table, text)), None)


def formerly(connection: Connection, table: Table, text: str) -> list[RowMapping]:
    """The people or families who had this id in an earlier file of the tree. One that several people had means none of
    them until somebody is asked."""
    query = select(table).join(t.former_id, t.former_id.c[f"{table.name}_id"] == table.c.id).distinct()
    return _having(connection, query.order_by(table.c.id), t.former_id, text)


def _having(connection: Connection, query: Select[tuple[object, ...]], table: Table, text: str) -> list[RowMapping]:
    code = text.strip().strip("@")
    rows = connection.execute(query.where(table.c.code == code)).mappings().all()
    if not rows and code and " " not in code:  # a whole name needs no look through all the ids
        rows = connection.execute(query.where(func.lower(table.c.code) == code.lower())).mappings().all()
    return list(rows)

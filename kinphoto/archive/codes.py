"""Ids as the tree writes them (`I12`, `f3`), found however somebody types them."""

from __future__ import annotations

from sqlalchemy import Connection, RowMapping, Table, func, select


def with_code(connection: Connection, table: Table, text: str) -> RowMapping | None:
    """The person or family whose id this is, with or without its @: as it stands, or else in other letter case."""
    code = text.strip().strip("@")
    query = select(table)
    row = connection.execute(query.where(table.c.code == code)).mappings().first()
    if row is None and code and " " not in code:  # a whole name needs no look through all the ids
        row = connection.execute(query.where(func.lower(table.c.code) == code.lower())).mappings().first()
    return row

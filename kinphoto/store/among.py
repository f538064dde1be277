"""Asking for the rows of very many ids in one query, with a single parameter.

A list of thousands of parameters takes longer to write and parse than the rows themselves, and databases limit its
length.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from typing import Any

from sqlalchemy import JSON, ColumnElement, Connection, Text, bindparam, cast, func, select

from kinphoto.store.roots import ScanPath, stored

FEW = 200
"""Up to this number, values are quicker as single parameters."""


def among(connection: Connection, column: ColumnElement[Any], values: Collection[int] | Collection[str]) -> Any:
    """The condition that a column holds one of these values, all of them numbers or all of them texts."""
    if len(values) <= FEW:
        return column.in_(sorted(values))
    if isinstance(column.type, ScanPath):
        values = [stored(connection, str(value)) for value in values]
    listed = bindparam(None, json.dumps(sorted(values)), Text)
    if connection.dialect.name == "sqlite":
        each: Any = func.json_each(listed).table_valued("value").c.value
    else:
        each = cast(func.json_array_elements_text(cast(listed, JSON)), column.type)
    return column.in_(select(each))

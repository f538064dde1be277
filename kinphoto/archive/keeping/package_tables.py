"""The tables of an archive in a package: each as CSV for a spreadsheet and as JSON for programs, with what its columns
mean."""

from __future__ import annotations

import csv
import json
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, select

from kinphoto.archive.keeping.bag import Bag
from kinphoto.archive.keeping.dictionary import column_words, table_words
from kinphoto.phrases import counted
from kinphoto.store import tables as t
from kinphoto.store.roots import as_stored

TABLES = "tables"
"""The folder of a package that they are in."""
_PAGE_SIZE = 500  # rows of a table in memory
_PACKED = "before"
"""The column of the rows that a change noted."""


def write_tables(connection: Connection, bag: Bag) -> None:
    """Write every table, and what they hold."""
    (bag.data / TABLES).mkdir()
    words = ["What the tables hold. Each is here as CSV and as JSON, with the same rows.", ""]
    described: dict[str, Any] = {}
    for table in t.metadata.sorted_tables:
        count = _write_table(connection, bag, table)
        words += [f"{table.name}: {table_words(table)} {counted(count, 'row')}."]
        columns = {column.name: column_words(column) for column in table.c}
        words += [*(f"    {name:<16} {what}" for name, what in columns.items()), ""]
        described[table.name] = {"is": table_words(table), "rows": count, "columns": columns}
    bag.text(f"{TABLES}/WHAT THE COLUMNS MEAN.txt", "\n".join(words))
    bag.text(f"{TABLES}/columns.json", json.dumps(described, ensure_ascii=False, indent=1))


def _write_table(connection: Connection, bag: Bag, table: Table) -> int:
    """Write one table twice; how many rows it has."""
    names = [column.name for column in table.c]
    keys = list(table.primary_key) or list(table.c)
    query = select(*map(as_stored, table.c)).order_by(*keys)
    base, count = bag.data / TABLES / table.name, 0
    with (
        base.with_suffix(".csv").open("w", encoding="utf-8", newline="") as plain,
        base.with_suffix(".json").open("w", encoding="utf-8") as exact,
    ):
        rows = csv.writer(plain)
        rows.writerow(names)
        exact.write("[")
        for found in connection.execution_options(yield_per=_PAGE_SIZE).execute(query):
            row = {name: _readable(name, value) for name, value in zip(names, found, strict=True)}
            exact.write(("," if count else "") + "\n" + json.dumps(row, ensure_ascii=False))
            rows.writerow(json.dumps(v, ensure_ascii=False) if isinstance(v, list) else v for v in row.values())
            count += 1
        exact.write("\n]\n")
    bag.add_written(base.with_suffix(".csv"))
    bag.add_written(base.with_suffix(".json"))
    return count


def _readable(name: str, value: Any) -> Any:
    """The rows that a change noted are packed in the database; here anybody can read them. Other bytes are in hex."""
    if not isinstance(value, bytes):
        return value
    return json.loads(zlib.decompress(value)) if name == _PACKED else {"hex": value.hex()}


def lines_of(path: Path) -> Iterator[dict[str, Any]]:
    """The rows of a table in a package, one at a time."""
    with path.open(encoding="utf-8") as file:
        for line in file:
            if line.startswith("{"):
                row: dict[str, Any] = json.loads(line.rstrip().removesuffix(","))
                yield row

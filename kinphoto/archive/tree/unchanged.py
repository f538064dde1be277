"""Recognising a tree file: one that is byte for byte the last one imported need not be read.

The result of an import is kept with a stamp: the file's checksum, the program that read it, and the newest change of
the tree. As long as all three are the same there is nothing to do. It can be deleted at the cost of reading the file
again.
"""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.settings import keep_setting, setting
from kinphoto.gedcom import decode
from kinphoto.gedcom.records import Warned
from kinphoto.store import tables as t
from kinphoto.version import __version__

_KEY = "tree_as_of"
_TREE = tuple(table.name for table in (t.person, t.name, t.family, t.partner, t.parent_link, t.event, t.tree_file))


def recall(connection: Connection, source: decode.TreeFile) -> dict[str, Any] | None:
    """The result of importing this very file; None when the file, the program or the tree has changed."""
    kept = setting(connection, _KEY)
    found = json.loads(kept) if kept else {}
    if found.get("stamp") != _stamp(connection, source):
        return None
    answer: dict[str, Any] = found["answer"]
    warnings = tuple(Warned(line, text) for line, text in answer.pop("warnings"))
    nothing = dict.fromkeys(("added", "changed", "removed"), 0)
    return {**answer, **nothing, "warnings": warnings, "listing": None}


def note(connection: Connection, source: decode.TreeFile, answer: dict[str, Any]) -> None:
    """Keep the result of importing a file."""
    kept = json.dumps({"stamp": _stamp(connection, source), "answer": answer})
    keep_setting(connection, _KEY, kept)


def _stamp(connection: Connection, source: decode.TreeFile) -> str:
    r = t.change_row.c
    newest = connection.scalar(select(func.max(r.id)).where(r.table_name.in_(_TREE)))
    return f"{source.sha256} {__version__} {newest or 0}"

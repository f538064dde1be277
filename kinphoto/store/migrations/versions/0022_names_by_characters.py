"""Names in Chinese characters are compared character by character, as they are written without spaces."""

from __future__ import annotations

import json
import re
import zlib
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

CHARACTER = re.compile(r"([\u3005\u3040-\u30ff\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff])")

NAME = sa.table("name", sa.column("id", sa.Integer), sa.column("folded", sa.Text))
NOTE = sa.table("change_row", sa.column("id"), sa.column("table_name"), sa.column("before", sa.LargeBinary))


def upgrade() -> None:
    """Part the characters of the names that are searched, in the journal too; no other name changes."""
    connection = op.get_bind()
    for id_, folded in connection.execute(sa.select(NAME.c.id, NAME.c.folded)).all():
        if CHARACTER.search(folded):
            connection.execute(NAME.update().where(NAME.c.id == id_).values(folded=_apart(folded)))
    notes = sa.select(NOTE.c.id, NOTE.c.before).where(NOTE.c.table_name == "name", NOTE.c.before.is_not(None))
    for id_, before in connection.execute(notes).all():
        rows: list[dict[str, Any]] = json.loads(zlib.decompress(before))
        if any(CHARACTER.search(row.get("folded", "")) for row in rows):
            changed = [{**row, "folded": _apart(row["folded"])} for row in rows]
            packed = zlib.compress(json.dumps(changed).encode(), 1)
            connection.execute(NOTE.update().where(NOTE.c.id == id_).values(before=packed))


def _apart(folded: str) -> str:
    return " ".join(CHARACTER.sub(r" \1 ", folded).split())

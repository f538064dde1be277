"""Paths of scans relative to the folders they were added from; when each file was last read again."""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa
from alembic import op

from kinphoto.store.roots import Root, Roots

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

PATHS = (("scan", "path"), ("container", "folder"), ("removed_scan", "path"))


def upgrade() -> None:
    """Make the tables; the outermost folders become roots, and the paths relative to them, in the journal too."""
    op.create_table(
        "scan_root",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("archive", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_scan_root"),
        sa.UniqueConstraint("path", name="uq_scan_root_path"),
        sqlite_strict=True,
    )
    op.create_table(
        "fixity",
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("checked_at", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("problem", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("path", name="pk_fixity"),
        sqlite_strict=True,
    )
    connection = op.get_bind()
    found = {name: _paths(connection, name, column) for name, column in PATHS}
    files = [path.rpartition("/")[0] or "/" for name, _ in PATHS if name != "container" for path in found[name]]
    outermost = _outermost([*found["container"], *files])
    archive = os.path.realpath(os.path.dirname(connection.engine.url.database or "") or ".")  # noqa: PTH120
    roots = Roots(Root(id_, path) for id_, path in enumerate(outermost, 1))
    for id_, path in enumerate(outermost, 1):
        connection.execute(
            sa.text("INSERT INTO scan_root (id, path, archive) VALUES (:id, :path, :archive)"),
            {"id": id_, "path": path, "archive": archive},
        )
    for name, column in PATHS:
        changed = [{"new": roots.stored(path), "old": path} for path in found[name]]
        if changed:
            connection.execute(sa.text(f'UPDATE {name} SET "{column}" = :new WHERE "{column}" = :old'), changed)
        _in_the_journal(connection, name, column, roots)


def _paths(connection: sa.Connection, name: str, column: str) -> list[str]:
    query = f'SELECT DISTINCT "{column}" FROM {name} WHERE "{column}" LIKE \'/%\''
    return list(connection.scalars(sa.text(query)))


def _outermost(folders: Iterable[str]) -> list[str]:
    """Those of the folders that are not inside another."""
    kept: list[str] = []
    for folder in sorted(set(folders), key=lambda path: path.split("/")):
        if not kept or not folder.startswith(kept[-1].rstrip("/") + "/"):
            kept.append(folder)
    return kept


def _in_the_journal(connection: sa.Connection, name: str, column: str, roots: Roots) -> None:
    notes = connection.execute(
        sa.text("SELECT id, before FROM change_row WHERE table_name = :name AND before IS NOT NULL"), {"name": name}
    ).all()
    for id_, before in notes:
        rows: list[dict[str, Any]] = json.loads(zlib.decompress(before))
        for row in rows:
            if row.get(column):
                row[column] = roots.stored(row[column])
        packed = zlib.compress(json.dumps(rows).encode(), 1)
        connection.execute(
            sa.text("UPDATE change_row SET before = :packed WHERE id = :id"), {"packed": packed, "id": id_}
        )

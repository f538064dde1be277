"""Scans that were removed, so that they are not indexed again unasked; and scans replaced by a better one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the table, and the flag, which no scan has set."""
    op.create_table(
        "removed_scan",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_removed_scan")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_removed_scan_sha256"), "removed_scan", ["sha256"])
    op.create_index(op.f("ix_removed_scan_code"), "removed_scan", ["code"])
    op.add_column("scan", sa.Column("superseded", sa.Integer(), nullable=False, server_default="0"))

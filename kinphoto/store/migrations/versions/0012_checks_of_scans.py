"""What was measured to judge scans, findings that were accepted, and floors of resolution."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, with nothing in them."""
    op.create_table(
        "accepted_finding",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("scan_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["scan_id"], ["scan.id"], name="fk_accepted_finding_scan_id"),
        sa.PrimaryKeyConstraint("id", name="pk_accepted_finding"),
        sqlite_strict=True,
    )
    op.create_index("ix_accepted_finding_scan_id", "accepted_finding", ["scan_id"])
    op.create_table(
        "resolution_floor",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("original", sa.Text(), nullable=False),
        sa.Column("ppi", sa.REAL(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_resolution_floor"),
        sa.UniqueConstraint("original", name="uq_resolution_floor_original"),
        sqlite_strict=True,
    )
    op.create_table(
        "scan_check",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("measures", sa.Text(), nullable=False),
        sa.Column("specks", sa.Text(), nullable=False),
        sa.Column("shared", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_scan_check"),
        sqlite_strict=True,
    )

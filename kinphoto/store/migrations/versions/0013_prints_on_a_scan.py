"""Where each print lies on a scan that shows several."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, with nothing in it."""
    op.create_table(
        "print_frame",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("scan_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("x", sa.REAL(), nullable=False),
        sa.Column("y", sa.REAL(), nullable=False),
        sa.Column("width", sa.REAL(), nullable=False),
        sa.Column("height", sa.REAL(), nullable=False),
        sa.Column("turn", sa.REAL(), nullable=False),
        sa.Column("caption", sa.Text(), nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["scan_id"], ["scan.id"], name="fk_print_frame_scan_id"),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_print_frame_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_print_frame"),
        sqlite_strict=True,
    )
    op.create_index("ix_print_frame_scan_id", "print_frame", ["scan_id"])
    op.create_index("ix_print_frame_photograph_id", "print_frame", ["photograph_id"])

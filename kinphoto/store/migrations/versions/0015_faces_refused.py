"""Frames of faces that somebody refused, and people whose faces are not compared."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, with nothing in them."""
    op.create_table(
        "refused_frame",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("left", sa.REAL(), nullable=False),
        sa.Column("top", sa.REAL(), nullable=False),
        sa.Column("width", sa.REAL(), nullable=False),
        sa.Column("height", sa.REAL(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_refused_frame"),
        sqlite_strict=True,
    )
    op.create_index("ix_refused_frame_sha256", "refused_frame", ["sha256"])
    op.create_table(
        "uncompared_person",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_uncompared_person_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_uncompared_person"),
        sqlite_strict=True,
    )
    op.create_index("ix_uncompared_person_person_id", "uncompared_person", ["person_id"])

"""Faces that somebody said are two people, and names that are right however unlike a face looks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def _place(end: str = "") -> list[sa.Column[object]]:
    columns: list[sa.Column[object]] = [sa.Column(f"{end}sha256", sa.Text(), nullable=False)]
    for side in ("left", "top", "width", "height"):
        columns.append(sa.Column(f"{end}{side}", sa.REAL(), nullable=False))
    return columns


def upgrade() -> None:
    """Make the tables, with nothing in them."""
    op.create_table(
        "faces_apart",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        *_place(),
        *_place("other_"),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_faces_apart"),
        sqlite_strict=True,
    )
    op.create_table(
        "confirmed_name",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        *_place(),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_confirmed_name_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_confirmed_name"),
        sqlite_strict=True,
    )
    op.create_index("ix_confirmed_name_person_id", "confirmed_name", ["person_id"])

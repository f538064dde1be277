"""From whose point of view relationships are given."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, with nobody in it."""
    op.create_table(
        "proband",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_proband_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_proband"),
        sqlite_strict=True,
    )
    op.create_index("ix_proband_person_id", "proband", ["person_id"])

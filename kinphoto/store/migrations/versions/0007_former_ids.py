"""Ids that people and families had in earlier files of the tree."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, with nothing in it."""
    op.create_table(
        "former_id",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("family_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_former_id_person_id"),
        sa.ForeignKeyConstraint(["family_id"], ["family.id"], name="fk_former_id_family_id"),
        sa.PrimaryKeyConstraint("id", name="pk_former_id"),
        sqlite_strict=True,
    )
    for column in ("code", "person_id", "family_id"):
        op.create_index(f"ix_former_id_{column}", "former_id", [column])

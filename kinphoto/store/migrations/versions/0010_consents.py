"""What may leave the archive: audiences, consents, and photographs that the keeper marked private."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make both tables, with nothing in them, and the flag, which no photograph has set."""
    op.create_table(
        "audience",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_audience"),
        sa.UniqueConstraint("name", name="uq_audience_name"),
        sqlite_strict=True,
    )
    op.create_table(
        "consent",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("audience", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("photograph_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("branch", sa.Integer(), nullable=False, server_default="0"),
        sa.Column("given_on", sa.Integer(), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("seen", sa.Text(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False, server_default="0"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_consent_person_id"),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_consent_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_consent"),
        sqlite_strict=True,
    )
    for column in ("audience", "person_id", "photograph_id"):
        op.create_index(f"ix_consent_{column}", "consent", [column])
    op.add_column("photograph", sa.Column("private", sa.Integer(), nullable=False, server_default="0"))

"""What containers told each photograph when everything was last dated."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table, with nothing in it: it is filled when everything is dated again."""
    op.create_table(
        "from_container",
        sa.Column("photograph_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("told", sa.BLOB(), nullable=False),
        sa.ForeignKeyConstraint(
            ["photograph_id"], ["photograph.id"], name="fk_from_container_photograph_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("photograph_id", name="pk_from_container"),
        sqlite_strict=True,
    )

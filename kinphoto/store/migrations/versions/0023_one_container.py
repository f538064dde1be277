"""What each container is worked out from again by itself, so that a change reaches what lies with a photograph."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and the column, with nothing in them: they are filled when everything is dated again."""
    op.add_column("from_container", sa.Column("alone", sa.BLOB(), nullable=True))
    op.create_table(
        "one_container",
        sa.Column("container_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kept", sa.BLOB(), nullable=False),
        sa.ForeignKeyConstraint(
            ["container_id"], ["container.id"], name="fk_one_container_container_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("container_id", name="pk_one_container"),
        sqlite_strict=True,
    )

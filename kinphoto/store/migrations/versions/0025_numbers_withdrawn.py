"""A number on a photograph or in its file's name can be withdrawn alone: it no longer bears on a date."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; no number is withdrawn yet."""
    op.add_column("photograph", sa.Column("number_withdrawn", sa.Integer(), nullable=False, server_default="0"))

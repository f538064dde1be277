"""A number on a photograph or in its file's name can be withdrawn alone: it no longer affects a date.

What containers told their photographs is kept on another scale since, so it is forgotten and worked out again.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; no number is withdrawn yet. All that is forgotten follows from what is recorded."""
    op.add_column("photograph", sa.Column("number_withdrawn", sa.Integer(), nullable=False, server_default="0"))
    op.execute("DELETE FROM one_container")
    op.execute("DELETE FROM from_container")
    op.execute("DELETE FROM setting WHERE key = 'estimates_as_of'")

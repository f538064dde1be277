"""What a scan looks like as a whole, for finding the same print again."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; of scans that are there already it is worked out from their thumbnails when it is asked for."""
    op.add_column("scan", sa.Column("look", sa.Text(), nullable=True))

"""Where the picture of a JPEG ends, so that copies are made without looking for it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column: of scans that are there already it is not known, and is looked for when they are given."""
    op.add_column("scan", sa.Column("picture_end", sa.Integer(), nullable=False, server_default="0"))

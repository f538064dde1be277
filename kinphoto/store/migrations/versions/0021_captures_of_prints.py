"""Prints that were photographed instead of scanned: said to be so, and shown straight."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns: nobody has said anything yet."""
    for name in ("straight", "capture"):
        op.add_column("scan", sa.Column(name, sa.Text(), nullable=False, server_default=""))

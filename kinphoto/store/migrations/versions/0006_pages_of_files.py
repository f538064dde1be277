"""Pages of a file as scans of their own."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Which page of its file a scan is, none yet: the next indexing finds the others of those that have several."""
    op.add_column("scan", sa.Column("page", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("scan", sa.Column("file_sha256", sa.Text(), nullable=False, server_default=""))
    op.create_index("ix_scan_file_sha256", "scan", ["file_sha256"])

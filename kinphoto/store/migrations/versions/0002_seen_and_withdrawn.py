"""Ages judged blind, scans turned upright, and dates and ties of the tree that somebody withdrew."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

FLAGS = (
    ("event", "withdrawn"), ("family", "withdrawn"), ("parent_link", "withdrawn"), ("scan", "turn"),
    ("statement", "blind"),
)  # fmt: skip


def upgrade() -> None:
    """Add the flags, none of them set."""
    for table, flag in FLAGS:
        op.add_column(table, sa.Column(flag, sa.Integer(), nullable=False, server_default="0"))

"""Photographs are dated by events of the tree: "before Ada was born" keeps the event and how long after it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns, empty; whatever is dated by an event is found by the event's key."""
    op.add_column("statement", sa.Column("days_from", sa.Integer(), nullable=True))
    op.add_column("statement", sa.Column("days_to", sa.Integer(), nullable=True))
    op.create_index("ix_statement_value", "statement", ["value"])

"""Whether what is in a container is in the order of time, and what the collection tells of undated photographs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns: nobody has said it of any container, and what is worked out is worked out again."""
    op.add_column("container", sa.Column("arrangement", sa.Text(), nullable=False, server_default=""))
    op.add_column("estimate", sa.Column("collection_from", sa.Integer(), nullable=True))
    op.add_column("estimate", sa.Column("collection_to", sa.Integer(), nullable=True))

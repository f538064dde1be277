"""Whether what is in a container is in the order of time, where somebody said so."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; nobody has said it of any container."""
    op.add_column("container", sa.Column("arrangement", sa.Text(), nullable=False, server_default=""))

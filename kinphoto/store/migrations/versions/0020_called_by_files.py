"""What a file calls somebody whom nobody has identified yet."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add it; a name that was matched already stands in the reason. Files that are there already count as read."""
    op.add_column("appearance", sa.Column("called", sa.Text(), nullable=False, server_default=""))
    op.execute(
        "UPDATE appearance SET called = substr(why, 2, length(why) - 8) WHERE why LIKE '“%” in it' AND informant_id IN "
        "(SELECT id FROM informant WHERE name = 'the file')"
    )
    op.execute("INSERT INTO setting (key, value) SELECT 'inside_read_to', coalesce(max(id), 0) FROM scan")

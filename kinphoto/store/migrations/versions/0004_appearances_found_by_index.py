"""Who is in which photograph told by the indexes alone."""

from __future__ import annotations

from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

WAYS = (("photograph_id", "person_id"), ("person_id", "photograph_id"))


def upgrade() -> None:
    """Put both ends, and whether it stands, into the indexes of either."""
    for here, there in WAYS:
        columns = (here, there, "denied", "withdrawn")
        op.create_index(f"ix_appearance_{'_'.join(columns)}", "appearance", columns)
        op.drop_index(f"ix_appearance_{here}", "appearance")

"""Stories that were told, in words or as recordings, and consents about them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make both tables, with nothing in them, and the column of consents, which is empty in those there are."""
    op.create_table(
        "story",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("informant_id", sa.Integer(), nullable=True),
        sa.Column("date_text", sa.Text(), nullable=False),
        sa.Column("first", sa.Integer(), nullable=True),
        sa.Column("last", sa.Integer(), nullable=True),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("centre", sa.REAL(), nullable=True),
        sa.Column("spread", sa.REAL(), nullable=True),
        sa.Column("doubtful", sa.Integer(), nullable=False),
        sa.Column("sound", sa.Text(), nullable=False),
        sa.Column("sound_name", sa.Text(), nullable=False),
        sa.Column("sound_type", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.REAL(), nullable=True),
        sa.Column("private", sa.Integer(), nullable=False, server_default="0"),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["informant_id"], ["informant.id"], name="fk_story_informant_id"),
        sa.PrimaryKeyConstraint("id", name="pk_story"),
        sqlite_strict=True,
    )
    op.create_index("ix_story_informant_id", "story", ["informant_id"])
    op.create_table(
        "story_about",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("story_id", sa.Integer(), nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["story_id"], ["story.id"], name="fk_story_about_story_id"),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_story_about_photograph_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_story_about_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_story_about"),
        sqlite_strict=True,
    )
    for column in ("story_id", "photograph_id", "person_id"):
        op.create_index(f"ix_story_about_{column}", "story_about", [column])
    with op.batch_alter_table("consent", table_kwargs={"sqlite_strict": True}) as consent:
        consent.add_column(sa.Column("story_id", sa.Integer(), nullable=True))
        consent.create_foreign_key("fk_consent_story_id", "story", ["story_id"], ["id"])
    op.create_index("ix_consent_story_id", "consent", ["story_id"])

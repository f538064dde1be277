"""The tables of the first release."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table and index."""
    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("undoes_id", sa.Integer()),
        sa.Column("undone_by_id", sa.Integer()),
        sa.ForeignKeyConstraint(["undoes_id"], ["change.id"], name="fk_change_undoes_id"),
        sa.ForeignKeyConstraint(["undone_by_id"], ["change.id"], name="fk_change_undone_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_change"),
        sqlite_strict=True,
    )
    op.create_index("ix_change_undoes_id", "change", ["undoes_id"])
    op.create_index("ix_change_undone_by_id", "change", ["undone_by_id"])
    op.create_table(
        "container",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("parent_id", sa.Integer()),
        sa.Column("folder", sa.Text()),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["parent_id"], ["container.id"], name="fk_container_parent_id"),
        sa.PrimaryKeyConstraint("id", name="pk_container"),
        sqlite_strict=True,
    )
    op.create_index("ix_container_folder", "container", ["folder"])
    op.create_index("ix_container_parent_id", "container", ["parent_id"])
    op.create_table(
        "counter",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("next", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counter"),
        sqlite_strict=True,
    )
    op.create_table(
        "family",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("gone", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_family"),
        sa.UniqueConstraint("code", name="uq_family_code"),
        sqlite_strict=True,
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("outside", sa.Integer(), nullable=False),
        sa.Column("gone", sa.Integer(), nullable=False),
        sa.Column("sex", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("living", sa.Integer()),
        sa.Column("uid", sa.Text()),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("same_as_id", sa.Integer()),
        sa.ForeignKeyConstraint(["same_as_id"], ["person.id"], name="fk_person_same_as_id"),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("code", name="uq_person_code"),
        sqlite_strict=True,
    )
    op.create_index("ix_person_same_as_id", "person", ["same_as_id"])
    op.create_index("ix_person_uid", "person", ["uid"])
    op.create_table(
        "setting",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_setting"),
        sqlite_strict=True,
    )
    op.create_table(
        "tree_file",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("encoding", sa.Text(), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("imported_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tree_file"),
        sqlite_strict=True,
    )
    op.create_table(
        "change_row",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("change_id", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.Text(), nullable=False),
        sa.Column("first_id", sa.Integer(), nullable=False),
        sa.Column("last_id", sa.Integer(), nullable=False),
        sa.Column("before", sa.BLOB()),
        sa.ForeignKeyConstraint(["change_id"], ["change.id"], name="fk_change_row_change_id"),
        sa.PrimaryKeyConstraint("id", name="pk_change_row"),
        sqlite_strict=True,
    )
    op.create_index("ix_change_row_change_id", "change_row", ["change_id"])
    op.create_index("ix_change_row_table_ids", "change_row", ["table_name", "first_id", "last_id"])
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("person_id", sa.Integer()),
        sa.Column("family_id", sa.Integer()),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("date_text", sa.Text(), nullable=False),
        sa.Column("first", sa.Integer()),
        sa.Column("last", sa.Integer()),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("centre", sa.REAL()),
        sa.Column("spread", sa.REAL()),
        sa.Column("doubtful", sa.Integer(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("quality", sa.Integer()),
        sa.Column("line", sa.Integer()),
        sa.ForeignKeyConstraint(["family_id"], ["family.id"], name="fk_event_family_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_event_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
        sqlite_strict=True,
    )
    op.create_index("ix_event_family_id", "event", ["family_id"])
    op.create_index("ix_event_person_id", "event", ["person_id"])
    op.create_table(
        "informant",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer()),
        sa.Column("note", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_informant_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_informant"),
        sa.UniqueConstraint("name", name="uq_informant_name"),
        sqlite_strict=True,
    )
    op.create_index("ix_informant_person_id", "informant", ["person_id"])
    op.create_table(
        "name",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("given", sa.Text(), nullable=False),
        sa.Column("surname", sa.Text(), nullable=False),
        sa.Column("nickname", sa.Text(), nullable=False),
        sa.Column("folded", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_name_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_name"),
        sqlite_strict=True,
    )
    op.create_index("ix_name_folded", "name", ["folded"])
    op.create_index("ix_name_person_id", "name", ["person_id"])
    op.create_table(
        "parent_link",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("family_id", sa.Integer()),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("parent_id", sa.Integer(), nullable=False),
        sa.Column("pedigree", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["child_id"], ["person.id"], name="fk_parent_link_child_id"),
        sa.ForeignKeyConstraint(["family_id"], ["family.id"], name="fk_parent_link_family_id"),
        sa.ForeignKeyConstraint(["parent_id"], ["person.id"], name="fk_parent_link_parent_id"),
        sa.PrimaryKeyConstraint("id", name="pk_parent_link"),
        sqlite_strict=True,
    )
    op.create_index("ix_parent_link_child_id", "parent_link", ["child_id"])
    op.create_index("ix_parent_link_family_id", "parent_link", ["family_id"])
    op.create_index("ix_parent_link_parent_id", "parent_link", ["parent_id"])
    op.create_table(
        "partner",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["family_id"], ["family.id"], name="fk_partner_family_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_partner_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_partner"),
        sqlite_strict=True,
    )
    op.create_index("ix_partner_family_id", "partner", ["family_id"])
    op.create_index("ix_partner_person_id", "partner", ["person_id"])
    op.create_table(
        "photograph",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("container_id", sa.Integer()),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("page", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("rights", sa.Text(), nullable=False),
        sa.Column("maker", sa.Text(), nullable=False),
        sa.Column("former_number", sa.Text(), nullable=False),
        sa.Column("indexed", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["container_id"], ["container.id"], name="fk_photograph_container_id"),
        sa.PrimaryKeyConstraint("id", name="pk_photograph"),
        sa.UniqueConstraint("code", name="uq_photograph_code"),
        sqlite_strict=True,
    )
    op.create_index("ix_photograph_container_id", "photograph", ["container_id"])
    op.create_table(
        "alias",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_alias_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_alias"),
        sa.UniqueConstraint("code", name="uq_alias_code"),
        sqlite_strict=True,
    )
    op.create_index("ix_alias_photograph_id", "alias", ["photograph_id"])
    op.create_table(
        "estimate",
        sa.Column("photograph_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("earliest", sa.Integer(), nullable=False),
        sa.Column("latest", sa.Integer(), nullable=False),
        sa.Column("likely_from", sa.Integer()),
        sa.Column("likely_to", sa.Integer()),
        sa.Column("best", sa.Integer()),
        sa.Column("edtf", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("inferred", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["photograph_id"], ["photograph.id"], name="fk_estimate_photograph_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("photograph_id", name="pk_estimate"),
        sqlite_strict=True,
    )
    op.create_table(
        "region",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.Column("left", sa.REAL(), nullable=False),
        sa.Column("top", sa.REAL(), nullable=False),
        sa.Column("width", sa.REAL(), nullable=False),
        sa.Column("height", sa.REAL(), nullable=False),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_region_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_region"),
        sqlite_strict=True,
    )
    op.create_index("ix_region_photograph_id", "region", ["photograph_id"])
    op.create_table(
        "scan",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("mtime_ns", sa.Integer(), nullable=False),
        sa.Column("side", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("file_type", sa.Text(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("ppi", sa.REAL()),
        sa.Column("bits", sa.Integer()),
        sa.Column("mode", sa.Text(), nullable=False),
        sa.Column("pages", sa.Integer(), nullable=False),
        sa.Column("orientation", sa.Integer(), nullable=False),
        sa.Column("phash", sa.Text()),
        sa.Column("exif_original", sa.Text()),
        sa.Column("exif_digitized", sa.Text()),
        sa.Column("device", sa.Text()),
        sa.Column("indexed_at", sa.Text(), nullable=False),
        sa.Column("first_sha256", sa.Text(), nullable=False),
        sa.Column("first_code", sa.Text(), nullable=False),
        sa.Column("missing", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_scan_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_scan"),
        sa.UniqueConstraint("path", name="uq_scan_path"),
        sqlite_strict=True,
    )
    op.create_index("ix_scan_photograph_id", "scan", ["photograph_id"])
    op.create_index("ix_scan_sha256", "scan", ["sha256"])
    op.create_table(
        "appearance",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer()),
        sa.Column("region_id", sa.Integer()),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("denied", sa.Integer(), nullable=False),
        sa.Column("trust", sa.Text()),
        sa.Column("informant_id", sa.Integer()),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["informant_id"], ["informant.id"], name="fk_appearance_informant_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_appearance_person_id"),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_appearance_photograph_id"),
        sa.ForeignKeyConstraint(["region_id"], ["region.id"], name="fk_appearance_region_id"),
        sa.PrimaryKeyConstraint("id", name="pk_appearance"),
        sqlite_strict=True,
    )
    op.create_index("ix_appearance_informant_id", "appearance", ["informant_id"])
    op.create_index("ix_appearance_person_id", "appearance", ["person_id"])
    op.create_index("ix_appearance_photograph_id", "appearance", ["photograph_id"])
    op.create_index("ix_appearance_region_id", "appearance", ["region_id"])
    op.create_table(
        "statement",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("photograph_id", sa.Integer(), nullable=False),
        sa.Column("appearance_id", sa.Integer()),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("date_text", sa.Text(), nullable=False),
        sa.Column("first", sa.Integer()),
        sa.Column("last", sa.Integer()),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("centre", sa.REAL()),
        sa.Column("spread", sa.REAL()),
        sa.Column("doubtful", sa.Integer(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("other_id", sa.Integer()),
        sa.Column("age_low", sa.REAL()),
        sa.Column("age_high", sa.REAL()),
        sa.Column("trust", sa.Text()),
        sa.Column("informant_id", sa.Integer()),
        sa.Column("said_at", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["appearance_id"], ["appearance.id"], name="fk_statement_appearance_id"),
        sa.ForeignKeyConstraint(["informant_id"], ["informant.id"], name="fk_statement_informant_id"),
        sa.ForeignKeyConstraint(["other_id"], ["photograph.id"], name="fk_statement_other_id"),
        sa.ForeignKeyConstraint(["photograph_id"], ["photograph.id"], name="fk_statement_photograph_id"),
        sa.PrimaryKeyConstraint("id", name="pk_statement"),
        sqlite_strict=True,
    )
    op.create_index("ix_statement_appearance_id", "statement", ["appearance_id"])
    op.create_index("ix_statement_informant_id", "statement", ["informant_id"])
    op.create_index("ix_statement_kind", "statement", ["kind"])
    op.create_index("ix_statement_other_id", "statement", ["other_id"])
    op.create_index("ix_statement_photograph_id", "statement", ["photograph_id"])

"""Former names of scans, numbers kept free, scans that are no pair, what was lent, and how many prints are meant."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, with nothing in them."""
    op.add_column("container", sa.Column("expected", sa.Integer(), nullable=True))
    _make("former_name", _to("scan", "former_name"), _text("path"))
    _make("held_number", _text("theme"), _number("number"), _text("why"), _text("said_at"))
    _make("unpaired", _to("scan", "unpaired", "one_id"), _to("scan", "unpaired", "other_id"))
    _make(
        "envelope",
        _text("lender"),
        _number("came"),
        _text("holds"),
        _text("condition"),
        sa.Column("returned", sa.Integer(), nullable=True),
        _to("container", "envelope", null=True),
    )
    _make("quota", _number("prints"))
    for table, column in (
        ("former_name", "scan_id"), ("former_name", "path"), ("held_number", "theme"), ("unpaired", "one_id"),
        ("unpaired", "other_id"), ("envelope", "container_id"),
    ):  # fmt: skip
        op.create_index(f"ix_{table}_{column}", table, [column])


def _make(name: str, *columns: Any) -> None:
    key = sa.Column("id", sa.Integer(), autoincrement=False, nullable=False)
    parts = [part for column in columns for part in (column if isinstance(column, tuple) else (column,))]
    op.create_table(name, key, *parts, sa.PrimaryKeyConstraint("id", name=f"pk_{name}"), sqlite_strict=True)


def _to(table: str, of: str, column: str = "", *, null: bool = False) -> tuple[Any, ...]:
    column = column or f"{table}_id"
    key = sa.ForeignKeyConstraint([column], [f"{table}.id"], name=f"fk_{of}_{column}")
    return sa.Column(column, sa.Integer(), nullable=null), key


def _text(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.Text(), nullable=False)


def _number(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.Integer(), nullable=False)

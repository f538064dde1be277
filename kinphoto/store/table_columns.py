"""What tables are made of: the names of keys and indexes, and the columns that many tables have."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, MetaData, Table, UniqueConstraint

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def table(name: str, *columns: Column[object] | Index | UniqueConstraint) -> Table:
    """A table, `STRICT` on SQLite, with the integer key the change log needs."""
    key = Column("id", Integer, primary_key=True, autoincrement=False)
    return Table(name, metadata, key, *columns, sqlite_strict=True)


def flag(name: str) -> Column[object]:
    """A flag that rows written before there was one do not have set."""
    return Column(name, Integer, nullable=False, default=0, server_default="0")


def reference(name: str, *, null: bool = False, index: bool = True) -> Column[object]:
    """A reference to another table's row, `TABLE_id`."""
    return Column(f"{name}_id", Integer, ForeignKey(f"{name}.id"), nullable=null, index=index)

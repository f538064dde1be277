"""The tables of what follows from all others and from the scans. They may be thrown away at any time, but for one row
of `setting`, and the change log does not cover them."""

from __future__ import annotations

from sqlalchemy import BLOB, Column, ForeignKey, Integer, Table, Text

from kinphoto.store.table_columns import metadata

estimate = Table(
    "estimate",
    metadata,
    Column(
        "photograph_id",
        Integer,
        ForeignKey("photograph.id", ondelete="CASCADE"),  # derived: must not keep a change from being undone
        primary_key=True,
        autoincrement=False,
    ),
    Column("earliest", Integer, nullable=False),
    Column("latest", Integer, nullable=False),
    Column("likely_from", Integer),
    Column("likely_to", Integer),
    Column("collection_from", Integer),  # of an open one: what is kept with it says
    Column("collection_to", Integer),
    Column("best", Integer),
    Column("edtf", Text, nullable=False, default=""),
    Column("state", Text, nullable=False),
    Column("inferred", Integer, nullable=False, default=1),
    sqlite_strict=True,
)

from_container = Table(
    "from_container",
    metadata,
    Column(
        "photograph_id",
        Integer,
        ForeignKey("photograph.id", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("told", BLOB, nullable=False),
    Column("alone", BLOB),
    sqlite_strict=True,
)
"""The message of its container to each photograph when everything was last dated (`Evidence.from_containers`), and its
date without that (`Findings.alone`)."""

one_container = Table(
    "one_container",
    metadata,
    Column(
        "container_id", Integer, ForeignKey("container.id", ondelete="CASCADE"), primary_key=True, autoincrement=False
    ),
    Column("kept", BLOB, nullable=False),
    sqlite_strict=True,
)
"""What each container is worked out from again by itself (`Findings.containers`)."""

scan_check = Table(
    "scan_check",
    metadata,
    Column("sha256", Text, primary_key=True),  # that of the scan: what is measured follows from its bytes
    Column("version", Integer, nullable=False),  # of the measures
    Column("measures", Text, nullable=False),  # JSON
    Column("specks", Text, nullable=False),  # JSON, apart as they are long
    Column("shared", Integer, nullable=False, default=0),  # specks and hairs at the same place in other scans
    sqlite_strict=True,
)

fixity = Table(
    "fixity",
    metadata,
    Column("path", Text, primary_key=True),  # of a file as it is stored in `scan`, without a page
    Column("checked_at", Text, nullable=False),
    Column("sha256", Text, nullable=False),  # that the archive knew then
    Column(
        "problem", Text, nullable=False, default=""
    ),  # vanished, rotted or unreadable; empty: it was as it should be
    sqlite_strict=True,
)
"""When each file was last read again from its disk, and what was wrong. Without a row: not since it was added."""

setting = Table(
    "setting",
    metadata,
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),
    sqlite_strict=True,
)
"""Small facts about the archive: `estimates_as_of` is the change the estimates were made after. `tree_mark`, by which
this archive knows its own pictures in a tree file, is not derived and must be kept."""

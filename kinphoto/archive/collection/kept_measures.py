"""What was measured on scans, kept under their bytes: so a file that has not changed is read once. What follows from it
is worked out when asked (`scan_checks.py`)."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, delete, insert, select, update

from kinphoto.scans.checks.glass import shared_marks
from kinphoto.scans.checks.limits import BY_KIND
from kinphoto.scans.checks.measures import VERSION, Measures
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import deriving, reading

_NEIGHBOURS = 40
"""Scans of one size and device, one after the other, whose specks and hairs are compared: about an evening's."""

_SAME_GLASS = round(BY_KIND["dust"].limit)


def known_hashes(connection: Connection) -> set[str]:
    c = t.scan_check.c
    return set(connection.scalars(select(c.sha256).where(c.version == VERSION)))


def keep(engine: Engine, measured: Sequence[tuple[str, Mapping[str, Any]]]) -> None:
    """Keep what was measured (the fields of `Measures`) of scans with these SHA-256."""
    if not measured:
        return
    rows = [
        {"sha256": sha256, "version": VERSION, "shared": 0, "specks": json.dumps(fields["specks"]),
         "measures": json.dumps({name: value for name, value in fields.items() if name != "specks"})}
        for sha256, fields in dict(measured).items()
    ]  # fmt: skip
    with deriving(engine) as connection:
        connection.execute(delete(t.scan_check).where(t.scan_check.c.sha256.in_([row["sha256"] for row in rows])))
        connection.execute(insert(t.scan_check), rows)


def compare_specks_of(engine: Engine, paths: Sequence[str]) -> None:
    """Compare the specks and hairs on new scans at these paths with those on scans like them."""
    s = t.scan.c
    with reading(engine) as connection:
        query = select(s.width, s.height, s.device).distinct().where(among(connection, s.path, set(paths)))
        rows = list(connection.execute(query).mappings())
    compare_specks(engine, rows)


def compare_specks(engine: Engine, rows: Sequence[RowMapping]) -> None:
    """For the scans of the same sizes and devices as these: how many specks and hairs are at the same place in
    several of them."""
    s, c = t.scan.c, t.scan_check.c
    for width, height, device in {(row["width"], row["height"], row["device"]) for row in rows}:
        alike = (
            select(c.sha256, c.specks, c.shared)
            .join(t.scan, s.sha256 == c.sha256)
            .where(s.width == width, s.height == height, s.device.is_(None) if device is None else s.device == device)
            .order_by(s.id)
        )
        with deriving(engine) as connection:
            found = list({row.sha256: row for row in connection.execute(alike)}.values())
            for start in range(0, len(found), _NEIGHBOURS):
                group = found[start : start + _NEIGHBOURS]
                if len(group) < _SAME_GLASS and start:
                    group = found[-_NEIGHBOURS:]
                marks = [json.loads(row.specks) for row in group]
                for row, shared in zip(group, shared_marks(marks, _SAME_GLASS, max(width, height)), strict=True):
                    if shared != row.shared:
                        connection.execute(update(t.scan_check).where(c.sha256 == row.sha256).values(shared=shared))


def read_measures(text: str) -> Measures:
    """What was kept of a scan, without its specks."""
    known = {field.name for field in fields(Measures)}
    given = {name: _tuples(value) for name, value in json.loads(text).items() if name in known}
    return Measures(**given, specks=())


def kept_measures(connection: Connection, hashes: Sequence[str]) -> dict[str, Measures]:
    """What was measured on scans with these SHA-256, of those that were."""
    c = t.scan_check.c
    query = select(c.sha256, c.measures).where(c.version == VERSION, among(connection, c.sha256, set(hashes)))
    return {row.sha256: read_measures(row.measures) for row in connection.execute(query)}


def _tuples(value: Any) -> Any:
    return tuple(map(_tuples, value)) if isinstance(value, list) else value

"""Estimates and conflicts as they are kept in the database, and the moment they belong to.

All of it is derived from the evidence and may be thrown away at any time. A large archive takes minutes to date in the
background, while a single photograph is dated again as soon as somebody says something about it. So the newer of two
estimates must win: each photograph dated by itself has the moment of that, and a result for a whole archive that was
read earlier leaves it alone.

Only rows that differ are written, a thousand at a time with a pause in between, so that somebody who saves something
meanwhile never waits long for the lock.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from time import sleep
from typing import Any

from sqlalchemy import Connection, Engine, delete, insert, select, update

from kinphoto.archive.catalogue.freshness import AS_OF, SINCE, Stamp, kept_entry
from kinphoto.archive.catalogue.settings import keep_setting, setting
from kinphoto.archive.words.conflict_stories import StoryBook
from kinphoto.reason.model.findings import Estimate, Findings, State
from kinphoto.store import tables as t
from kinphoto.store.session import deriving, reading

FINDINGS = "findings"
BIRTHS = "findings_of_births"
STORIES = "stories"
_AT_ONCE = 1000  # rows per transaction: some 10 ms
_PAUSE = 0.03  # seconds
Row = dict[str, Any]
Told = tuple[bytes, bytes | None]
"""The message of its container to a photograph, and its date without that (a row of `from_container`)."""


def keep_all(engine: Engine, findings: Findings, stories: StoryBook, made: Stamp) -> None:
    """Keep the findings of the whole archive as it was at `made`, and its conflicts in words, unless something newer is
    kept already."""
    told: _Differently | None = None
    gone: list[int] | None = None
    if len(findings.estimates) > _AT_ONCE:
        with reading(engine) as connection:
            changed, gone = _differences(connection, findings.estimates)
            told = _told_differently(connection, findings)
        rows = sorted(told.rows.items())
        for start in range(0, max(len(changed), len(rows)), _AT_ONCE):
            if start:
                sleep(_PAUSE)
            with deriving(engine) as connection:
                if kept_entry(connection) <= made.entry:
                    _write(connection, changed[start : start + _AT_ONCE], made)
                    _write_told(connection, dict(rows[start : start + _AT_ONCE]))
    with deriving(engine) as connection:
        if kept_entry(connection) > made.entry:
            return
        if gone is None or told is None:
            changed, gone = _differences(connection, findings.estimates)
            _write(connection, changed, made)
            told = _told_differently(connection, findings)
            _write_told(connection, told.rows)
        _forget(connection, gone)
        _forget_told(connection, told.gone)
        _write_containers(connection, findings.containers)
        later = {i: entry for i, entry in _since(connection).items() if entry > made.entry}
        keep_setting(connection, AS_OF, str(made))
        found = asdict(replace(findings, estimates=(), from_containers={}, containers={}, alone={}))
        del found["from_containers"], found["containers"], found["alone"]
        births, found["unsettled"] = found.pop("births"), found.pop("unconverged")
        for key, value in {FINDINGS: found, BIRTHS: births, SINCE: later, STORIES: asdict(stories)}.items():
            keep_setting(connection, key, json.dumps(value))


def keep_some(
    engine: Engine, estimates: Iterable[Estimate], made: Stamp, told: Mapping[int, Told] | None = None,
    containers: Mapping[int, bytes] | None = None,
) -> None:  # fmt: skip
    """Keep estimates of single photographs as of `made`, until everything is dated again; and what containers (row ids)
    are now worked out from, and their messages to photographs (`told`, row ids)."""
    with deriving(engine) as connection:
        rows = [_with_collection(connection, row) for row in _rows(connection, list(estimates))]
        written = _write(connection, rows, made)
        _write_told(connection, told or {})
        _keep_containers(connection, containers or {})
        since = _since(connection) | dict.fromkeys(written, made.entry)
        keep_setting(connection, SINCE, json.dumps(since))


def _with_collection(connection: Connection, row: Row) -> Row:
    """An open photograph that was dated by itself, with its range from the collection when everything was dated."""
    e = t.estimate.c
    if row["state"] != State.OPEN or row["collection_from"] is not None:
        return row
    kept = select(e.collection_from, e.collection_to).where(e.photograph_id == row["photograph_id"])
    found = connection.execute(kept).mappings().first()
    return row | dict(found or {})


@dataclass(frozen=True)
class _Differently:
    """The messages of containers to photographs (row ids) that are new or different; and who no longer has one."""

    rows: dict[int, Told]
    gone: list[int]


def _told_differently(connection: Connection, findings: Findings) -> _Differently:
    """How messages of containers differ from what is kept, which is read row by row: it can be a hundred megabytes."""
    ids = {code: i for i, code in connection.execute(select(t.photograph.c.id, t.photograph.c.code))}
    told, alone, f = findings.from_containers, findings.alone, t.from_container.c
    rows, gone = {ids[code]: (value, alone.get(code)) for code, value in told.items() if code in ids}, []
    for photograph, *kept in connection.execute(select(f.photograph_id, f.told, f.alone)):
        if photograph not in rows:
            gone.append(photograph)
        elif rows[photograph] == tuple(kept):
            del rows[photograph]
    return _Differently(rows, gone)


def _write_told(connection: Connection, rows: Mapping[int, Told]) -> None:
    """Keep these in place of what is kept for the same photographs, those of them that are still there."""
    p = t.photograph.c
    for start in range(0, len(rows), _AT_ONCE):
        some = dict(list(rows.items())[start : start + _AT_ONCE])
        _forget_told(connection, some)
        there = connection.scalars(select(p.id).where(p.id.in_(some)))
        if kept := [{"photograph_id": i, "told": some[i][0], "alone": some[i][1]} for i in there]:
            connection.execute(insert(t.from_container), kept)


def _write_containers(connection: Connection, containers: Mapping[str, bytes]) -> None:
    """Keep these (by `B` and the row id) in place of all that are kept."""
    there = set(connection.scalars(select(t.container.c.id)))
    connection.execute(delete(t.one_container))
    rows = [
        {"container_id": i, "kept": kept} for name, kept in containers.items() if (i := int(name.lstrip("B"))) in there
    ]
    if rows:
        connection.execute(insert(t.one_container), rows)


def _keep_containers(connection: Connection, containers: Mapping[int, bytes]) -> None:
    for container, kept in containers.items():
        changed = update(t.one_container).where(t.one_container.c.container_id == container).values(kept=kept)
        connection.execute(changed)


def _forget_told(connection: Connection, photographs: Collection[int]) -> None:
    ids = sorted(photographs)
    for start in range(0, len(ids), _AT_ONCE):
        chunk = ids[start : start + _AT_ONCE]
        connection.execute(delete(t.from_container).where(t.from_container.c.photograph_id.in_(chunk)))


def _differences(connection: Connection, estimates: Sequence[Estimate]) -> tuple[list[Row], list[int]]:
    """The rows that differ from what is kept, and the photographs that no longer have an estimate."""
    kept = {row["photograph_id"]: dict(row) for row in connection.execute(select(t.estimate)).mappings()}
    rows = _rows(connection, estimates)
    changed = [row for row in rows if kept.get(row["photograph_id"]) != row]
    return changed, sorted(kept.keys() - {row["photograph_id"] for row in rows})


def _rows(connection: Connection, estimates: Sequence[Estimate]) -> list[Row]:
    p = t.photograph.c
    query = select(p.id, p.code)
    if len(estimates) <= 500:
        query = query.where(p.code.in_([e.photograph for e in estimates]))
    ids = {code: i for i, code in connection.execute(query)}
    return [_row(ids[e.photograph], e) for e in estimates if e.photograph in ids]


def _row(photograph_id: int, estimate: Estimate) -> Row:
    row = {name: getattr(estimate, name) for name in _COLUMNS}
    return {"photograph_id": photograph_id, **row, "state": str(estimate.state), "inferred": int(estimate.inferred)}


_COLUMNS = tuple(field.name for field in fields(Estimate) if field.name != "photograph")


def _write(connection: Connection, rows: Sequence[Row], made: Stamp) -> list[int]:
    """Write those of the rows whose photographs are still there and were not dated after a later change; their ids."""
    later = {i for i, entry in _since(connection).items() if entry > made.entry}
    ids = [row["photograph_id"] for row in rows]
    p = t.photograph.c
    there = set(connection.scalars(select(p.id).where(p.id.in_(ids), p.page == 0))) - later
    _forget(connection, there)
    kept = [row for row in rows if row["photograph_id"] in there]
    if kept:
        connection.execute(insert(t.estimate), kept)
    return [row["photograph_id"] for row in kept]


def _forget(connection: Connection, photographs: Collection[int]) -> None:
    ids = sorted(photographs)
    for start in range(0, len(ids), _AT_ONCE):
        chunk = ids[start : start + _AT_ONCE]
        connection.execute(delete(t.estimate).where(t.estimate.c.photograph_id.in_(chunk)))


def _since(connection: Connection) -> dict[int, int]:
    """Photographs dated by themselves since everything was, with the moment (`Stamp.entry`) of that."""
    return {int(i): int(entry) for i, entry in json.loads(setting(connection, SINCE) or "{}").items()}

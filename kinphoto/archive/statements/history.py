"""The history of changes: what was done, and undoing it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.freshness import freshness
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import Work, last_change, rows_before

_LAST = 2**63 - 1
_FEW = 12  # photographs of one change that are named
_FEW_ROWS = 100  # rows of a change up to which it is looked whose they are
_OF_PHOTOGRAPH = (
    (t.photograph, t.photograph.c.id), (t.appearance, t.appearance.c.photograph_id),
    (t.statement, t.statement.c.photograph_id), (t.statement, t.statement.c.other_id),
    (t.region, t.region.c.photograph_id), (t.scan, t.scan.c.photograph_id),
)  # fmt: skip
"""Tables whose rows belong to a photograph, and by which column."""


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the log."""

    number: Annotated[int, "the change's number"]
    at: Annotated[str, "when, UTC"]
    what: Annotated[str, "what was done"]
    undoes: Annotated[int | None, "the change it undid, or null"]
    undone_by: Annotated[int | None, "the change that undid it, or null"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs it touched, when they are a few"] = ()


@dataclass(frozen=True, slots=True)
class Undone:
    """What was undone."""

    change: Annotated[int, "the number of the change that was undone"]
    what: Annotated[str, "what it had done"]
    logged_as: Annotated[int, "the number of the undoing itself in the log; undo that to bring the change back"]


def log(connection: Connection, most: int | None = None, before: int | None = None) -> Sequence[Change]:
    """The log, newest first: at most `most` changes, of those before the change `before`."""
    query = select(t.change).order_by(t.change.c.id.desc()).limit(most)
    if before is not None:
        query = query.where(t.change.c.id < min(before, _LAST))
    rows = connection.execute(query).mappings().all()
    touched = _photographs(connection, rows[-1]["id"], rows[0]["id"]) if rows else {}
    return [
        Change(r["id"], r["at"], r["what"], r["undoes_id"], r["undone_by_id"], touched.get(r["id"], ())) for r in rows
    ]


def some(connection: Connection, numbers: Collection[int]) -> Sequence[Change]:
    """These changes, newest first; those there are not are left out."""
    query = select(t.change).where(among(connection, t.change.c.id, numbers)).order_by(t.change.c.id.desc())
    rows = connection.execute(query).mappings().all()
    return [Change(r["id"], r["at"], r["what"], r["undoes_id"], r["undone_by_id"]) for r in rows]


def newest(connection: Connection) -> Change | None:
    """The newest change that is in force and no undo itself: the one that `undo` undoes; None where there is none."""
    number = last_change(connection)
    return None if number is None else next(iter(some(connection, [number])), None)


def numbers_after(connection: Connection, number: int) -> Sequence[int]:
    """The numbers of the changes after this one."""
    return connection.scalars(select(t.change.c.id).where(t.change.c.id > number).order_by(t.change.c.id)).all()


def _photographs(connection: Connection, first: int, last: int) -> dict[int, tuple[str, ...]]:
    """For each change from `first` to `last`, the codes of the photographs it touched, as far as they are a few."""
    r, p = t.change_row.c, t.photograph.c
    within = r.change_id.between(first, last) & r.table_name.in_({table.name for table, _ in _OF_PHOTOGRAPH})
    rows = func.sum(r.last_id - r.first_id + 1)
    few = select(r.change_id).where(within).group_by(r.change_id).having(rows <= _FEW_ROWS)
    notes = connection.execute(
        select(r.change_id, r.table_name, r.first_id, r.last_id).where(within, r.change_id.in_(few))
    ).all()
    touched: dict[int, set[int]] = {}
    for table, column in _OF_PHOTOGRAPH:
        changed = [(note.change_id, range(note.first_id, note.last_id + 1)) for note in notes if note[1] == table.name]
        query = select(table.c.id, column).where(column.is_not(None))
        rows_changed = {id_ for _, ids in changed for id_ in ids}
        owner = {row[0]: row[1] for row in rows_of(connection, query, table.c.id, rows_changed)}
        for change, ids in changed:
            touched.setdefault(change, set()).update(owner[id_] for id_ in ids if id_ in owner)
    wanted = {id_ for ids in touched.values() for id_ in ids}
    codes = {row[0]: row[1] for row in rows_of(connection, select(p.id, p.code), p.id, wanted)}
    return {change: tuple(sorted(codes[id_] for id_ in ids)) for change, ids in touched.items() if len(ids) <= _FEW}


def touched(connection: Connection) -> tuple[str, ...]:
    """The codes of the photographs that the newest change was about, as far as they are a few; also where it took
    something away."""
    r, p = t.change_row.c, t.photograph.c
    newest = select(func.max(t.change.c.id)).scalar_subquery()
    notes = connection.execute(select(t.change_row).where(r.change_id == newest)).mappings().all()
    if sum(note["last_id"] - note["first_id"] + 1 for note in notes) > _FEW_ROWS:
        return ()
    ids: set[int] = set()
    for table, column in _OF_PHOTOGRAPH:
        for note in notes:
            if note["table_name"] == table.name:
                present = select(column).where(table.c.id.between(note["first_id"], note["last_id"]))
                ids.update(i for i in connection.scalars(present) if i is not None)
                ids.update(row[column.name] for row in rows_before(note) if row[column.name] is not None)
    codes = connection.scalars(select(p.code).where(p.id.in_(ids)).order_by(p.code)).all()
    return tuple(codes) if len(codes) <= _FEW else ()


def revision(connection: Connection) -> str:
    """A word that changes whenever anything is changed, or estimated again."""
    known = freshness(connection)
    return f"{known.newest}-{known.as_of or 0}"


def undo(work: Work, number: int | None = None) -> Undone:
    """Undo a change, or the newest that is in force and no undo itself.

    Raises ArchiveError when there is none, it is undone already, a later change of the same entries is in force, or
    something it needs is gone; NotFoundError.
    """
    if number is None:
        number = last_change(work.connection)
    if number is None:
        raise ArchiveError("there is nothing to undo", remedy="`kinphoto log` lists what was done.")
    if not 0 < number <= _LAST:
        raise NotFoundError(f"there is no change {number}", remedy="`kinphoto log` lists them.")
    what = work.undo(number)
    work.what = f"undid change {number}: {what}"
    return Undone(number, what, work.id or 0)

"""The change log: what was done, taking it back, and withdrawing a single statement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.session import Work, last_change


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the log. `undone_by` is the change that took it back; `undoes` the one it took back."""

    number: int
    at: str
    what: str
    undoes: int | None
    undone_by: int | None


@dataclass(frozen=True, slots=True)
class Undone:
    """What was taken back, and the number under which that is logged."""

    change: int
    what: str
    logged_as: int


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A statement (S12) or appearance (A7) that somebody withdrew."""

    statement: str
    changed: bool


def log(connection: Connection, most: int | None = None) -> Sequence[Change]:
    """The log, newest first."""
    rows = connection.execute(select(t.change).order_by(t.change.c.id.desc()).limit(most)).mappings()
    return [Change(r["id"], r["at"], r["what"], r["undoes_id"], r["undone_by_id"]) for r in rows]


def undo(work: Work, number: int | None = None) -> Undone:
    """Take back a change, or the newest that still stands.

    Raises ArchiveError when there is none, it was taken back already, or a later change rests on it; NotFoundError.
    """
    if number is None:
        number = last_change(work.connection)
    if number is None:
        raise ArchiveError("there is nothing to take back", remedy="`kinphoto log` lists what was done.")
    what = work.undo(number)
    work.what = f"took back change {number}: {what}"
    return Undone(number, what, work.id or 0)


def withdraw(work: Work, statement: str) -> Withdrawn:
    """Withdraw a statement or appearance: it is kept and shown, but bears on nothing any more.

    Raises InvalidValueError for something that is no such id, NotFoundError when there is none.
    """
    plain = statement.strip().upper()
    table = {"S": t.statement, "A": t.appearance}.get(plain[:1])
    if table is None or not plain[1:].isdigit():
        raise InvalidValueError(
            f"'{statement}' cannot be withdrawn",
            remedy="Give the id of a statement (S12) or of a name on a picture (A7) as `explain` and `conflicts` show "
            "it. Dates of the tree are mended in the tree.",
        )
    row = work.connection.execute(select(table).where(table.c.id == int(plain[1:]))).mappings().first()
    if row is None:
        raise NotFoundError(f"there is no statement {plain}", remedy="`kinphoto explain PHOTO` shows the ids.")
    if not row["withdrawn"]:
        work.update(table, [row["id"]], withdrawn=1)
        work.what = f"withdrew {plain}"
    return Withdrawn(plain, not row["withdrawn"])

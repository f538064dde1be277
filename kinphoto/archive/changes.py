"""The change log: what was done, and taking it back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from kinphoto.errors import ArchiveError, NotFoundError
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


def log(connection: Connection, most: int | None = None) -> Sequence[Change]:
    """The log, newest first."""
    rows = connection.execute(select(t.change).order_by(t.change.c.id.desc()).limit(most)).mappings()
    return [Change(r["id"], r["at"], r["what"], r["undoes_id"], r["undone_by_id"]) for r in rows]


def pulse(connection: Connection) -> str:
    """A word that is another whenever anything was changed, or estimated anew, since it was asked."""
    newest = connection.scalar(select(func.max(t.change.c.id))) or 0
    made = connection.scalar(select(t.setting.c.value).where(t.setting.c.key == "estimates_as_of")) or "0"
    return f"{newest}-{made.split()[0]}"


def undo(work: Work, number: int | None = None) -> Undone:
    """Take back a change, or the newest that still stands.

    Raises ArchiveError when there is none, it was taken back already, or a later change rests on it; NotFoundError.
    """
    if number is None:
        number = last_change(work.connection)
    if number is None:
        raise ArchiveError("there is nothing to take back", remedy="`kinphoto log` lists what was done.")
    if not 0 < number < 2**63:
        raise NotFoundError(f"there is no change {number}", remedy="`kinphoto log` lists them.")
    what = work.undo(number)
    work.what = f"took back change {number}: {what}"
    return Undone(number, what, work.id or 0)

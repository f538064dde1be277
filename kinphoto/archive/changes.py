"""The change log: what was done, taking it back, and withdrawing a single statement."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import shorten

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.sentences import age_words
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
    """A statement (S12) or appearance (A7) that somebody withdrew; `words` tell which."""

    statement: str
    changed: bool
    words: str = ""
    change: int | None = None


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


def withdraw(work: Work, statement: str) -> Withdrawn:
    """Withdraw a statement or appearance: it is kept and shown, but bears on nothing any more.

    Raises InvalidValueError for something that is no such id, NotFoundError when there is none.
    """
    plain = statement.strip().upper()
    if not _ID.fullmatch(plain):
        raise InvalidValueError(
            f"'{statement}' cannot be withdrawn",
            remedy="Give the id of a statement (S12) or of a name on a picture (A7) as `explain` and `conflicts` show "
            "it. Dates of the tree are mended in the tree.",
        )
    table = t.statement if plain.startswith("S") else t.appearance
    row = work.connection.execute(select(table).where(table.c.id == int(plain[1:]))).mappings().first()
    if row is None:
        raise NotFoundError(f"there is no statement {plain}", remedy="`kinphoto explain PHOTO` shows the ids.")
    told = _words(work.connection, row)
    if not row["withdrawn"]:
        work.update(table, [row["id"]], withdrawn=1)
        if row.get("kind") == "part-of":
            _unmake_page(work, row["other_id"])
        work.what = f"withdrew {plain}, {told}"
    return Withdrawn(plain, not row["withdrawn"], told, work.id)


_ID = re.compile(r"[SA][0-9]{1,15}")


def _words(connection: Connection, row: RowMapping) -> str:
    """A row of `statement` or `appearance` in short: "Ada Marsh in K00042", "inscription “1924?” of K00042"."""
    photo = connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == row["photograph_id"]))
    if "kind" not in row:
        who = connection.scalar(select(t.person.c.name).where(t.person.c.id == row["person_id"]))
        return f"{'not ' if row['denied'] else ''}{who or 'somebody not identified yet'} in {photo}"
    if row["age_low"] is not None:
        return f"{row['kind'].replace('-', ' ')} {age_words(row['age_low'], row['age_high'])} in {photo}"
    other = connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == row["other_id"]))
    said = row["value"] or other or row["date_text"] or f"“{shorten(row['text'], 60, placeholder=' …')}”"
    return f"{row['kind']} {said} of {photo}"


def _unmake_page(work: Work, photograph_id: int) -> None:
    """What no picture is part of any more is no album page."""
    s = t.statement.c
    parts = select(s.id).where(s.kind == "part-of", s.other_id == photograph_id, s.withdrawn == 0).limit(1)
    if work.connection.scalar(parts) is None:
        work.update(t.photograph, [photograph_id], page=0)

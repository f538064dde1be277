"""`kinphoto withdraw`, `reinstate`, `undo` and `log`: what was recorded is taken out of use, or brought back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.archive.statements.history import Change
    from kinphoto.archive.statements.withdrawing import Withdrawn

StatementId = Annotated[
    str,
    typer.Argument(
        metavar="ID",
        help="As `explain` and `conflicts` show it: a statement (S12), a name on a picture (A7), a number (N4), or in "
        "the tree a date (E5), a parent (L9) or a marriage (M3).",
    ),
]


def withdraw(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Withdraw a statement, or a date, parent or marriage in the tree: it is kept and shown, but no longer used.

    A number that is withdrawn says nothing of when this photograph or any other was taken, and what it lies among still
    does. The tree itself does not change. If you import it again with a different date there, the new date counts.
    """
    done = open_archive(archive).statements.withdraw(statement)
    now = f"is withdrawn. To undo this: kinphoto undo {done.change}" if done.changed else "was already withdrawn."
    answer(as_json, done, _withdrawn_lines(done, now))


def reinstate(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Use a withdrawn statement again, whatever has changed since."""
    done = open_archive(archive).statements.reinstate(statement)
    now = "is used again." if done.changed else "is already in use."
    answer(as_json, done, _withdrawn_lines(done, now))


def _withdrawn_lines(done: Withdrawn, now: str) -> Iterator[str]:
    yield f"{done.statement} ({done.words}) {now}"
    for caution in done.cautions:
        yield f"Take care: {caution}"


def undo(
    number: Annotated[
        int | None,
        typer.Argument(
            metavar="[N]",
            help="The change's number in the log; otherwise the newest that is not undone.",
            show_default=False,
        ),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Undo a change. An undo is a change too: undo it, and the first change is back."""
    done = open_archive(archive).statements.undo(number)
    line = f"Undone: change {done.change} ({done.what}). To redo it: kinphoto undo {done.logged_as}"
    answer(as_json, done, line)


def log(
    most: Annotated[int, typer.Option("--most", metavar="N", help="How many changes to show; 0 for all.")] = 40,
    before: Annotated[
        int | None, typer.Option("--before", metavar="N", help="Only changes before this number.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the history of changes, newest first."""
    found = open_archive(archive).statements.history(most or None, before)
    answer(as_json, {"changes": found}, _log_lines(found))


def _log_lines(found: Sequence[Change]) -> Iterator[str]:
    from kinphoto.archive.words.dates import on_the_clock

    if not found:
        yield "Nothing has been done yet."
    for c in found:
        gone = f"  (undone by {c.undone_by})" if c.undone_by else ""
        yield f"{c.number:>5}  {on_the_clock(c.at):%Y-%m-%d %H:%M}  {c.what}{gone}"

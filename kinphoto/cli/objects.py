"""`kinphoto describe`, `informant`, `informants`, `withdraw`, `reinstate`, `undo`, `log`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.cli.record import From, KeepGoing, Photo, apply_sheet
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.statements.history import Change
    from kinphoto.archive.statements.informants import Informant, InformantEntry
    from kinphoto.archive.statements.withdrawing import Withdrawn

StatementId = Annotated[
    str,
    typer.Argument(
        metavar="ID",
        help="As `explain` and `conflicts` show it: a statement (S12), a name on a picture (A7), or in the tree a date "
        "(E5), a parent (L9) or a marriage (M3).",
    ),
]


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    for command in (describe, informant, informants, withdraw, reinstate, undo, log):
        app.command()(command)


def describe(
    photograph: Photo = None,
    title: Annotated[str | None, typer.Option(metavar="TEXT", help="A short title.")] = None,
    place: Annotated[str | None, typer.Option(metavar="TEXT", help="Where it was taken.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="Anything else about it.")] = None,
    rights: Annotated[str | None, typer.Option(metavar="TEXT", help="Whose it is, and who may use it.")] = None,
    maker: Annotated[str | None, typer.Option(metavar="TEXT", help="The photographer or studio.")] = None,
    former_number: Annotated[str | None, typer.Option(metavar="TEXT", help="An earlier number.")] = None,
    container: Annotated[str | None, typer.Option(metavar="NAME", help="The box, album or envelope it is in.")] = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Describe the object: title, place, maker, the box it is in."""
    store = open_archive(archive)
    if source is not None:
        apply_sheet(store, "objects", source, keep_going, as_json, alone=photograph is None)
        return
    if photograph is None:
        raise typer.BadParameter("PHOTO is missing (or give a spreadsheet with --from).")
    from kinphoto.archive.statements.descriptions import Description

    said = Description(
        title=title,
        place=place,
        note=note,
        rights=rights,
        maker=maker,
        former_number=former_number,
        container=container,
    )
    done = store.photographs.describe(photograph, said)
    told = "; ".join(f"{name.replace('_', ' ')}: {value or '(nothing)'}" for name, value in done.given.items())
    answer(as_json, done, lambda: iter([f"{done.photograph}: {told}"]))


def informant(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What people call them, such as Aunt Edda.")],
    person: Annotated[str | None, typer.Option(metavar="PERSON", help="Who they are in the tree.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="How to reach them, what they know about.")] = None,
    rename: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="A new name; if somebody has it already, the two become one."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record who told us about the pictures, or rename them.

    Somebody who is in the tree is believed more about people they knew.
    """
    if rename is not None and (person is not None or note is not None):
        raise typer.BadParameter("rename them first, then add the rest under the new name.")
    store = open_archive(archive)
    done = (
        store.statements.add_informant(name, person, note)
        if rename is None
        else store.statements.rename_informant(name, rename)
    )
    who = f" is {done.person} in the tree" if done.person else " is recorded"
    told = f"{done.name}{who}." if rename is None else _renamed(name, done)
    answer(as_json, done, lambda: iter([told]))


def _renamed(name: str, done: Informant) -> str:
    if not done.changed:
        return f"{done.name} already has that name."
    if done.merged:
        return f"What {name} told us now comes from {done.name}. To separate them again: kinphoto undo {done.change}"
    return f"{name} is now called {done.name}."


def informants(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List who told us about the pictures, and how much."""
    found = open_archive(archive).statements.informants()
    answer(as_json, {"informants": found}, lambda: _informant_lines(found))


def _informant_lines(found: Sequence[InformantEntry]) -> Iterator[str]:
    if not found:
        yield "Nobody has told us anything yet. With each link or statement, say who did: --by NAME"
    for entry in found:
        facts = [
            f"{entry.person_name} ({entry.person})" if entry.person else "",
            counted(entry.appearances, "name on pictures", "names on pictures"),
            counted(entry.statements, "statement"),
            f"most recently on {entry.last_said[:10]}" if entry.last_said else "",
            entry.note,
        ]
        yield f"{entry.name}: {', '.join(fact for fact in facts if fact)}"


def withdraw(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Withdraw a statement, or a date, parent or marriage in the tree: it is kept and shown, but no longer used.

    The tree itself does not change. If you import it again with another date there, the new date counts.
    """
    done = open_archive(archive).statements.withdraw(statement)
    told = f"is withdrawn. To undo this: kinphoto undo {done.change}" if done.changed else "was already withdrawn."
    answer(as_json, done, lambda: _withdrawn_lines(done, told))


def reinstate(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Use a withdrawn statement again, whatever has changed since."""
    done = open_archive(archive).statements.reinstate(statement)
    told = "is used again." if done.changed else "is already in use."
    answer(as_json, done, lambda: _withdrawn_lines(done, told))


def _withdrawn_lines(done: Withdrawn, told: str) -> Iterator[str]:
    yield f"{done.statement} ({done.words}) {told}"
    for caution in done.cautions:
        yield f"Take care: {caution}"


def undo(
    number: Annotated[
        int | None,
        typer.Argument(metavar="[N]", help="The change's number in the log; otherwise the newest.", show_default=False),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Undo a change. An undo is a change too: undo it, and the first change is back."""
    done = open_archive(archive).statements.undo(number)
    told = f"Undone: change {done.change} ({done.what}). To redo it: kinphoto undo {done.logged_as}"
    answer(as_json, done, lambda: iter([told]))


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
    answer(as_json, {"changes": found}, lambda: _lines(found))


def _lines(found: Sequence[Change]) -> Iterator[str]:
    if not found:
        yield "Nothing has been done yet."
    for c in found:
        gone = f"  (undone by {c.undone_by})" if c.undone_by else ""
        yield f"{c.number:>5}  {c.at[:16].replace('T', ' ')}  {c.what}{gone}"

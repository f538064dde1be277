"""`kinphoto describe`, `informant`, `informants`, `withdraw`, `reinstate`, `undo`, `log`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

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
        help="As `explain` and `conflicts` show it: a statement (S12), a name on a picture (A7), or of the tree a date "
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
    former_number: Annotated[str | None, typer.Option(metavar="TEXT", help="A number it had before.")] = None,
    container: Annotated[
        str | None, typer.Option(metavar="NAME", help="The box, album or envelope it lies in.")
    ] = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what is known about the object: title, place, maker, where it lies."""
    store = open_archive(archive)
    if source is not None:
        apply_sheet(store, "objects", source, keep_going, as_json, alone=photograph is None)
        return
    if photograph is None:
        raise typer.BadParameter("PHOTO is missing; or name a spreadsheet with --from.")
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
    document = {"photograph": done.photograph, "given": done.given, "changed": done.changed, "change": done.change}
    told = "; ".join(f"{name.replace('_', ' ')}: {value or '(nothing)'}" for name, value in done.given.items())
    answer(as_json, document, lambda: iter([f"{done.photograph}: {told}"]))


def informant(
    name: Annotated[str, typer.Argument(metavar="NAME", help="As people call them, such as Aunt Edda.")],
    person: Annotated[str | None, typer.Option(metavar="PERSON", help="Who of the tree that is.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="How to reach them, what they know about.")] = None,
    rename: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Another name for them; if somebody is known by it, they are one."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Note who tells about the pictures, or give them another name.

    One who is in the tree is believed more about people whose lives they shared.
    """
    if rename is not None and (person is not None or note is not None):
        raise typer.BadParameter("rename them first, and then say more about them by their new name.")
    store = open_archive(archive)
    done = (
        store.statements.add_informant(name, person, note)
        if rename is None
        else store.statements.rename_informant(name, rename)
    )
    document = {
        "name": done.name,
        "person": done.person,
        "note": done.note,
        "changed": done.changed,
        "change": done.change,
        "merged": done.merged,
    }
    who = f" is {done.person} of the tree" if done.person else " is noted"
    told = f"{done.name}{who}." if rename is None else _renamed(name, done)
    answer(as_json, document, lambda: iter([told]))


def _renamed(name: str, done: Informant) -> str:
    if not done.changed:
        return f"{done.name} goes by that name already."
    if done.merged:
        return f"What {name} said is said by {done.name} now. To part them again: kinphoto undo {done.change}"
    return f"{name} is {done.name} from now on."


def informants(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List who told about the pictures, and how much each said."""
    found = open_archive(archive).statements.informants()
    answer(as_json, {"informants": [asdict(entry) for entry in found]}, lambda: _informant_lines(found))


def _informant_lines(found: Sequence[InformantEntry]) -> Iterator[str]:
    if not found:
        yield "Nobody has told anything yet. With each link or statement, say who: --by NAME"
    for entry in found:
        facts = [
            f"{entry.person_name} ({entry.person})" if entry.person else "",
            counted(entry.appearances, "name on pictures", "names on pictures"),
            counted(entry.statements, "statement"),
            f"last on {entry.last_said[:10]}" if entry.last_said else "",
            entry.note,
        ]
        yield f"{entry.name}: {', '.join(fact for fact in facts if fact)}"


def withdraw(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Withdraw a statement, or a date or tie of the tree: it is kept and shown, but bears on nothing any more.

    The tree itself stays as it is. When it is imported again with another date in that place, the new one counts.
    """
    done = open_archive(archive).statements.withdraw(statement)
    told = f"is withdrawn. To have it again: kinphoto undo {done.change}" if done.changed else "was withdrawn already."
    answer(as_json, _withdrawn(done), lambda: _withdrawn_lines(done, told))


def reinstate(statement: StatementId, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Let a statement that was withdrawn stand again, whatever was done since."""
    done = open_archive(archive).statements.reinstate(statement)
    told = "stands again." if done.changed else "stands already."
    answer(as_json, _withdrawn(done), lambda: _withdrawn_lines(done, told))


def _withdrawn(done: Withdrawn) -> dict[str, Any]:
    return {
        "statement": done.statement,
        "text": done.words,
        "changed": done.changed,
        "change": done.change,
        "cautions": list(done.cautions),
    }


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
    """Take a change back. An undo is a change too: taken back, it gives back what it took away."""
    done = open_archive(archive).statements.undo(number)
    document = {"change": done.change, "what": done.what, "logged_as": done.logged_as}
    told = f"Taken back: change {done.change} ({done.what}). To have it again: kinphoto undo {done.logged_as}"
    answer(as_json, document, lambda: iter([told]))


def log(
    most: Annotated[int, typer.Option("--most", metavar="N", help="How many changes to show; 0 for all.")] = 40,
    before: Annotated[
        int | None, typer.Option("--before", metavar="N", help="Only changes before this one, to read on.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what was done, newest first."""
    found = open_archive(archive).statements.history(most or None, before)
    document = {
        "changes": [
            {
                "number": c.number,
                "at": c.at,
                "what": c.what,
                "undoes": c.undoes,
                "undone_by": c.undone_by,
                "photographs": list(c.photographs),
            }
            for c in found
        ]
    }
    answer(as_json, document, lambda: _lines(found))


def _lines(found: Sequence[Change]) -> Iterator[str]:
    if not found:
        yield "Nothing was done yet."
    for c in found:
        gone = f"  (taken back by {c.undone_by})" if c.undone_by else ""
        yield f"{c.number:>5}  {c.at[:16].replace('T', ' ')}  {c.what}{gone}"

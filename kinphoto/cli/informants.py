"""`kinphoto informant` and `informants`: who told us about the pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.statements.informants import Informant, InformantEntry


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
    line = f"{done.name}{who}." if rename is None else _renamed(name, done)
    answer(as_json, done, line)


def _renamed(name: str, done: Informant) -> str:
    if not done.changed:
        return f"{done.name} already has that name."
    if done.merged:
        return f"What {name} told us now comes from {done.name}. To separate them again: kinphoto undo {done.change}"
    return f"{name} is now called {done.name}."


def informants(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List who told us about the pictures, and how much."""
    found = open_archive(archive).statements.informants()
    answer(as_json, {"informants": found}, _informant_lines(found))


def _informant_lines(found: Sequence[InformantEntry]) -> Iterator[str]:
    from kinphoto.archive.words.dates import on_the_clock

    if not found:
        yield "Nobody has told us anything yet. With each link or statement, say who did: --by NAME"
    for entry in found:
        facts = [
            f"{entry.person_name} ({entry.person})" if entry.person else "",
            counted(entry.appearances, "name on pictures", "names on pictures"),
            counted(entry.statements, "statement"),
            f"most recently on {on_the_clock(entry.last_said):%Y-%m-%d}" if entry.last_said else "",
            entry.note,
        ]
        yield f"{entry.name}: {', '.join(fact for fact in facts if fact)}"

"""`kinphoto container`: boxes, albums and envelopes, and what is in them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli import progress
from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted, listed

if TYPE_CHECKING:
    from kinphoto.archive.collection.container_pages import ContainerRow

app = typer.Typer(cls=Commands, no_args_is_help=True, help="Name boxes, albums and envelopes, and say what is in them.")

app.command("expect")(progress.expect)
app.command("lent")(progress.lent)

Container = Annotated[
    str, typer.Argument(metavar="CONTAINER", help="Its name, or the folder of scans it was made from.")
]
Photographs = Annotated[list[str], typer.Argument(metavar="PHOTO...", help="Codes such as K00042, or scans.")]


@app.callback()
def container() -> None:
    """Name boxes, albums and envelopes, and say what is in them."""


@app.command("list")
def list_(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List boxes, albums and envelopes, each below the one it is in, with the number of photographs in each."""
    found = open_archive(archive).photographs.containers()
    answer(as_json, {"containers": found}, _container_lines(found))


@app.command("rename")
def rename(
    container: Container,
    new: Annotated[str, typer.Argument(metavar="NAME", help="Its new name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Rename a box. Its folder of scans keeps its own name."""
    done = open_archive(archive).photographs.rename_container(container, new)
    answer(as_json, done, f"It is now called {done.name}." if done.changed else f"It is already called {done.name}.")


@app.command("nest")
def nest(
    container: Container,
    into: Annotated[
        str,
        typer.Argument(
            metavar="[INTO]", help="Where to put it, made if it does not exist. Leave it out to take the box out again."
        ),
    ] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a box into a bigger one, or take it out again."""
    done = open_archive(archive).photographs.nest_container(container, into or None)
    answer(as_json, done, f"{done.name} is now {f'in {done.inside}' if done.inside else 'not in any other'}.")


@app.command("place")
def place(
    container: Annotated[
        str, typer.Argument(metavar="CONTAINER", help='Where they go, made if it does not exist; "" takes them out.')
    ],
    photographs: Photographs,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put photographs into a box, after those already in it."""
    done = open_archive(archive).photographs.move(photographs, container)
    are = "is" if len(done.photographs) == 1 else "are"
    where = f"now in {done.name}{' (new)' if done.made else ''}" if done.name else "no longer in any box"
    answer(as_json, done, f"{listed(done.photographs)} {are} {where}.")


@app.command("order")
def order(
    container: Container, photographs: Photographs, archive: ArchiveOption = None, as_json: JsonOption = False
) -> None:
    """Move photographs to the front of a box, in this order; the others follow as they were."""
    done = open_archive(archive).photographs.reorder(container, photographs)
    answer(as_json, done, f"{done.name} now begins with {listed(done.photographs)}.")


@app.command("in-order")
def in_order(
    container: Container,
    backwards: Annotated[
        bool, typer.Option("--backwards", help="The earliest comes last.", show_default=False)
    ] = False,
    not_: Annotated[bool, typer.Option("--not", help="They are not in the order of time.", show_default=False)] = False,
    unknown: Annotated[
        bool, typer.Option("--unknown", help="Nobody knows: forget what was said.", show_default=False)
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that the photographs in a box are in the order of time, the earliest first.

    Dates then follow that order, except for the odd picture that was put in elsewhere. Without this, kinphoto works out
    from the photographs how far they are in order.
    """
    from kinphoto.archive.collection.arranging import ARRANGEMENTS

    chosen = [word for word, said in (("backwards", backwards), ("not-in-order", not_), ("", unknown)) if said]
    if len(chosen) > 1:
        raise InvalidValueError("--backwards, --not and --unknown contradict each other", remedy="Give one of them.")
    done = open_archive(archive).photographs.say_order(container, chosen[0] if chosen else "in-order")
    was = "" if done.changed else " That is what was said before."
    answer(as_json, done, f"{done.name}: {ARRANGEMENTS[done.arrangement or '']}.{was}")


def _container_lines(found: tuple[ContainerRow, ...]) -> Iterator[str]:
    if not found:
        yield "There are no boxes yet. To make one: kinphoto container place NAME PHOTO..."
    for each in found:
        pictures = counted(each.tally.photographs, "photograph")
        yield f"{'  ' * each.depth}{each.name or '(not in any box yet)'}  {pictures}"

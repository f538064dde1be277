"""`kinphoto container`: boxes, albums and envelopes, arranged as the objects lie."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.arranging import Arranged
    from kinphoto.archive.collection.container_pages import ContainerRow

app = typer.Typer(
    cls=Commands, no_args_is_help=True, help="Name boxes, albums and envelopes, and arrange them as the objects lie."
)

Container = Annotated[
    str, typer.Argument(metavar="CONTAINER", help="Its name, or the folder of scans that it stands for.")
]
Photographs = Annotated[list[str], typer.Argument(metavar="PHOTO...", help="Codes such as K00042, or scans.")]


@app.callback()
def container() -> None:
    """Name boxes, albums and envelopes, and arrange them as the objects lie."""


@app.command("list")
def list_(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List the containers, each below the one it lies in, and how many photographs are in each."""
    found = open_archive(archive).boxes()
    document = {
        "containers": [
            {"id": each.id, "name": each.name, "depth": each.depth, "photographs": each.tally.photographs,
             "undated": each.tally.undated, "unnamed": each.tally.unnamed, "disputed": each.tally.disputed}
            for each in found
        ]
    }  # fmt: skip
    answer(as_json, document, lambda: _shelf(found))


@app.command("rename")
def rename(
    container: Container,
    new: Annotated[str, typer.Argument(metavar="NAME", help="Its new name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give a container another name. The folder that it stands for keeps its own."""
    done = open_archive(archive).rename_container(container, new)
    _answer(as_json, done, f"It is called {done.name} now." if done.changed else f"It is called {done.name} already.")


@app.command("nest")
def nest(
    container: Container,
    into: Annotated[
        str,
        typer.Argument(metavar="[INTO]", help="The one it lies in, made if need be; none to take it out."),
    ] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a container into another, or out of the one it lies in."""
    done = open_archive(archive).nest_container(container, into or None)
    _answer(as_json, done, f"{done.name} lies {f'in {done.inside}' if done.inside else 'in no other'} now.")


@app.command("place")
def place(
    container: Annotated[
        str, typer.Argument(metavar="CONTAINER", help='Where they lie, made if need be; "" for nowhere.')
    ],
    photographs: Photographs,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put photographs into a container, behind those that lie there already."""
    done = open_archive(archive).place(photographs, container)
    count = counted(len(done.photographs), "photograph lies", "photographs lie")
    where = f"in {done.name}{' (new)' if done.made else ''}" if done.name else "nowhere"
    _answer(as_json, done, f"{count} {where} now.")


@app.command("order")
def order(
    container: Container, photographs: Photographs, archive: ArchiveOption = None, as_json: JsonOption = False
) -> None:
    """Bring a container into its physical order: first these photographs, then the others as they were."""
    done = open_archive(archive).reorder(container, photographs)
    _answer(as_json, done, f"{done.name} begins with {', '.join(done.photographs)} now.")


def _answer(as_json: bool, done: Arranged, told: str) -> None:
    document: dict[str, Any] = {
        "id": done.id,
        "name": done.name,
        "inside": done.inside,
        "photographs": list(done.photographs),
        "changed": done.changed,
        "made": done.made,
        "change": done.change,
    }
    answer(as_json, document, lambda: iter([told]))


def _shelf(found: tuple[ContainerRow, ...]) -> Iterator[str]:
    if not found:
        yield "There is no container yet. Say where a photograph lies: kinphoto container place NAME PHOTO..."
    for each in found:
        pictures = counted(each.tally.photographs, "photograph")
        yield f"{'  ' * each.depth}{each.name or '(nowhere yet)'}  {pictures}"

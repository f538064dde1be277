"""`kinphoto`: puts the groups of commands together."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Annotated

import typer

from kinphoto.cli import (
    asking,
    containers,
    couples,
    demo,
    findings,
    framing,
    helping,
    kin,
    looking,
    objects,
    people,
    pictures,
    record,
    removing,
    scans,
    serve,
    showing,
    start,
    tree,
)
from kinphoto.cli.commands import Commands
from kinphoto.cli.output import errors_in_one_line

app = typer.Typer(
    name="kinphoto",
    cls=Commands,
    help="Who is in each family photograph, and about when it was taken.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for group in (
    start,
    demo,
    looking,
    showing,
    record,
    framing,
    objects,
    removing,
    findings,
    asking,
    pictures,
    couples,
    kin,
    serve,
    helping,
):
    group.register(app)
app.add_typer(tree.app, name="tree")
app.add_typer(people.app, name="people")
app.add_typer(scans.app, name="scans")
app.add_typer(containers.app, name="container")


def _version(wanted: bool) -> None:
    if wanted:
        from kinphoto import __version__

        typer.echo(f"kinphoto {__version__}")
        raise typer.Exit


@app.callback()
def kinphoto(
    _archive: Annotated[
        Path | None,
        typer.Option(
            "--archive", help="The archive's folder; can also follow the command.", metavar="DIR", show_default=False
        ),
    ] = None,
    _version: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Who is in each family photograph, and about when it was taken.

    `kinphoto help COMMAND` explains a command; most take `--json`. Give a photograph by its code (K00042) or its scan,
    a person by id or name.
    """


def run() -> None:
    """The console script. A terminal that lacks a letter shows its number instead."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    with errors_in_one_line():
        app()

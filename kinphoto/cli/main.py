"""`kinphoto`: puts the groups of commands together."""

from __future__ import annotations

import io
import sys
from copy import copy
from pathlib import Path
from typing import Annotated

import typer

from kinphoto.cli import containers, faces, give, keep, people, scans, tree
from kinphoto.cli.asking import ask, hindsight, who
from kinphoto.cli.commands import Commands, first_word
from kinphoto.cli.demo import demo
from kinphoto.cli.families import families
from kinphoto.cli.findings import conflicts, dates, explain, settle
from kinphoto.cli.framing import frame, unname
from kinphoto.cli.help import help_
from kinphoto.cli.history import log, reinstate, undo, withdraw
from kinphoto.cli.informants import informant, informants
from kinphoto.cli.kin import kin, proband
from kinphoto.cli.output import errors_in_one_line
from kinphoto.cli.pictures import pictures
from kinphoto.cli.progress import progress
from kinphoto.cli.record import describe, format_, link, process, read, relate, state
from kinphoto.cli.removing import remove, replace
from kinphoto.cli.search import find, list_
from kinphoto.cli.serve import serve
from kinphoto.cli.show import show
from kinphoto.cli.start import init
from kinphoto.cli.stories import stories, tell

app = typer.Typer(
    name="kinphoto",
    cls=Commands,
    help="Who is in each family photograph, and about when it was taken.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for command in (
    init, demo, find, list_, show, link, state, read, process, format_, relate, frame, unname, describe, informant,
    informants, withdraw, reinstate, undo, log, remove, replace, dates, explain, conflicts, settle, ask, who,
    hindsight, pictures, families, kin, proband, progress, serve, tell, stories, help_,
):  # fmt: skip
    app.command(command.__name__.rstrip("_"))(command)
app.add_typer(tree.app, name="tree")
app.add_typer(people.app, name="people")
app.add_typer(scans.app, name="scans")
app.add_typer(containers.app, name="container")
app.add_typer(faces.app, name="faces")
app.add_typer(give.app, name="give")
app.add_typer(keep.app, name="keep")


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
        asked_for(sys.argv[1:])()


def asked_for(args: list[str]) -> typer.Typer:
    """The program with only the command that these arguments name, alone in its group too: to put a hundred of them
    together takes longer than most take to answer. The whole of it where they name none, and for `help`, which looks at
    all."""
    at = first_word(args)
    if at is None or args[at] == "help":
        return app
    alone = _only(app, args[at])
    for group in alone.registered_groups:
        within = _only(group.typer_instance, "".join(args[at + 1 : at + 2])) if group.typer_instance else None
        if within and within.registered_commands:
            alone.registered_groups = [copy(group)]
            alone.registered_groups[0].typer_instance = within
    return alone if alone.registered_commands or alone.registered_groups else app


def _only(whole: typer.Typer, word: str) -> typer.Typer:
    """The same with nothing but the command or the group of this name."""
    alone = copy(whole)
    alone.registered_commands = [one for one in whole.registered_commands if one.name == word]
    alone.registered_groups = [one for one in whole.registered_groups if one.name == word]
    return alone

"""`kinphoto help`: the help of the program, or of one command."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from kinphoto.cli.commands import Commands


def help_(
    ctx: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[COMMAND]...", help="A command, such as link, or scans add.", show_default=False),
    ] = None,
) -> None:
    """Show what kinphoto can do, or how to use a command: kinphoto help link."""
    here: Any = ctx.find_root()
    for word in words or []:
        group = here.command
        if not isinstance(group, Commands) or (word not in group.commands and not group.commands):
            break
        command = group.get_command(here, word)
        if command is None:
            here.fail(group.unknown(word, at_top=here.parent is None))
        here = type(here)(command, info_name=word, parent=here)
    typer.echo(here.get_help())

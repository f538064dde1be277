"""`kinphoto serve`: the pages, in the browser."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, open_archive, say, warn

if TYPE_CHECKING:
    from kinphoto.archive import Archive


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("serve")(serve)


def serve(
    port: Annotated[
        int, typer.Option(metavar="N", help="The port to listen on; 0 takes any free one.", min=0, max=65535)
    ] = 5817,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let others in your home network look; the password lets them do everything.")
    ] = False,
    new_password: Annotated[
        bool, typer.Option("--new-password", help="Choose a new password for --lan; everybody has to sign in again.")
    ] = False,
    archive: ArchiveOption = None,
) -> None:
    """Show the archive in the browser, on this computer only; the address is the first line printed.

    With --lan, others in your home network see only what shows no living people; whoever has the password sees
    everything and can change it. You choose the password the first time, or set KINPHOTO_PASSWORD. The connection is
    not encrypted: use it at home, not in a café.
    """
    from kinphoto.web.serving import serve as run

    opened = open_archive(archive)
    if lan:
        _see_to_password(opened, new_password)

    def started(address: str) -> None:
        say(address)
        warn("Open this address in a browser. Ctrl-C stops the pages; everything is saved as you go.")

    run(opened, port, lan, started)


def _see_to_password(archive: Archive, another: bool) -> None:
    """Have the password chosen, unless there is one."""
    from kinphoto.web.access import Keys
    from kinphoto.web.passwords import choose, fits

    given, kept = os.environ.get("KINPHOTO_PASSWORD") or None, Keys.of(archive.folder).password
    if kept is not None and not another and (given is None or fits(given, kept)):
        return
    if given is None:
        given = typer.prompt("Choose a password for the pages", hide_input=True, confirmation_prompt=True, err=True)
    choose(archive.folder, given)

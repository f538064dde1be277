"""`kinphoto serve`: the pages, in the browser."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, closed_at_exit, nearest_archive, open_archive, say, warn

if TYPE_CHECKING:
    from kinphoto.archive import Archive


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

    If there is no archive yet, a page opens where you make one, open one, or look at the sample.

    With --lan, others in your home network see only what shows no living people; whoever has the password sees
    everything and can change it. You choose the password the first time, or set KINPHOTO_PASSWORD. The connection is
    not encrypted: use it at home, not in a café.
    """
    from kinphoto.errors import ArchiveError
    from kinphoto.web.serving import serve as run
    from kinphoto.web.serving import serve_beginning

    if archive is None and nearest_archive() is None:
        if lan or new_password:
            raise ArchiveError(
                "there is no archive in this folder or above it yet",
                where=str(Path.cwd()),
                remedy="Make one on this computer first, with kinphoto serve alone; then open it to your network.",
            )
        serve_beginning(Path.cwd(), port, _begun, lambda made: _advise(closed_at_exit(made)))
        return
    opened = open_archive(archive)
    if lan:
        _choose_password(opened, new_password)

    def started(address: str) -> None:
        _say_at_once(address)
        warn("Open this address in a browser. Ctrl-C stops the pages; everything is saved as you go.")
        _advise(opened)

    run(opened, port, lan, started)


def _begun(address: str) -> None:
    _say_at_once(address)
    warn("Open this address in a browser and make your archive there. Ctrl-C stops the pages.")


def _say_at_once(address: str) -> None:
    """The line that a script waits for; into a pipe, Python would write it when the pages end."""
    say(address)
    sys.stdout.flush()


def _advise(archive: Archive) -> None:
    """What would be good to do to keep it safe."""
    for line in archive.keep.state().advice:
        warn(line)


def _choose_password(archive: Archive, new: bool) -> None:
    """Have the password chosen, unless there is one."""
    from kinphoto.web.access import Credentials
    from kinphoto.web.passwords import choose, matches

    given, kept = os.environ.get("KINPHOTO_PASSWORD") or None, Credentials.of(archive.folder).password
    if kept is not None and not new and (given is None or matches(given, kept)):
        return
    if given is None:
        given = typer.prompt("Choose a password for the pages", hide_input=True, confirmation_prompt=True, err=True)
    choose(archive.folder, given)

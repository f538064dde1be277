"""`kinphoto serve`: the pages, in the browser."""

from __future__ import annotations

from typing import Annotated

import typer

from kinphoto.cli.output import ArchiveOption, open_archive, warn


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("serve")(serve)


def serve(
    port: Annotated[
        int, typer.Option(metavar="N", help="The port to listen on; 0 takes any free one.", min=0, max=65535)
    ] = 5817,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let others in the house network in, who need the password for more.")
    ] = False,
    archive: ArchiveOption = None,
) -> None:
    """Show the archive in the browser, on this machine only; the address is the first line printed."""
    from kinphoto.web.serving import serve as run

    def started(address: str) -> None:
        typer.echo(address)
        warn("Open this address in a browser. Ctrl-C stops the pages; everything is saved when it is done.")

    run(open_archive(archive), port, lan, started)

"""`kinphoto init`: a new empty archive."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kinphoto.cli.output import JsonOption, answer, closed_in_the_end


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("init")(init)


def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder for it; made if there is none.")],
    as_json: JsonOption = False,
) -> None:
    """Make a new, empty archive. You do not need a tree to begin."""
    from kinphoto.archive import Archive
    from kinphoto.cli.documents import NewArchive

    archive = closed_in_the_end(Archive.create(folder))
    answer(
        as_json,
        NewArchive(str(archive.folder.resolve())),
        lambda: iter(
            [
                f"Made a new archive in {archive.folder}.",
                "Next: kinphoto tree import FILE.ged, and kinphoto scans add FOLDER",
            ]
        ),
    )

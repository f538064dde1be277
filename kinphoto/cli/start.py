"""`kinphoto init`: a new empty archive."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kinphoto.cli.output import JsonOption, answer, closed_at_exit


def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder for it; made if there is none.")],
    as_json: JsonOption = False,
) -> None:
    """Make a new, empty archive. You do not need a tree to begin."""
    from kinphoto.archive import Archive
    from kinphoto.cli.documents import NewArchive

    archive = closed_at_exit(Archive.create(folder))
    answer(
        as_json,
        NewArchive(str(archive.folder.resolve())),
        f"Made a new archive in {archive.folder}.\nNext: kinphoto tree import FILE.ged, and kinphoto scans add FOLDER",
    )

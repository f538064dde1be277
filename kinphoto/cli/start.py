"""`kinphoto init`: a new empty archive."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from kinphoto.cli.output import JsonOption, answer, closed_at_exit, progress_bar


def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder for it; made if it does not exist.")],
    package: Annotated[
        Path | None,
        typer.Option("--from", metavar="PACKAGE", help="Make the archive again from what `kinphoto keep bag` made."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Make a new, empty archive. You do not need a tree to begin.

    With --from it is not empty: it is the archive that a package holds, with its scans and its history.
    """
    if package is not None:
        from kinphoto.archive.keeping.unpacking import unpack
        from kinphoto.cli.keep import restored_lines

        with progress_bar("Copying") as progress:
            done = unpack(package, folder, progress)
        answer(as_json, done, restored_lines(done, "package"))
        if done.damaged:
            raise typer.Exit(1)
        return
    from kinphoto.archive import Archive
    from kinphoto.cli.documents import NewArchive

    archive = closed_at_exit(Archive.create(folder))
    answer(
        as_json,
        NewArchive(str(archive.folder.resolve())),
        [
            f"Made a new archive in {archive.folder}.",
            "Next: kinphoto tree import FILE.ged, and kinphoto scans add FOLDER",
        ],
    )

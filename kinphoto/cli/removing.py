"""`kinphoto remove` and `replace`: what was indexed by mistake, and better scans."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.removing import Removal, Removed
    from kinphoto.archive.collection.replacing import Replaced


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("remove")(remove)
    app.command("replace")(replace)


def remove(
    what: Annotated[
        list[str],
        typer.Argument(
            metavar="PHOTO...", help="Codes such as K00042; or the path of a scan, to remove one of several."
        ),
    ],
    with_statements: Annotated[
        bool,
        typer.Option("--with-statements", help="Also where names, statements or a description would go with it."),
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take photographs or scans that were indexed by mistake out of the archive. No file is touched.

    `kinphoto undo` brings everything back. Until then `scans add` leaves the files out and says so; `scans add --again`
    indexes them anew.
    """
    done = open_archive(archive).photographs.remove(what, with_statements=with_statements)
    document = {
        "removed": [
            {
                "photograph": one.photograph,
                "whole": one.whole,
                "scans": list(one.scans),
                "names": one.resting.names,
                "faces": one.resting.faces,
                "statements": one.resting.statements,
                "related": list(one.resting.related),
                "described": list(one.resting.described),
                "note": one.note,
            }
            for one in done.removed
        ],
        "change": done.change,
    }
    answer(as_json, document, lambda: _removed_lines(done))


def _removed_lines(done: Removal) -> Iterator[str]:
    for one in done.removed:
        yield _removed_line(one)
        if one.note:
            yield one.note
    yield f"No file was touched. To have it again: kinphoto undo {done.change}"


def _removed_line(one: Removed) -> str:
    if one.whole:
        went = f", with {one.resting.words}" if one.resting.words else ""
        return f"{one.photograph} is removed ({counted(len(one.scans), 'scan')}{went})."
    return f"{', '.join(Path(path).name for path in one.scans)} is no longer a scan of {one.photograph}."


def replace(
    what: Annotated[
        str, typer.Argument(metavar="PHOTO", help="The photograph; or the path of the scan to be replaced.")
    ],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The better scan, indexed already or not.")],
    side: Annotated[
        str | None,
        typer.Option(metavar="front|back|detail", help="Which side it shows; the front, when nothing is said."),
    ] = None,
    turn: Annotated[
        str | None, typer.Option(metavar="left|right|over", help="How to turn the new scan to be upright.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a better scan in the place of an older one. Faces keep their places, and no file is touched.

    The older scan stays with the photograph, marked as replaced. Where the new one is framed otherwise, so that faces
    may no longer sit right, that is said. `kinphoto undo` takes it back.
    """
    done = open_archive(archive).scans.replace(what, file, side, turn)
    document = {
        "photograph": done.photograph,
        "side": done.side,
        "scan": done.scan,
        "instead_of": done.instead_of,
        "faces": done.faces,
        "note": done.note,
        "joined": done.joined,
        "change": done.change,
    }
    answer(as_json, document, lambda: _replaced_lines(done))


_SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}


def _replaced_lines(done: Replaced) -> Iterator[str]:
    new, old = Path(done.scan).name, Path(done.instead_of).name
    side = _SIDES.get(done.side, done.side)
    yield f"{new} is {side} of {done.photograph} now; {old} stays with it as the older scan."
    if done.joined:
        yield f"{done.joined} goes up in {done.photograph}, and its code leads there."
    if done.note:
        yield done.note
    elif done.faces:
        yield f"{counted(done.faces, 'face keeps its place', 'faces keep their places')} on it."
    yield f"To take it back: kinphoto undo {done.change}"

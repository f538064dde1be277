"""`kinphoto remove` and `replace`: what was added by mistake, and better scans."""

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


def remove(
    what: Annotated[
        list[str],
        typer.Argument(
            metavar="PHOTO...", help="Codes such as K00042; or the path of a scan, to remove one of several."
        ),
    ],
    with_statements: Annotated[
        bool,
        typer.Option("--with-statements", help="Even if names, statements or a description go with it."),
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Remove photographs or scans that were added by mistake. No file is touched.

    `kinphoto undo` brings everything back. Until then `scans add` skips the files and says so; `scans add --again`
    adds them again.
    """
    done = open_archive(archive).photographs.remove(what, with_statements=with_statements)
    answer(as_json, done, _removed_lines(done))


def _removed_lines(done: Removal) -> Iterator[str]:
    for one in done.removed:
        yield _removed_line(one)
        if one.note:
            yield one.note
    yield f"No file was touched. To undo this: kinphoto undo {done.change}"


def _removed_line(one: Removed) -> str:
    if one.whole:
        went = f", with {one.contents.words}" if one.contents.words else ""
        return f"{one.photograph} is removed ({counted(len(one.scans), 'scan')}{went})."
    return f"{', '.join(Path(path).name for path in one.scans)} is no longer a scan of {one.photograph}."


def replace(
    what: Annotated[str, typer.Argument(metavar="PHOTO", help="The photograph, or the path of the scan to replace.")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The better scan, already in the archive or not.")],
    side: Annotated[
        str | None,
        typer.Option(metavar="front|back|detail", help="Which side it shows; otherwise the front."),
    ] = None,
    turn: Annotated[
        str | None, typer.Option(metavar="left|right|over", help="How to turn the new scan upright.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Replace a scan with a better one. Faces keep their places, and no file is touched.

    The older scan stays with the photograph, marked as replaced. If the new one is cropped differently, you are asked
    to check the faces. `kinphoto undo` undoes it.
    """
    done = open_archive(archive).scans.replace(what, file, side, turn)
    answer(as_json, done, _replaced_lines(done))


_SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}


def _replaced_lines(done: Replaced) -> Iterator[str]:
    new, old = Path(done.scan).name, Path(done.instead_of).name
    side = _SIDES.get(done.side, done.side)
    yield f"{new} is now {side} of {done.photograph}; {old} stays with it as the older scan."
    if done.joined:
        yield f"{done.joined} is now part of {done.photograph}, and its code leads there."
    if done.note:
        yield done.note
    elif done.faces:
        yield f"{counted(done.faces, 'face keeps its place', 'faces keep their places')} on it."
    yield f"To undo this: kinphoto undo {done.change}"

"""`kinphoto frame` and `unname`: moving the frame of a face, and removing the name from a face."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.archive.statements.frames import Framed, NameRemoved


def frame(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="A code, a scan's path or the end of one.")],
    what: Annotated[str, typer.Argument(metavar="ID", help="A face (R3), or a name on a picture (A7).")],
    region: Annotated[
        str, typer.Argument(metavar="L,T,W,H", help="Where the face is, as fractions of the upright picture.")
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Move or resize the frame of a face, with all names on it. A name that has no frame yet gets one."""
    done = open_archive(archive).statements.move_face(photograph, what, region)
    answer(as_json, done, _framed_line(done))


def unname(
    appearance: Annotated[str, typer.Argument(metavar="ID", help="A name on a picture (A7).")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Remove a name from its face; the face stays, for a different name.

    Ages judged by eye stay with the face. To remove the face as well, withdraw it.
    """
    done = open_archive(archive).statements.take_name_off(appearance)
    answer(as_json, done, _unnamed_line(done))


def _framed_line(done: Framed) -> str:
    place = ", ".join(f"{side:g}" for side in done.box)
    return f"{done.photograph}: {done.region} is now framed at {place}{'' if done.changed else ' (as before)'}"


def _unnamed_line(done: NameRemoved) -> str:
    left = f"The face stays [{done.face}]." if done.face else "It was not on a face."
    return f"{done.appearance} ({done.words}) is withdrawn. {left} To undo this: kinphoto undo {done.change}"

"""`kinphoto frame`, `unname`: a face framed better, and a name taken off a face that stays."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.archive.statements.frames import Framed, NameRemoved


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    for command in (frame, unname):
        app.command()(command)


def frame(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="A code, a scan's path or the end of one.")],
    what: Annotated[str, typer.Argument(metavar="ID", help="A face (R3), or a name on a picture (A7).")],
    region: Annotated[str, typer.Argument(metavar="L,T,W,H", help="Where the face is, as parts of the upright image.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Frame a face anew; all names on it go with it. A name that has no region yet gets one."""
    done = open_archive(archive).frame(photograph, what, region)
    document = {
        "photograph": done.photograph,
        "region": done.region,
        "box": list(done.box),
        "changed": done.changed,
        "change": done.change,
    }
    answer(as_json, document, lambda: _framed(done))


def unname(
    appearance: Annotated[str, typer.Argument(metavar="ID", help="A name on a picture (A7).")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take a name off its face, and leave the face for another name.

    Ages judged by eye stay with the face. To take a face away altogether, withdraw it.
    """
    done = open_archive(archive).unname(appearance)
    document = {
        "photograph": done.photograph,
        "appearance": done.appearance,
        "text": done.words,
        "face": done.face,
        "change": done.change,
    }
    answer(as_json, document, lambda: _unnamed(done))


def _framed(done: Framed) -> Iterator[str]:
    place = ", ".join(f"{side:g}" for side in done.box)
    yield f"{done.photograph}: {done.region} is framed {place}{'' if done.changed else ' (as it was)'}"


def _unnamed(done: NameRemoved) -> Iterator[str]:
    left = f"The face stays [{done.face}]." if done.face else "It was on no face."
    yield f"{done.appearance} ({done.words}) is withdrawn. {left} To have it again: kinphoto undo {done.change}"

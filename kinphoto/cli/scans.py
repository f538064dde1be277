"""`kinphoto scans`: adding image files; joining the scans of one object, and separating them; turning them upright."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, shortened, warn
from kinphoto.cli.show import SIDES
from kinphoto.phrases import counted, listed

if TYPE_CHECKING:
    from kinphoto.archive.collection.joining import Joined
    from kinphoto.archive.collection.rotation import Turned
    from kinphoto.archive.collection.scanning import ScansAdded
    from kinphoto.archive.collection.whereabouts import ScanFolder

app = typer.Typer(cls=Commands, no_args_is_help=True, help="Add scans; join those of one object; turn them upright.")

_SHOWN = 20  # lines of one kind before the rest is only counted


@app.command("add")
def add(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH…", help="Image files, or folders of them.")],
    container: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The box, album or envelope they are in; otherwise their folder's name."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Also add those that were removed from the archive.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Add scans: JPEG, TIFF, PNG, WebP, HEIC and PDF files, or whole folders of them.

    Every new file becomes a photograph; in a PDF, or another file with several pages, each page with a picture does.
    Your files are only read. Adding them again adds nothing; a file you renamed or moved is recognised and keeps its
    code. You can stop at any time, and run the command again to go on.
    """
    store = open_archive(archive)
    try:
        with progress_bar("Reading scans") as progress:
            result = store.scans.add(paths, container, progress, again=again)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. The scans read so far are kept; run the same command again to go on with the rest.")
        raise typer.Exit(130) from None
    answer(as_json, result, _added_lines(result))


@app.command("join")
def join(
    scans: Annotated[list[str], typer.Argument(metavar="SCAN SCAN…", help="Codes, paths, or the ends of paths.")],
    side: Annotated[
        str | None, typer.Option(metavar="front|back|detail", help="What the scans after the first one show.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Join scans of one object (front and back, a rescan, a detail) into one photograph: the first one.

    Without --side, the names and pictures decide whether a scan is a back or the same front again; if it looks
    like a different picture, nothing is joined and you are asked. Names and statements of the others move to the
    first, and their codes lead there from then on.
    """
    joined = open_archive(archive).scans.join(scans, side)
    answer(as_json, joined, _joined_lines(joined))


@app.command("part")
def part(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a scan a separate photograph again.

    If it had a code before it was joined, it gets that back, with everything that was recorded there.
    """
    parted = open_archive(archive).scans.separate(scan)
    answer(as_json, parted, f"{parted.scan} is now {parted.photograph}, no longer part of {parted.taken_out_of}.")


@app.command("turn")
def turn(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it; a code if it has one scan.")],
    way: Annotated[str, typer.Argument(metavar="left|right|over", help="A quarter turn to a side, or upside down.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn a scan that is shown on its side or upside down.

    Only the archive records it: the file stays as it is. Faces framed on the front of a photograph turn with its first
    front scan. `kinphoto undo` turns everything back.
    """
    turned = open_archive(archive).scans.turn(scan, way)
    answer(as_json, turned, _turned_line(turned))


@app.command("where")
def where(
    old: Annotated[
        Path | None, typer.Argument(metavar="OLD-FOLDER", help="Where they were.", show_default=False)
    ] = None,
    new: Annotated[
        Path | None, typer.Argument(metavar="NEW-FOLDER", help="Where they are now.", show_default=False)
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show which folders the scans are in, or say where a folder has moved.

    Without arguments it lists the folders you added scans from, and how many of their files are there. When scans are
    on another disk or computer, name the old folder and the new one: OLD-FOLDER is as listed, or a folder above several
    of those. An archive that moves together with its scans finds them by itself.
    """
    store = open_archive(archive)
    if old is None:
        folders = store.scans.roots()
        lines = [*map(_folder_line, folders)] or "There are no scans in this archive yet."
        answer(as_json, {"folders": folders}, lines)
        return
    if new is None:
        raise typer.BadParameter(f"say where they are now: kinphoto scans where {old} NEW-FOLDER")
    moved = store.scans.move_root(old, new)
    answer(as_json, {"folders": moved}, (f"{each.before} is now {_folder_line(each)}" for each in moved))


def _folder_line(folder: ScanFolder) -> str:
    missing = folder.files - folder.found
    there = "all there" if not missing else f"{missing} of them not there" if folder.found else "none of them there"
    return f"{folder.path}: {counted(folder.files, 'file')}, {there}"


def _turned_line(turned: Turned) -> str:
    now = ("as it is in its file", "turned right", "turned over", "turned left")[turned.turn]
    faces = {0: "", 1: " The face on it turned too."}.get(turned.faces, f" The {turned.faces} faces on it turned too.")
    return f"{turned.scan} ({turned.photograph}) is now shown {now}.{faces}"


def _added_lines(result: ScansAdded) -> Iterator[str]:
    if not result.seen and not result.vanished:
        yield "There are no pictures there. kinphoto reads JPEG, TIFF, PNG, WebP, HEIC and PDF files."
        return
    photographs = counted(result.photographs, "photograph")
    added = f"{result.added} added: {result.codes}" if result.added else "0 added"
    yield f"{counted(result.seen, 'picture')} found, {added}. The archive holds {photographs}."
    from kinphoto.archive.collection.scan_report import notes

    for heading, lines in notes(result):
        if lines:
            yield f"{heading} ({len(lines)}):"
        yield from shortened(lines, _SHOWN)


def _joined_lines(joined: Joined) -> Iterator[str]:
    yield f"{joined.photograph} now has these scans:"
    yield from (f"  {SIDES[side]}: {path}" for path, side in joined.scans)
    if joined.why:
        yield f"Why: {joined.why}. If that is not so: kinphoto undo, and join them with --side."
    if joined.aliases:
        yield f"You can also find it as {listed(joined.aliases)}."

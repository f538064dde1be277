"""`kinphoto scans`: indexing image files; scans of one object joined, and parted again; turning them upright."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.joining import Joined
    from kinphoto.archive.collection.rotation import Turned
    from kinphoto.archive.collection.scanning import FiledScan, ScansAdded

app = typer.Typer(cls=Commands, no_args_is_help=True, help="Index scans; join those of one object; turn them upright.")

_SHOWN = 20  # lines of one kind before the rest is only counted


@app.command("add")
def add(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH…", help="Image files, or folders of them.")],
    container: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The box, album or envelope they lie in. Otherwise their folder's name."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Also those that were removed from the archive.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Index scans: JPEG, TIFF, PNG, WebP, HEIC and PDF files, folders with all that is in them.

    Every new file becomes a photograph; of a PDF, or another file with several pages, each page with a picture does.
    The files themselves are only read. Adding them again adds nothing; a file
    that was renamed or moved is recognised and keeps its code. It can be stopped at any time; run again, it goes on.
    """
    store = open_archive(archive)
    try:
        with progress_bar("Reading scans") as progress:
            result = store.add_scans(paths, container, progress, again=again)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. The scans read so far are kept; run the same command again to go on with the rest.")
        raise typer.Exit(130) from None
    answer(as_json, _as_document(result), lambda: _in_words(result))


@app.command("join")
def join(
    scans: Annotated[list[str], typer.Argument(metavar="SCAN SCAN…", help="Codes, paths, or the ends of paths.")],
    side: Annotated[
        str | None, typer.Option(metavar="recto|verso|detail", help="What the scans after the first one show.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make scans of one object (front and back, a rescan, a detail) one photograph: the first one named.

    Without --side, a scan is taken for the back (verso) when its name or its looks say so, and for the front again when
    it shows the same picture; when it looks like another picture, nothing is joined and you are asked to say.
    Links and statements of the others move to the first, and their codes go on to lead to it.
    """
    joined = open_archive(archive).join_scans(scans, side)
    document = {
        "photograph": joined.photograph,
        "scans": [{"path": path, "side": side} for path, side in joined.scans],
        "aliases": list(joined.aliases),
        "why": joined.why,
    }
    answer(as_json, document, lambda: _joined_in_words(joined))


@app.command("part")
def part(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take a scan out of its photograph and make it one of its own again.

    One that had a code before it was joined gets that back, with what had been recorded there.
    """
    parted = open_archive(archive).part_scan(scan)
    answer(
        as_json,
        {"photograph": parted.photograph, "taken_out_of": parted.taken_out_of, "scan": parted.scan},
        lambda: iter([f"{parted.scan} is {parted.photograph} now, no longer part of {parted.taken_out_of}."]),
    )


@app.command("turn")
def turn(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it; a code if it has one scan.")],
    way: Annotated[str, typer.Argument(metavar="left|right|over", help="A quarter turn to a side, or upside down.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn a scan that is shown on its side or upside down.

    Only the archive notes it: the file stays as it is. Faces framed on the front of a photograph turn with its first
    front scan. `kinphoto undo` turns everything back.
    """
    turned = open_archive(archive).turn_scan(scan, way)
    document = {
        "scan": turned.scan,
        "photograph": turned.photograph,
        "turn": turned.turn,
        "faces": turned.faces,
        "change": turned.change,
    }
    answer(as_json, document, lambda: iter([_turned_in_words(turned)]))


def _turned_in_words(turned: Turned) -> str:
    now = ("as its file has it", "turned right", "turned over", "turned left")[turned.turn]
    faces = {0: "", 1: " The face on it turned too."}.get(turned.faces, f" The {turned.faces} faces on it turned too.")
    return f"{turned.scan} ({turned.photograph}) is shown {now} now.{faces}"


def _as_document(result: ScansAdded) -> dict[str, object]:
    return {
        "seen": result.seen,
        "added": result.added,
        "unchanged": result.unchanged,
        "moved": len(result.moved),
        "changed": len(result.changed),
        "unreadable": [{"path": each.path, "why": each.why} for each in result.unreadable],
        "photographs": result.photographs,
        "moves": [{"from": old, "to": new} for old, new in result.moved],
        "new": [{"photograph": each.photograph, "path": each.path} for each in result.new],
        "paged": [
            {"path": each.path, "pages": each.pages, "photographs": list(each.photographs)} for each in result.paged
        ],
        "changes": [_filed(each) for each in result.changed],
        "vanished": [_filed(each) for each in result.vanished],
        "duplicates": [{"path": path, "of": original} for path, original in result.duplicates],
        "left_out": [{"path": one.path, "photograph": one.photograph, "change": one.change} for one in result.left_out],
    }


def _filed(each: FiledScan) -> dict[str, object]:
    return {"photograph": each.photograph, "path": each.path, "faces": each.faces}


def _in_words(result: ScansAdded) -> Iterator[str]:
    if not result.seen and not result.vanished:
        yield "There are no pictures there. kinphoto reads JPEG, TIFF, PNG, WebP, HEIC and PDF files."
        return
    photographs = counted(result.photographs, "photograph")
    added = f"{result.added} added: {result.codes}" if result.added else "0 added"
    yield f"{counted(result.seen, 'picture')} seen, {added}. The archive holds {photographs}."
    from kinphoto.archive.collection.scan_report import notes

    for heading, lines in notes(result):
        yield from _listed(heading, lines)


def _listed(heading: str, lines: list[str]) -> Iterator[str]:
    if not lines:
        return
    yield f"{heading} ({len(lines)}):"
    yield from (f"  {line}" for line in lines[:_SHOWN])
    if len(lines) > _SHOWN:
        yield f"  and {len(lines) - _SHOWN} more (all of them with --json)"


def _joined_in_words(joined: Joined) -> Iterator[str]:
    yield f"{joined.photograph} has these scans now:"
    yield from (f"  {side}: {path}" for path, side in joined.scans)
    if joined.why:
        yield f"Why: {joined.why}. If that is not so: kinphoto undo, and join them with --side."
    if joined.aliases:
        yield f"It also answers to {', '.join(joined.aliases)}."

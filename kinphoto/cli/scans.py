"""`kinphoto scans`: adding image files; joining the scans of one object, and separating them; turning them upright;
checking them (`scan_checks.py`)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli import captures, cutting, naming, pairing, scan_checks, watching
from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, shortened, warn
from kinphoto.cli.show import SIDES
from kinphoto.phrases import counted, listed

if TYPE_CHECKING:
    from kinphoto.archive.collection.joining import Joined
    from kinphoto.archive.collection.names_inside import NameInside
    from kinphoto.archive.collection.reading_inside import InsideTaken
    from kinphoto.archive.collection.relocating import FoundAgain
    from kinphoto.archive.collection.rotation import Turned
    from kinphoto.archive.collection.scans_added import ScansAdded
    from kinphoto.archive.collection.whereabouts import ScanFolder

app = typer.Typer(
    cls=Commands,
    no_args_is_help=True,
    help="Add scans; check them; join those of one object; turn them upright; name them.",
)
app.command("names")(naming.names)
app.command("rename")(naming.rename)
app.command("watch")(watching.watch)
app.command("pair")(pairing.pair)
app.command("cut")(cutting.cut)
app.command("straighten")(captures.straighten)
app.command("capture")(captures.capture)
app.command("compare")(captures.compare)

_SHOWN = 20  # lines of one kind before the rest is only counted


@app.command("add")
def add(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH…", help="Image files, or folders of them.")],
    container: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The box, album or envelope they are in; otherwise their folder's name."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Also add those that were removed from the archive.")] = False,
    check: Annotated[
        bool, typer.Option("--check", help="Check them in the same reading: see kinphoto scans check.")
    ] = False,
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
            result = store.scans.add(paths, container, progress, again=again, check=check)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. The scans read so far are kept; run the same command again to go on with the rest.")
        raise typer.Exit(130) from None
    answer(as_json, result, _added_lines(result))
    if check and not as_json:
        from kinphoto.cli.scan_checks import verdict_line

        print(verdict_line(store.scans.findings([str(path) for path in paths])))


@app.command("inside")
def inside(
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="A name as it stands in the files.")] = "",
    person: Annotated[str, typer.Argument(metavar="[PERSON]", help="Who it means: an id or a name.")] = "",
    words: Annotated[bool, typer.Option("--words", help="List titles, captions and dates instead of names.")] = False,
    again: Annotated[bool, typer.Option("--again", help="Read all files again; record what is new in them.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the names other programs wrote into your scans, or say who one of them is; or list words and dates.

    What stands in files, or in .xmp sidecars beside them, is recorded when scans are added, with "the file" as who told
    you: titles, captions, dates of exposure (never a day on which somebody may have scanned the picture), and everybody
    who is named, as somebody not identified yet. With NAME and PERSON, that person is named on every photograph whose
    file has the name, where the file says they are. With --again, all files are read once more, in case something was
    written into them since.
    """
    store = open_archive(archive)
    if name and (words or again):
        raise typer.BadParameter("give a name, or --words or --again, not both.")
    if again:
        with progress_bar("Reading the files") as progress:
            taken = store.scans.read_inside(progress)
        answer(as_json, taken, _taken_lines(taken))
    elif words:
        found = store.scans.written_words()
        lines = [f"{one.photograph}: {'; '.join([*one.texts, *([one.date] if one.date else [])])}" for one in found]
        answer(as_json, {"words": found}, lines or "The files of your scans say nothing about the pictures.")
    elif name:
        done = store.scans.take_names(name, person or name)
        lines = [f"{done.person.name} ({done.person.id}) is now named on {listed(done.photographs[:12]) or 'no more'}."]
        lines += [f"{one.photograph} is left as it was: {one.why}." for one in done.refused]
        answer(as_json, done, lines)
    else:
        names = store.scans.written_names()
        answer(as_json, {"names": names}, _name_lines(names))


def _taken_lines(taken: InsideTaken) -> Iterator[str]:
    if taken.change is None:
        yield "Nothing new is in the files of your scans."
    else:
        yield f"Recorded {taken.words}, as the files say."
        yield f"To undo all of it: kinphoto undo {taken.change}"
    for one in taken.refused:
        yield f"{one.photograph}: not recorded, as {one.why}."


def _name_lines(found: tuple[NameInside, ...]) -> Iterator[str]:
    if not found:
        yield "No name in the files of your scans still needs a person."
        return
    for one in found:
        who = f", perhaps {one.person.name} ({one.person.id})" if one.person else ""
        yield f"{one.name}: {counted(len(one.photographs), 'photograph')}, {one.framed} with a face{who}"
    yield "To say who a name means: kinphoto scans inside NAME PERSON."


@app.command("find")
def find(
    places: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[FOLDER]…", help="Where to look; if you name none, near where the scans were."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find scans again after their folder was moved or renamed, by their content.

    Names of files do not matter. Every scan keeps its photograph with all that is recorded; nothing new is added, and
    no file is touched. `kinphoto undo` undoes it.
    """
    store = open_archive(archive)
    with progress_bar("Comparing files") as progress:
        found = store.scans.find_again(places or [], progress)
    answer(as_json, found, _found_lines(found))


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
    way: Annotated[
        str,
        typer.Argument(
            metavar="left|right|over|mirror|positive|as-scanned",
            help="A quarter turn, upside down, left for right; or a negative as a positive, or as it was scanned.",
        ),
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn a scan that is shown on its side or upside down; mirror film that was scanned from its wrong side; show a
    negative as a positive.

    Only the archive records it: the file stays as it is. Faces framed on the front of a photograph turn with its first
    front scan. Colour negatives are recognised when they are added and shown as positives at once. `kinphoto undo`
    turns everything back.
    """
    turned = open_archive(archive).scans.turn(scan, way)
    answer(as_json, turned, _turned_line(turned))


for _command in (scan_checks.check, scan_checks.accept, scan_checks.floor):
    app.command(_command.__name__)(_command)


def _found_lines(found: FoundAgain) -> Iterator[str]:
    if not found.missing:
        yield "Every scan is where it was."
        return
    yield f"{counted(found.missing, 'scan')} missing, {len(found.found)} found."
    yield from shortened([f"{one.scans} in {one.new} (before: {one.old})" for one in found.folders], _SHOWN)
    if found.still_missing:
        yield f"Still missing ({len(found.still_missing)}):"
        lines = [
            f"{one.path} ({one.photograph})"
            + (f"; {one.namesake} has the same name but other content" if one.namesake else "")
            for one in found.still_missing
        ]
        yield from shortened(lines, _SHOWN)
        yield f"Searched: {listed(list(found.searched))}. To look elsewhere: kinphoto scans find FOLDER"
    for problem in found.unreadable[:_SHOWN]:
        yield f"Could not be read: {problem.path}: {problem.why}"


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
    parts = ["mirrored"] * turned.mirrored + ["", "turned right", "turned over", "turned left"][turned.turn :][:1]
    parts = [part for part in parts if part] or ["as it is in its file"]
    now = " and ".join(parts + ["as a positive"] * turned.positive)
    faces = {0: "", 1: " The face on it turned too."}.get(turned.faces, f" The {turned.faces} faces on it turned too.")
    return f"{turned.scan} ({turned.photograph}) is now shown {now}.{faces}"


_NEXT = "Next: kinphoto scans pair, to join backs to their fronts; kinphoto serve, to name faces in a browser."


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
    if result.added and result.added == result.photographs:  # the first ones
        yield _NEXT


def _joined_lines(joined: Joined) -> Iterator[str]:
    yield f"{joined.photograph} now has these scans:"
    yield from (f"  {SIDES[side]}: {path}" for path, side in joined.scans)
    if joined.why:
        yield f"Why: {joined.why}. If that is not so: kinphoto undo, and join them with --side."
    if joined.aliases:
        yield f"You can also find it as {listed(joined.aliases)}."

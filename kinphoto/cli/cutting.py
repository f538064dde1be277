"""`kinphoto scans cut`: several prints on the glass, cut apart into one file each."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.bed_outlines import BedOutlines, PrintOutline
    from kinphoto.archive.collection.cutting import BedsCut


def cut(
    scans: Annotated[list[str], typer.Argument(metavar="SCAN…", help="Codes, paths, or the ends of paths.")],
    theme: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="What the new names begin with; otherwise the same as the scan's own name."),
    ] = None,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FOLDER", help="Where the parts go; otherwise `cut` beside the scan.")
    ] = None,
    plan: Annotated[bool, typer.Option("--plan", help="Cut nothing; show what is on it. Keeps --outline.")] = False,
    outline: Annotated[
        list[str] | None,
        typer.Option(
            "--outline", metavar="LEFT,TOP,WIDTH,HEIGHT,TURN",
            help="A print on it, by hand: millimetres, and degrees clockwise around its middle. Repeat for each print.",
        ),
    ] = None,
    caption: Annotated[
        list[str] | None,
        typer.Option("--caption", metavar="WORDS", help="What is written beside the first --outline; repeat for each."),
    ] = None,
    anew: Annotated[bool, typer.Option("--anew", help="Drop outlines drawn by hand, and find them again.")] = False,
    unsure: Annotated[bool, typer.Option("--unsure", help="Also cut where an outline is unsure.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:  # fmt: skip
    """Cut apart a scan with several prints on it: each print becomes a photograph of its own, upright and straight.

    The scan stays as it is. The parts are new TIFF files in a folder of their own, with the scan's resolution and
    depth, 2 mm of the glass around each print, and the next numbers of its theme. Where prints touch, or a white border
    does not show on a white lid, the scan is left alone and the page Cut apart (`kinphoto serve`) shows the outlines to
    be corrected; --outline does the same by numbers. `kinphoto undo` takes the parts out of the archive again; their
    files stay.

    An album page is cut in the same way: the page stays as a whole, the prints are parts of it in its order, and the
    words beside each (--caption) become words on that photograph. When a print is scanned by itself later, `scans pair`
    proposes it for its place on the page.
    """
    from dataclasses import replace

    from kinphoto.errors import InvalidValueError

    store = open_archive(archive).scans
    if (outline or anew) and len(scans) != 1:
        raise InvalidValueError("outlines can be given for one scan only", remedy="Name one scan only.")
    drawn = [_outline(text) for text in outline or []]
    if len(caption or ()) > len(drawn):
        raise InvalidValueError(
            "there are more captions than outlines", remedy="Give an --outline for each, in the order of the page."
        )
    captions = [*(caption or ()), *[""] * len(drawn)]
    drawn = [replace(one, caption=words) for one, words in zip(drawn, captions, strict=False)]
    if anew or (plan and drawn):
        store.set_outlines(scans[0], drawn)
    if plan:
        found = [store.outlines(scan) for scan in scans]
        answer(as_json, {"beds": found}, [line for bed in found for line in _bed_lines(bed)])
        return
    with progress_bar("Cutting apart") as progress:
        done = store.cut(scans, theme, to, progress, unsure=unsure, drawn=drawn)
    answer(as_json, done, _lines(done))


def _outline(text: str) -> PrintOutline:
    from kinphoto.archive.collection.bed_outlines import PrintOutline
    from kinphoto.errors import InvalidValueError

    try:
        left, top, width, height, turn = (float(each) for each in f"{text},0".split(",")[:5])
        return PrintOutline(left, top, width, height, turn)
    except ValueError as problem:
        raise InvalidValueError(
            f"'{text}' is not an outline",
            remedy="Give left, top, width and height in millimetres, and degrees: 12,15,90,60,1.5",
        ) from problem


def _bed_lines(bed: BedOutlines) -> Iterator[str]:
    by = ", drawn by hand" if bed.by_hand else ""
    guessed = "" if bed.stated else "; its file states no resolution, so an A4 glass is assumed"
    yield f"{bed.photograph}  {bed.scan}: {counted(len(bed.outlines), 'print')}{by}{guessed}"
    for number, each in enumerate(bed.outlines, 1):
        words = f"{each.photograph}" if each.photograph else "; ".join(each.doubts) or "sure"
        yield (
            f"  {number}: {each.width:.0f} × {each.height:.0f} mm at {each.left:.0f}, {each.top:.0f}, turned "
            f"{each.turn:.1f}°. {words[:1].upper()}{words[1:]}." + (f' "{each.caption}"' if each.caption else "")
        )
    for thing in bed.left:
        size, at = f"{thing.width:.0f} × {thing.height:.0f} mm", f"{thing.left:.0f}, {thing.top:.0f}"
        yield f"  Outside every outline: something of {size} at {at}."
    if bed.problem:
        yield f"  {bed.problem[:1].upper()}{bed.problem[1:]}."


def _lines(done: BedsCut) -> Iterator[str]:
    for bed in done.beds:
        prints = counted(len(bed.parts), "print")
        yield f"{bed.photograph}  {Path(bed.scan).name}: {prints}, {bed.covered:.0f} % of the picture"
        for part in bed.parts:
            yield f"  {part.photograph}  {part.scan}  ({part.outline.width:.0f} × {part.outline.height:.0f} mm)"
        if bed.strip:
            yield (
                "  If these are frames of one strip of film, recording that dates them by each other: "
                f"kinphoto relate {bed.strip[0]} same-strip {' '.join(bed.strip[1:])}"
            )
        if bed.left:
            things = counted(len(bed.left), "thing")
            yield f"  Left on it: {things} outside every outline. See where: kinphoto scans cut {bed.photograph} --plan"
    for each in done.not_cut:
        yield f"{each.photograph}  {Path(each.scan).name} was left alone: {each.why}."
    if done.not_cut:
        yield "To see and correct outlines: the page Cut apart (kinphoto serve), or --plan and --outline."
    if done.change is not None:
        yield f"To undo this: kinphoto undo {done.change}"

"""`kinphoto give`: what leaves the archive, and for whom; what of the living may is in `consents.py`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli import consents
from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, shortened
from kinphoto.phrases import counted, listed

if TYPE_CHECKING:
    from kinphoto.archive.giving.copies import CopiesWritten
    from kinphoto.archive.giving.prints import PrintsWritten
    from kinphoto.archive.giving.selection import Report, Wanted
    from kinphoto.archive.giving.sheets import PaperWritten
    from kinphoto.archive.giving.site import SiteWritten

app = typer.Typer(
    cls=Commands,
    no_args_is_help=True,
    help="Give photographs to relatives or the public, with names and dates; of the living only what they agreed to.",
)
for _command in (
    consents.audience, consents.consent, consents.clear, consents.consents, consents.revoke, consents.private,
):  # fmt: skip
    app.command(_command.__name__)(_command)

Filled = Annotated[Path, typer.Argument(metavar="FOLDER", help="A new folder, or one that this command filled.")]
For = Annotated[
    str,
    typer.Option(
        "--for", metavar="AUDIENCE", help="household, public, or a group of relatives: kinphoto give audience."
    ),
]
Photographs = Annotated[
    list[str] | None, typer.Argument(metavar="[PHOTO]...", help="Codes such as K00042, or scans; all if you name none.")
]
Of = Annotated[str, typer.Option("--of", metavar="PERSON", help="Only photographs this person is in.")]
Branch = Annotated[
    str,
    typer.Option(
        "--branch",
        metavar="PERSON",
        help="Only photographs of this person, everybody descended from them, and those they married.",
    ),
]
Box = Annotated[str, typer.Option("--box", metavar="CONTAINER", help="Only what is in this box or album.")]
Write = Annotated[
    bool, typer.Option("--write", help="Write it. Without this you are shown what would go and what stays, and why.")
]


@app.callback()
def give() -> None:
    """Give photographs to relatives or the public, with names and dates, and nothing about the living unless they
    agreed."""


def wanted(photographs: list[str] | None, of: str, branch: str, box: str) -> Wanted:
    """What somebody wants to give, from the options that all outputs share."""
    from kinphoto.archive.giving.selection import Wanted

    return Wanted(tuple(photographs or ()), of, branch, box)


@app.command("report")
def report(
    for_: Annotated[str, typer.Argument(metavar="AUDIENCE", help="household, public, or a group of relatives.")],
    photographs: Photographs = None,
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what would go to an audience, and what is held back and why. Nothing is written."""
    found = open_archive(archive).give.report(for_, wanted(photographs, of, branch, box))
    answer(as_json, found, report_lines(found))


_SHOWN = 12


def report_lines(found: Report) -> Iterator[str]:
    """A report for a reader: the counts, then each photograph that stays, with why."""
    yield from found.lines
    if found.held_back:
        yield from shortened([f"{one.photograph} stays: {one.why}." for one in found.held_back], _SHOWN)


@app.command("copies")
def copies(
    folder: Filled,
    for_: For,
    photographs: Photographs = None,
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    where: Annotated[
        str,
        typer.Option(
            "--metadata",
            metavar="WHERE",
            help="inside the copies (as usual), beside them in .xmp files, or alone: .xmp files without pictures.",
        ),
    ] = "inside",
    edge: Annotated[
        int | None,
        typer.Option("--edge", metavar="PIXELS", help="Small enough to email: the longest edge, such as 2048."),
    ] = None,
    keep: Annotated[
        list[str] | None,
        typer.Option(
            "--keep",
            metavar="FIELD",
            help="An EXIF field of the scan to keep, such as Model; can be repeated. All others are removed.",
        ),
    ] = None,
    write: Write = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give copies of scans, with names, faces, dates and words inside for other programs to read.

    Pictures keep their full size, and no pixel is touched. What cameras, scanners and programs wrote into the files is
    removed. Run it again to bring the folder up to date: what may no longer go is removed from it.
    """
    from kinphoto.archive.giving.copies import CopyOptions

    options = CopyOptions(where, edge, tuple(keep or ()))
    opened = open_archive(archive)
    with progress_bar("Writing copies") as progress:
        done = opened.give.write_copies(
            folder, for_, wanted(photographs, of, branch, box), options, write=write, progress=progress
        )
    answer(as_json, done, _copies_lines(done))


def _copies_lines(done: CopiesWritten) -> Iterator[str]:
    yield from report_lines(done.report)
    if not done.done:
        yield NOTHING_WRITTEN
        return
    yield _written(done.folder, done.written, done.unchanged, done.removed)
    if done.shortened:
        yield (
            "Something was left out, because a JPEG holds no more (with --metadata beside nothing is): "
            f"{listed(done.shortened[:8])}."
        )
    if done.converted:
        yield f"Converted to JPEG, because the picture cannot be taken out of its file: {listed(done.converted[:8])}."
    if done.sidecars:
        yield f"With names and dates in .xmp files beside the pictures: {counted(len(done.sidecars), 'photograph')}."
    yield from (f"{one.photograph} could not be given: {one.why}." for one in done.unusable)


NOTHING_WRITTEN = "Nothing has been written. To write it, add --write."


def _written(where: str, written: int, unchanged: int, removed: int) -> str:
    """ "12 files written to /media/stick, 40 unchanged." """
    parts = [f"{counted(written, 'file')} written to {where}"]
    parts += [f"{unchanged:,} unchanged"] if unchanged else []
    parts += [f"{removed:,} removed, because they no longer go"] if removed else []
    return f"{', '.join(parts)}."


@app.command("sheet")
def sheet(
    file: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="The PDF to write.")],
    whom: Annotated[str, typer.Option("--ask", metavar="NAME", help="Who is asked, such as 'Aunt Edda'.")],
    for_: For,
    photographs: Photographs = None,
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    sender: Annotated[
        str, typer.Option("--back-to", metavar="TEXT", help="Your name and address, to send it back to.")
    ] = "",
    answers: Annotated[
        Path | None,
        typer.Option(
            "--answers", metavar="FILE.csv", help="Also a spreadsheet for the names, which link --from reads."
        ),
    ] = None,
    most: Annotated[int, typer.Option("--most", metavar="N", help="The most photographs to put on it.")] = 12,
    write: Write = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make sheets on paper to ask somebody: photographs large, faces numbered, questions in large print.

    Without PHOTO, those most worth asking this person about come first. A sheet shows no date that was worked out
    and suggests no name.
    """
    opened = open_archive(archive)
    with progress_bar("Drawing sheets") as progress:
        done = opened.give.write_sheets(
            file, whom, for_, wanted(photographs, of, branch, box), sender=sender, answers=answers, most=most,
            write=write, progress=progress,
        )  # fmt: skip
    answer(as_json, done, _paper_lines(done, "sheet"))


@app.command("labels")
def labels(
    file: Annotated[Path, typer.Argument(metavar="FILE.pdf", help="The PDF to write.")],
    photographs: Photographs = None,
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    boxes: Annotated[bool, typer.Option("--boxes", help="One for each box or album instead.")] = False,
    for_: For = "household",
    write: Write = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make labels for sleeves and boxes, 24 on a page. Stick nothing on a photograph.

    On the back of a photograph write with a soft pencil only, and only on uncoated paper.
    """
    done = open_archive(archive).give.write_labels(
        file, wanted(photographs, of, branch, box), boxes=boxes, audience=for_, write=write
    )
    answer(as_json, done, _paper_lines(done, "label"))


def _paper_lines(done: PaperWritten, one: str) -> Iterator[str]:
    yield from report_lines(done.report)
    if not done.done:
        yield f"{counted(len(done.photographs), 'photograph')} would be on paper: {listed(done.photographs[:12])}."
        yield NOTHING_WRITTEN
        return
    yield f"{done.path} is written: {one}s of {counted(len(done.photographs), 'photograph')}."
    if done.answers:
        yield f"Type the names into {done.answers}; then: kinphoto link --from {done.answers} --keep-going"
    if done.unreadable:
        yield f"Left out, because their scans cannot be read: {listed(done.unreadable)}."


@app.command("site")
def site(
    folder: Filled,
    for_: For,
    photographs: Photographs = None,
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    title: Annotated[str, typer.Option("--title", metavar="TEXT", help="What it is called.")] = "Family photographs",
    rights_asked: Annotated[
        bool,
        typer.Option(
            "--rights-asked",
            help="You have asked whoever holds the copyright of studio portraits, or need not. Without this they stay.",
        ),
    ] = False,
    write: Write = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a folder of pages and pictures for a USB stick or a web host: years, people, stories and a search.

    Open its index.html. Nothing has to be installed, and it works without a connection. Run it again to bring it up to
    date: what may no longer go is removed.
    """
    opened = open_archive(archive)
    with progress_bar("Making pictures") as progress:
        done = opened.give.write_site(
            folder, for_, wanted(photographs, of, branch, box), title=title, rights_asked=rights_asked, write=write,
            progress=progress,
        )  # fmt: skip
    answer(as_json, done, _site_lines(done))


def _site_lines(done: SiteWritten) -> Iterator[str]:
    yield from report_lines(done.report)
    if done.studio:
        yield (
            f"{counted(len(done.studio), 'photograph')} by a photographer or studio would stay, because the copyright "
            "is usually theirs: ask them, record it (kinphoto describe PHOTO --rights TEXT), or add --rights-asked."
        )
    if not done.done:
        yield NOTHING_WRITTEN
        return
    yield _written(done.folder, done.written, done.unchanged, done.removed)
    yield from (f"{one.photograph} could not be given: {one.why}." for one in done.unusable)
    yield f"Open {done.folder}/index.html."


@app.command("prints")
def prints(
    photographs: Photographs = None,
    for_: For = "household",
    of: Of = "",
    branch: Branch = "",
    box: Box = "",
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FOLDER", help="Make files to be printed, in a folder of their own.")
    ] = None,
    size: Annotated[
        str, typer.Option("--size", metavar="SIZE", help="In centimetres: 10x15, 13x18, 20x25 or 30x40.")
    ] = "10x15",
    fit: Annotated[
        str, typer.Option("--fit", metavar="HOW", help="crop to the proportions of the size, or border: all of it.")
    ] = "crop",
    positives: Annotated[
        bool,
        typer.Option(
            "--positives", help="Turn scans of negatives into positives, where you recorded that they are negatives."
        ),
    ] = False,
    write: Write = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show which print sizes the scans are good enough for, or make files of one size.

    No face is cut, 3 mm are allowed at each edge for trimming, and nothing is made larger than it was scanned.
    """
    opened = open_archive(archive)
    with progress_bar("Making prints") as progress:
        done = opened.give.write_prints(
            for_, wanted(photographs, of, branch, box), folder=to, size=size, fit=fit, positives=positives,
            write=write, progress=progress,
        )  # fmt: skip
    answer(as_json, done, _print_lines(done))


_MOST_PRINTS = 40


def _print_lines(done: PrintsWritten) -> Iterator[str]:
    if done.folder is None:
        lines = [
            f"{one.photograph}: {f'up to {one.largest} cm' if one.largest else 'too few pixels for 10x15 cm'}"
            f" ({', '.join(f'{size.size} {size.ppi} ppi' for size in one.sizes)})"
            for one in done.printable
        ]
        yield from shortened(lines, _MOST_PRINTS)
        return
    yield from report_lines(done.report)
    if not done.done:
        yield NOTHING_WRITTEN
        return
    yield _written(done.folder, done.written, done.unchanged, done.removed)
    if done.bordered:
        yield f"With a border, because cropping would have cut a face: {listed(done.bordered[:12])}."
    if done.too_small:
        yield f"Left out, because their scans have too few pixels for this size: {listed(done.too_small[:12])}."
    yield from (f"{one.photograph} could not be given: {one.why}." for one in done.unusable)

"""`kinphoto scans straighten`, `capture` and `compare`: prints that were photographed instead of scanned."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, shortened
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.better import Comparison
    from kinphoto.archive.collection.straightening import PrintCapture, PrintCaptures, Straightened

_SHOWN = 40


def straighten(
    scan: Annotated[
        str | None,
        typer.Argument(
            metavar="[SCAN]", help="Its path, or the end of it; a code if it has one scan.", show_default=False
        ),
    ] = None,
    corners: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,X,Y,X,Y,X,Y",
            help="The corners of the print by hand, in any order: per cent of the width and height of the picture as "
            "its file shows it, from the top left.",
        ),
    ] = None,
    sure: Annotated[bool, typer.Option("--sure", help="Straighten all whose corners are sure, as one change.")] = False,
    as_taken: Annotated[bool, typer.Option("--as-taken", help="Show it as it was taken; offer it no more.")] = False,
    plan: Annotated[bool, typer.Option("--plan", help="Change nothing; say where the corners are.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:  # fmt: skip
    """Show a photograph of a print straight, as if it had been scanned.

    Where a print was photographed with a phone, its four corners are looked for; only what lies between them is shown,
    as a rectangle with the print's own proportions. Only the archive records it: the file stays as it is, and framed
    faces stay on the faces. Without a scan the command lists the photographs of prints and what was found on them (run
    `kinphoto scans check` first). Corners that are unsure are set by hand: --corners, or the page Straighten
    (`kinphoto serve`). To undo it: `kinphoto undo`.
    """
    from kinphoto.errors import InvalidValueError

    store = open_archive(archive).scans
    several = sum(map(bool, (corners, sure, as_taken, plan))) > 1
    if several or (sure and scan) or (scan is None and (corners or as_taken)):
        raise InvalidValueError(
            "that does not say what to straighten",
            remedy="Name one scan, and one of --corners, --as-taken and --plan at most; or --sure for all.",
        )
    if sure:
        done = store.straighten_sure()
        answer(as_json, done, _done_lines(done))
    elif scan is None:
        found = store.captures()
        answer(as_json, found, _found_lines(found))
    elif plan:
        one = store.capture(scan)
        answer(as_json, {"captures": [one], "perhaps": 0}, [_line(one), *_corner_lines(one)])
    else:
        done = store.show_as_taken(scan) if as_taken else store.straighten(scan, _corners(corners) if corners else ())
        answer(as_json, done, _done_lines(done))


def capture(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it; a code if it has one scan.")],
    said: Annotated[
        str,
        typer.Argument(
            metavar="yes|no|file", help="It is a photograph of a print; it is not; or leave it to its file."
        ),
    ] = "yes",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:  # fmt: skip
    """Say that a scan is a photograph taken of a print, or that it is not.

    kinphoto recognises one by itself where the file names a camera and a print shows clearly in the picture. Pictures
    sent by a messenger have lost that, so mark them here. A photograph of a print is checked with limits of its own
    (`kinphoto scans check`) and can be straightened (`kinphoto scans straighten`). To undo it: `kinphoto undo`.
    """
    done = open_archive(archive).scans.say_capture(scan, said)
    answer(as_json, done, _done_lines(done))


def compare(
    one: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it; a code if it has one scan.")],
    other: Annotated[str, typer.Argument(metavar="OTHER", help="The other one.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compare two scans of one print, or a scan and a photograph of it: which is better, and why.

    Pixels along the print, sharpness, glare, lost tones and the angle it was taken at, where the checks measured them
    (`kinphoto scans check`). Nothing is changed: to put the better one in front, use `kinphoto scans pair` or `kinphoto
    replace`.
    """
    found = open_archive(archive).scans.compare(one, other)
    answer(as_json, found, _compared_lines(found))


def _corners(text: str) -> list[tuple[float, float]]:
    from kinphoto.errors import InvalidValueError

    try:
        numbers = [float(each) / 100 for each in text.replace(";", ",").replace(" ", ",").split(",") if each]
    except ValueError:
        numbers = []
    if len(numbers) != 8:
        raise InvalidValueError(
            f"'{text}' is not four corners",
            remedy="Give how far across and down each corner is, in per cent: --corners 12,9,88,11,86,93,10,90.",
        )
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _line(one: PrintCapture) -> str:
    why = f" ({'; '.join(one.doubts)})" if one.doubts else ""
    return f"{one.photograph}  {Path(one.scan).name}: {one.words}{why}"


def _corner_lines(one: PrintCapture) -> Iterator[str]:
    if one.corners:
        yield "  Corners: " + ", ".join(f"{100 * x:.1f},{100 * y:.1f}" for x, y in one.corners)
        if one.lens:
            yield f"  Proportions from the lens ({one.lens:g} mm) and the corners."
        else:
            yield "  Proportions from the corners and a typical phone's lens, as the file names none: they may be off."


def _found_lines(found: PrintCaptures) -> Iterator[str]:
    if not found.captures:
        yield "No photographs of prints are known. To say that a scan is one: kinphoto scans capture SCAN"
    yield from shortened([_line(one) for one in found.captures], _SHOWN)
    if found.perhaps:
        yield f"{counted(found.perhaps, 'photograph')} by a camera may show a print: kinphoto scans capture SCAN yes"
    if any(one.state == "offered" for one in found.captures):
        yield "To straighten all whose corners are sure: kinphoto scans straighten --sure"
    if any(one.state in ("unsure", "none") for one in found.captures):
        yield "To set corners by hand: the page Straighten (kinphoto serve), or --corners."


def _done_lines(done: Straightened) -> Iterator[str]:
    if not done.captures:
        yield "There is nothing to straighten whose corners are sure."
    for one in done.captures:
        if one.state in ("straight", "as-taken"):
            yield _line(one)
        else:
            said = "a photograph of a print" if one.capture else "not a photograph of a print"
            yield f"{one.photograph}  {Path(one.scan).name} is {said}" + ("." if one.said else ", as its file says.")
    if done.faces:
        yield f"{counted(done.faces, 'framed face')} moved with it."
    if done.change is not None:
        yield f"To undo this: kinphoto undo {done.change}"


def _compared_lines(found: Comparison) -> Iterator[str]:
    names = {"one": Path(found.one).name, "other": Path(found.other).name}
    if found.same is False:
        yield "These two do not look like the same picture."
    for each in found.compared:
        better = f" (better: {names[each.better]})" if each.better else ""
        yield f"{each.what[:1].upper()}{each.what[1:]}: {each.one} / {each.other}{better}"
    if found.why:
        yield f"{Path(found.better).name} is better: {found.why}."
    else:
        yield "They hardly differ."

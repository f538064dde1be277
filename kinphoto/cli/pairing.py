"""`kinphoto scans pair`: fronts and backs, rescans and copies of a whole folder at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, shortened
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.pairing import Confirmed, Proposal, Proposals

_SHOWN = 20
_HEADINGS = {
    "back": ("front and back", "fronts and backs"),
    "rescan": ("scan made again", "scans made again"),
    "negative": ("other print of one negative", "other prints of one negative"),
    "copy": ("photograph taken of a print", "photographs taken of prints"),
}


def pair(
    where: Annotated[
        str | None, typer.Argument(metavar="[WHERE]", help="A folder or box; otherwise all.", show_default=False)
    ] = None,
    order: Annotated[
        str, typer.Option(metavar="name|time", help="Whether backs follow their fronts by file name or by time.")
    ] = "name",
    join: Annotated[bool, typer.Option("--join", help="Join all pairs that are sure, as one change.")] = False,
    yes: Annotated[
        list[str] | None, typer.Option("--yes", metavar="KEY", help="Confirm this pair; repeat for more.")
    ] = None,
    no: Annotated[
        list[str] | None, typer.Option("--no", metavar="KEY", help="These do not belong together; repeat for more.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Offer fronts and backs, scans made again, and other prints of a picture, for a whole folder at once.

    By name, by the order of scanning (each back after its front, or all backs last, from either end) and by what they
    look like. Nothing is joined until you confirm it: --join takes those that are sure, --yes and --no single ones.
    Where you know better what two scans of one picture are, give the key another first word: `rescan` (the same print
    again), `negative` (another print of one negative) or `copy` (the second was taken of the first).
    The page *Fronts and backs* (`kinphoto serve`) shows them side by side. `kinphoto undo` separates them again.
    """
    scans = open_archive(archive).scans
    done: Confirmed | None = None
    if no:
        scans.reject_pairs(no)
    if yes:
        done = scans.confirm_pairs(yes)
    if join:
        done = scans.confirm_sure_pairs(where, order)
    found = scans.pairs(where, order)
    if as_json:
        from kinphoto.cli.documents import document

        answer(True, {**document(found), "confirmed": done}, ())
        return
    answer(False, found, _lines(found, done))


def _lines(found: Proposals, done: Confirmed | None) -> Iterator[str]:
    if done is not None:
        yield f"{counted(done.joined, 'pair')} confirmed." + (
            f" To undo this: kinphoto undo {done.change}" if done.change else ""
        )
    for kind, (one, many) in _HEADINGS.items():
        of_kind = [each for each in found.proposals if each.kind == kind]
        for sure in (True, False):
            some = [each for each in of_kind if each.sure is sure]
            if some:
                yield f"{counted(len(some), one, many)}, {'sure' if sure else 'to be looked at'}:"
                yield from shortened([_line(each) for each in some], _SHOWN)
    if found.unpaired:
        yield f"{counted(len(found.unpaired), 'scan looks like a back', 'scans look like backs')} without a front:"
        yield from shortened([Path(path).name for path in found.unpaired], _SHOWN)
    if found.left_out:
        yield f"{counted(found.left_out, 'pair')} that may show one picture were not compared: name a box or a folder."
    if any(each.sure for each in found.proposals):
        yield "To join all that are sure: the same command with --join. To see them side by side: kinphoto serve"
    elif not found.proposals and done is None:
        yield "There is nothing to pair."


def _line(each: Proposal) -> str:
    names = f"{Path(each.one.path).name} + {Path(each.other.path).name}"
    return f"{names}  ({each.one.photograph}, {each.other.photograph}): {each.why}  [{each.key}]"

"""`kinphoto scans check`, `accept` and `floor`: whether each scan is good, and what counts as good."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.resolution_floors import ResolutionFloor
    from kinphoto.archive.collection.scan_checks import AcceptedFinding, CheckedScan, Finding, ScansChecked

_SHOWN = 50  # scans in words before the rest are only counted


def check(
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WHAT]…", help="Codes, scans, folders or boxes; all scans if you name none."),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also show notes, accepted findings and every scan, however many there are.")
    ] = False,
    again: Annotated[bool, typer.Option("--again", help="Measure again what was measured before.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check scans: resolution, sharpness, tones, glare, tilt, cut edges, dirty glass, compression and more.

    Each finding comes with what was measured, the limit and where it comes from, and what to do. It is about the scan:
    a soft or faded print is not its fault. A file that has not changed is measured once. Files are only read.

    If the original is like that, accept the finding (kinphoto scans accept) and it is not brought up again.
    """
    store = open_archive(archive)
    try:
        with progress_bar("Checking scans") as progress:
            result = store.scans.check(what or [], progress, again=again)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. What was measured so far is kept; run the same command again to go on.")
        raise typer.Exit(130) from None
    answer(as_json, result, _lines(result, everything=everything))


def accept(
    scan: Annotated[str, typer.Argument(metavar="SCAN", help="Its path, or the end of it; a code if it has one scan.")],
    kind: Annotated[
        str, typer.Argument(metavar="FINDING", help="Which finding, as `scans check` names it in brackets.")
    ],
    why: Annotated[str, typer.Option(metavar="TEXT", help="Why, in your words.")] = "the original is like that",
    take_back: Annotated[bool, typer.Option("--take-back", help="It is not accepted after all.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Accept a finding about a scan, so that it is not brought up again: the original is like that.

    To see it again: kinphoto undo, or --take-back.
    """
    done = open_archive(archive).scans.accept(scan, kind, why, take_back=take_back)
    answer(as_json, done, _accepted_line(done))


def floor(
    original: Annotated[
        str | None,
        typer.Argument(metavar="[ORIGINAL]", help="For what: print, small-print, film-35mm, film, page, back."),
    ] = None,
    ppi: Annotated[float | None, typer.Argument(metavar="[PPI]", help="The fewest pixels per inch.")] = None,
    usual: Annotated[bool, typer.Option("--usual", help="Back to the usual one.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the minimum resolution for each kind of original, or set one: kinphoto scans floor small-print 800."""
    from kinphoto.errors import InvalidValueError

    scans = open_archive(archive).scans
    if original is None:
        found = scans.floors()
    elif ppi is None and not usual:
        raise InvalidValueError("no resolution was given", remedy="Give pixels per inch, such as 600, or --usual.")
    else:
        found = scans.set_floor(original, None if usual else ppi)
    answer(as_json, {"floors": found}, _floor_lines(found))


def _lines(result: ScansChecked, *, everything: bool) -> Iterator[str]:
    if not result.checked:
        yield "There are no scans yet. Add them: kinphoto scans add FOLDER."
        return
    now = f" ({result.measured} measured now)" if result.measured != result.checked else ""
    yield f"{counted(result.checked, 'scan')} checked{now}: {_verdicts(result)}."
    wanted = [scan for scan in result.scans if everything or scan.verdict != "good"]
    for scan in wanted if everything else wanted[:_SHOWN]:
        yield ""
        yield from _scan_lines(scan, everything=everything)
    if not everything and len(wanted) > _SHOWN:
        yield ""
        yield f"and {len(wanted) - _SHOWN} more (--all shows them)"
    for problem in result.unreadable:
        yield ""
        yield f"{problem.path}: cannot be read. {problem.why[:1].upper()}{problem.why[1:]}."


def verdict_line(result: ScansChecked) -> str:
    """What was found, counted."""
    return f"Checked: {_verdicts(result)}. What was found: kinphoto scans check."


def _verdicts(result: ScansChecked) -> str:
    parts = [
        (result.redo, "to scan again"), (result.look, "to look at"), (result.good, "good"),
        (len(result.unreadable), "unreadable"),
    ]  # fmt: skip
    return ", ".join(f"{number} {word}" for number, word in parts if number) or "nothing found"


def _scan_lines(scan: CheckedScan, *, everything: bool) -> Iterator[str]:
    back = " (back)" if scan.side == "verso" else ""
    yield f"{scan.photograph}  {scan.scan}{back}"
    shown: Sequence[Finding] = (
        scan.findings if everything else [each for each in scan.findings if not each.accepted and each.weight != "note"]
    )
    for each in shown:
        accepted = f" Accepted{f': {each.why}' if each.why else ''}." if each.accepted else ""
        yield f"  {each.title[:1].upper()}{each.title[1:]} [{each.kind}]: {each.measured}.{accepted}"
        if not each.accepted:
            yield f"    Limit: {each.limit} ({each.source})."
            yield f"    {each.remedy}"
    across, up = scan.largest_print
    yield f"  Largest good print: {across:g} × {up:g} cm at 300 ppi."


def _accepted_line(done: AcceptedFinding) -> str:
    if done.change is None:
        return f"{done.photograph}: that was {'accepted' if done.accepted else 'not accepted'} already."
    if done.accepted:
        return f"{done.photograph}: “{done.title}” is not brought up again."
    return f"{done.photograph}: “{done.title}” is shown again."


def _floor_lines(found: Sequence[ResolutionFloor]) -> Iterator[str]:
    width = max(len(each.original) for each in found)
    for each in found:
        own = f" (usually {each.usual:g})" if each.ppi != each.usual else ""
        yield f"{each.original.ljust(width)}  {each.ppi:>5g} ppi{own}  {each.title}: {each.source}"

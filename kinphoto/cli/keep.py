"""`kinphoto keep`: copies of the archive elsewhere, and getting it back from one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.give import report_lines
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, shortened, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.giving.deposit import DepositMade
    from kinphoto.archive.keeping.backup import BackedUp
    from kinphoto.archive.keeping.fixity import Verified
    from kinphoto.archive.keeping.package import PackageMade
    from kinphoto.archive.keeping.restoring import Restored
    from kinphoto.archive.keeping.state import KeepState

app = typer.Typer(cls=Commands, no_args_is_help=True, help="Back the archive up, restore it, pack it, check its scans.")

_SHOWN = 20  # lines of one kind before the rest is only counted


@app.command("backup")
def backup(
    target: Annotated[
        Path | None,
        typer.Argument(
            metavar="FOLDER", help="Where to, best on another disk; otherwise the folder used last.", show_default=False
        ),
    ] = None,
    without_scans: Annotated[
        bool, typer.Option("--without-scans", help="Leave the scans out: only what you recorded about them.")
    ] = False,
    check: Annotated[
        bool, typer.Option("--check", help="Also read every copy that is there already, and mend what is damaged.")
    ] = False,
    daily: Annotated[
        bool | None,
        typer.Option("--daily/--no-daily", help="Have `kinphoto serve` make one a day there, or stop doing so."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the archive and its scans to another disk. You can go on working meanwhile.

    Only what is new is copied, so the second time is quick, and nothing that is there is ever replaced. Each copy is
    read back and compared. For a week one backup a day is kept, for a month one a week, after that one a month; the
    copies of scans are all kept. `kinphoto keep restore` gets everything back.
    """
    store = open_archive(archive)
    with progress_bar("Copying") as progress:
        done = store.keep.back_up(target, progress, scans=not without_scans, check=check)
    if daily is not None:
        store.keep.set_daily(wanted=daily, target=target)
    answer(as_json, done, _backup_lines(done, without_scans=without_scans))
    if daily:
        warn("kinphoto serve will make a backup there once a day, when the disk is plugged in.")
    _warn_of(done)


@app.command("restore")
def restore(
    source: Annotated[
        Path, typer.Argument(metavar="BACKUP", help="The folder of the backups (the newest is used), or one of them.")
    ],
    folder: Annotated[Path, typer.Argument(metavar="NEW-FOLDER", help="Where to make the archive; a new folder.")],
    all_scans: Annotated[
        bool,
        typer.Option("--all-scans", help="Also put scans into NEW-FOLDER that are still where they were."),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Make the archive again from a backup, in a new folder.

    Nothing is ever replaced: the archive you have, if you still have it, stays as it is. Scans that are still in their
    place are used from there; the others are put into NEW-FOLDER.
    """
    from kinphoto.archive.keeping.restoring import restore as run

    with progress_bar("Copying") as progress:
        done = run(source, folder, progress, all_scans=all_scans)
    answer(as_json, done, restored_lines(done, "backup"))
    if done.damaged:
        raise typer.Exit(1)


@app.command("bag")
def bag(
    target: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to make it, best on another disk; it gets a folder there.")
    ],
    for_: Annotated[
        str,
        typer.Option(
            "--for", metavar="AUDIENCE", help="Only what may go to them, to deposit: public, or a group of relatives."
        ),
    ] = "",
    rights_asked: Annotated[
        bool, typer.Option("--rights-asked", help="With --for: also studio portraits without recorded rights.")
    ] = False,
    write: Annotated[
        bool, typer.Option("--write", help="With --for: write it. Without this you are shown what would go and stay.")
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a package of everything that can be read without kinphoto, also in fifty years.

    It holds the scans, the tree, everything recorded as tables, pages that show the pictures in any browser, and words
    that explain it all; a standard for archives (BagIt) keeps the checksum of every file. It is complete and includes
    living people: ask them before you pass it on. It is made whatever state the scans are in, and never replaces an
    earlier one. `kinphoto init DIR --from PACKAGE` makes the archive again.

    With --for it is a package to deposit: pages, copies with names inside and tables of what may go to an audience, and
    nothing else. No archive can be made of it.
    """
    store = open_archive(archive)
    if for_:
        with progress_bar("Packing") as progress:
            deposit = store.give.make_deposit(target, for_, write=write, rights_asked=rights_asked, progress=progress)
        answer(as_json, deposit, _deposit_lines(deposit))
        return
    with progress_bar("Packing") as progress:
        done = store.keep.make_package(target, progress)
    answer(as_json, done, _package_lines(done))
    warn("This package includes living people. Ask them before you pass it on.")


def _deposit_lines(done: DepositMade) -> Iterator[str]:
    yield from report_lines(done.report)
    if not done.done:
        yield "Nothing was written. To write it: the same with --write."
        return
    yield f"Package made: {done.folder}, {counted(done.files, 'file')}, {done.bytes / 1e6:,.0f} MB."
    if done.unusable:
        yield f"Not in it, because their scans cannot be read: {', '.join(done.unusable)}."


@app.command("verify")
def verify(
    minutes: Annotated[
        float | None,
        typer.Option(metavar="N", help="Stop after this many minutes; otherwise all scans are read.", min=0),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Read the scans, and the recordings of stories, again and compare them with what they were when they were added.

    Those not read for the longest time come first, so a few minutes now and then are enough; every scan should be read
    once every three months, and `kinphoto serve` does it by itself while nobody uses the pages. A scan that you edited
    is recorded as a new version; what vanished or was damaged is listed, with what to do and where a good copy is. Your
    scans and recordings are only read.
    """
    store = open_archive(archive)
    try:
        with progress_bar("Reading scans") as progress:
            done = store.keep.verify(minutes, progress)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. What was read so far counts; run the same command again to go on with the rest.")
        raise typer.Exit(130) from None
    answer(as_json, done, _verified_lines(done))
    if done.problems:
        raise typer.Exit(1)


@app.command("state")
def state(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Show how well the archive is kept: the last copy elsewhere, and whether the scans were read again in time."""
    found = open_archive(archive).keep.state()
    answer(as_json, found, state_lines(found))


def state_lines(found: KeepState) -> Iterator[str]:
    """How well the archive is kept."""
    from kinphoto.archive.keeping.state import ago
    from kinphoto.archive.words.dates import on_the_clock

    if found.backup_days is not None:
        yield f"Last backup: {ago(found.backup_days)}, in {found.backup}"
    if found.package_at is not None:
        yield f"Last package: {on_the_clock(found.package_at):%Y-%m-%d}, in {found.package}"
    if found.daily is not None:
        yield f"kinphoto serve makes a backup every day in {found.daily}"
    yield from found.advice
    if not found.advice:
        yield "All is well: nothing needs to be done."


def _verified_lines(done: Verified) -> Iterator[str]:
    what = "file" if done.recordings else "scan"
    yield f"{counted(done.read, what)} read ({done.read_bytes / 1e6:,.0f} MB), of {done.files:,}."
    if done.edited:
        yield f"Edited since they were added, and recorded as new versions ({len(done.edited)}):"
        yield from shortened([f"{each.photograph}  {each.path}" for each in done.edited], _SHOWN)
    if done.away:
        yield "Not there, perhaps on a disk that is not plugged in:"
        yield from shortened(done.away, _SHOWN)
    for kind, heading in (
        ("rotted", "DAMAGED"),
        ("unreadable", "CANNOT BE READ"),
        ("vanished", "Not there any more"),
    ):
        found = [each for each in done.problems if each.problem == kind]
        if found:
            yield f"{heading} ({len(found)}):"
        yield from shortened(
            [f"{' '.join((*each.photographs, *each.stories))}  {each.path}: {each.what_to_do}" for each in found],
            _SHOWN,
        )
    if not done.problems:
        yield "Everything that was read is as it should be."
    if done.waiting:
        yield f"{counted(done.waiting, what)} not read again for more than three months: run this again."


def _package_lines(done: PackageMade) -> Iterator[str]:
    for heading, lines in (
        ("NOT AS THEY SHOULD BE, packed as they are, and once more in the folder failing", done.failing),
        ("Not in it, because they are not where they should be", done.missing),
    ):
        if lines:
            yield f"{heading} ({len(lines)}):"
        yield from shortened(lines, _SHOWN)
    yield f"Package made: {done.folder}"
    yield f"{counted(done.scans, 'scan')}; {counted(done.files, 'file')}, {done.bytes / 1e6:,.0f} MB."
    yield "Look at it: open data/START HERE.html in a browser."


def _backup_lines(done: BackedUp, *, without_scans: bool) -> Iterator[str]:
    size = f" ({done.copied_bytes / 1e6:,.0f} MB)" if done.copied_bytes >= 1e6 else ""
    yield f"Backup made: {done.folder}"
    yield f"{counted(done.scans, 'scan')} in it; {counted(done.copied, 'new file')} copied{size} and read back."
    for heading, lines in (
        ("Not in it" if without_scans else "Not in it, because they are not where they should be", done.missing),
        ("Not in it, because they could not be read", done.unreadable),
        ("Copied as they are now, which is not what was added", done.changed),
    ):
        if lines:
            yield f"{heading} ({len(lines)}):"
        yield from shortened(lines, _SHOWN)
    if without_scans:
        yield "No scans were copied; they need a backup of their own."


def _warn_of(done: BackedUp) -> None:
    if done.not_in_it:
        them = "it is" if done.not_in_it == 1 else "they are"
        warn(f"WARNING: {counted(done.not_in_it, 'scan')} NOT in this backup. If {them} lost, there is no copy here.")
    if done.same_disk:
        warn("WARNING: this backup is on the same disk as the archive, and would be lost with it. Use another disk.")


def restored_lines(done: Restored, source: str) -> Iterator[str]:
    """What was made again from a backup or package, and how to look at it."""
    for line, files in done.report(source):
        yield line
        yield from shortened(files, _SHOWN)
    yield f"To look at it: kinphoto serve --archive {done.archive}"

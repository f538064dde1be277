"""`kinphoto scans names` and `kinphoto scans rename`: how scans are named, and giving them names."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, shortened
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.numbers import NamesReport, ThemeNames
    from kinphoto.archive.collection.renaming import RenamingPlan

_SHOWN, _OF_A_GROUP = 20, 3
"""Lines of a list, and of each group in one."""


def names(
    theme: Annotated[
        str | None, typer.Argument(metavar="[THEME]", help="Only this theme, and its next name.", show_default=False)
    ] = None,
    keep_free: Annotated[
        bool, typer.Option("--keep-free", help="Keep the theme's next number free, for a print that was missed.")
    ] = False,
    why: Annotated[str, typer.Option(metavar="TEXT", help="Why it is kept free.", show_default=False)] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how scans are named: the next name of each theme, gaps and why, names used twice, likely slips.

    A name is a theme and a number: harbour_0007, with its back as harbour_0007_back. A number is never given twice.
    Nothing is renamed here: see `kinphoto scans rename`.
    """
    store = open_archive(archive)
    if keep_free:
        if theme is None:
            raise typer.BadParameter("name the theme whose next number is kept free", param_hint="THEME")
        store.scans.hold_number(theme, why)
    found = store.scans.names(theme)
    answer(as_json, found, _names_lines(found))


def rename(
    what: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WHAT]...",
            help="Codes, scans, folders or boxes; otherwise all scans named by a scanner or camera.",
            show_default=False,
        ),
    ] = None,
    theme: Annotated[
        str | None, typer.Option(metavar="THEME", help="What the names begin with; otherwise their folder's name.")
    ] = None,
    order: Annotated[
        str,
        typer.Option(
            metavar="name|time|box|looks",
            help="Number them by file name, by time, as in the box, or with similar ones together.",
        ),
    ] = "name",
    group: Annotated[
        int | None,
        typer.Option(metavar="N", help="With --order looks: only this group, which may get a theme of its own.", min=1),
    ] = None,
    apply: Annotated[
        bool, typer.Option("--apply", help="Rename the files. Without it the plan is only shown.")
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give scans names: a theme and a number, such as harbour_0007. Shows the plan; --apply carries it out.

    This is the one command that touches your scans' folder, and it changes names only: no byte of a file, no code, no
    link. All files are renamed or none. Nothing is overwritten; files beside a scan (.xmp) move along; the old name
    still finds it. `kinphoto undo` renames everything back.
    """
    scans = open_archive(archive).scans
    if apply:
        found = scans.rename(what or [], theme, order, group=group)
    else:
        found = scans.plan_names(what or [], theme, order, group)
    answer(as_json, found, _plan_lines(found))


def _names_lines(found: NamesReport) -> Iterator[str]:
    if found.next is not None:
        yield f"The next name is {found.next}."
    if found.interrupted:
        yield (
            f"A renaming of {counted(found.interrupted, 'file')} was interrupted. The next `kinphoto scans rename` or "
            "`kinphoto scans add` gives the files their old names back."
        )
    for each in found.themes:
        yield from _theme_lines(each)
    if not found.themes and found.next is None:
        yield "No scan is named by theme and number yet. To see what they could be: kinphoto scans rename"
    for same in found.same:
        yield f"{same.name} is the name of {len(same.paths)} files:"
        yield from shortened(same.paths, _SHOWN)
    for slip in found.slips:
        scans = counted(slip.scans, "scan")
        yield f"{slip.theme} ({scans}) may be a slip for {slip.meant}."
    for folder in found.nameless:
        yield (
            f"{folder.folder}: {counted(folder.scans, 'scan')} with names such as {folder.example}. To see names for "
            f"them: kinphoto scans rename {quote(folder.folder)}{'' if folder.theme else ' --theme THEME'}"
        )
    if found.others:
        yield f"{counted(found.others, 'scan has a name', 'scans have names')} of another kind and can stay as named."


def _theme_lines(found: ThemeNames) -> Iterator[str]:
    from kinphoto.archive.collection.numbers import gap_words

    numbers = "" if found.first is None else f", {found.first:04} to {found.last:04}"
    yield f"{found.theme}: {counted(found.scans, 'scan')}{numbers}. Next: {found.next}"
    yield from shortened([f"{gap_words(gap)}: {gap.why}" for gap in found.gaps], _SHOWN)


def _plan_lines(found: RenamingPlan) -> Iterator[str]:
    yield from found.notes
    lines = [f"{Path(each.old).name} -> {Path(each.new).name}  {each.photograph}".rstrip() for each in found.names]
    if found.done:
        yield f"{counted(len(found.names), 'file')} renamed."
    elif lines:
        yield f"{counted(len(found.names), 'file')} would be renamed:"
    else:
        yield "There is nothing to rename."
    for each in found.groups:
        yield f"Group {each.number}: {counted(each.files, 'file')}{f', {each.words}' if each.words else ''}"
        yield from shortened([line for line, name in zip(lines, found.names, strict=True) if name.group == each.number],
                             _OF_A_GROUP)  # fmt: skip
    if not found.groups:
        yield from shortened(lines, _SHOWN)
    if found.beside:
        yield f"{counted(len(found.beside), 'file')} beside them {'moved' if found.done else 'would move'} along:"
        yield from shortened([f"{Path(each.old).name} -> {Path(each.new).name}" for each in found.beside], _SHOWN)
    if found.left:
        yield f"{counted(len(found.left), 'scan keeps its name', 'scans keep their names')}:"
        yield from shortened([f"{Path(each.path).name}: {each.why}" for each in found.left], _SHOWN)
    if found.done and found.change is not None:
        yield f"To rename them back: kinphoto undo {found.change}"
    elif lines and not found.done:
        yield "Nothing was renamed. To do it: the same command with --apply"

"""`kinphoto tree`: importing a family tree, and writing it back with its pictures."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.tree.exporting import TreeWritten
    from kinphoto.archive.tree.importing import TreeImported

app = typer.Typer(
    cls=Commands,
    no_args_is_help=True,
    help="Import a family tree, again when it has grown, and write it back with its pictures.",
)

_SHOWN = 20  # warnings before the rest is only counted


@app.callback()
def tree() -> None:
    """Import a family tree, again when it has grown, and write it back with its pictures."""


@app.command("import")
def import_(
    file: Annotated[
        Path, typer.Argument(metavar="FILE.ged", help="A GEDCOM file of any version, or a GEDZIP package (.gdz).")
    ],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show what the import would change, person by person, and change nothing.")
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a family tree. When you import it again, everybody keeps their pictures.

    People with pictures who are no longer in the file are kept, and shown as such. Whatever is uncertain about
    somebody with pictures is listed. `kinphoto undo` undoes an import.
    """

    with progress_bar("Reading the tree") as progress:
        opened = open_archive(archive)
        done = opened.tree.plan_import(file, progress) if dry_run else opened.tree.import_file(file, progress)
    for line, text in done.warnings[:_SHOWN]:
        warn(f"{file.name}, line {line}: {text}" if line else f"{file.name}: {text}")
    if done.warning_count > _SHOWN:
        warn(f"and {done.warning_count - _SHOWN} more warnings (all of them with --json)")
    answer(as_json, done, _import_lines(done))


def _import_lines(done: TreeImported) -> Iterator[str]:
    from kinphoto.cli import tree_plan

    kind = f"GEDCOM {done.version}" if done.version else "GEDCOM"
    people, families = counted(done.people, "person", "people"), counted(done.families, "family", "families")
    yield f"{people} in {families}, {kind}, {done.encoding}."
    if not done.altered:
        yield "Nothing has changed since the last import."
    else:
        would = "This would be: " if done.listing else ""
        yield f"{would}{done.added} added, {done.changed} changed, {done.removed} removed."
        if done.kept_with_pictures:
            gone = counted(done.kept_with_pictures, "person is", "people are")
            yield f"{gone} no longer in the file, and kept because of their pictures."
        if done.hardly_anybody:
            back = "" if done.listing else " If it is the file of another family: kinphoto undo, and the tree is back."
            yield f"{done.hardly_anybody}{back}"
    yield from tree_plan.lines(done)


@app.command("check")
def check(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """List what in the tree cannot be true and what is unlikely, with the lines of the file.

    Some of it touches on who somebody's parents were: look at that alone first. Births that the tree leaves open and
    photographs suggest come last. Nothing is changed.
    """
    from kinphoto.cli import tree_findings

    found = open_archive(archive).tree.check()
    answer(as_json, found, tree_findings.lines(found))


@app.command("write")
def write(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE.ged", help="A new file, .ged, or .gdz for a package with the pictures."),
    ],
    version: Annotated[
        str | None,
        typer.Option(
            metavar="5.5.1|7.0",
            help="The version of GEDCOM. Otherwise that of the imported file, and 7.0 for a package.",
            show_default=False,
        ),
    ] = None,
    leave_out_living: Annotated[
        bool, typer.Option("--leave-out-living", help="Leave out pictures that show anybody who may be living.")
    ] = False,
    replace: Annotated[bool, typer.Option("--replace", help="Replace a file that is already there.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write the imported tree back with its people's pictures in it, and nothing else changed.

    Only names that nobody doubts are written. A birth that photographs suggest becomes a note, never a date. The file
    is for you and your own program: it names pictures of living people unless you leave them out, and is not for
    publishing.
    """
    done = open_archive(archive).tree.write_file(file, version, replace=replace, leave_out_living=leave_out_living)
    for text in done.warnings:
        warn(text)
    if done.missing:
        more = f" and {len(done.missing) - 1} more" if len(done.missing) > 1 else ""
        warn(f"no longer where it was: {done.missing[0]}{more}")
    if done.living:
        warn(
            f"{counted(done.living, 'of the pictures shows', 'of the pictures show')} somebody who may be living: "
            "ask them before you pass this file on, and do not publish it. "
            "--leave-out-living leaves those pictures out."
        )
    answer(as_json, done, _written_lines(done))


def _written_lines(done: TreeWritten) -> Iterator[str]:
    from kinphoto.archive.words.dates import NO_PROOF

    kind = f"GEDCOM {done.version}" if done.version else "GEDCOM"
    size = f"{done.size / 1e6:.1f} MB" if done.size > 1e6 else f"{done.size / 1e3:.0f} kB"
    yield f"{done.path}: {kind}, {done.encoding}, {size}."
    pictures = counted(done.photographs, "picture")
    yield f"{pictures} of {counted(done.people, 'person', 'people')} {'is' if done.photographs == 1 else 'are'} in it."
    if done.births:
        yield f"Notes suggest {counted(done.births, 'birth')} that the tree leaves open. {NO_PROOF}"
    if not done.changed:
        yield "Nothing has changed since it was last written."
    if done.doubtful:
        names = counted(done.doubtful, "doubtful name was", "doubtful names were")
        yield f"{names} left out: a rival, a denial, a guess or a conflict."
    if done.outside:
        yield f"{counted(done.outside, 'person who has pictures is', 'people who have pictures are')} not in the tree."
    if done.left_out:
        pictures = counted(
            done.left_out,
            "picture that shows somebody who may be living was",
            "pictures that show somebody who may be living were",
        )
        yield f"{pictures} left out."

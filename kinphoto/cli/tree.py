"""`kinphoto tree`: bringing a family tree in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, warn

if TYPE_CHECKING:
    from kinphoto.archive.trees import TreeImported

app = typer.Typer(no_args_is_help=True, help="Bring a family tree in, and again when it has grown.")

_SHOWN = 20  # warnings before the rest is only counted


@app.callback()
def tree() -> None:
    """Bring a family tree in, and again when it has grown."""


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE.ged", help="A GEDCOM file, version 5.5.1 or 7.0.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a family tree. Imported again, everybody keeps their pictures.

    Somebody who has pictures and is no longer in the file is kept and shown as such. `kinphoto undo` takes an import
    back.
    """
    with progress_bar("Reading the tree") as progress:
        done = open_archive(archive).import_tree(file, progress)
    for line, text in done.warnings[:_SHOWN]:
        warn(f"{file.name}, line {line}: {text}" if line else f"{file.name}: {text}")
    if done.warning_count > _SHOWN:
        warn(f"and {done.warning_count - _SHOWN} more warnings (all are in the --json output)")
    document = {
        "people": done.people,
        "families": done.families,
        "events": done.events,
        "added": done.added,
        "changed": done.changed,
        "removed": done.removed,
        "kept_with_pictures": done.kept_with_pictures,
        "warnings": [{"line": line, "text": text} for line, text in done.warnings],
        "encoding": done.encoding,
        "version": done.version,
    }
    answer(as_json, document, lambda: _words(done))


def _words(done: TreeImported) -> Iterator[str]:
    kind = f"GEDCOM {done.version}" if done.version else "GEDCOM"
    yield f"{done.people} people in {done.families} families, {kind}, {done.encoding}."
    if not done.altered:
        yield "Nothing has changed since the last import."
        return
    yield f"{done.added} added, {done.changed} changed, {done.removed} removed."
    if done.kept_with_pictures:
        yield f"{done.kept_with_pictures} not in the file any more, kept because they have pictures."

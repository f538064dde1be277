"""Where the scans are: the folders they were added from, and what to do when these are on another disk or computer.

Paths are kept relative to those folders, so a folder is set anew once for all that is in it.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine

from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted
from kinphoto.scans.walk import is_text, shown
from kinphoto.store.root_rows import below, holds, read_roots, set_paths
from kinphoto.store.roots import Root, Roots
from kinphoto.store.session import deriving, reading


@dataclass(frozen=True, slots=True)
class ScanFolder:
    """A folder that scans were added from."""

    path: Annotated[str, "a folder that scans were added from"]
    files: Annotated[int, "how many files in it or below it the archive has scans of"]
    found: Annotated[int, "how many of them are there now, with the size they had"]
    before: Annotated[str | None, "where it was until now, when it was set anew; otherwise null"] = None


def scan_folders(connection: Connection) -> list[ScanFolder]:
    """The folders that scans were added from, without those that nothing in the archive is from any more."""
    rows = [_looked_at(connection, root, root.path) for root in read_roots(connection)]
    return [row for row in rows if row.files]


def move_folder(engine: Engine, old: Path | str, new: Path | str) -> list[ScanFolder]:
    """Look for the scans that were in the folder `old` in `new` from now on. `old` may be above several folders that
    scans were added from: then all of them move.

    Raises NotFoundError when nothing was added from `old` or `new` is not there; InvalidValueError when none of the
    scans are in `new`, or they would be mixed with those of another folder.
    """
    from_, to = os.path.abspath(old), os.path.realpath(new)  # noqa: PTH100 (Path.absolute keeps `..`)
    if not is_text(to) or not os.path.isdir(to):  # noqa: PTH112 (for a name that is too long)
        raise NotFoundError("there is no such folder", where=shown(to), remedy="Check the spelling.")
    with reading(engine) as connection:
        roots = read_roots(connection)
        moved = {root.id: root.path for root in roots if _is_below(root.path, from_)}
        if not moved:
            raise _not_a_root(roots, from_)
        targets = {id_: os.path.normpath(to + path[len(from_) :]) for id_, path in moved.items()}
        rows = {id_: _looked_at(connection, Root(id_, path), path) for id_, path in targets.items()}
        if not any(row.found for row in rows.values()):
            count = sum(row.files for row in rows.values())
            raise InvalidValueError(
                f"none of the {counted(count, 'scan')} that were in {shown(from_)} are here",
                where=shown(to),
                remedy="Name the folder that has the same folders and files in it. If they were also renamed, use "
                "kinphoto scans add: it recognises scans by their content.",
            )
        _refuse_to_mix(connection, roots, targets)
    with deriving(engine) as connection:
        set_paths(connection, targets)
    return [replace(row, before=moved[id_]) for id_, row in rows.items() if row.files]


def _looked_at(connection: Connection, root: Root, folder: str) -> ScanFolder:
    files = dict(below(connection, root.id))
    return ScanFolder(folder, len(files), sum(holds(folder, *file) for file in files.items()))


def _is_below(path: str, folder: str) -> bool:
    return path == folder or path.startswith(folder.rstrip("/") + "/")


def _not_a_root(roots: Sequence[Root], folder: str) -> NotFoundError:
    inside = next((root.path for root in roots if _is_below(folder, root.path)), None)
    if inside is not None:
        return NotFoundError(
            f"this folder is part of {inside}, which moves as a whole",
            where=shown(folder),
            remedy=f"Name {inside}. If only this part was moved, use kinphoto scans add on its new place.",
        )
    return NotFoundError(
        "no scans were added from this folder",
        where=shown(folder),
        remedy="`kinphoto scans where` lists the folders that scans were added from.",
    )


def _refuse_to_mix(connection: Connection, roots: Sequence[Root], targets: Mapping[int, str]) -> None:
    """Every path must have one stored form: none that exists may fall under another root than its own."""
    after = [Root(root.id, targets.get(root.id, root.path)) for root in roots]
    paths = Roots(after)
    clash = len({root.path for root in after}) < len(after)
    for root in after if not clash else ():
        for relative, _ in below(connection, root.id):
            if paths.stored(os.path.join(root.path, relative)) != f"{root.id}:{relative}":  # noqa: PTH118 (text)
                clash = True
                break
    if clash:
        raise InvalidValueError(
            "scans of another folder are in that place already",
            where=shown(next(iter(targets.values()))),
            remedy="Use kinphoto scans add on it: it recognises scans by their content.",
        )

"""The rows of the roots that paths of scans are relative to: reading, adding and moving them (`store/roots.py`).

What a path is relative to is a fact of this computer and not of the collection: no change of the log, and no undo.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Text, func, insert, select, type_coerce, update

from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of, is_read_only, load_roots
from kinphoto.store.roots import Root, roots_of
from kinphoto.store.session import deriving, reading

_LOOKED_AT = 5
"""Files by which it is seen that a folder holds the scans of a root: of another family's there is none of these names
and sizes."""


def archive_folder(engine: Engine) -> str:
    """The folder of the archive as roots refer to it; bytes that are not UTF-8 are written out."""
    return os.fsencode(os.path.realpath(folder_of(engine))).decode("utf-8", "backslashreplace")


def read_roots(connection: Connection) -> list[Root]:
    """The roots, the first one first."""
    paths = roots_of(connection.dialect)
    return [Root(id_, paths.absolute(f"{id_}:")) for id_ in connection.scalars(select(t.scan_root.c.id).order_by("id"))]


def roots_with_scans(connection: Connection) -> list[Root]:
    """Those that scans of the archive are in: when all were removed, or none could be read, a folder is nobody's."""
    return [root for root in read_roots(connection) if next(below(connection, root.id), None)]


def add_roots(engine: Engine, folders: Collection[str]) -> None:
    """Make roots of these folders (real paths), but for those that are inside one. What is inside the archive's own
    folder is relative to that."""
    with reading(engine) as connection:
        missing = _without_root(connection, folders)
    if not missing:
        return
    here = archive_folder(engine)
    with deriving(engine) as connection:
        for folder in sorted(missing, key=len):
            if _without_root(connection, [folder]):
                path = here if os.path.commonpath([here, folder]) == here else folder
                id_ = (connection.scalar(select(func.max(t.scan_root.c.id))) or 0) + 1
                connection.execute(insert(t.scan_root).values(id=id_, path=path, archive=here))
                load_roots(connection)


def _without_root(connection: Connection, folders: Collection[str]) -> list[str]:
    roots = roots_of(connection.dialect)
    return [folder for folder in folders if roots.stored(folder) == folder]


def set_paths(connection: Connection, paths: Mapping[int, str]) -> None:
    """Set the folders of roots anew."""
    here = archive_folder(connection.engine)
    r = t.scan_root.c
    for id_ in paths:  # out of each other's way first: two may change places
        connection.execute(update(t.scan_root).where(r.id == id_).values(path=f"moving {id_}"))
    for id_, path in paths.items():
        connection.execute(update(t.scan_root).where(r.id == id_).values(path=path, archive=here))
    load_roots(connection)


def below(connection: Connection, root: int) -> Iterator[tuple[str, int]]:
    """Each scan's file below a root: its path relative to it, and its size."""
    path: Any = type_coerce(t.scan.c.path, Text)
    query = select(path, t.scan.c.page, t.scan.c.size).where(path.startswith(f"{root}:"), ~path.contains("#former-"))
    query = query.order_by(t.scan.c.id)
    for stored, page, size in connection.execute(query):
        relative = stored.partition(":")[2]
        yield relative.removesuffix(f"#page={page}") if page else relative, size


def holds(folder: str, relative: str, size: int) -> bool:
    """Whether this file, or what looks like it, is in the folder."""
    try:
        return Path(folder, relative).stat().st_size == size
    except OSError:
        return False


def follow_archive(engine: Engine) -> None:
    """When the archive's folder has moved since, take the roots along that moved with it: those whose scans are found
    at the same place relative to it. Where the archive may only be read, as long as it is open."""
    here = archive_folder(engine)
    with reading(engine) as connection:
        r = t.scan_root.c
        elsewhere = connection.execute(select(r.id, r.path, r.archive).where(r.archive != here)).all()
        if not elsewhere:
            return
        taken = set(connection.scalars(select(r.path)))
        moved: dict[int, str] = {}
        for id_, path, archive in elsewhere:
            there = os.path.normpath(os.path.join(here, os.path.relpath(path, archive)))  # noqa: PTH118 (`..` goes)
            files = [file for file, _ in zip(below(connection, id_), range(_LOOKED_AT), strict=False)]
            if there == path or (there not in taken and any(holds(there, *file) for file in files)):
                moved[id_] = there
                taken.add(there)
        read_only = is_read_only(connection)
    if not moved:
        return
    if read_only:
        roots_of(engine.dialect).elsewhere = moved
    else:
        with deriving(engine) as connection:
            set_paths(connection, moved)

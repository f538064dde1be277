"""The files that make up an archive: the scans, and what is in its own folder and cannot be made again."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, Text, select, type_coerce

from kinphoto.archive.search.word_index import FILE as WORD_INDEX
from kinphoto.errors import InvalidValueError
from kinphoto.scans.thumbnails import FOLDER as THUMBS
from kinphoto.scans.thumbnails import TILES
from kinphoto.store import tables as t
from kinphoto.store.face_file import FILE as FACES
from kinphoto.store.opening import DATABASE, folder_of
from kinphoto.store.root_rows import roots_with_scans
from kinphoto.store.roots import roots_of

ARCHIVE = 0
"""In place of a root: the file is in the archive's folder and is not a scan."""
SECRETS = "pages.json"
"""The password of the pages, as a hash: it stays on the computer where it was chosen."""
_MADE_AGAIN = (THUMBS, TILES, WORD_INDEX)


FORMER = "#former-"
"""In the path of a page that is no longer in its file."""


class KeptFile(NamedTuple):
    """A file of the archive: what it is relative to, where it is now, and what the archive knows of it."""

    root: int
    path: str
    source: str
    sha256: str
    """As the archive knows it; "" for a file in its folder that is not a scan."""
    size: int
    mtime_ns: int
    story: str = ""
    """The id of the story that it is the recording of; "" for anything else."""

    @property
    def stored(self) -> str:
        """Its path as it is stored."""
        return f"{self.root}:{self.path}" if self.root != ARCHIVE else self.path

    @property
    def is_scan(self) -> bool:
        """Whether it is an image file that was added."""
        return self.root != ARCHIVE or bool(self.sha256)


def refuse_inside(connection: Connection, place: Path, what: str) -> None:
    """Raise InvalidValueError when a copy of the archive (`what` it is) would be put into the archive itself or among
    its scans."""
    ours = Path(os.path.realpath(folder_of(connection.engine)))
    if place.is_relative_to(ours):
        why = f"inside {ours}, as it would be taken for a part of it"
    elif root := next((each for each in roots_with_scans(connection) if place.is_relative_to(each.path)), None):
        why = f"inside {root.path}, as scans were added from there, and its pictures would be taken for new ones"
    else:
        return
    raise InvalidValueError(
        f"a {what} cannot be {why}",
        where=str(place),
        remedy="Name a folder somewhere else, best on another disk.",
    )


def scan_files(connection: Connection) -> list[KeptFile]:
    """The files of all scans, each once, in the order of their paths."""
    s = t.scan.c
    kept = type_coerce(s.path, Text)
    query = select(kept, s.page, s.sha256, s.file_sha256, s.size, s.mtime_ns).order_by(kept)
    roots, found = roots_of(connection.dialect), {}
    for path, page, sha256, file_sha256, size, mtime_ns in connection.execute(query):
        if FORMER in path:
            continue  # a page that its file does not have any more
        file = path.removesuffix(f"#page={page}") if page else path
        root, colon, relative = file.partition(":")
        where = (int(root), relative) if colon and root.isdigit() else (ARCHIVE, file)
        found[where] = KeptFile(*where, roots.absolute(file), file_sha256 or sha256, size, mtime_ns)
    return list(found.values())


def recording_files(connection: Connection) -> list[KeptFile]:
    """The recordings of all stories, each once. They are never changed, so the time of their files means nothing."""
    s, folder = t.story.c, Path(os.path.realpath(folder_of(connection.engine)))
    query = select(s.id, s.sound, s.sha256, s.size).where(s.sound != "").order_by(s.id)
    found = {
        row.sound: KeptFile(ARCHIVE, row.sound, str(folder / row.sound), row.sha256, row.size, 0, f"T{row.id}")
        for row in connection.execute(query)
    }
    return list(found.values())


def own_files(folder: Path, scans: Collection[str]) -> Iterator[KeptFile]:
    """The files in the archive's folder but for the database, what is made again from the rest, what is known of faces,
    which never leaves it, and `scans` (paths)."""
    real = Path(os.path.realpath(folder))
    for place, folders, names in os.walk(real):
        here = Path(place)
        if here == real:
            folders[:] = [name for name in folders if name not in _MADE_AGAIN]
            names = [name for name in names if not name.startswith((DATABASE, WORD_INDEX, FACES)) and name != SECRETS]
        folders.sort()
        for name in sorted(names):
            path = here / name
            if name.startswith(".kinphoto-") or str(path) in scans or not path.is_file():
                continue
            state = path.stat()
            relative = str(path.relative_to(real))
            yield KeptFile(ARCHIVE, relative, str(path), "", state.st_size, state.st_mtime_ns)

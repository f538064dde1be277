"""Every imported tree file is kept unchanged, so that it can be written again with its pictures.

The archive's tables hold what kinphoto uses of a tree; sources, notes and what other programs added are only in the
file. The copies are compressed and named after the bytes of the tree, so that each is kept once.
"""

from __future__ import annotations

import gzip
import hashlib
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from kinphoto.errors import ArchiveError, UnreadableFileError
from kinphoto.gedcom import decode
from kinphoto.gedcom.package import opened
from kinphoto.store import tables as t
from kinphoto.store.atomic import atomic_write

FOLDER = "trees"
"""The folder of the copies within an archive."""

_AGAIN = "Import it again (kinphoto tree import FILE.ged); nobody loses a picture."


@dataclass(frozen=True, slots=True)
class TreeCopy:
    """The copy of a tree file: how to read it, where the file was, and the version of GEDCOM its header names."""

    source: decode.TreeFile
    origin: Path
    version: str


def keep(archive: Path, source: decode.TreeFile) -> None:
    """Copy a tree file into the archive's folder, atomically, unless it is there already.

    Raises ArchiveError where it cannot be written, or when the file has changed since it was examined.
    """
    copy = _path(archive, source.sha256)
    if copy.exists():
        return
    remedy = "Check free space and permissions of the archive folder; nothing was changed."
    with atomic_write(copy, "the copy of the tree cannot be stored", remedy) as part:
        if _pack(source.path, part) != source.sha256:
            raise ArchiveError(
                "the file was changed while it was being read",
                where=str(source.path),
                remedy="Import it again when it is finished.",
            )


def latest(connection: Connection, archive: Path) -> TreeCopy:
    """The tree file that was imported last. Raises ArchiveError when there is none, or no intact copy of it."""
    row = connection.execute(select(t.tree_file).order_by(t.tree_file.c.id.desc()).limit(1)).mappings().first()
    if row is None:
        raise ArchiveError("this archive has no family tree yet", remedy="Import one: kinphoto tree import FILE.ged.")
    copy = _path(archive, row["sha256"])
    if not copy.exists():
        raise ArchiveError("there is no copy of the tree in this archive", where=row["path"], remedy=_AGAIN)
    source = None
    with suppress(UnreadableFileError):
        source = decode.examine(copy)
    if source is None or source.sha256 != row["sha256"]:
        raise ArchiveError(
            "the archive's copy of the tree is damaged",
            where=str(copy),
            remedy="Delete that copy, then import the tree again (kinphoto tree import FILE.ged).",
        )
    return TreeCopy(source, Path(row["path"]), row["version"])


def _path(archive: Path, sha256: str) -> Path:
    return archive / FOLDER / f"{sha256}.ged.gz"


def _pack(tree: Path, part: Path) -> str:
    """Write a compressed copy and return the SHA-256 of the original."""
    found = hashlib.sha256()
    with (
        opened(tree) as file,
        part.open("wb") as raw,
        gzip.GzipFile("", "wb", compresslevel=1, fileobj=raw, mtime=0) as packed,
    ):
        while block := file.read(decode.BLOCK):
            found.update(block)
            packed.write(block)
    return found.hexdigest()

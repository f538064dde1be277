"""The tree goes back: the file that was imported, with the pictures of its people in it, notes on the births that those
suggest, and nothing else changed.

The file is made in a place of its own and gets its name when it is whole. The tree that was imported is never written
over, nor is a scan, nor any other file unless the keeper says so.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING

from sqlalchemy import Connection, func, insert, or_, select

from kinphoto.archive.tree import copies
from kinphoto.archive.tree import pictures as tree_pictures
from kinphoto.archive.tree.media import MediaSelection
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError, NotFoundError
from kinphoto.gedcom import decode
from kinphoto.gedcom.convert import converted
from kinphoto.gedcom.packing import write_package
from kinphoto.gedcom.recode import recoded
from kinphoto.gedcom.verbatim import Verbatim
from kinphoto.gedcom.write import PicturesToWrite, TreeWriter, codes
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive import Archive

VERSIONS = ("5.5.1", "7.0")
SUFFIXES = (".ged", ".gdz")
_MARK = "tree_mark"


@dataclass(frozen=True, slots=True)
class TreeWritten:
    """What was written.

    `people` have `photographs` now, by `links`; of so many `births` a note says what photographs suggest. `doubtful`
    names were left out, and so were `outside` people, who are not in the tree; `living` photographs show somebody who
    may be living, `left_out` did and are not in it for that. `missing` lists scans that are not where they were.
    `changed` is False when the file was there and the same.
    """

    path: str
    version: str
    encoding: str
    people: int
    photographs: int
    links: int
    births: int
    doubtful: int
    outside: int
    living: int
    left_out: int
    missing: tuple[str, ...]
    size: int
    changed: bool
    warnings: tuple[str, ...]


def write_tree(
    archive: Archive, path: Path, version: str | None, *, replace: bool, leave_out_living: bool
) -> TreeWritten:
    """Write the tree with its pictures to `path` (.ged, or .gdz for a package with the pictures in it).

    `version` is 5.5.1 or 7.0, None for that of the imported file. Raises InvalidValueError for a path or version that
    cannot be, NotFoundError for a folder that is not there, ArchiveError when there is no tree, no copy of it, or
    something else at `path`, and UnreadableFileError when the tree cannot be written in that version.
    """
    packed = _check(path, version)
    archive.refresh_estimates()
    mark = _mark(archive)
    with archive.reading() as connection:
        _refuse_own(path, connection)
        kept = copies.kept(connection, archive.folder)
        shown = tree_pictures.in_tree(connection)
        outside = set(connection.scalars(select(t.person.c.code).where(t.person.c.outside == 1)))
    was_seven = kept.version.startswith("7")
    seven = packed or (was_seven if version is None else version == "7.0")
    with tempfile.TemporaryDirectory(prefix="kinphoto-") as folder:
        tree = converted(kept.source, seven, was_seven, Path(folder, "converted.ged"))
        writer = TreeWriter(Verbatim(tree.source), mark, codes(Verbatim(kept.source), outside))
        shelf = MediaSelection(
            shown, path, writer.survey, kept.origin, packed=packed, leave_out_living=leave_out_living
        )
        pictures = shelf.pictures(writer.people)
        writer = _with_letters(writer, pictures, mark, Path(folder, "recoded.ged"))
        size, changed = _put(path, writer, pictures, shelf, replace)
    return TreeWritten(
        path=os.path.abspath(path),  # noqa: PTH100 (Path.absolute keeps `..`)
        version=writer.survey.version,
        encoding=writer.file.source.encoding,
        people=len(pictures.links),
        photographs=len(pictures.media),
        links=sum(map(len, pictures.links.values())),
        births=len(pictures.notes),
        doubtful=shown.doubtful,
        outside=shown.outside,
        living=len(shown.living & pictures.media.keys()),
        left_out=shelf.left_out,
        missing=tuple(shelf.missing),
        size=size,
        changed=changed,
        warnings=(*tree.warnings, *shelf.warnings, *_stale(kept)),
    )


def _check(path: Path, version: str | None) -> bool:
    """Refuse what cannot be asked for; returns whether it is a package."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InvalidValueError("a tree is written to a file ending in .ged or .gdz", where=str(path))
    if version not in (None, *VERSIONS):
        raise InvalidValueError(f"'{version}' is no version kinphoto writes", remedy=f"Use {' or '.join(VERSIONS)}.")
    if suffix == ".gdz" and version == "5.5.1":
        raise InvalidValueError(
            "a package (.gdz) is of GEDCOM 7.0", remedy="Leave --version out, or name a file ending in .ged."
        )
    if not path.absolute().parent.is_dir():
        raise NotFoundError("there is no such folder", where=str(path.parent), remedy="Make it, or name another.")
    return suffix == ".gdz"


def _refuse_own(path: Path, connection: Connection) -> None:
    """Whatever may be asked for: neither the tree the keeper works on nor a scan is written over."""
    if any(_is_one(path, origin) for origin in connection.scalars(select(t.tree_file.c.path).distinct())):
        raise ArchiveError(
            "this is the file the tree was imported from, and kinphoto does not write to it",
            where=str(path),
            remedy=f"Name another, such as {path.stem}-with-pictures{path.suffix}.",
        )
    s, p = t.scan.c, t.photograph.c
    called_so = select(s.path, p.code).join(t.photograph, p.id == s.photograph_id)
    called_so = called_so.where(or_(*(func.lower(s.path).endswith(suffix) for suffix in SUFFIXES)))
    for scan, code in connection.execute(called_so):
        if _is_one(path, scan):
            raise ArchiveError(
                f"this is a scan of {code}, and kinphoto does not write to scans",
                where=str(path),
                remedy="Name another file.",
            )


def _is_one(path: Path, other: str) -> bool:
    """Whether two paths name one file, also one that is not there at the moment."""
    if os.path.exists(path) and os.path.exists(other):  # noqa: PTH110 (Path.exists raises for a long name)
        return path.samefile(other)
    return os.path.abspath(path) == other or os.path.realpath(path) == os.path.realpath(other)  # noqa: PTH100


def _mark(archive: Archive) -> str:
    """What tells this archive from others in a tree: made once, and kept."""
    c = t.setting.c
    with archive.reading() as connection:
        found = connection.scalar(select(c.value).where(c.key == _MARK))
    if found is None:
        with archive.working("") as work:  # no row the change log covers, so it leaves no line there
            found = work.connection.scalar(select(c.value).where(c.key == _MARK))
            if found is None:
                found = uuid.uuid4().hex[:12]
                work.connection.execute(insert(t.setting).values(key=_MARK, value=found))
    return str(found)


def _with_letters(writer: TreeWriter, pictures: PicturesToWrite, mark: str, into: Path) -> TreeWriter:
    """The writer itself when the file's encoding has every letter of our lines, else one of the same tree in UTF-8."""
    try:
        ours = b"".join(writer.lines(pictures))
    except UnicodeEncodeError:
        ours = None
    survey = writer.survey
    said = survey.seven or survey.says_encoding or writer.file.wide
    if ours is not None and (said or ours.isascii()):
        return writer
    return TreeWriter(Verbatim(recoded(writer.file, survey.seven, into)), mark, writer.people)


def _put(
    path: Path, writer: TreeWriter, pictures: PicturesToWrite, shelf: MediaSelection, replace: bool
) -> tuple[int, bool]:
    """Write the file. Returns its size in bytes, and whether it is another than was there."""
    with _whole(path) as (out, part):
        tree = writer.file.stored(writer.pieces(pictures))
        if shelf.packed:
            write_package(out, tree, 2 * writer.file.source.size, shelf.files)
        else:
            out.writelines(tree)
        out.flush()
        os.fsync(out.fileno())
        size = part.stat().st_size
        if path.is_file() and path.stat().st_size == size and _digest(path) == _digest(part):
            return size, False
        if os.path.lexists(path) and not replace:
            raise ArchiveError(
                "there is something else already", where=str(path), remedy="Name another, or use --replace."
            )
        part.replace(path)
    return size, True


@contextmanager
def _whole(path: Path) -> Iterator[tuple[IO[bytes], Path]]:
    """A file beside `path` to write to and then to rename; nothing of it is left when it was not renamed."""
    part = path.with_name(f".kinphoto-{os.getpid()}.part")
    try:
        with part.open("wb") as out:
            yield out, part
    except OSError as problem:
        raise ArchiveError(
            f"the tree cannot be written ({problem.strerror or problem})",
            where=str(path),
            remedy="Check free space and permissions there.",
        ) from problem
    finally:
        part.unlink(missing_ok=True)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _stale(kept: copies.TreeCopy) -> Iterator[str]:
    """The keeper may have gone on with the tree since it was imported."""
    try:
        now = decode.examine(kept.origin)
    except KinphotoError:
        return
    if now.sha256 != kept.source.sha256:
        yield f"{kept.origin} has changed since it was imported; this is the tree as it was. Import it again first."

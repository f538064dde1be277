"""Exporting the tree: the imported file with the pictures of its people, notes on the births that these suggest, and
nothing else changed.

The file is written atomically. The imported tree and the scans are never overwritten, nor any other file unless the
keeper asks for it.
"""

from __future__ import annotations

import os
import tempfile
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, func, or_, select

from kinphoto.archive.catalogue.settings import keep_setting, setting
from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.tree import copies
from kinphoto.archive.tree.media import MediaSelection
from kinphoto.archive.tree.pictures import pictures_for_tree
from kinphoto.archive.tree.reading import codes_outside
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError, NotFoundError
from kinphoto.gedcom import decode
from kinphoto.gedcom.convert import converted
from kinphoto.gedcom.packing import write_package
from kinphoto.gedcom.recode import recoded
from kinphoto.gedcom.verbatim import Verbatim
from kinphoto.gedcom.write import PicturesToWrite, TreeWriter, codes
from kinphoto.scans.fixity import sha256_at
from kinphoto.store import tables as t
from kinphoto.store.atomic import atomic_write
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading, working

VERSIONS = ("5.5.1", "7.0")
SUFFIXES = (".ged", ".gdz")
_MARK = "tree_mark"


@dataclass(frozen=True, slots=True)
class TreeWritten:
    """What was written."""

    path: Annotated[str, "the file that was written"]
    version: Annotated[str, "its version of GEDCOM"]
    encoding: Annotated[str, "its character encoding: that of the imported file, or UTF-8 where that lacks a letter"]
    people: Annotated[int, "how many people have pictures in it"]
    photographs: Annotated[int, "how many photographs are in it"]
    links: Annotated[int, "how many times somebody is linked to one"]
    births: Annotated[int, "how many people have a note on when photographs suggest they were born"]
    doubtful: Annotated[
        int,
        (
            "names on photographs left out because of a doubt: a rival name on the face, somebody who says that it "
            "is not this person, weak trust, or a conflict"
        ),
    ]
    outside: Annotated[int, "people with pictures who are not in the tree"]
    living: Annotated[int, "how many of the photographs show somebody who may be living"]
    left_out: Annotated[int, "with `--leave-out-living`: how many photographs were left out for that reason"]
    missing: Annotated[tuple[str, ...], "scans that are missing from their place; a package does not contain them"]
    size: Annotated[int, "its size in bytes"]
    changed: Annotated[bool, "false when the same file was there already"]
    warnings: Annotated[tuple[str, ...], "what else to know about the file"]


def write_tree(
    engine: Engine,
    path: Path | str,
    version: str | None = None,
    *,
    replace: bool = False,
    leave_out_living: bool = False,
) -> TreeWritten:
    """Write the tree with its pictures to `path` (.ged, or .gdz for a package with the pictures in it).

    `version` is 5.5.1 or 7.0, None for that of the imported file. Raises InvalidValueError for an unusable path or
    version, NotFoundError for a missing folder, ArchiveError when there is no tree, no copy of it, or another file at
    `path`, and UnreadableFileError when the tree cannot be written in that version.
    """
    path = Path(path)
    packed = _check(path, version)
    refresh(engine)
    mark = _mark(engine)
    with reading(engine) as connection:
        _refuse_own(path, connection)
        kept = copies.latest(connection, folder_of(engine))
        shown = pictures_for_tree(connection)
        outside = codes_outside(connection)
    was_seven = kept.version.startswith("7")
    seven = packed or (was_seven if version is None else version == "7.0")
    with tempfile.TemporaryDirectory(prefix="kinphoto-") as folder:
        tree = converted(kept.source, seven, was_seven, Path(folder, "converted.ged"))
        writer = TreeWriter(Verbatim(tree.source), mark, codes(Verbatim(kept.source), outside))
        media = MediaSelection(
            shown, path, writer.survey, kept.origin, packed=packed, leave_out_living=leave_out_living
        )
        pictures = media.pictures(writer.people)
        writer = _with_letters(writer, pictures, mark, Path(folder, "recoded.ged"))
        size, changed = _put(path, writer, pictures, media, replace)
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
        left_out=media.left_out,
        missing=tuple(media.missing),
        size=size,
        changed=changed,
        warnings=(*tree.warnings, *media.warnings, *_stale(kept)),
    )


def _check(path: Path, version: str | None) -> bool:
    """Check the path and version; returns whether it is a package."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InvalidValueError(
            "a tree is written to a file ending in .ged or .gdz", where=str(path), remedy="Add that ending to its name."
        )
    if version not in (None, *VERSIONS):
        raise InvalidValueError(
            f"kinphoto cannot write GEDCOM version '{version}'", remedy=f"Use {' or '.join(VERSIONS)}."
        )
    if suffix == ".gdz" and version == "5.5.1":
        raise InvalidValueError(
            "a package (.gdz) is always GEDCOM 7.0", remedy="Leave out --version, or name a file ending in .ged."
        )
    if not path.absolute().parent.is_dir():
        raise NotFoundError("there is no such folder", where=str(path.parent), remedy="Create it, or choose another.")
    return suffix == ".gdz"


def _refuse_own(path: Path, connection: Connection) -> None:
    """Never overwrite the tree the keeper works on, nor a scan."""
    if any(_is_one(path, origin) for origin in connection.scalars(select(t.tree_file.c.path).distinct())):
        raise ArchiveError(
            "this is the file the tree was imported from, and kinphoto does not write to it",
            where=str(path),
            remedy=f"Use another name, such as {path.stem}-with-pictures{path.suffix}.",
        )
    s, p = t.scan.c, t.photograph.c
    called_so = select(s.path, p.code).join(t.photograph, p.id == s.photograph_id)
    called_so = called_so.where(or_(*(func.lower(s.path).endswith(suffix) for suffix in SUFFIXES)))
    for scan, code in connection.execute(called_so):
        if _is_one(path, scan):
            raise ArchiveError(
                f"this is a scan of {code}, and kinphoto does not write to scans",
                where=str(path),
                remedy="Use another name.",
            )


def _is_one(path: Path, other: str) -> bool:
    """Whether two paths name the same file, even one that does not exist at the moment."""
    if os.path.exists(path) and os.path.exists(other):  # noqa: PTH110 (Path.exists raises for a long name)
        return path.samefile(other)
    return os.path.abspath(path) == other or os.path.realpath(path) == os.path.realpath(other)  # noqa: PTH100


def _mark(engine: Engine) -> str:
    """The mark of this archive in trees: made once, and kept."""
    with reading(engine) as connection:
        found = setting(connection, _MARK)
    if found is None:
        with working(engine, "") as work:  # not a row of the change log, so no line there
            found = setting(work.connection, _MARK)
            if found is None:
                found = uuid.uuid4().hex[:12]
                keep_setting(work.connection, _MARK, found)
    return found


def _with_letters(writer: TreeWriter, pictures: PicturesToWrite, mark: str, into: Path) -> TreeWriter:
    """The same writer when the file's encoding has every letter of our lines, else one for the same tree in UTF-8."""
    try:
        ours = b"".join(writer.lines(pictures))
    except UnicodeEncodeError:
        ours = None
    survey = writer.survey
    declares_encoding = survey.seven or survey.says_encoding or writer.file.wide
    if ours is not None and (declares_encoding or ours.isascii()):
        return writer
    return TreeWriter(Verbatim(recoded(writer.file, survey.seven, into)), mark, writer.people)


def _put(
    path: Path, writer: TreeWriter, pictures: PicturesToWrite, media: MediaSelection, replace: bool
) -> tuple[int, bool]:
    """Write the file. Returns its size in bytes, and whether it differs from the one that was there."""
    with atomic_write(path, "the tree cannot be written") as part:
        tree = writer.file.stored(writer.pieces(pictures))
        with part.open("wb") as out:
            if media.packed:
                write_package(out, tree, 2 * writer.file.source.size, media.files)
            else:
                out.writelines(tree)
        size = part.stat().st_size
        if path.is_file() and path.stat().st_size == size and sha256_at(str(path)) == sha256_at(str(part)):
            part.unlink()
            return size, False
        if os.path.lexists(path) and not replace:
            raise ArchiveError(
                "there is already another file", where=str(path), remedy="Use another name, or --replace."
            )
    return size, True


def _stale(kept: copies.TreeCopy) -> Iterator[str]:
    """A warning when the keeper has changed the tree since it was imported."""
    try:
        now = decode.examine(kept.origin)
    except KinphotoError:
        return
    if now.sha256 != kept.source.sha256:
        yield f"{kept.origin} has changed since it was imported, and the old state was written. Import it first."

"""Making an archive again in a new folder, from a backup: what is written never replaces anything.

Scans that are still where the archive looks for them stay there. Otherwise they are put into `scans` of the new folder,
and the archive looks there from then on.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from shlex import quote
from typing import Annotated, Any, NamedTuple

from kinphoto.archive.keeping.backup import CONTENTS, POOL, Progress, backups_in, pool_path
from kinphoto.archive.keeping.contents import ARCHIVE
from kinphoto.archive.words.dates import on_the_clock
from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.phrases import counted, sized
from kinphoto.scans.copying import copy_hashed, free_space, several_at_once
from kinphoto.scans.fixity import sha256_at
from kinphoto.store import opening
from kinphoto.store.atomic import atomic_write
from kinphoto.store.root_rows import holds

SCANS = "scans"
"""The folder within an archive for scans that have no other place."""


@dataclass(frozen=True, slots=True)
class Restored:
    """An archive that was made again."""

    archive: Annotated[str, "the folder of the new archive"]
    made: Annotated[str, "when the backup was made, UTC"]
    scans: Annotated[int, "how many image files were put into it"]
    left_in_place: Annotated[int, "how many image files were left where they are, because they are still there"]
    missing: Annotated[Sequence[str], "files that are not in the backup"]
    damaged: Annotated[Sequence[str], "files whose copy is not what it should be; they were put there as they are"]

    def report(self, source: str) -> Iterator[tuple[str, Sequence[str]]]:
        """What was made again from a `source`, a backup or a package: each with the files it is about."""
        yield f"The archive of {on_the_clock(self.made):%Y-%m-%d} is now in {self.archive}.", ()
        left = f", {self.left_in_place:,} left where they were" if self.left_in_place else ""
        yield f"{counted(self.scans, 'scan')} put there{left}.", ()
        if self.missing:
            yield f"Not in the {source}, so not restored ({len(self.missing)}):", self.missing
        if self.damaged:
            yield f"DAMAGED in the {source}, put there as they are ({len(self.damaged)}):", self.damaged


class RestoredFile(NamedTuple):
    """A file to be put into a new archive: where from, where to, which SHA-256 and time it has. An empty source: it
    cannot be found anywhere."""

    source: Path | None
    target: Path
    sha256: str
    size: int
    mtime_ns: int


def restore(
    source: Path | str, folder: Path | str, progress: Progress | None = None, *, all_scans: bool = False
) -> Restored:
    """Make the archive of a backup in a new folder: of the newest one in `source`, or of the one that `source` is.

    With `all_scans` they are put into the new folder even where they are still in their old place. Raises NotFoundError
    when there is no backup, ArchiveError when it is damaged, the folder is not empty, or there is no room.
    """
    backup = _backup_at(Path(source))
    to = Path(os.path.realpath(folder))
    contents = _contents(backup)
    refuse_full(to)
    pool = backup.parent / POOL
    roots = {int(id_): path for id_, path in contents["roots"].items()}
    files: Sequence[Mapping[str, Any]] = contents["files"]
    stays = set() if all_scans else _in_place(roots, files, contents["archive"])
    places = new_places({id_: path for id_, path in roots.items() if id_ not in stays}, contents["archive"], to)
    placed = [
        RestoredFile(
            pool_path(pool, each["sha256"], each["path"]) if each["sha256"] else None,
            below(places.get(each["root"], to), each["path"]),
            each["sha256"],
            each["size"],
            each["mtime_ns"],
        )
        for each in files
        if each["root"] not in stays and not PurePosixPath(each["path"]).is_absolute()
    ]
    missing, damaged = put(backup / opening.DATABASE, to, placed, places, progress)
    scans = sum(each["root"] != ARCHIVE for each in files if each["root"] not in stays and each["sha256"])
    return Restored(
        archive=str(to),
        made=contents["made"],
        scans=scans,
        left_in_place=sum(each["root"] in stays for each in files),
        missing=missing,
        damaged=damaged,
    )


def put(
    database: Path, to: Path, placed: Sequence[RestoredFile], places: Mapping[int, Path], progress: Progress | None
) -> tuple[list[str], list[str]]:
    """Put the files into a new archive's folder and the database last, so that there is an archive only when it is
    whole. Returns the files that are missing and those that are not what they should be.

    Raises ArchiveError when there is no room or nothing can be written.
    """
    needed = sum(each.size for each in placed) + database.stat().st_size
    if needed > (free := free_space(to)):
        raise ArchiveError(
            f"this needs {sized(needed)}, and the disk has {sized(free)} free",
            where=str(to),
            remedy="Make room, or name a folder on a larger disk.",
        )
    problem = "the archive cannot be written"
    with atomic_write(to / opening.DATABASE, problem) as part:
        missing, damaged = _copy_all(to, placed, progress or (lambda _done, _total: None))
        copy_hashed(database, to, lambda _sha256: part)
        part.chmod(0o644)
        with closing(sqlite3.connect(part)) as copy:
            for id_ in places:  # out of each other's way first
                copy.execute("UPDATE scan_root SET path = ? WHERE id = ?", (f"moving {id_}", id_))
            for id_, place in places.items():
                copy.execute("UPDATE scan_root SET path = ?, archive = ? WHERE id = ?", (str(place), str(to), id_))
            copy.commit()
        os.sync()
    return missing, damaged


def _copy_all(
    to: Path, placed: Sequence[RestoredFile], report: Callable[[int, int], None]
) -> tuple[list[str], list[str]]:
    missing, damaged = [], []
    to.mkdir(parents=True, exist_ok=True)

    def copy(each: RestoredFile) -> str | None:
        if each.source is None:
            return None
        try:
            return copy_hashed(each.source, to, lambda _sha256: each.target, each.mtime_ns)[0]
        except FileNotFoundError:
            return None

    for done, (each, found) in enumerate(several_at_once(copy, placed), 1):
        if found is None:
            missing.append(str(each.target))
        elif found != each.sha256:
            damaged.append(str(each.target))
        report(done, len(placed))
    return sorted(missing), sorted(damaged)


def new_places(roots: Mapping[int, str], archive: str, to: Path) -> dict[int, Path]:
    """Where the folders of scans go in a new archive: the archive's own becomes the new one, each other gets a folder
    of its name in `scans`."""
    places: dict[int, Path] = {}
    taken: set[str] = set()
    for id_, path in sorted(roots.items()):
        if path == archive:
            places[id_] = to
            continue
        name = plain = PurePosixPath(path).name or "disk"
        number = 1
        while name.casefold() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.casefold())
        places[id_] = to / SCANS / name
    return places


def below(folder: Path, path: str) -> Path:
    """A path inside a folder. Raises ArchiveError for one that would lead out of it."""
    parts = PurePosixPath(path).parts
    if ".." in parts or PurePosixPath(path).is_absolute():
        raise ArchiveError(
            "this path leads out of its folder", where=path, remedy="The list it is in was tampered with."
        )
    return folder.joinpath(*parts)


def refuse_full(folder: Path) -> None:
    """Raise ArchiveError unless there is nothing in this folder."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise ArchiveError(
            "there is something in this folder already",
            where=str(folder),
            remedy="Name a new folder, so that nothing is replaced.",
        )


def holds_backup(folder: Path) -> bool:
    """Whether this folder is a backup or has some in it."""
    return _newest(folder) is not None


def is_package(folder: Path) -> bool:
    """Whether this folder is a bag, such as a package."""
    return (folder / "bagit.txt").is_file()


def _newest(source: Path) -> Path | None:
    if (source / CONTENTS).is_file():
        return source
    return next(iter(backups_in(source)), None) if source.is_dir() else None


def _backup_at(source: Path) -> Path:
    found = _newest(source)
    if found is None:
        raise NotFoundError(
            "there is no backup here",
            where=str(source),
            remedy=f"It is a package: kinphoto init NEW-FOLDER --from {quote(str(source))}."
            if is_package(source)
            else "Name the folder that you gave to keep backup, or one of the dates in it.",
        )
    return found


def _contents(backup: Path) -> dict[str, Any]:
    """What is in a backup. Raises ArchiveError when it or its database is not what was written."""
    database = backup / opening.DATABASE
    try:
        contents: dict[str, Any] = json.loads((backup / CONTENTS).read_text(encoding="utf-8"))
        whole = sha256_at(str(database)) == contents["database_sha256"]
    except (OSError, ValueError, KeyError):
        whole = False
    if not whole:
        raise ArchiveError(
            "this backup is damaged: its database is not what was written",
            where=str(database),
            remedy="Use another of the backups beside it: name its folder.",
        )
    return contents


def _in_place(roots: Mapping[int, str], files: Sequence[Mapping[str, Any]], archive: str) -> set[int]:
    """The roots whose files are all still there; those in the old archive's folder are never used."""
    found = set()
    for id_, path in roots.items():
        inside = [each for each in files if each["root"] == id_]
        if path != archive and inside and all(holds(path, each["path"], each["size"]) for each in inside):
            found.add(id_)
    return found

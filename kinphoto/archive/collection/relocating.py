"""Finding scans again whose folder was moved or renamed outside: by their content, all in one step.

Only files as large as one that is missing are read, and nothing new is added. Each scan keeps its photograph, and a
container that stands for a folder follows it.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Engine

from kinphoto.archive.collection.known_files import KnownFile, is_gone, known_files
from kinphoto.archive.collection.scanning import settle_moves
from kinphoto.archive.collection.scans_added import FiledScan, Move, filed_scans
from kinphoto.documents import Key
from kinphoto.errors import InvalidValueError
from kinphoto.scans.thumbnails import FOLDER, TILES
from kinphoto.scans.walk import FoundFile, Refused, walk
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class MovedFolder:
    """A folder that is somewhere else now."""

    old: Annotated[str, Key("from"), "the folder the scans were in"]
    new: Annotated[str, Key("to"), "the folder they are in now"]
    scans: Annotated[int, "how many of them were found there"]


@dataclass(frozen=True, slots=True)
class StillMissing:
    """A scan that was not found."""

    path: Annotated[str, "where the scan was"]
    photograph: Annotated[str, "the code of its photograph"]
    namesake: Annotated[str | None, "a file of the same name whose content differs, or null"]


@dataclass(frozen=True, slots=True)
class FoundAgain:
    """What was found of the scans that were missing."""

    missing: Annotated[int, "scans that were not where they had been"]
    found: Annotated[tuple[Move, ...], "those that were found, each with where it is now"]
    folders: Annotated[tuple[MovedFolder, ...], "the same by folder"]
    still_missing: Annotated[tuple[StillMissing, ...], "those that were not found"]
    searched: Annotated[tuple[str, ...], "the folders that were searched"]
    unreadable: Annotated[tuple[Refused, ...], "files and folders that could not be read"]


def find_again(engine: Engine, places: Sequence[Path | str] = (), progress: Progress | None = None) -> FoundAgain:
    """Look for the scans that are missing in `places` and below; without any, in the nearest folders above where they
    were that are still there.

    One line of the log. Raises NotFoundError for a place that is not there, InvalidValueError where none is given and
    nothing near is left.
    """
    known = known_files(engine)
    gone = {path: file for path, file in known.items() if is_gone(path)}
    if not gone:
        return FoundAgain(0, (), (), (), (), ())
    searched = [str(place) for place in places] or _near(gone)
    ours = frozenset(os.path.realpath(folder_of(engine) / name) for name in (FOLDER, TILES))
    everything = list(walk(searched, ours))
    refused = [each for each in everything if isinstance(each, Refused)]
    files = [each for each in everything if isinstance(each, FoundFile) and each.path not in known]
    sizes, names = {file.size for file in gone.values()}, {Path(path).name for path in gone}
    alike = [each for each in files if each.size in sizes]
    alike.sort(key=lambda each: Path(each.path).name not in names)  # of several copies the one that kept its name
    moved, unread = settle_moves(engine, searched, alike, progress)
    return _told(engine, gone, files, moved, searched, (*refused, *unread))


def _near(gone: Mapping[str, object]) -> list[str]:
    """The nearest folders that are still there above those of these files, each once and none inside another."""
    near = {next(folder for folder in Path(path).parents if folder.is_dir()) for path in gone}
    if all(folder == Path(folder.anchor) for folder in near):
        raise InvalidValueError(
            "nothing is left of the folders the scans were in, so there is nowhere to begin",
            remedy="Name the folder they are in now, or the disk: kinphoto scans find FOLDER.",
        )
    near = {folder for folder in near if folder != Path(folder.anchor)}
    return sorted(str(folder) for folder in near if not near & set(folder.parents))


def _told(
    engine: Engine,
    gone: Mapping[str, KnownFile],
    files: Sequence[FoundFile],
    moved: Sequence[Move],
    searched: Sequence[str],
    refused: Sequence[Refused],
) -> FoundAgain:
    found = {move.old for move in moved}
    ids = [scan.id for file in gone.values() for scan in file.scans if scan.path not in found]
    with reading(engine) as connection:
        missing: list[FiledScan] = filed_scans(connection, ids)
    namesakes = {Path(each.path).name: each.path for each in reversed(files)}
    folders = Counter((str(Path(move.old).parent), str(Path(move.new).parent)) for move in moved)
    return FoundAgain(
        len(missing) + len(moved),
        tuple(moved),
        tuple(MovedFolder(old, new, count) for (old, new), count in sorted(folders.items())),
        tuple(StillMissing(one.path, one.photograph, namesakes.get(Path(one.path).name)) for one in missing),
        tuple(searched),
        tuple(refused),
    )

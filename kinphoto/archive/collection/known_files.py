"""The image files that the archive knows, as they were when they were last looked at, and where those are now that were
moved or renamed behind its back: the same bytes at another path."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, or_, select

from kinphoto.archive.catalogue.containers import Containers
from kinphoto.scans.pages import file_path, page_path
from kinphoto.scans.walk import FoundFile
from kinphoto.store import tables as t
from kinphoto.store.among import FEW
from kinphoto.store.session import Work, reading


@dataclass(frozen=True, slots=True)
class KnownFile:
    """A file that the archive knows, with the rows of the scans in it."""

    path: str
    sha256: str
    size: int
    mtime_ns: int
    missing: int
    scans: list[Any]
    first_only: bool
    """Its first page alone is known, as before there were others."""


def known_files(engine: Engine, like: Sequence[FoundFile] | None = None) -> dict[str, KnownFile]:
    """The files of the archive by their paths; where a few were found only those that may be one of them."""
    s = t.scan.c
    columns = (
        s.id, s.photograph_id, s.path, s.page, s.sha256, s.file_sha256, s.size, s.mtime_ns, s.missing, s.pages
    )  # fmt: skip
    files: dict[str, list[Any]] = defaultdict(list)
    with reading(engine) as connection:
        query = select(*columns).order_by(s.id)
        if like is not None and len(like) <= FEW:
            sizes, paths = {each.size for each in like}, {each.path for each in like}
            query = query.where(or_(s.size.in_(sizes), s.path.in_(paths), s.page > 0))
        for row in connection.execute(query):
            files[file_path(row.path, row.page)].append(row)
    found: dict[str, KnownFile] = {}
    for path, rows in files.items():
        first, missing = rows[0], max(row.missing for row in rows)
        sha256, first_only = first.file_sha256 or first.sha256, first.page == 0 and first.pages > 1
        found[path] = KnownFile(path, sha256, first.size, first.mtime_ns, missing, rows, first_only)
    return found


def moves_among(
    doubtful: list[FoundFile], hashes: Mapping[str, str], known: Mapping[str, KnownFile]
) -> list[tuple[KnownFile, FoundFile]]:
    """Which files are now where, of those whose bytes turned up at another path and are gone from their own.

    In a series that was renumbered each takes the path of the next: a path is taken over only from a file that
    itself went elsewhere.
    """
    gone: dict[str, list[KnownFile]] = defaultdict(list)
    wanted = set(hashes.values())
    for file in known.values():
        if file.sha256 in wanted and not _is_still_there(file, hashes):
            gone[file.sha256].append(file)
    moves: dict[str, tuple[KnownFile, FoundFile]] = {}
    for each in doubtful:
        sha256 = hashes.get(each.path, "")
        same = each.path in known and known[each.path].sha256 == sha256
        if not same and gone[sha256]:
            file = gone[sha256].pop(0)
            moves[file.path] = (file, each)
    while blocked := [old for old, (_, each) in moves.items() if each.path in known and each.path not in moves]:
        for old in blocked:
            del moves[old]
    return list(moves.values())


def _is_still_there(file: KnownFile, hashes: Mapping[str, str]) -> bool:
    """Whether a file is where it was, as far as was looked."""
    return hashes[file.path] == file.sha256 if file.path in hashes else os.path.lexists(file.path)


def record_moves(work: Work, moves: list[tuple[KnownFile, FoundFile]], known: Mapping[str, KnownFile]) -> None:
    if any(each.path in known for _, each in moves):
        free_paths(work, [scan.id for file, _ in moves for scan in file.scans])
    set_files(work, moves)
    containers = Containers(work)
    for file, each in moves:
        for scan in file.scans:
            containers.follow(scan.photograph_id, str(Path(file.path).parent), each.folder, each.root)


def free_paths(work: Work, scans: Sequence[int]) -> None:
    """No two scans may have one path, not even for the moment between two updates."""
    work.rewrite(t.scan, [{"id": id_, "path": f"moving:{id_}"} for id_ in scans])


def set_files(work: Work, files: list[tuple[KnownFile, FoundFile]]) -> None:
    work.rewrite(
        t.scan,
        [
            {
                "id": scan.id,
                "path": page_path(each.path, scan.page),
                "size": each.size,
                "mtime_ns": each.mtime_ns,
                "missing": 0,
            }
            for file, each in files
            for scan in file.scans
        ],
    )


def is_gone(path: str) -> bool:
    """Whether nothing is at this path; what only cannot be looked at is not gone."""
    try:
        Path(path).lstat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False

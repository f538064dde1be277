"""Indexing image files: each new one becomes a photograph in the container of its folder.

What a file is, its bytes decide. A file whose size and time are as they were is not opened. One that could be an old
acquaintance (a known path with another time, an unknown path with a known size) is hashed: the same bytes under
another name are the same scan, moved. Only what is left is decoded.

Files are committed as they are measured, half a second's worth at a time, all under one line of the log: whoever
stops the command, by whatever means, keeps what was done, and the next run goes on from there.
"""

from __future__ import annotations

import os
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, RowMapping, func, or_, select

from kinphoto.archive.containing import Containers
from kinphoto.archive.finding import find_container, photograph_code
from kinphoto.archive.removing import LeftOut, forget, without_removed
from kinphoto.errors import UnreadableFileError
from kinphoto.phrases import counted
from kinphoto.scans.derived import remove_stale_parts
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.thumbnails import TILES
from kinphoto.scans.walk import Found, Refused, shown, walk
from kinphoto.scans.workers import Answer, Workers, cores
from kinphoto.store import tables as t
from kinphoto.store.session import Work, reading, working

Progress = Callable[[int, int], None]
"""Called with how many files are done, of how many that have to be opened."""

_BATCH_SECONDS = 0.5
_BATCH_FILES = 200


@dataclass(frozen=True, slots=True)
class ScansAdded:
    """What indexing did. `seen` is every picture met: the sum of the next four, of `unreadable` and of `left_out`,
    which were removed earlier.

    `moved` holds (old path, new path), `changed` the paths whose bytes are others now, `duplicates` (path, path of
    the scan it is a copy of), which count as unchanged. `photographs` is how many the archive holds.
    """

    seen: int
    added: int
    unchanged: int
    moved: tuple[tuple[str, str], ...]
    changed: tuple[str, ...]
    unreadable: tuple[Refused, ...]
    duplicates: tuple[tuple[str, str], ...]
    photographs: int
    left_out: tuple[LeftOut, ...] = ()


@dataclass(frozen=True, slots=True)
class _Scan:
    """A scan as the archive knows it."""

    id: int
    photograph_id: int
    path: str
    sha256: str
    size: int
    mtime_ns: int
    missing: int


@dataclass(slots=True)
class _Tally:
    """What was done so far."""

    added: int = 0
    unchanged: int = 0
    moved: list[tuple[str, str]] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    unreadable: list[Refused] = field(default_factory=list)
    duplicates: list[tuple[str, str]] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    def counts(self) -> tuple[int, int, int]:
        """Added, moved, changed."""
        return self.added, len(self.moved), len(self.changed)


def _words(added: int, moved: int, changed: int) -> str:
    """For the log: "indexed 12 scans, found 3 moved and 1 changed"."""
    found = [f"{count} {word}" for count, word in ((moved, "moved"), (changed, "changed")) if count]
    parts = [f"indexed {counted(added, 'scan')}"] if added else []
    parts += [f"found {' and '.join(found)}"] if found else []
    return ", ".join(parts) or "noted new times of unchanged scans"


class _Log:
    """One line of the log, written to in several transactions."""

    def __init__(self, engine: Engine, tally: _Tally, paths: Sequence[str]) -> None:
        self._engine = engine
        self._tally = tally
        self._where = shown(paths[0]) + (f" and {len(paths) - 1} more" if len(paths) > 1 else "")
        self._change: int | None = None
        self._told = self._so_far = (0, 0, 0)  # what earlier lines tell, and what is committed

    @contextmanager
    def working(self) -> Iterator[Work]:
        """A transaction that adds to the line, or begins another when somebody else's change came between."""
        with working(self._engine, "", self._change) as work:
            yield work
            if work.id != self._change:
                self._told = self._so_far
            self._so_far = self._tally.counts()
            added, moved, changed = (now - told for now, told in zip(self._so_far, self._told, strict=True))
            work.what = f"{_words(added, moved, changed)} in {self._where}"
        self._change = work.id or self._change


def add_scans(
    engine: Engine,
    thumbs: Path,
    paths: Sequence[str],
    container: str | None = None,
    progress: Progress | None = None,
    *,
    again: bool = False,
) -> ScansAdded:
    """Index the image files at or below `paths`; new ones go into `container`, or into those of their folders. Those
    that were removed earlier are left out, unless they are wanted `again`.

    Raises NotFoundError when a path is not there, AmbiguousError when several containers bear that name. When it is
    interrupted, what was measured is committed first.
    """
    if container is not None:
        with reading(engine) as connection:
            find_container(connection, container)
    tally = _Tally()
    log = _Log(engine, tally, paths)
    report = progress or (lambda _done, _total: None)
    found = _walked(paths, thumbs, tally)
    if not again:
        found, tally.left_out = without_removed(engine, found)
    known = _known(engine)
    rest, doubtful = _without_unchanged(found, known, tally)
    hashes = _hashes(doubtful, tally, lambda done: report(done, len(rest)))
    settled = _settle(log, doubtful, hashes, known, tally)
    new = [each for each in rest if each.path not in settled]
    if new:
        _measure(
            log, thumbs, new, hashes, container, tally, lambda done: report(len(rest) - len(new) + done, len(rest))
        )
    return _result(engine, tally)


def _walked(paths: Sequence[str], thumbs: Path, tally: _Tally) -> list[Found]:
    """The image files there are; what cannot be read is noted."""
    found: list[Found] = []
    ours = frozenset(os.path.realpath(place) for place in (thumbs, thumbs.with_name(TILES)))
    for each in walk(paths, ours):
        if isinstance(each, Found):
            found.append(each)
        else:
            tally.unreadable.append(each)
    return found


def _known(engine: Engine) -> dict[str, _Scan]:
    """The scans of the archive by their paths."""
    s = t.scan.c
    columns = (s.id, s.photograph_id, s.path, s.sha256, s.size, s.mtime_ns, s.missing)
    with reading(engine) as connection:
        return {row.path: _Scan(*row) for row in connection.execute(select(*columns).order_by(s.id))}


def _without_unchanged(
    found: list[Found], known: Mapping[str, _Scan], tally: _Tally
) -> tuple[list[Found], list[Found]]:
    """The files that need a closer look, and those among them that could be scans the archive knows."""
    sizes = {row.size for row in known.values()}
    rest: list[Found] = []
    doubtful: list[Found] = []
    for each in found:
        row = known.get(each.path)
        if row and (row.size, row.mtime_ns, row.missing) == (each.size, each.mtime_ns, 0):
            tally.unchanged += 1
            continue
        rest.append(each)
        if row or each.size in sizes:
            doubtful.append(each)
    return rest, doubtful


def _hashes(doubtful: list[Found], tally: _Tally, done: Callable[[int], None]) -> dict[str, str]:
    """The SHA-256 of each file by its path; those that cannot be read are noted and left out."""
    hashes: dict[str, str] = {}
    with ThreadPoolExecutor(cores()) as pool:
        try:
            for number, (each, answer) in enumerate(zip(doubtful, pool.map(_hash, doubtful), strict=True), 1):
                if isinstance(answer, str):
                    hashes[each.path] = answer
                else:
                    tally.unreadable.append(_refused(answer))
                done(number)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return hashes


def _hash(each: Found) -> str | UnreadableFileError:
    try:
        return sha256_at(each.path)
    except UnreadableFileError as problem:
        return problem


def _settle(
    log: _Log, doubtful: list[Found], hashes: Mapping[str, str], known: Mapping[str, _Scan], tally: _Tally
) -> set[str]:
    """Record the files whose bytes the archive knows. Returns their paths, and those of files without a hash."""
    moves = _moves(doubtful, hashes, known)
    leaving, arrived = {scan.path for scan, _ in moves}, {each.path for _, each in moves}
    stayed = {path: scan.sha256 for path, scan in known.items() if path not in leaving}
    where = {sha256: path for path, sha256 in stayed.items()} | {scan.sha256: each.path for scan, each in moves}
    unsettled = [each for each in doubtful if each.path in hashes and each.path not in arrived]
    touched = [each for each in unsettled if stayed.get(each.path) == hashes[each.path]]
    copies = [each for each in unsettled if each.path not in stayed and hashes[each.path] in where]
    tally.moved += [(scan.path, each.path) for scan, each in moves]
    tally.duplicates += [(each.path, where[hashes[each.path]]) for each in copies]
    tally.unchanged += len(touched) + len(copies)
    if moves or touched:
        with log.working() as work:
            _record_moves(work, moves, known)
            _set_files(work, [(known[each.path], each) for each in touched])
    unread = {each.path for each in doubtful if each.path not in hashes}
    return unread | arrived | {each.path for each in (*touched, *copies)}


def _moves(doubtful: list[Found], hashes: Mapping[str, str], known: Mapping[str, _Scan]) -> list[tuple[_Scan, Found]]:
    """Which scans are now where, of those whose bytes turned up at another path and are gone from their own.

    In a series that was renumbered each takes the path of the next: a path is taken over only from a scan that
    itself went elsewhere.
    """
    gone: dict[str, list[_Scan]] = defaultdict(list)
    wanted = set(hashes.values())
    for scan in known.values():
        if scan.sha256 in wanted and not _still_there(scan, hashes):
            gone[scan.sha256].append(scan)
    moves: dict[str, tuple[_Scan, Found]] = {}
    for each in doubtful:
        sha256 = hashes.get(each.path, "")
        same = each.path in known and known[each.path].sha256 == sha256
        if not same and gone[sha256]:
            scan = gone[sha256].pop(0)
            moves[scan.path] = (scan, each)
    while blocked := [old for old, (_, each) in moves.items() if each.path in known and each.path not in moves]:
        for old in blocked:
            del moves[old]
    return list(moves.values())


def _still_there(scan: _Scan, hashes: Mapping[str, str]) -> bool:
    """Whether a scan's file is where it was, as far as was looked."""
    return hashes[scan.path] == scan.sha256 if scan.path in hashes else os.path.lexists(scan.path)


def _record_moves(work: Work, moves: list[tuple[_Scan, Found]], known: Mapping[str, _Scan]) -> None:
    if any(each.path in known for _, each in moves):
        # No two scans may have one path, not even for the moment between two updates.
        work.rewrite(t.scan, [{"id": scan.id, "path": f"moving:{scan.id}"} for scan, _ in moves])
    _set_files(work, moves)
    containers = Containers(work)
    for scan, each in moves:
        containers.follow(scan.photograph_id, str(Path(scan.path).parent), each.folder, each.root)


def _set_files(work: Work, scans: list[tuple[_Scan, Found]]) -> None:
    work.rewrite(
        t.scan,
        [
            {"id": scan.id, "path": each.path, "size": each.size, "mtime_ns": each.mtime_ns, "missing": 0}
            for scan, each in scans
        ],
    )


def _measure(
    log: _Log,
    thumbs: Path,
    files: list[Found],
    hashes: Mapping[str, str],
    container: str | None,
    tally: _Tally,
    done: Callable[[int], None],
) -> None:
    """Measure files on all cores and record them as they come, in their order."""
    remove_stale_parts(thumbs)
    batch: list[tuple[Found, Answer]] = []
    since = time.monotonic()
    with Workers(thumbs, min(cores(), len(files))) as workers:
        answers = workers.measure([(each.path, hashes.get(each.path)) for each in files])
        try:
            for number, (each, answer) in enumerate(zip(files, answers, strict=True), 1):
                batch.append((each, answer))
                if len(batch) >= _BATCH_FILES or time.monotonic() - since > _BATCH_SECONDS:
                    ready, batch, since = batch, [], time.monotonic()
                    _record(log, ready, container, tally)
                done(number)
        finally:
            _record(log, batch, container, tally)


def _record(log: _Log, batch: list[tuple[Found, Answer]], container: str | None, tally: _Tally) -> None:
    """One transaction: new photographs for new files, new facts for changed ones."""
    tally.unreadable += [_refused(answer) for _, answer in batch if isinstance(answer, UnreadableFileError)]
    measured = [(each, answer) for each, answer in batch if isinstance(answer, dict)]
    if not measured:
        return
    with log.working() as work:
        rows = _like(work, [answer for _, answer in measured])
        by_path = {row["path"]: row for row in rows}
        paths = {row["sha256"]: row["path"] for row in rows}
        fresh: list[tuple[Found, dict[str, Any]]] = []
        for each, answer in measured:
            row = by_path.get(each.path)
            if row and row["sha256"] != answer["sha256"]:
                work.rewrite(t.scan, [{**answer, "id": row["id"], "missing": 0}])
                tally.changed.append(each.path)
            elif row:  # another kinphoto was quicker
                tally.unchanged += 1
            elif answer["sha256"] in paths:
                tally.duplicates.append((each.path, paths[answer["sha256"]]))
                tally.unchanged += 1
            else:
                paths[answer["sha256"]] = each.path
                fresh.append((each, answer))
        _insert(work, fresh, container)
        forget(work, [answer["sha256"] for _, answer in fresh])
        tally.added += len(fresh)


def _like(work: Work, answers: list[dict[str, Any]]) -> Sequence[RowMapping]:
    """The scans with the path or the bytes of one of these."""
    s = t.scan.c
    same = or_(s.path.in_([a["path"] for a in answers]), s.sha256.in_([a["sha256"] for a in answers]))
    return work.connection.execute(select(s.id, s.path, s.sha256).where(same)).mappings().all()


def _insert(work: Work, fresh: list[tuple[Found, dict[str, Any]]], container: str | None) -> None:
    """A photograph and a scan for each file, in the order of the files."""
    if not fresh:
        return
    codes = [photograph_code(number) for number in work.take("photograph.code", len(fresh))]
    indexed = date.today().toordinal()
    places = _places(work, [each for each, _ in fresh], container)
    photographs = work.insert(
        t.photograph,
        [
            {"code": code, "container_id": container_id, "position": position, "indexed": indexed}
            for code, (container_id, position) in zip(codes, places, strict=True)
        ],
    )
    work.insert(
        t.scan,
        [
            {
                **answer,
                "photograph_id": photograph_id,
                "indexed_at": work.at,
                "first_sha256": answer["sha256"],
                "first_code": code,
            }
            for photograph_id, code, (_, answer) in zip(photographs, codes, fresh, strict=True)
        ],
    )


def _places(work: Work, files: list[Found], container: str | None) -> Iterator[tuple[int, int]]:
    """The container and the place in it for each file."""
    containers = Containers(work)
    named = containers.named(container) if container is not None else None
    ids = [named or containers.of_folder(each.folder, each.root) for each in files]
    free = {id_: iter(containers.next_positions(id_, ids.count(id_))) for id_ in dict.fromkeys(ids)}
    return ((id_, next(free[id_])) for id_ in ids)


def _refused(problem: UnreadableFileError) -> Refused:
    remedy = problem.remedy[:1].lower() + problem.remedy[1:].rstrip(".")
    return Refused(problem.where, f"{problem.what}; {remedy}" if remedy else problem.what)


def _result(engine: Engine, tally: _Tally) -> ScansAdded:
    with reading(engine) as connection:
        photographs = connection.scalar(select(func.count()).select_from(t.photograph)) or 0
    return ScansAdded(
        seen=tally.added
        + tally.unchanged
        + len(tally.moved)
        + len(tally.changed)
        + len(tally.unreadable)
        + len(tally.left_out),
        added=tally.added,
        unchanged=tally.unchanged,
        moved=tuple(tally.moved),
        changed=tuple(tally.changed),
        unreadable=tuple(tally.unreadable),
        duplicates=tuple(tally.duplicates),
        photographs=photographs,
        left_out=tuple(tally.left_out),
    )

"""Adding image files: each new one becomes a photograph in the container of its folder.

A file is identified by its bytes. One whose size and time have not changed is not opened. One that may be known already
(a known path with another time, an unknown path with a known size) is hashed: the same bytes under another name are the
same scan, moved. Only the others are decoded. Each page of a file with several (a PDF, a TIFF of many pages) is a scan
and a photograph of its own; when such a file changes, a page is recognised by its pixels.

Scans below the same folders whose files are gone are noted and reported as missing; nothing is deleted.

Files are committed as they are measured, every half second, all under one line of the log: if the command is stopped,
by whatever means, what was done is kept, and the next run goes on from there.
"""

from __future__ import annotations

import os
import time
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Connection, Engine, RowMapping, func, or_, select

from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_container, photograph_code
from kinphoto.archive.collection.moving import reverse_interrupted
from kinphoto.archive.collection.numbers import note_given
from kinphoto.archive.collection.removing import LeftOut, forget, without_removed
from kinphoto.documents import Key
from kinphoto.errors import UnreadableFileError
from kinphoto.phrases import counted, listed
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.pages import file_path, page_path
from kinphoto.scans.thumbnails import FOLDER, TILES
from kinphoto.scans.walk import FoundFile, Refused, shown, walk
from kinphoto.scans.workers import Answer, FileMeasured, Workers, cores
from kinphoto.store import tables as t
from kinphoto.store.among import FEW, among
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import add_roots
from kinphoto.store.roots import as_stored, stored
from kinphoto.store.session import Work, reading, working

Progress = Callable[[int, int], None]
"""Called with how many files are done, of how many that have to be opened."""

_BATCH_SECONDS = 0.5
_BATCH_FILES = 200


@dataclass(frozen=True, slots=True)
class FiledScan:
    """A scan of a photograph."""

    path: Annotated[str, "the scan; `#page=3` at the end is a page of a file with several"]
    photograph: Annotated[str, "the code of its photograph"]
    faces: Annotated[int, "how many faces are framed on the photograph, which may not fit any more"] = 0


@dataclass(frozen=True, slots=True)
class PagedFile:
    """A file with several pages."""

    path: Annotated[str, "a file with several pages"]
    pages: Annotated[int, "how many of its pages hold a picture"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs that were made of them now"]


class Move(NamedTuple):
    """A file that was known under another name or in another folder."""

    old: Annotated[str, Key("from"), "where a moved file was"]
    new: Annotated[str, Key("to"), "where it is now"]


class Duplicate(NamedTuple):
    """A second copy of a file."""

    path: Annotated[str, "a second copy of a file"]
    of: Annotated[str, "the file it is a copy of"]


@dataclass(frozen=True, slots=True)
class ScansAdded:
    """What indexing did."""

    seen: Annotated[int, "image files found"]
    added: Annotated[int, "files that are new"]
    unchanged: Annotated[int, "files known and as they were, second copies among them"]
    moved: Annotated[tuple[Move, ...], Key("moves"), "known files found under a new name or in a new folder"]
    changed: Annotated[tuple[FiledScan, ...], Key("changes"), "scans whose bytes have changed since they were indexed"]
    unreadable: Annotated[tuple[Refused, ...], "files and folders that could not be read"]
    duplicates: Annotated[tuple[Duplicate, ...], "second copies of a file"]
    photographs: Annotated[int, "how many photographs the archive holds now"]
    left_out: Annotated[
        tuple[LeftOut, ...], "files that were removed from the archive and are not indexed again without `--again`"
    ] = ()
    new: Annotated[tuple[FiledScan, ...], "photographs that were made"] = ()
    telling: Annotated[
        tuple[FiledScan, ...],
        "photographs of whose files names, captions or dates were recorded that others wrote: see `scans inside`",
    ] = ()
    telling_change: Annotated[int | None, "the change in which these were recorded, for `undo`; or null"] = None
    paged: tuple[PagedFile, ...] = ()
    vanished: Annotated[tuple[FiledScan, ...], "scans that are not where they were"] = ()

    @property
    def moved_count(self) -> Annotated[int, Key("moved"), "known files found under a new name or in a new folder"]:
        """How many files were found elsewhere."""
        return len(self.moved)

    @property
    def changed_count(self) -> Annotated[int, Key("changed"), "files whose bytes have changed since they were indexed"]:
        """How many scans have changed."""
        return len(self.changed)

    @property
    def codes(self) -> str:
        """The photographs that were made: "K00012 to K00031 and K00040"."""
        return code_ranges([each.photograph for each in self.new])


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


@dataclass
class _Tally:
    """What was done so far."""

    unchanged: int = 0
    new: list[FiledScan] = field(default_factory=list)
    telling: list[FiledScan] = field(default_factory=list)
    telling_change: int | None = None
    paged: list[PagedFile] = field(default_factory=list)
    moved: list[Move] = field(default_factory=list)
    changed: list[FiledScan] = field(default_factory=list)
    vanished: list[FiledScan] = field(default_factory=list)
    missing: int = 0  # of those that vanished, how many were there the last time
    unreadable: list[Refused] = field(default_factory=list)
    duplicates: list[Duplicate] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    def counts(self) -> tuple[int, int, int, int]:
        """Added, moved, changed, missing since the last time."""
        return len(self.new), len(self.moved), len(self.changed), self.missing


def code_ranges(codes: Sequence[str]) -> str:
    """Codes in few words: "K00012 to K00031 and K00040"."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and int(code[1:]) == int(runs[-1][-1][1:]) + 1:
            runs[-1] = [runs[-1][0], code]
        else:
            runs.append([code])
    return listed([" to ".join(run) for run in runs])


def _words(added: int, moved: int, changed: int, missing: int) -> str:
    """For the history: "added 12 scans, found 3 moved and 1 changed"."""
    kinds = ((moved, "moved"), (changed, "changed"), (missing, "missing"))
    found = [f"{count} {word}" for count, word in kinds if count]
    parts = [f"added {counted(added, 'scan')}"] if added else []
    parts += [f"found {listed(found)}"] if found else []
    return ", ".join(parts) or "noted new file times of unchanged scans"


class _Log:
    """One line of the log, written to in several transactions."""

    def __init__(self, engine: Engine, tally: _Tally, paths: Sequence[str]) -> None:
        self._engine = engine
        self._tally = tally
        self._where = shown(paths[0]) + (f" and {len(paths) - 1} more" if len(paths) > 1 else "")
        self._change: int | None = None
        self._before = self._so_far = (0, 0, 0, 0)  # what is in earlier lines, and what is committed

    @contextmanager
    def working(self) -> Iterator[Work]:
        """A transaction that adds to the line, or begins another when somebody else's change came between."""
        with working(self._engine, "", self._change) as work:
            yield work
            if work.id != self._change:
                self._before = self._so_far
            self._so_far = self._tally.counts()
            since = (now - before for now, before in zip(self._so_far, self._before, strict=True))
            work.what = f"{_words(*since)} in {self._where}"
        self._change = work.id or self._change

    def keep_checks(self, answers: Iterable[FileMeasured]) -> None:
        """Keep how good the scans are, as far as that was measured; it follows from their bytes and is no change."""
        checked = [
            (scan["sha256"], checks) for each in answers for scan, checks in zip(each.scans, each.checks, strict=False)
        ]
        if checked:
            from kinphoto.archive.collection import (
                scan_checks,
            )  # loads numpy and scipy, which a second run does without

            scan_checks.keep(self._engine, checked)


def add_scans(
    engine: Engine,
    paths: Sequence[Path | str],
    container: str | None = None,
    progress: Progress | None = None,
    *,
    again: bool = False,
    check: bool = False,
    workers: Workers | None = None,
) -> ScansAdded:
    """Index the image files at or below `paths`; new ones go into `container`, or into those of their folders. Those
    that were removed earlier are left out, unless they are wanted `again`. With `check` it is also measured how good
    each new scan is, in the same reading. They are measured by `workers`, if somebody keeps some for more files to
    come.

    Committed as it goes, as one line of the log. Raises NotFoundError when a path is not there, AmbiguousError when
    several containers bear that name. When it is interrupted, what was measured is committed first.
    """
    reverse_interrupted(engine)
    texts, thumbs = [str(path) for path in paths], folder_of(engine) / FOLDER
    if container is not None:
        with reading(engine) as connection:
            find_container(connection, container)
    tally = _Tally()
    log = _Log(engine, tally, texts)
    report = progress or (lambda _done, _total: None)
    found = _walked(texts, thumbs, tally)
    if not again:
        found, tally.left_out = without_removed(engine, found)
    add_roots(engine, {each.root for each in found})
    known = known_files(engine, found)
    rest, doubtful = _without_unchanged(found, known, tally)
    hashes = _hashes(doubtful, tally, lambda done: report(done, len(rest)))
    settled = _settle(log, doubtful, hashes, known, tally)
    new = [each for each in rest if each.path not in settled]
    if new:
        with nullcontext(workers) if workers else Workers(thumbs, min(cores(), len(new))) as measuring:
            _measure(
                log, measuring, new, hashes, container, tally,
                lambda done: report(len(rest) - len(new) + done, len(rest)), check=check,
            )  # fmt: skip
        if check:
            from kinphoto.archive.collection import scan_checks

            scan_checks.compare_specks_of(engine, [each.path for each in tally.new])
    _record_what_files_say(engine, tally)
    _note_missing(engine, log, texts, found, tally)
    return _result(engine, tally)


def settle_moves(
    engine: Engine, where: Sequence[str], files: list[FoundFile], progress: Progress | None = None
) -> tuple[list[Move], list[Refused]]:
    """Record which of these files are known ones that were moved there, and nothing else; also those that cannot be
    read."""
    tally, report = _Tally(), progress or (lambda _done, _total: None)
    hashes = _hashes(files, tally, lambda done: report(done, len(files)))
    known = known_files(engine)
    wanted = {file.sha256 for path, file in known.items() if is_gone(path)}
    moved = [each for each in files if hashes.get(each.path) in wanted]
    _settle(_Log(engine, tally, where), moved, {each.path: hashes[each.path] for each in moved}, known, tally)
    return tally.moved, tally.unreadable


def _walked(paths: Sequence[str], thumbs: Path, tally: _Tally) -> list[FoundFile]:
    """The image files there are; what cannot be read is noted."""
    ours = frozenset(os.path.realpath(place) for place in (thumbs, thumbs.with_name(TILES)))
    found = list(walk(paths, ours))
    tally.unreadable += [each for each in found if isinstance(each, Refused)]
    return [each for each in found if isinstance(each, FoundFile)]


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


def _without_unchanged(
    found: list[FoundFile], known: Mapping[str, KnownFile], tally: _Tally
) -> tuple[list[FoundFile], list[FoundFile]]:
    """The files that need a closer look, and those among them that could be scans the archive knows."""
    sizes = {row.size for row in known.values()}
    rest: list[FoundFile] = []
    doubtful: list[FoundFile] = []
    for each in found:
        row = known.get(each.path)
        if row and (row.size, row.mtime_ns, row.missing) == (each.size, each.mtime_ns, 0) and not row.first_only:
            tally.unchanged += len(row.scans)
            continue
        rest.append(each)
        if row or each.size in sizes:
            doubtful.append(each)
    return rest, doubtful


def _hashes(doubtful: list[FoundFile], tally: _Tally, done: Callable[[int], None]) -> dict[str, str]:
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


def _hash(each: FoundFile) -> str | UnreadableFileError:
    try:
        return sha256_at(each.path)
    except UnreadableFileError as problem:
        return problem


def _settle(
    log: _Log, doubtful: list[FoundFile], hashes: Mapping[str, str], known: Mapping[str, KnownFile], tally: _Tally
) -> set[str]:
    """Record the files whose bytes the archive knows. Returns their paths, and those of files without a hash."""
    moves = _moves(doubtful, hashes, known)
    leaving, arrived = {file.path for file, _ in moves}, {each.path for _, each in moves}
    stayed = {path: file.sha256 for path, file in known.items() if path not in leaving}
    where = {sha256: path for path, sha256 in stayed.items()} | {file.sha256: each.path for file, each in moves}
    unsettled = [each for each in doubtful if each.path in hashes and each.path not in arrived]
    touched = [
        each for each in unsettled if stayed.get(each.path) == hashes[each.path] and not known[each.path].first_only
    ]
    copies = [each for each in unsettled if each.path not in stayed and hashes[each.path] in where]
    for file, each in moves:
        tally.moved += [Move(scan.path, page_path(each.path, scan.page)) for scan in file.scans]
    tally.duplicates += [Duplicate(each.path, where[hashes[each.path]]) for each in copies]
    tally.unchanged += sum(len(known[each.path].scans) for each in touched) + len(copies)
    if moves or touched:
        with log.working() as work:
            _record_moves(work, moves, known)
            _set_files(work, [(known[each.path], each) for each in touched])
    unread = {each.path for each in doubtful if each.path not in hashes}
    return unread | arrived | {each.path for each in (*touched, *copies)}


def _moves(
    doubtful: list[FoundFile], hashes: Mapping[str, str], known: Mapping[str, KnownFile]
) -> list[tuple[KnownFile, FoundFile]]:
    """Which files are now where, of those whose bytes turned up at another path and are gone from their own.

    In a series that was renumbered each takes the path of the next: a path is taken over only from a file that
    itself went elsewhere.
    """
    gone: dict[str, list[KnownFile]] = defaultdict(list)
    wanted = set(hashes.values())
    for file in known.values():
        if file.sha256 in wanted and not _still_there(file, hashes):
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


def _still_there(file: KnownFile, hashes: Mapping[str, str]) -> bool:
    """Whether a file is where it was, as far as was looked."""
    return hashes[file.path] == file.sha256 if file.path in hashes else os.path.lexists(file.path)


def _record_moves(work: Work, moves: list[tuple[KnownFile, FoundFile]], known: Mapping[str, KnownFile]) -> None:
    if any(each.path in known for _, each in moves):
        _free_paths(work, [scan.id for file, _ in moves for scan in file.scans])
    _set_files(work, moves)
    containers = Containers(work)
    for file, each in moves:
        for scan in file.scans:
            containers.follow(scan.photograph_id, str(Path(file.path).parent), each.folder, each.root)


def _free_paths(work: Work, scans: Sequence[int]) -> None:
    """No two scans may have one path, not even for the moment between two updates."""
    work.rewrite(t.scan, [{"id": id_, "path": f"moving:{id_}"} for id_ in scans])


def _set_files(work: Work, files: list[tuple[KnownFile, FoundFile]]) -> None:
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


def _note_missing(engine: Engine, log: _Log, paths: Sequence[str], found: list[FoundFile], tally: _Tally) -> None:
    """Note and report the scans below these folders whose files are gone."""
    roots = {os.path.realpath(path) for path in paths if Path(path).is_dir()}
    if not roots:
        return
    there = {each.path for each in found}
    known = known_files(engine).values()
    gone = [file for file in known if file.path not in there and _below(file.path, roots) and is_gone(file.path)]
    with reading(engine) as connection:
        away = filed(connection, [scan.id for file in gone for scan in file.scans])
    tally.vanished += [each for each in away if each.path not in {other.path for other in tally.vanished}]
    fresh = [scan.id for file in gone if not file.missing for scan in file.scans]
    if fresh:
        tally.missing += len(fresh)
        with log.working() as work:
            work.update(t.scan, fresh, missing=1)


def _below(path: str, roots: Collection[str]) -> bool:
    return any(str(folder) in roots for folder in Path(path).parents)


def is_gone(path: str) -> bool:
    """Whether nothing is at this path; what only cannot be looked at is not gone."""
    try:
        Path(path).lstat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except OSError:
        return False
    return False


def filed(connection: Connection, scans: Sequence[int]) -> list[FiledScan]:
    """These scans (row ids) with their photographs and the faces framed on them."""
    s, p, r = t.scan.c, t.photograph.c, t.region.c
    faces = select(func.count()).select_from(t.region).where(r.photograph_id == s.photograph_id).scalar_subquery()
    query = select(s.id, s.path, p.code, faces).join(t.photograph, p.id == s.photograph_id)
    found = {
        row[0]: FiledScan(*row[1:]) for row in connection.execute(query.where(among(connection, s.id, set(scans))))
    }
    return [found[id_] for id_ in scans if id_ in found]


def _measure(
    log: _Log,
    workers: Workers,
    files: list[FoundFile],
    hashes: Mapping[str, str],
    container: str | None,
    tally: _Tally,
    done: Callable[[int], None],
    *,
    check: bool,
) -> None:
    """Measure files on all cores and record them as they come, in their order."""
    batch: list[tuple[FoundFile, Answer]] = []
    since = time.monotonic()
    answers = workers.measure([(each.path, hashes.get(each.path)) for each in files], check=check)
    try:
        for number, (each, answer) in enumerate(zip(files, answers, strict=True), 1):
            batch.append((each, answer))
            if len(batch) >= _BATCH_FILES or time.monotonic() - since > _BATCH_SECONDS:
                ready, batch, since = batch, [], time.monotonic()
                _record(log, ready, container, tally)
            done(number)
    finally:
        _record(log, batch, container, tally)


def _record(log: _Log, batch: list[tuple[FoundFile, Answer]], container: str | None, tally: _Tally) -> None:
    """One transaction: new photographs for new files and pages, new facts for changed ones."""
    tally.unreadable += [_refused(answer) for _, answer in batch if isinstance(answer, UnreadableFileError)]
    measured = [(each, answer) for each, answer in batch if isinstance(answer, FileMeasured)]
    tally.unreadable += [_refused(problem) for _, answer in measured for problem in answer.unread]
    if not measured:
        return
    with log.working() as work:
        recorded = _Recorded(work, measured)
        fresh: list[tuple[FoundFile, dict[str, Any]]] = []
        for each, answer in measured:
            fresh += recorded.take(each, answer, tally)
        codes = iter(_insert(work, fresh, container))
        forget(work, [scan["file_sha256"] or scan["sha256"] for _, scan in fresh])
        tally.new += [FiledScan(scan["path"], next(codes)) for _, scan in fresh]
    log.keep_checks(answer for _, answer in measured)
    for each, answer in measured:
        if _is_paged(answer):
            made = tuple(filed.photograph for filed in tally.new if filed.path in {s["path"] for s in answer.scans})
            if made:
                tally.paged.append(PagedFile(each.path, answer.scans[0]["pages"], made))


class _Recorded:
    """The scans of which some of these files may be known to the archive, as they are within one transaction."""

    def __init__(self, work: Work, measured: list[tuple[FoundFile, FileMeasured]]) -> None:
        self._work = work
        s, as_kept = t.scan.c, as_stored(t.scan.c.path)
        hashes = [answer.scans[0]["file_sha256"] or answer.scans[0]["sha256"] for _, answer in measured]
        files = [each.path for each, _ in measured]
        same = or_(
            s.path.in_(files), s.sha256.in_(hashes), s.file_sha256.in_(hashes),
            *(as_kept.startswith(f"{stored(work.connection, each.path)}#page=", autoescape=True)
              for each, a in measured if _is_paged(a)),
        )  # fmt: skip
        rows = work.connection.execute(select(t.scan).where(same).order_by(s.id)).mappings().all()
        self._of_file: dict[str, list[RowMapping]] = defaultdict(list)
        self._where: dict[str, str] = {}
        for row in rows:
            path = file_path(row["path"], row["page"])
            self._of_file[path].append(row)
            self._where[row["file_sha256"] or row["sha256"]] = path

    def take(self, each: FoundFile, answer: FileMeasured, tally: _Tally) -> list[tuple[FoundFile, dict[str, Any]]]:
        """Record what is known of a file anew; returns what is new in it."""
        sha256 = answer.scans[0]["file_sha256"] or answer.scans[0]["sha256"]
        rows = self._of_file.get(each.path)
        if rows:
            first_only = rows[0]["page"] == 0 and rows[0]["pages"] > 1
            if (rows[0]["file_sha256"] or rows[0]["sha256"]) == sha256 and not first_only:
                tally.unchanged += len(rows)  # another kinphoto was quicker
                return []
            return [(each, scan) for scan in self._change(rows, answer, tally, first_only)]
        if sha256 in self._where:
            tally.duplicates.append(Duplicate(each.path, self._where[sha256]))
            tally.unchanged += 1
            return []
        self._where[sha256] = each.path
        return [(each, scan) for scan in answer.scans]

    def _change(
        self, rows: list[RowMapping], answer: FileMeasured, tally: _Tally, first_only: bool
    ) -> list[dict[str, Any]]:
        """The file is another one now: each of its pages is found again by its pixels, else by its number. Returns the
        pages that are new; one that is not there any more is noted as missing."""
        pairs, fresh, gone = _matched(rows, answer.scans)
        _let_go(self._work, gone)
        if any(row["path"] != scan["path"] for row, scan in pairs):
            _free_paths(self._work, [row["id"] for row, _ in pairs])
        # How it is shown was perhaps said by a person.
        self._work.rewrite(
            t.scan,
            [
                {**scan, "id": row["id"], "missing": 0, "turn": row["turn"], "straight": _corners_left(row, scan)}
                for row, scan in pairs
            ],
        )
        changed = [] if first_only else [row["id"] for row, scan in pairs if row["sha256"] != scan["sha256"]]
        tally.changed += filed(self._work.connection, changed)
        tally.unchanged += len(pairs) - len(changed)
        tally.vanished += filed(self._work.connection, [row["id"] for row in gone])
        tally.missing += len(gone)
        return fresh


def _corners_left(row: RowMapping, scan: Mapping[str, Any]) -> str:
    """The corners of a print on a file that is another one now: of another size it shows something else."""
    sides = ("width", "height", "orientation")
    return str(row["straight"]) if all(row[side] == scan[side] for side in sides) else ""


def _let_go(work: Work, gone: Sequence[RowMapping]) -> None:
    """Note pages that are not in their file any more as missing; their number is another page's now."""
    work.rewrite(
        t.scan,
        [
            {
                "id": row["id"],
                "missing": 1,
                "path": page_path(f"{file_path(row['path'], row['page'])}#former-{row['id']}", row["page"]),
            }
            for row in gone
        ],
    )


def _is_paged(answer: FileMeasured) -> bool:
    return len(answer.scans) > 1 or answer.scans[0]["page"] > 0


def _matched(
    rows: list[RowMapping], scans: list[dict[str, Any]]
) -> tuple[list[tuple[RowMapping, dict[str, Any]]], list[dict[str, Any]], list[RowMapping]]:
    """Which known scans are which pages of a file that changed: by their pixels, then by their numbers (the only
    picture of a file is its first page). Then the pages that are new, and the scans without a page."""
    pairs: list[tuple[RowMapping, dict[str, Any]]] = []
    left, free = list(rows), list(scans)
    keys: tuple[Callable[[Mapping[Any, Any]], object], ...] = (
        lambda scan: scan["sha256"],
        lambda scan: max(scan["page"], 1),
    )
    for key in keys:
        for scan in list(free):
            row = next((row for row in left if key(row) == key(scan)), None)
            if row is not None:
                pairs.append((row, scan))
                left.remove(row)
                free.remove(scan)
    return pairs, free, left


def _insert(work: Work, fresh: list[tuple[FoundFile, dict[str, Any]]], container: str | None) -> list[str]:
    """A photograph and a scan for each picture, in the order of the files; their codes."""
    if not fresh:
        return []
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
    note_given(work, [each.path for each, _ in fresh])
    return codes


def _places(work: Work, files: list[FoundFile], container: str | None) -> Iterator[tuple[int, int]]:
    """The container and the place in it for each file."""
    containers = Containers(work)
    named = containers.named(container) if container is not None else None
    ids = [named or containers.of_folder(each.folder, each.root) for each in files]
    free = {id_: iter(containers.next_positions(id_, ids.count(id_))) for id_ in dict.fromkeys(ids)}
    return ((id_, next(free[id_])) for id_ in ids)


def _refused(problem: UnreadableFileError) -> Refused:
    remedy = problem.remedy[:1].lower() + problem.remedy[1:].rstrip(".")
    return Refused(problem.where, f"{problem.what}; {remedy}" if remedy else problem.what)


def _record_what_files_say(engine: Engine, tally: _Tally) -> None:
    """Record names, words and dates that other programs wrote into files that are new or were changed."""
    if not (tally.new or tally.changed):
        return
    from kinphoto.archive.collection.reading_inside import read_new  # loads Pillow, which a second run does without

    done = read_new(engine, [each.photograph for each in tally.changed])
    if done is not None and done.photographs:
        codes = set(done.photographs)
        files = {each.photograph: each for each in (*tally.changed, *reversed(tally.new)) if each.photograph in codes}
        tally.telling = [files[code] for code in done.photographs if code in files]
        tally.telling_change = done.change


def _result(engine: Engine, tally: _Tally) -> ScansAdded:
    with reading(engine) as connection:
        photographs = connection.scalar(select(func.count()).select_from(t.photograph)) or 0
    lists: dict[str, Any] = {name: tuple(each) for name, each in vars(tally).items() if isinstance(each, list)}
    seen = sum(len(lists[name]) for name in ("new", "moved", "changed", "unreadable", "left_out")) + tally.unchanged
    return ScansAdded(
        seen=seen, added=len(tally.new), unchanged=tally.unchanged, photographs=photographs,
        telling_change=tally.telling_change, **lists,
    )  # fmt: skip

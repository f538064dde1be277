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
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, func, select

from kinphoto.archive.catalogue.finding import find_container
from kinphoto.archive.collection.known_files import (
    KnownFile,
    is_gone,
    known_files,
    moves_among,
    record_moves,
    set_files,
)
from kinphoto.archive.collection.measured_files import KnownScans, insert_scans, is_paged
from kinphoto.archive.collection.moving import reverse_interrupted
from kinphoto.archive.collection.removing import forget, without_removed
from kinphoto.archive.collection.scans_added import (
    Duplicate,
    FiledScan,
    IndexingTally,
    Move,
    PagedFile,
    ScansAdded,
    filed_scans,
)
from kinphoto.errors import UnreadableFileError
from kinphoto.phrases import counted, listed
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.pages import page_path
from kinphoto.scans.thumbnails import FOLDER, TILES
from kinphoto.scans.walk import FoundFile, Refused, shown, walk
from kinphoto.scans.workers import Answer, FileMeasured, Workers, cores
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import add_roots
from kinphoto.store.session import Work, reading, working

Progress = Callable[[int, int], None]
"""Called with how many files are done, of how many that have to be opened."""

_BATCH_SECONDS = 0.5
_BATCH_FILES = 200


def _words(added: int, moved: int, changed: int, missing: int) -> str:
    """For the history: "added 12 scans, found 3 moved and 1 changed"."""
    kinds = ((moved, "moved"), (changed, "changed"), (missing, "missing"))
    found = [f"{count} {word}" for count, word in kinds if count]
    parts = [f"added {counted(added, 'scan')}"] if added else []
    parts += [f"found {listed(found)}"] if found else []
    return ", ".join(parts) or "noted new file times of unchanged scans"


class _Log:
    """One line of the log, written to in several transactions."""

    def __init__(self, engine: Engine, tally: IndexingTally, paths: Sequence[str]) -> None:
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
        """Keep how good the scans are, as far as that was measured; it follows from their bytes and does not count as a
        change."""
        checked = [
            (scan["sha256"], checks) for each in answers for scan, checks in zip(each.scans, each.checks, strict=False)
        ]
        if checked:
            # It loads numpy and scipy, which a second run does without.
            from kinphoto.archive.collection import kept_measures

            kept_measures.keep(self._engine, checked)


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
    come; then nothing is caught up with that the next scan would have to wait for.

    Committed as it goes, as one line of the log. Raises NotFoundError when a path is not there, AmbiguousError when
    several containers bear that name. When it is interrupted, what was measured is committed first.
    """
    reverse_interrupted(engine)
    texts, thumbs = [str(path) for path in paths], folder_of(engine) / FOLDER
    if container is not None:
        with reading(engine) as connection:
            find_container(connection, container)
    tally = IndexingTally()
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
            from kinphoto.archive.collection import kept_measures

            kept_measures.compare_specks_of(engine, [each.path for each in tally.new])
    _record_what_files_say(engine, tally, catch_up=workers is None)
    _note_missing(engine, log, texts, found, tally)
    return _result(engine, tally)


def settle_moves(
    engine: Engine, where: Sequence[str], files: list[FoundFile], progress: Progress | None = None
) -> tuple[list[Move], list[Refused]]:
    """Record which of these files are known ones that were moved there, and nothing else; also those that cannot be
    read."""
    tally, report = IndexingTally(), progress or (lambda _done, _total: None)
    hashes = _hashes(files, tally, lambda done: report(done, len(files)))
    known = known_files(engine)
    wanted = {file.sha256 for path, file in known.items() if is_gone(path)}
    moved = [each for each in files if hashes.get(each.path) in wanted]
    _settle(_Log(engine, tally, where), moved, {each.path: hashes[each.path] for each in moved}, known, tally)
    return tally.moved, tally.unreadable


def _walked(paths: Sequence[str], thumbs: Path, tally: IndexingTally) -> list[FoundFile]:
    """The image files there are; what cannot be read is noted."""
    ours = frozenset(os.path.realpath(place) for place in (thumbs, thumbs.with_name(TILES)))
    found = list(walk(paths, ours))
    tally.unreadable += [each for each in found if isinstance(each, Refused)]
    return [each for each in found if isinstance(each, FoundFile)]


def _without_unchanged(
    found: list[FoundFile], known: Mapping[str, KnownFile], tally: IndexingTally
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


def _hashes(doubtful: list[FoundFile], tally: IndexingTally, done: Callable[[int], None]) -> dict[str, str]:
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
    log: _Log,
    doubtful: list[FoundFile],
    hashes: Mapping[str, str],
    known: Mapping[str, KnownFile],
    tally: IndexingTally,
) -> set[str]:
    """Record the files whose bytes the archive knows. Returns their paths, and those of files without a hash."""
    moves = moves_among(doubtful, hashes, known)
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
            record_moves(work, moves, known)
            set_files(work, [(known[each.path], each) for each in touched])
    unread = {each.path for each in doubtful if each.path not in hashes}
    return unread | arrived | {each.path for each in (*touched, *copies)}


def _note_missing(
    engine: Engine, log: _Log, paths: Sequence[str], found: list[FoundFile], tally: IndexingTally
) -> None:
    """Note and report the scans below these folders whose files are gone."""
    roots = {os.path.realpath(path) for path in paths if Path(path).is_dir()}
    if not roots:
        return
    there = {each.path for each in found}
    known = known_files(engine).values()
    gone = [file for file in known if file.path not in there and _below(file.path, roots) and is_gone(file.path)]
    with reading(engine) as connection:
        away = filed_scans(connection, [scan.id for file in gone for scan in file.scans])
    tally.vanished += [each for each in away if each.path not in {other.path for other in tally.vanished}]
    fresh = [scan.id for file in gone if not file.missing for scan in file.scans]
    if fresh:
        tally.missing += len(fresh)
        with log.working() as work:
            work.update(t.scan, fresh, missing=1)


def _below(path: str, roots: Collection[str]) -> bool:
    return any(str(folder) in roots for folder in Path(path).parents)


def _measure(
    log: _Log,
    workers: Workers,
    files: list[FoundFile],
    hashes: Mapping[str, str],
    container: str | None,
    tally: IndexingTally,
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


def _record(log: _Log, batch: list[tuple[FoundFile, Answer]], container: str | None, tally: IndexingTally) -> None:
    """One transaction: new photographs for new files and pages, new facts for changed ones."""
    tally.unreadable += [_refused(answer) for _, answer in batch if isinstance(answer, UnreadableFileError)]
    measured = [(each, answer) for each, answer in batch if isinstance(answer, FileMeasured)]
    tally.unreadable += [_refused(problem) for _, answer in measured for problem in answer.unread]
    if not measured:
        return
    with log.working() as work:
        recorded = KnownScans(work, measured)
        fresh: list[tuple[FoundFile, dict[str, Any]]] = []
        for each, answer in measured:
            fresh += recorded.take(each, answer, tally)
        codes = iter(insert_scans(work, fresh, container))
        forget(work, [scan["file_sha256"] or scan["sha256"] for _, scan in fresh])
        tally.new += [FiledScan(scan["path"], next(codes)) for _, scan in fresh]
    log.keep_checks(answer for _, answer in measured)
    for each, answer in measured:
        if is_paged(answer):
            made = tuple(one.photograph for one in tally.new if one.path in {s["path"] for s in answer.scans})
            if made:
                tally.paged.append(PagedFile(each.path, answer.scans[0]["pages"], made))


def _refused(problem: UnreadableFileError) -> Refused:
    remedy = problem.remedy[:1].lower() + problem.remedy[1:].rstrip(".")
    return Refused(problem.where, f"{problem.what}; {remedy}" if remedy else problem.what)


def _record_what_files_say(engine: Engine, tally: IndexingTally, *, catch_up: bool) -> None:
    """Record names, words and dates that other programs wrote into files that are new or were changed, and with
    `catch_up` into those that were not read when they were added."""
    if not (tally.new or tally.changed):
        return
    from kinphoto.archive.collection.reading_inside import read_new  # loads Pillow, which a second run does without

    done = read_new(engine, [each.photograph for each in (*tally.new, *tally.changed)], catch_up=catch_up)
    if done is not None and done.photographs:
        codes = set(done.photographs)
        files = {each.photograph: each for each in (*tally.changed, *reversed(tally.new)) if each.photograph in codes}
        tally.telling = [files[code] for code in done.photographs if code in files]
        tally.telling_change = done.change


def _result(engine: Engine, tally: IndexingTally) -> ScansAdded:
    with reading(engine) as connection:
        photographs = connection.scalar(select(func.count()).select_from(t.photograph)) or 0
    lists: dict[str, Any] = {name: tuple(each) for name, each in vars(tally).items() if isinstance(each, list)}
    seen = sum(len(lists[name]) for name in ("new", "moved", "changed", "unreadable", "left_out")) + tally.unchanged
    return ScansAdded(
        seen=seen, added=len(tally.new), unchanged=tally.unchanged, photographs=photographs,
        telling_change=tally.telling_change, **lists,
    )  # fmt: skip

"""The search: the front of each photograph is looked at once, on all cores, and what is found is kept as it comes; then
the details that were scanned of it, whose faces are placed on the front.

After that, faces that may be compared are described (`describing.py`).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from threading import Event
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.finding import find_container, find_photograph
from kinphoto.archive.faces.describing import describe
from kinphoto.archive.faces.kept import (
    FramedScan,
    Looked,
    details,
    faces_of,
    fronts,
    keep_found,
    looked_at,
    picture_of,
    searched,
)
from kinphoto.errors import ArchiveError, NotFoundError, UnreadableFileError
from kinphoto.faces.weights import require
from kinphoto.scans import thumbnails
from kinphoto.scans.walk import Refused
from kinphoto.scans.workers import Workers, cores
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading

Progress = Callable[[int, int], None]
_BATCH_SECONDS = 0.5


@dataclass(frozen=True, slots=True)
class FacesSearched:
    """What a search found."""

    photographs: Annotated[int, "photographs that were meant"]
    searched: Annotated[int, "how many were searched now; the others have not changed since"]
    faces: Annotated[int, "faces on all of them"]
    turned: Annotated[int, "photographs whose faces are not upright"]
    compared: Annotated[int, "faces that were described now, to be compared"]
    stopped: Annotated[bool, "true when somebody stopped it; it goes on from there"]
    unreadable: Annotated[tuple[Refused, ...], "scans that cannot be read: damaged, cut off, or not there"]


def find(
    engine: Engine,
    what: Sequence[str] = (),
    progress: Progress | None = None,
    *,
    again: bool = False,
    stop: Event | None = None,
    workers: Workers | None = None,
) -> FacesSearched:
    """Search the fronts of these photographs (codes, scans, boxes; all for none) that were not searched yet; with
    `again` all of them. Kept as it goes: one that is stopped goes on from there.

    Raises ArchiveError while it is off, FacesNotInstalledError, NotFoundError, AmbiguousError.
    """
    require()
    folder, report, stop = folder_of(engine), progress or (lambda _done, _total: None), stop or Event()
    if not face_file.is_there(folder):
        raise ArchiveError("faces are not searched for in this archive", remedy="Turn it on: kinphoto faces on.")
    with reading(engine) as connection, face_file.reading(folder) as file:
        meant = _meant(connection, what)
        parts = details(connection, meant)
        done = searched(file)
    wanted = list({f.sha256: f for f in meant if again or looked_at(f.scan) not in done}.values())
    new = {front.sha256 for front in wanted}
    close = [
        (front, detail)
        for front, detail in parts
        if looked_at(detail) not in done or front.sha256 in new  # another front may have taken the place of one
    ]
    own = None if workers else Workers(folder / thumbnails.FOLDER, min(cores(), max(len(wanted), 1)))
    with own or nullcontext(workers) as at_work:
        assert at_work is not None
        requests = [picture_of(f.scan) for f in wanted]
        total = len(wanted) + len(close)
        unreadable = _search(engine, [(looked_at(f.scan), None) for f in wanted], at_work.find_faces(requests), stop,
                             lambda done: report(done, total))  # fmt: skip
        if not stop.is_set():
            unreadable += _search_details(engine, close, at_work, stop, lambda done: report(len(wanted) + done, total))
        compared = 0 if stop.is_set() else describe(engine, meant, stop, at_work)
    with face_file.reading(folder) as file:
        found = faces_of(file, {front.sha256 for front in meant})
        turned = {row[0] for row in file.execute("SELECT sha256 FROM searched WHERE turn > 0")}
        left = searched(file)
    seen = {front.sha256 for front in wanted if looked_at(front.scan) in left}
    seen |= {front.sha256 for front, detail in close if looked_at(detail) in left}
    return FacesSearched(
        len(meant), len(seen), sum(len(found.get(front.sha256, ())) for front in meant),
        sum(front.sha256 in turned for front in meant), compared, stop.is_set(), tuple(unreadable),
    )  # fmt: skip


def _meant(connection: Connection, what: Sequence[str]) -> list[FramedScan]:
    if not what:
        return fronts(connection)
    ids: dict[int, None] = {}
    for text in what:
        try:
            ids[find_photograph(connection, text)["id"]] = None
        except NotFoundError:
            container = find_container(connection, text) if text.strip() else None
            if container is None:
                raise
            inside = select(t.photograph.c.id).where(t.photograph.c.container_id == container["id"])
            ids.update(dict.fromkeys(connection.scalars(inside)))
    return fronts(connection, set(ids))


def _search_details(
    engine: Engine, close: Sequence[tuple[FramedScan, RowMapping]], workers: Workers, stop: Event,
    report: Callable[[int], None],
) -> list[Refused]:  # fmt: skip
    """Search these details and keep their faces on their fronts; those that cannot be read."""
    answers = workers.find_on_details([(*picture_of(detail), picture_of(front.scan)) for front, detail in close])
    wanted = [(looked_at(detail), front.sha256) for front, detail in close]
    return _search(engine, wanted, answers, stop, report)


def _search(
    engine: Engine, wanted: Sequence[tuple[Looked, str | None]],
    answers: Iterable[dict[str, Any] | UnreadableFileError],
    stop: Event, report: Callable[[int], None],
) -> list[Refused]:  # fmt: skip
    """Keep what is found on these scans, each with its front where it is a detail, as it comes; those that cannot be
    read."""
    unreadable: list[Refused] = []
    batch: list[tuple[Looked, str | None, dict[str, Any]]] = []
    since = time.monotonic()
    try:
        for number, ((looked, front), answer) in enumerate(zip(wanted, answers, strict=True), 1):
            if stop.is_set():
                break
            if isinstance(answer, UnreadableFileError):
                unreadable.append(Refused(answer.where, answer.what))
            else:
                batch.append((looked, front, answer))
            if time.monotonic() - since > _BATCH_SECONDS:
                ready, batch, since = batch, [], time.monotonic()
                _keep(engine, ready)
            report(number)
    finally:
        _keep(engine, batch)
    return unreadable


def _keep(engine: Engine, batch: Sequence[tuple[Looked, str | None, dict[str, Any]]]) -> None:
    if batch and face_file.is_there(folder_of(engine)):  # it may have been erased meanwhile
        with face_file.writing(folder_of(engine)) as file:
            for looked, front, found in batch:
                keep_found(file, looked, found, front)

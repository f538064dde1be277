"""The search: the front of each photograph is looked at once, on all cores, and what is found is kept as it comes.

After that, faces that may be compared (`permitted.py`) are described; what may no longer be is erased.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from threading import Event
from typing import Annotated, Any

import numpy as np
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_container, find_photograph
from kinphoto.archive.faces.kept import VERSION, Front, faces_of, fronts, keep_found
from kinphoto.archive.faces.permitted import may_be_compared
from kinphoto.errors import ArchiveError, NotFoundError, UnreadableFileError
from kinphoto.faces.weights import require
from kinphoto.scans import thumbnails
from kinphoto.scans.pages import file_path
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
    turned: Annotated[int, "photographs whose faces do not stand upright"]
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
        done = {row[0] for row in file.execute("SELECT sha256 FROM searched WHERE version = ?", [VERSION])}
    wanted = list({f.sha256: f for f in meant if again or f.sha256 not in done}.values())
    own = None if workers else Workers(folder / thumbnails.FOLDER, min(cores(), max(len(wanted), 1)))
    with own or nullcontext(workers) as at_work:
        assert at_work is not None
        unreadable = _search(engine, wanted, report, stop, at_work)
        compared = 0 if stop.is_set() else _describe(engine, meant, stop, at_work)
    with face_file.reading(folder) as file:
        found = faces_of(file, {front.sha256 for front in meant})
        turned = {row[0] for row in file.execute("SELECT sha256 FROM searched WHERE turn > 0")}
        left = {row[0] for row in file.execute("SELECT sha256 FROM searched WHERE version = ?", [VERSION])}
    now = sum(front.sha256 in left for front in wanted)
    return FacesSearched(
        len(meant), now, sum(len(found.get(front.sha256, ())) for front in meant),
        sum(front.sha256 in turned for front in meant), compared, stop.is_set(), tuple(unreadable),
    )  # fmt: skip


def _meant(connection: Connection, what: Sequence[str]) -> list[Front]:
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


def _search(engine: Engine, wanted: Sequence[Front], report: Progress, stop: Event, workers: Workers) -> list[Refused]:
    """Search these scans and keep what is found as it comes; those that cannot be read."""
    unreadable: list[Refused] = []
    batch: list[tuple[str, dict[str, Any]]] = []
    since = time.monotonic()
    answers = workers.find_faces([(file_path(f.scan["path"], f.scan["page"]), f.scan["page"]) for f in wanted])
    try:
        for number, (front, answer) in enumerate(zip(wanted, answers, strict=True), 1):
            if stop.is_set():
                break
            if isinstance(answer, UnreadableFileError):
                unreadable.append(Refused(answer.where, answer.what))
            else:
                batch.append((front.sha256, answer))
            if time.monotonic() - since > _BATCH_SECONDS:
                ready, batch, since = batch, [], time.monotonic()
                _keep(engine, ready)
            report(number, len(wanted))
    finally:
        _keep(engine, batch)
    return unreadable


def _keep(engine: Engine, batch: Sequence[tuple[str, dict[str, Any]]]) -> None:
    if batch and face_file.is_there(folder_of(engine)):  # it may have been erased meanwhile
        with face_file.writing(folder_of(engine)) as file:
            for sha256, found in batch:
                keep_found(file, sha256, found)


# Describing ----------------------------------------------------------------------------------------------------


def _describe(engine: Engine, meant: Sequence[Front], stop: Event, workers: Workers) -> int:
    """Describe the faces that may be compared and are not described yet, and erase what may no longer be; how many were
    described."""
    folder = folder_of(engine)
    with reading(engine) as connection, face_file.writing(folder) as file:
        switch = file.execute("SELECT * FROM switch").fetchone()
        if not switch["compare"]:
            return 0
        everything = fronts(connection)
        found = faces_of(file, {front.sha256 for front in everything})
        allowed = may_be_compared(connection, everything, found, living=bool(switch["living"]))
        described = {row[0] for row in file.execute("SELECT id FROM face WHERE descriptor IS NOT NULL")}
        gone = [[id_] for id_ in described - allowed]
        file.executemany("UPDATE face SET descriptor = NULL WHERE id = ?", gone)
        missing = {row["id"]: row for row in file.execute("SELECT id, points FROM face WHERE descriptor IS NULL")}
    wanted = []
    for front in {front.sha256: front for front in meant}.values():
        ids = [face.id for face in found.get(front.sha256, ()) if face.id in allowed and face.id in missing]
        if ids:
            wanted.append((front, ids))
    requests = [
        (file_path(f.scan["path"], f.scan["page"]), f.scan["page"], [json.loads(missing[i]["points"]) for i in ids])
        for f, ids in wanted
    ]
    count = 0
    for (_, ids), answer in zip(wanted, workers.describe_faces(requests), strict=True):
        if stop.is_set() or not face_file.is_there(folder):
            break
        if isinstance(answer, UnreadableFileError):
            continue
        with face_file.writing(folder) as file:
            for id_, numbers in zip(ids, answer["descriptors"], strict=True):
                packed = np.array(numbers, dtype="<f4").tobytes()
                count += file.execute("UPDATE face SET descriptor = ? WHERE id = ?", [packed, id_]).rowcount
    return count

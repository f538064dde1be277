"""Faces that may be compared (`permitted.py`) are described by numbers; what may no longer be compared is erased.

Faces that a person framed and the search had missed are described too, as well as eyes, nose and mouth can be found in
the frame.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from threading import Event
from typing import Any

import numpy as np
from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.regions import Region, box
from kinphoto.archive.faces.kept import (
    FramedScan,
    KeptFace,
    faces_of,
    fronts,
    keep_drawn,
    matched,
    picture_of,
    regions_of,
)
from kinphoto.archive.faces.permitted import frames_that_may_be_compared, may_be_compared
from kinphoto.errors import UnreadableFileError
from kinphoto.scans.workers import Workers
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading


def describe(engine: Engine, meant: Sequence[FramedScan], stop: Event, workers: Workers) -> int:
    """Describe the faces on these fronts that may be compared and are not described yet, and erase what may no longer
    be; how many were described."""
    folder = folder_of(engine)
    with reading(engine) as connection, face_file.writing(folder) as file:
        switch = file.execute("SELECT * FROM switch").fetchone()
        if not switch["compare"]:
            return 0
        living = bool(switch["living"])
        everything = fronts(connection)
        found = faces_of(file, {front.sha256 for front in everything})
        allowed = may_be_compared(connection, everything, found, living=living)
        drawn = _drawn(connection, everything, found)
        described = {row[0] for row in file.execute("SELECT id FROM face WHERE descriptor IS NOT NULL")}
        file.executemany("UPDATE face SET descriptor = NULL WHERE id = ?", [[id_] for id_ in described - allowed])
        gone = {face.id for faces in found.values() for face in faces if face.drawn} - drawn
        file.executemany("DELETE FROM face WHERE id = ?", [[id_] for id_ in gone])
        sql = "SELECT id, sha256, points FROM face WHERE descriptor IS NULL"
        missing = {row["id"]: row for row in file.execute(sql) if row["id"] in allowed}
        by_hand = _missed(connection, meant, found, living=living)
        paths = _paths(connection, {row["sha256"] for row in missing.values()})
    return _describe_found(engine, meant, found, missing, paths, stop, workers) + _describe_drawn(
        engine, by_hand, stop, workers
    )


def _describe_found(
    engine: Engine, meant: Sequence[FramedScan], found: dict[str, list[KeptFace]], missing: dict[int, Any],
    paths: dict[str, tuple[str, int, bool]], stop: Event, workers: Workers,
) -> int:  # fmt: skip
    wanted: dict[str, list[int]] = {}
    for front in {front.sha256: front for front in meant}.values():
        for face in found.get(front.sha256, ()):
            if face.id in missing and face.sha256 in paths:
                wanted.setdefault(face.sha256, []).append(face.id)
    requests = [(*paths[scan], [json.loads(missing[i]["points"]) for i in ids]) for scan, ids in wanted.items()]
    count = 0
    for ids, answer in zip(wanted.values(), workers.describe_faces(requests), strict=True):
        if stop.is_set() or not face_file.is_there(folder_of(engine)):
            break
        if isinstance(answer, UnreadableFileError):
            continue
        with face_file.writing(folder_of(engine)) as file:
            for id_, numbers in zip(ids, answer["descriptors"], strict=True):
                count += file.execute("UPDATE face SET descriptor = ? WHERE id = ?", [_packed(numbers), id_]).rowcount
    return count


def _describe_drawn(
    engine: Engine, by_hand: Sequence[tuple[FramedScan, list[Region]]], stop: Event, workers: Workers
) -> int:
    requests = [(*picture_of(front.scan), regions, front.upright) for front, regions in by_hand]
    count = 0
    for (front, regions), answer in zip(by_hand, workers.describe_frames(requests), strict=True):
        if stop.is_set() or not face_file.is_there(folder_of(engine)):
            break
        if isinstance(answer, UnreadableFileError):
            continue
        with face_file.writing(folder_of(engine)) as file:
            for region, each in zip(regions, answer["described"], strict=True):
                keep_drawn(file, front.sha256, region, each["points"], _packed(each["descriptor"]))
                count += 1
    return count


def _packed(numbers: Sequence[float]) -> bytes:
    return np.array(numbers, dtype="<f4").tobytes()


def _drawn(connection: Connection, there: Sequence[FramedScan], found: dict[str, list[KeptFace]]) -> set[int]:
    """The faces that were described because a person framed them, and whose frames are still there."""
    with_drawn = [front for front in there if any(face.drawn for face in found.get(front.sha256, ()))]
    framed = regions_of(connection, {front.photograph_id for front in with_drawn})
    return {
        id_ for front in with_drawn for id_ in matched(front, found[front.sha256], framed.get(front.photograph_id, ()))
    }


def _missed(
    connection: Connection, meant: Sequence[FramedScan], found: dict[str, list[KeptFace]], *, living: bool
) -> list[tuple[FramedScan, list[Region]]]:
    """The frames on these fronts that people drew where nothing was found, and that may be compared, on the scan."""
    there = {front.sha256: front for front in meant}.values()
    framed = regions_of(connection, {front.photograph_id for front in there})
    missed: list[tuple[FramedScan, list[RowMapping]]] = []
    for front in there:
        rows = framed.get(front.photograph_id, [])
        taken = set(matched(front, found.get(front.sha256, ()), rows).values())
        if left := [row for row in rows if row["id"] not in taken]:
            missed.append((front, left))
    allowed = frames_that_may_be_compared(
        connection, {front.photograph_id: [row["id"] for row in rows] for front, rows in missed}, living=living
    )
    chosen = [(front, [front.as_stored(box(row)) for row in rows if row["id"] in allowed]) for front, rows in missed]
    return [(front, regions) for front, regions in chosen if regions]


def _paths(connection: Connection, scans: set[str]) -> dict[str, tuple[str, int, bool]]:
    """What is looked at of each of these scans (SHA-256)."""
    s = t.scan.c
    query = (
        select(s.sha256, s.path, s.page, s.turn).where(among(connection, s.sha256, scans)).order_by(s.missing.desc())
    )
    return {row["sha256"]: picture_of(row) for row in connection.execute(query).mappings()}

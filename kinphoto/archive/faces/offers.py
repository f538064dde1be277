"""Frames that are offered where a face was found: accepted, moved or refused by a person, one by one or all at once.

An offer is hidden where a frame is recorded already, or was refused; so undoing brings it back.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.regions import SIDES, Region, box
from kinphoto.archive.faces.kept import FramedScan, KeptFace, faces_of, fronts, of_one_face, refused_of, regions_of
from kinphoto.archive.statements.appearances import Link, link_all
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work

_ID = re.compile(r"F([0-9]{1,15})")
_WAYS = {1: "right", 2: "over", 3: "left"}


@dataclass(frozen=True, slots=True)
class FrameOffered:
    """A frame where a face was found."""

    id: Annotated[str, "the offer's id, `F12`"]
    box: Annotated[Region, "left, top, width, height as parts of the picture as it is shown"]
    score: Annotated[float, "how sure the search is that it is a face, 0 to 1"]


@dataclass(frozen=True, slots=True)
class PhotographOffers:
    """What is offered for one photograph."""

    photograph: Annotated[str, "the photograph's code"]
    frames: Annotated[tuple[FrameOffered, ...], "frames that are neither accepted nor refused, from the left"]
    turn: Annotated[
        str, "how to turn it to stand its faces upright: `left`, `right`, `over`; empty when it stands so"
    ] = ""


@dataclass(frozen=True, slots=True)
class FramesDecided:
    """Frames that were accepted or refused."""

    photograph: Annotated[str, "the photograph's code"]
    frames: Annotated[tuple[str, ...], "the offers' ids"]
    accepted: Annotated[bool, "false when they were refused"]
    appearances: Annotated[tuple[str, ...], "of those accepted, somebody not identified yet: `A7`"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


def offers(connection: Connection, what: Sequence[str] = ()) -> tuple[PhotographOffers, ...]:
    """What is offered for these photographs, or for all; those with nothing are left out. Nothing while it is off.

    Raises NotFoundError, AmbiguousError.
    """
    wanted = {find_photograph(connection, text)["id"] for text in what} if what else None
    folder = folder_of(connection.engine)
    if not face_file.is_there(folder):
        return ()
    there = fronts(connection, wanted)
    with face_file.reading(folder) as file:
        scans = {front.sha256 for front in there}
        found = faces_of(file, scans)
        turns = {row["sha256"]: row["turn"] for row in file.execute("SELECT sha256, turn FROM searched WHERE turn > 0")}
    there = [front for front in there if found.get(front.sha256) or front.sha256 in turns]
    framed = regions_of(connection, {front.photograph_id for front in there})
    refused = refused_of(connection, {front.sha256 for front in there})
    made = []
    for front in there:
        open_ = _open(front, found.get(front.sha256, ()), [box(r) for r in framed[front.photograph_id]],
                      refused.get(front.sha256, ()))  # fmt: skip
        upright = turns.get(front.sha256)
        turn = "" if upright is None else _WAYS.get(front.quarters_left(upright), "")
        if open_ or turn:
            frames = tuple(
                FrameOffered(f"F{face.id}", front.shown(face.region), round(face.score, 2)) for face in open_
            )
            made.append(PhotographOffers(front.code, frames, turn))
    return tuple(made)


def _open(
    front: FramedScan, faces: Sequence[KeptFace], framed: Sequence[Region], refused: Sequence[Region]
) -> list[KeptFace]:
    return [
        face
        for face in faces
        if not face.drawn
        and not any(of_one_face(front.shown(face.region), region) for region in framed)
        and not any(of_one_face(face.region, region) for region in refused)
    ]


def accept(work: Work, photograph: str, frames: Sequence[str] = (), region: str | None = None) -> FramesDecided:
    """Frame these faces, or all that are offered for a photograph, as somebody not identified yet; with `region`
    (left,top,width,height) one of them there.

    Raises NotFoundError for a frame that is not offered, InvalidValueError for a region that is none.
    """
    code, chosen = _chosen(work.connection, photograph, frames)
    if region is not None and len(chosen) != 1:
        raise InvalidValueError("a place was given for several frames", remedy="Name one frame, such as F12.")
    places = [region or ",".join(f"{side:.5f}" for side in one.box) for one in chosen]
    done = link_all(work, [Link(photograph=code, person="-", region=place) for place in places])
    work.what = f"framed {counted(len(done), 'face')} in {code}, as offered"
    return FramesDecided(code, tuple(one.id for one in chosen), True, tuple(one.appearance for one in done), work.id)


def refuse(work: Work, photograph: str, frames: Sequence[str] = ()) -> FramesDecided:
    """Refuse these frames, or all that are offered for a photograph: they are not offered again, also when the scan is
    searched again. Raises NotFoundError for a frame that is not offered."""
    code, chosen = _chosen(work.connection, photograph, frames)
    (front,) = fronts(work.connection, {find_photograph(work.connection, code)["id"]})
    rows = [
        {"sha256": front.sha256, **dict(zip(SIDES, front.as_stored(one.box), strict=True)), "said_at": work.at}
        for one in chosen
    ]
    work.insert(t.refused_frame, rows)
    work.what = f"refused {counted(len(chosen), 'frame')} in {code}"
    return FramesDecided(code, tuple(one.id for one in chosen), False, (), work.id)


def _chosen(connection: Connection, photograph: str, frames: Sequence[str]) -> tuple[str, list[FrameOffered]]:
    """The offers meant, all for none named."""
    code = find_photograph(connection, photograph)["code"]
    found = {frame.id: frame for each in offers(connection, [code]) for frame in each.frames}
    wanted = [text.strip().upper() for text in frames] or list(found)
    if not wanted:
        raise NotFoundError(f"no frames are offered for {code}", remedy="Search it: kinphoto faces find.")
    for text in wanted:
        if not _ID.fullmatch(text) or text not in found:
            raise NotFoundError(
                f"no frame '{text}' is offered for {code}",
                remedy=f"It may have been decided already; what is offered: kinphoto faces offers {code}.",
            )
    return code, [found[text] for text in dict.fromkeys(wanted)]

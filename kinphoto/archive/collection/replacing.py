"""A better scan of the same side: it takes the older one's place, and the faces stay where they are on the picture.

The older scan stays with the photograph, marked as superseded, and its file where it is. Where the new one is framed
otherwise, the faces move to where it shows them; where the two cannot be laid over one another, a note says that their
proportions differ, and one that is sideways has to be turned first.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding import find_photograph, find_scan, find_scans, is_code, scans_of
from kinphoto.archive.catalogue.vocabulary import SIDES
from kinphoto.archive.collection import joining, removing
from kinphoto.archive.collection.frames_following import frames_following
from kinphoto.archive.collection.images import front_of
from kinphoto.archive.collection.rotation import quarters_of
from kinphoto.errors import InvalidValueError, NotFoundError, UnreadableFileError
from kinphoto.phrases import counted
from kinphoto.scans import thumbnails
from kinphoto.scans.upright import Size, same_proportions, shown_size, turned_on
from kinphoto.scans.walk import Refused, shown, walk
from kinphoto.scans.workers import Workers
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import add_roots
from kinphoto.store.session import Work, reading, working


@dataclass(frozen=True, slots=True)
class Replaced:
    """A scan that took another's place."""

    photograph: Annotated[str, "the photograph's code"]
    side: Annotated[str, "`recto`, `verso` or `detail`"]
    scan: Annotated[str, "path of the new scan"]
    instead_of: Annotated[str, "path of the older one, which stays with the photograph as superseded"]
    faces: Annotated[int, "how many faces are framed on it"]
    moved: Annotated[int, "how many of these moved to where the new scan shows them"] = 0
    note: Annotated[str, "what to look at, such as other proportions; empty for nothing"] = ""
    joined: Annotated[str | None, "the photograph the new scan had been until then, or null"] = None
    change: Annotated[int | None, "its number in the log, for `undo`"] = None


def measured(engine: Engine, file: str) -> dict[str, Any]:
    """The facts of the file, measured unless the archive knows it already; a photograph's code means its only scan.

    Raises NotFoundError, AmbiguousError, InvalidValueError for a folder, UnreadableFileError for no picture.
    """
    if is_code(file) and not os.path.lexists(file):
        with reading(engine) as connection:
            return dict(find_scan(connection, file))
    if os.path.isdir(file):  # noqa: PTH112 (Path.is_dir raises for a name that is too long)
        raise InvalidValueError("this is a folder", where=shown(file), remedy="Name the file of the better scan.")
    found = next(iter(walk([file])))
    if isinstance(found, Refused):
        raise UnreadableFileError(found.why, where=found.path)
    add_roots(engine, {found.root})
    with reading(engine) as connection:
        s = t.scan.c
        same = select(t.scan).where(s.path == found.path, s.size == found.size, s.mtime_ns == found.mtime_ns)
        known = connection.execute(same).mappings().first()
    if known is not None:
        return dict(known)
    with Workers(folder_of(engine) / thumbnails.FOLDER, 1) as workers:
        answer = next(iter(workers.measure([(found.path, None)])))
    if isinstance(answer, UnreadableFileError):
        raise answer
    if len(answer.scans) > 1:
        raise InvalidValueError(
            f"this file has {len(answer.scans)} pages",
            where=shown(file),
            remedy="Add it first (kinphoto scans add), then name the photograph that the page became.",
        )
    return answer.scans[0]


def replace_scan(
    engine: Engine, what: str, file: Path | str, side: str | None = None, turn: str | None = None
) -> Replaced:
    """Put a better scan in the place of a photograph's front, of its `side`, or of the scan named by its path; with
    `turn` it is turned that way. Raises NotFoundError, AmbiguousError, InvalidValueError, UnreadableFileError."""
    facts = measured(engine, str(file))
    with working(engine, "") as work:
        return replace(work, what, facts, side, turn)


def replace(
    work: Work, what: str, facts: Mapping[str, Any], side: str | None = None, turn: str | None = None
) -> Replaced:
    """The same with the facts of the file as `measured` gives them."""
    photograph = find_photograph(work.connection, what)
    old = _old(work.connection, photograph, what, side)
    quarters = 0 if turn is None else quarters_of(turn)
    code, name = photograph["code"], Path(str(facts["path"])).name
    front = front_of(work.connection, photograph["id"])
    faces = removing.framed(work.connection, photograph["id"]) if front and front["id"] == old["id"] else 0
    with frames_following(work, photograph["id"]) as followed:
        new, joined = _taken_in(work, photograph, old, facts)
        now = turned_on(new["turn"], quarters)
        note = _framing(old, new, now, faces, turned_by_hand=turn is not None, name=name)
        others = [s for s in scans_of(work.connection, photograph["id"]) if s["id"] not in (old["id"], new["id"])]
        last = max((s["position"] for s in (*others, old)), default=0) + 1
        fresh = {"side": old["side"], "position": old["position"], "superseded": 0, "turn": now}
        work.update(t.scan, [new["id"]], photograph_id=photograph["id"], **fresh)
        work.update(t.scan, [old["id"]], position=last, superseded=1)
    if followed.moved:
        note = f"{counted(followed.moved, 'face')} moved with the picture. Have a look at {code}."
    if joined is not None and removing.framed(work.connection, photograph["id"]) > faces:
        note = f"{note} It now has the faces of {joined} too: check whether anybody is named twice.".strip()
    work.what = f"replaced {Path(old['path']).name} of {code} by {name}"
    return Replaced(code, old["side"], str(new["path"]), old["path"], faces, followed.moved, note, joined, work.id)


def _old(connection: Connection, photograph: RowMapping, what: str, side: str | None) -> RowMapping:
    """The scan whose place is taken."""
    if not is_code(what):
        (scan, *_) = find_scans(connection, what)
        if scan["superseded"]:
            raise InvalidValueError(
                "it has already been replaced by another scan",
                where=scan["path"],
                remedy=f"To replace that one: kinphoto replace {photograph['code']} FILE.",
            )
        if side is not None and SIDES.read(side) != scan["side"]:
            raise InvalidValueError(
                f"that scan shows the {scan['side']}", where=scan["path"], remedy=f"Leave out --side {side}."
            )
        return scan
    wanted = "recto" if side is None else SIDES.read(side)
    front = front_of(connection, photograph["id"])
    scans = [scan for scan in scans_of(connection, photograph["id"]) if scan["side"] == wanted]
    found = front if side is None else next(iter(scans), None)
    if found is None:
        there = " Add it: kinphoto scans add FILE, then kinphoto scans join." if front is not None else ""
        raise NotFoundError(
            f"{photograph['code']} has no scan of that side", remedy=f"There is none to replace.{there}"
        )
    return found


def _taken_in(
    work: Work, photograph: RowMapping, old: RowMapping, facts: Mapping[str, Any]
) -> tuple[Mapping[Any, Any], str | None]:
    """The row of the new scan, and which photograph it had been; made unless the archive has it."""
    s, code = t.scan.c, photograph["code"]
    same = select(t.scan).where((s.sha256 == facts["sha256"]) | (s.path == facts["path"]))
    known = work.connection.execute(same.order_by(s.path != facts["path"])).mappings().first()
    if known is None:
        row = {
            **facts, "photograph_id": photograph["id"], "indexed_at": work.at, "first_sha256": facts["sha256"],
            "first_code": code,
        }  # fmt: skip
        id_ = work.insert_one(t.scan, **row)
        removing.forget(work, [facts["sha256"]])
        return {**row, "id": id_}, None
    if known["sha256"] != facts["sha256"]:
        raise InvalidValueError(
            "its file has changed since it was added",
            where=known["path"],
            remedy="To update it: kinphoto scans add FILE.",
        )
    if known["id"] == old["id"]:
        raise InvalidValueError(
            "the photograph already has this scan", where=known["path"], remedy="Name the better one."
        )
    if known["photograph_id"] == photograph["id"]:
        return known, None
    other = row_of(work.connection, t.photograph, known["photograph_id"])
    if len(scans_of(work.connection, other["id"])) > 1:
        raise InvalidValueError(
            f"it is one of several scans of {other['code']}",
            where=known["path"],
            remedy=f"Take it out first: kinphoto scans part {Path(known['path']).name}; or make both one photograph: "
            f"kinphoto scans join {code} {other['code']}.",
        )
    joining.take_over(work, photograph["id"], other)
    return row_of(work.connection, t.scan, known["id"]), other["code"]


def _framing(
    old: Mapping[Any, Any], new: Mapping[Any, Any], turn: int, faces: int, *, turned_by_hand: bool, name: str
) -> str:
    """A note about proportions that differ; "" for none. Raises InvalidValueError for a scan that is sideways compared
    with the one that faces were framed on."""
    was, now = _upright(old, old["turn"]), _upright(new, turn)
    if same_proportions(was, now):
        return ""
    if same_proportions(was, (now[1], now[0])) and not turned_by_hand:
        if faces:
            raise InvalidValueError(
                f"{name} is sideways compared with the scan it replaces, so {counted(faces, 'face')} would be in the "
                "wrong place",
                remedy="Say which way to turn it: --turn left, or --turn right.",
            )
        return f"{name} is sideways compared with the older scan. To turn it: kinphoto scans turn {name} left"
    frames = "frame still fits" if faces == 1 else f"{faces} frames still fit"
    look = f" Check that the {frames}." if faces else ""
    across = f"{now[0] / now[1]:.2f} instead of {was[0] / was[1]:.2f} times as wide as high"
    return f"{name} is framed differently from the older scan ({across}).{look}"


def _upright(scan: Mapping[Any, Any], turn: int) -> Size:
    """Width and height of the upright picture."""
    return shown_size((scan["width"], scan["height"]), scan["orientation"], turn, scan.get("straight", ""))

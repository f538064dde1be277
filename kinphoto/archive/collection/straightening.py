"""Photographs taken of a print: recognised or said to be so, and shown straight between the corners of the print.

Only the view changes: the file stays as it is, and so does what is kept of it. Where the corners come from (found, or
set by hand) somebody accepts them or not. Faces are framed on the picture as it is shown, so they move with it in the
same change, and undoing that brings both back.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, RowMapping, func, or_, select

from kinphoto.archive.catalogue.finding import find_scan
from kinphoto.archive.catalogue.regions import SIDES, box
from kinphoto.archive.collection.captured import NO, REFUSED, YES, found_corners, is_capture
from kinphoto.archive.collection.images import filed_size, front_of, source_of
from kinphoto.archive.collection.kept_measures import kept_measures
from kinphoto.documents import INTERNAL
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.scans.captures.straight import (
    Corners,
    Point,
    Straight,
    believed,
    in_order,
    is_convex,
    is_large_enough,
    read,
    seen,
)
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.upright import as_filed_region, shown_region
from kinphoto.store import tables as t
from kinphoto.store.session import Work, reading, working

_OUTSIDE = 0.05
"""Shares of the picture by which a corner may be beyond it, as where a print is cut off a little."""
_LEAST_FACE = 0.004
"""Of the picture: less is left of a framed face outside the corners."""
SAID = {"yes": YES, "no": NO, "file": ""}
"""What may be said of a scan: that it was photographed, that it was not, or what its file shows."""


@dataclass(frozen=True, slots=True)
class PrintCapture:
    """A photograph taken of a print, and the place of the print in it."""

    photograph: Annotated[str, "the photograph's code"]
    scan: Annotated[str, "the scan's path"]
    capture: Annotated[bool, "whether it is taken for a photograph of a print"]
    said: Annotated[bool, "true when somebody said whether it is; otherwise the file tells"]
    state: Annotated[
        str,
        "`straight` (shown so), `offered` (the corners are sure), `unsure`, `as-taken` (somebody wants it so), or "
        "`none` (no print shows)",
    ]
    corners: Annotated[
        tuple[tuple[float, float], ...],
        "where the corners of the print are, from its top left one on, clockwise: shares (0 to 1) across and down of "
        "the picture as its file asks to be turned",
    ]
    ratio: Annotated[float | None, "how many times as wide as high the print is; null without corners"]
    lens: Annotated[float | None, "the focal length that says so, in mm as on 35 mm film; null when 26 was assumed"]
    angle: Annotated[float | None, "by how many degrees the camera did not look straight at it"]
    doubts: Annotated[tuple[str, ...], "why somebody should look at the corners"] = ()
    id: Annotated[int, INTERNAL] = 0
    version: Annotated[str, INTERNAL] = ""

    @property
    def words(self) -> str:
        """ "shown straight, 1.48 times as wide as high, from 12 degrees"."""
        state = {
            "straight": "shown straight", "offered": "corners found", "unsure": "corners unsure",
            "as-taken": "shown as it was taken", "none": "no print shows clearly",
        }[self.state]  # fmt: skip
        if self.ratio is None or self.angle is None:
            return state
        wide = (
            f"{self.ratio:.2f} times as wide as high"
            if self.ratio >= 1
            else f"{1 / self.ratio:.2f} times as high as wide"
        )
        return f"{state}, {wide}, seen at {self.angle:.0f} degrees"


@dataclass(frozen=True, slots=True)
class PrintCaptures:
    """The photographs taken of prints in the archive."""

    captures: tuple[PrintCapture, ...]
    perhaps: Annotated[int, "photographs by a camera in which something may be a print, which nobody said it is"]


@dataclass(frozen=True, slots=True)
class Straightened:
    """What is shown straight now, or as it was taken."""

    captures: tuple[PrintCapture, ...]
    faces: Annotated[int, "how many framed faces moved with it"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


# What there is -------------------------------------------------------------------------------------------------


def captures(connection: Connection) -> PrintCaptures:
    """The photographs taken of prints, as far as the scans were checked or somebody said so; no file is read."""
    s, p, c = t.scan.c, t.photograph.c, t.scan_check.c
    by_camera = select(c.sha256).where(
        func.json_extract(c.measures, "$.camera"), func.json_array_length(c.measures, "$.print_corners") > 0
    )
    query = select(t.scan, p.code).join(t.photograph, p.id == s.photograph_id).where(s.superseded == 0)
    query = query.where(or_(s.capture != "", s.straight != "", s.sha256.in_(by_camera))).order_by(s.id)
    rows = list(connection.execute(query).mappings())
    known = kept_measures(connection, [row["sha256"] for row in rows])
    found, perhaps = [], 0
    for row in rows:
        measured = known.get(row["sha256"])
        if is_capture(row, measured):
            found.append(_shown(row, measured))
        elif row["capture"] != NO and measured is not None and measured.print_corners:
            perhaps += 1
    return PrintCaptures(tuple(found), perhaps)


def capture(engine: Engine, scan: str) -> PrintCapture:
    """The place of the print on a scan: as somebody accepted it, or as the picture shows. Nothing is changed.

    Raises NotFoundError, AmbiguousError, UnreadableFileError.
    """
    with reading(engine) as connection:
        row = _row(connection, scan)
        measured = kept_measures(connection, [row["sha256"]]).get(row["sha256"])
    return _shown(row, measured, _in_file(row) if measured is None or not measured.camera else None)


def _row(connection: Connection, scan: str) -> RowMapping:
    s, p = t.scan.c, t.photograph.c
    id_ = find_scan(connection, scan)["id"]
    query = select(t.scan, p.code).join(t.photograph, p.id == s.photograph_id).where(s.id == id_)
    return connection.execute(query).mappings().one()


@dataclass(frozen=True, slots=True)
class _InFile:
    """What the picture itself shows."""

    corners: Corners | None
    doubts: tuple[str, ...]
    lens: float | None


def _in_file(row: RowMapping) -> _InFile:
    """Look for the print in the file. Raises UnreadableFileError."""
    from kinphoto.scans.captures.corners import FINE_EDGE, corners_of
    from kinphoto.scans.fixity import reading_bytes
    from kinphoto.scans.measure import stated_lens
    from kinphoto.scans.parts import Upright, shown
    from kinphoto.scans.picture import opened

    source = source_of(row)
    with reading_bytes(source.path) as file, opened(file, source.path, source.page) as (_, image):
        lens = None if image.format == "PNG" else stated_lens(image)  # asking a PNG for its EXIF decodes it whole
    with shown(source.as_filed, lambda size: FINE_EDGE / max(size)) as picture:
        assert isinstance(picture, Upright)
        found = corners_of(picture.fitted(picture.whole, FINE_EDGE))
    return _InFile(None if found is None else found.corners, () if found is None else found.doubts, lens)


def _shown(row: RowMapping, measured: Measures | None, looked: _InFile | None = None) -> PrintCapture:
    kept = read(row["straight"])
    lens = looked.lens if looked is not None else believed(measured.lens) if measured is not None else None
    doubts: tuple[str, ...] = ()
    corners: Corners | tuple[()]
    if kept is not None:
        corners, state = kept.corners, "straight"
    else:
        if looked is not None:
            found, doubts = looked.corners, looked.doubts
        else:
            found = None if measured is None else found_corners(row, measured)
            doubts = () if measured is None else measured.print_doubts
        corners = found or ()
        state = (
            "as-taken" if row["straight"] == REFUSED else "none" if not corners else "unsure" if doubts else "offered"
        )
    tells = seen(corners, filed_size(row), lens) if corners else None
    ratio = None if tells is None else kept.ratio if kept is not None else tells.ratio
    return PrintCapture(
        row["code"], row["path"], is_capture(row, measured), bool(row["capture"]), state,
        tuple((round(x, 4), round(y, 4)) for x, y in corners), None if ratio is None else round(ratio, 4), lens,
        None if tells is None else round(tells.angle, 1), doubts, row["id"], source_of(row).version,
    )  # fmt: skip


# What a person decides -----------------------------------------------------------------------------------------


def straighten(engine: Engine, scan: str, corners: Sequence[Point] = ()) -> Straightened:
    """Show a photograph of a print straight: between these corners (shares of the picture as its file asks to be
    turned, in any order), or between those that show where they are sure.

    Raises InvalidValueError for corners that are none or not sure, where a framed face lies beside them, or where
    several prints are outlined on the scan; NotFoundError, AmbiguousError, UnreadableFileError.
    """
    given = checked(corners) if corners else None
    found = capture(engine, scan)
    if given is None:
        name = Path(found.scan).name
        if found.state == "straight":
            return Straightened((found,), 0, None)
        if not found.corners or found.doubts:
            why = "; ".join(found.doubts) or "no print shows clearly"
            raise InvalidValueError(
                f"the corners on {name} are unsure: {why}",
                remedy="Set them by hand, on the page Straighten or with numbers: "
                f"kinphoto scans straighten {found.photograph} --corners 12,9,88,11,86,93,10,90",
            )
    with working(engine, what="") as work:
        row = _row(work.connection, scan)
        if given is not None and not is_large_enough(given, filed_size(row)):
            raise InvalidValueError("the corners are too close together", remedy="Move them to those of the print.")
        corners_ = given if given is not None else found.corners
        ratio = seen(corners_, filed_size(row), found.lens).ratio
        faces = _show(work, row, str(Straight(corners_, ratio)))  # type: ignore[arg-type]
        work.what = f"straightened {Path(row['path']).name} of {row['code']}"
        return _done(work, [row["id"]], faces)


def straighten_sure(work: Work) -> Straightened:
    """Show straight all photographs of prints whose corners are sure and on which nobody has decided yet, as one
    change. Those where a framed face is outside the corners, or several prints are outlined, are left alone."""
    done, faces = [], 0
    for each in captures(work.connection).captures:
        if each.state != "offered":
            continue
        row = _row(work.connection, each.scan)
        ratio = each.ratio or 1.0
        try:
            faces += _show(work, row, str(Straight(each.corners, ratio)))  # type: ignore[arg-type]
        except InvalidValueError:
            continue
        done.append(row["id"])
    work.what = f"straightened {counted(len(done), 'photograph')} of prints" if done else ""
    return _done(work, done, faces)


def show_as_taken(work: Work, scan: str) -> Straightened:
    """Show a photograph of a print as it was taken, and no longer offer to straighten it. Raises NotFoundError,
    AmbiguousError."""
    row = _row(work.connection, scan)
    if row["straight"] == REFUSED:
        return _done(work, [row["id"]], 0)
    faces = _show(work, row, REFUSED)
    work.what = f"shows {Path(row['path']).name} of {row['code']} as it was taken"
    return _done(work, [row["id"]], faces)


def say_capture(work: Work, scan: str, said: str) -> Straightened:
    """Say that a scan is a photograph taken of a print (`yes`), that it is not (`no`), or to go by its file (`file`).

    Raises InvalidValueError for another word, or for "no" of one that is shown straight; NotFoundError, AmbiguousError.
    """
    value = SAID.get(said.strip().casefold())
    if value is None:
        raise InvalidValueError(f"'{said}' is not an answer", remedy="Use yes, no or file.")
    row = _row(work.connection, scan)
    name = Path(row["path"]).name
    if value == NO and read(row["straight"]) is not None:
        raise InvalidValueError(
            f"{name} is shown straight, as a photograph of a print",
            remedy=f"First show it as it was taken: kinphoto scans straighten {row['code']} --as-taken.",
        )
    if row["capture"] != value:
        work.update(t.scan, [row["id"]], capture=value)
        words = {
            YES: "is a photograph of a print",
            NO: "is not a photograph of a print",
            "": "is whatever its file says",
        }
        work.what = f"{name} of {row['code']} {words[value]}"
    return _done(work, [row["id"]], 0)


def checked(given: Sequence[Point]) -> Corners:
    """Four corners by hand, in order. Raises InvalidValueError."""
    if len(given) != 4:
        raise InvalidValueError(f"a print has four corners, not {len(given)}", remedy="Give all four.")
    if not all(math.isfinite(each) and -_OUTSIDE <= each <= 1 + _OUTSIDE for point in given for each in point):
        raise InvalidValueError("a corner is outside the picture", remedy="Give percentages of its width and height.")
    corners = in_order(given)
    if not is_convex(corners):
        raise InvalidValueError("these are not the corners of a print", remedy="Move them so that none points inwards.")
    return corners


def _show(work: Work, row: RowMapping, straight: str) -> int:
    """Show a scan between these corners, and move what is framed on it; how many faces. Raises InvalidValueError."""
    if row["straight"] == straight:
        return 0
    f = t.print_frame.c
    if work.connection.scalar(select(f.id).where(f.scan_id == row["id"]).limit(1)) is not None:
        raise InvalidValueError(
            f"several prints are outlined on {Path(row['path']).name}",
            remedy="It is shown as a whole, so that they can be cut out of it.",
        )
    front = front_of(work.connection, row["photograph_id"])
    moved = list(_moved_faces(work, row, straight)) if front and front["id"] == row["id"] else []
    work.update(t.scan, [row["id"]], straight=straight)
    work.rewrite(t.region, moved)
    return len(moved)


def _moved_faces(work: Work, row: RowMapping, straight: str) -> Iterator[dict[str, float]]:
    """The regions of a photograph as they are on its front when it is shown like this."""
    r = t.region.c
    for region in work.connection.execute(select(t.region).where(r.photograph_id == row["photograph_id"])).mappings():
        filed = as_filed_region(box(region), row["turn"], row["straight"])
        fresh = shown_region(filed, row["turn"], straight)
        if min(fresh[2:]) < _LEAST_FACE:
            raise InvalidValueError(
                f"the face framed as R{region['id']} would lie outside the print",
                remedy="Move the corners so that it is inside, or take its frame off first.",
            )
        yield {"id": region["id"], **dict(zip(SIDES, fresh, strict=True))}


def _done(work: Work, ids: Sequence[int], faces: int) -> Straightened:
    s, p = t.scan.c, t.photograph.c
    query = select(t.scan, p.code).join(t.photograph, p.id == s.photograph_id).where(s.id.in_(ids)).order_by(s.id)
    rows = list(work.connection.execute(query).mappings())
    known = kept_measures(work.connection, [row["sha256"] for row in rows])
    return Straightened(tuple(_shown(row, known.get(row["sha256"])) for row in rows), faces, work.id)

"""The place of each print on the glass or on an album page: as the picture shows it, or as somebody drew or corrected
it, with the words beside it. Outlines by hand are kept; those along which something was cut out stay."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from itertools import repeat
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, RowMapping, func, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding import find_scan
from kinphoto.archive.collection.film_strips import perhaps_one_strip
from kinphoto.archive.collection.images import shown_size, source_of
from kinphoto.documents import INTERNAL
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.scans.beds.cutting import GLASS, WholeBed, prints_of, read_bed
from kinphoto.scans.beds.outlines import Left, Outline
from kinphoto.scans.beds.places import Place, normal
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.upright import MIRROR
from kinphoto.store import tables as t
from kinphoto.store.session import Work, reading

SMALLEST = 5.0
"""Millimetres: the least side of an outline by hand."""

MOST = 60
"""Outlines on one bed."""


@dataclass(frozen=True, slots=True)
class PrintOutline:
    """The place of a print on its bed: a rectangle, then turned around its middle."""

    left: Annotated[float, "millimetres from the left edge of the upright picture"]
    top: Annotated[float, "millimetres from the top"]
    width: Annotated[float, "millimetres"]
    height: Annotated[float, "millimetres"]
    turn: Annotated[float, "degrees by which it is turned around its middle, clockwise"] = 0.0
    doubts: Annotated[tuple[str, ...], "why somebody should look at it; none where it is sure"] = ()
    photograph: Annotated[str | None, "the photograph that was cut out there; null when none was yet"] = None
    caption: Annotated[str, "the words beside it on the page; a statement about the photograph once it is cut out"] = ""


@dataclass(frozen=True, slots=True)
class LeftOnBed:
    """Something on the bed that no outline holds."""

    left: Annotated[float, "millimetres from the left edge"]
    top: Annotated[float, "millimetres from the top"]
    width: Annotated[float, "millimetres"]
    height: Annotated[float, "millimetres"]


@dataclass(frozen=True, slots=True)
class BedOutlines:
    """A bed and what is on it."""

    photograph: Annotated[str, "the bed's code"]
    scan: Annotated[str, "the bed's path"]
    width: Annotated[float, "millimetres"]
    height: Annotated[float, "millimetres"]
    stated: Annotated[bool, "false when the file states no resolution, and an A4 glass was assumed"]
    by_hand: Annotated[bool, "true when somebody drew or corrected the outlines"]
    outlines: Annotated[tuple[PrintOutline, ...], "the prints, in reading order"]
    left: Annotated[tuple[LeftOnBed, ...], "what is outside every outline and is more than dust"]
    problem: Annotated[str, "why it cannot be cut apart as it is; empty when it can"]
    id: Annotated[int, INTERNAL] = 0
    version: Annotated[str, INTERNAL] = ""
    strip: Annotated[
        tuple[str, ...], "what was cut out of it, where it is film and may be one strip, which nobody has recorded yet"
    ] = ()

    @property
    def sure(self) -> Annotated[bool, "whether it can be cut apart without anybody looking"]:
        """Whether nobody has to look."""
        return not self.problem


@dataclass(frozen=True, slots=True)
class BedInShort:
    """A scan that somebody outlined prints on, or cut apart."""

    photograph: str
    name: str
    prints: int
    cut: int
    id: int
    version: str

    @property
    def words(self) -> str:
        """ "5 prints, 3 cut out"."""
        return f"{counted(self.prints, 'print')}, {self.cut or 'none'} cut out"


def outlines(engine: Engine, scan: str) -> BedOutlines:
    """The places of the prints on a scan: as somebody drew them, or else as the picture shows. Nothing is changed.

    Raises NotFoundError, AmbiguousError, UnreadableFileError.
    """
    with reading(engine) as connection:
        row = bed_row(find_scan(connection, scan))
        kept = kept_frames(connection, row["id"])
        code = row_of(connection, t.photograph, row["photograph_id"])["code"]
        strip = perhaps_one_strip(connection, row)
    if kept:
        return replace(_shown(row, code, _per_mm(row), kept, (), ""), strip=strip)
    bed = read_bed(source_of(row))
    found, left, problem = found_outlines(bed)
    return _shown(row, code, (bed.per_mm, bed.stated), [Frame(one.place, one.doubts) for one in found], left, problem)


def beds(connection: Connection) -> tuple[BedInShort, ...]:
    """The scans that somebody outlined prints on or cut apart, the newest first."""
    f, s, p = t.print_frame.c, t.scan.c, t.photograph.c
    prints, cut = func.count(f.id).label("prints"), func.count(f.photograph_id).label("cut")
    query = select(t.scan, p.code, prints, cut).join(t.print_frame, f.scan_id == s.id)
    query = query.join(t.photograph, p.id == s.photograph_id).group_by(s.id).order_by(s.id.desc())
    return tuple(
        BedInShort(row["code"], Path(row["path"]).name, row["prints"], row["cut"], row["id"], source_of(row).version)
        for row in connection.execute(query).mappings()
    )


def set_outlines(work: Work, scan: str, given: Sequence[PrintOutline]) -> int:
    """Keep the places of the prints on a scan, as somebody drew them; how many there are. Without any, they are found
    anew. Those that were cut out already stay.

    Raises InvalidValueError for one that is too small, outside the picture, or too many; NotFoundError, AmbiguousError.
    """
    row = bed_row(find_scan(work.connection, scan))
    places = checked_outlines(given, row)
    replace_open(
        work, row["id"], [Frame(place, caption=one.caption.strip()) for one, place in zip(given, places, strict=True)]
    )
    name, code = Path(row["path"]).name, row_of(work.connection, t.photograph, row["photograph_id"])["code"]
    work.what = (
        f"outlined {counted(len(places), 'print')} on {name} ({code})" if places else
        f"dropped the outlines on {name} ({code})"
    )  # fmt: skip
    return len(places)


@dataclass(frozen=True)
class Frame:
    """An outline in pixels of the bed, with what is known of it."""

    place: Place
    doubts: tuple[str, ...] = ()
    photograph: str | None = None
    id: int | None = None
    caption: str = ""


def kept_frames(connection: Connection, scan_id: int) -> list[Frame]:
    """The outlines that somebody drew, and those that were cut out."""
    f, p = t.print_frame.c, t.photograph.c
    query = select(t.print_frame, p.code).outerjoin(t.photograph, p.id == f.photograph_id)
    rows = connection.execute(query.where(f.scan_id == scan_id).order_by(f.position, f.id)).mappings()
    return [Frame(_place(row), (), row["code"], row["id"], row["caption"]) for row in rows]


def found_outlines(bed: WholeBed) -> tuple[tuple[Outline, ...], tuple[Left, ...], str]:
    """What the picture shows, and why that cannot be cut without anybody looking."""
    seen = prints_of(bed)
    if not seen.bed_seen:
        return (), (), "the glass around the prints does not show, so it is not clear where each begins"
    doubtful = sum(bool(one.doubts) for one in seen.outlines)
    if not seen.outlines:
        problem = "no print shows on it"
    elif len(seen.outlines) == 1 and not doubtful and not seen.left:
        problem = "there is only one print on it, so nothing to cut apart"
    elif doubtful:
        problem = f"{counted(doubtful, 'outline is', 'outlines are')} unsure"
    elif seen.left:
        problem = f"{counted(len(seen.left), 'thing on it is', 'things on it are')} outside every outline"
    else:
        problem = ""
    return seen.outlines, seen.left, problem


def _shown(
    row: RowMapping, code: str, scale: tuple[float, bool], frames: Sequence[Frame], left: Sequence[Left], problem: str
) -> BedOutlines:
    per_mm, stated = scale
    width, height = shown_size(row)
    by_hand = any(frame.id is not None for frame in frames)
    if by_hand and all(frame.photograph for frame in frames):
        problem = "it was cut apart already"
    return BedOutlines(
        code, row["path"], round(width / per_mm, 1), round(height / per_mm, 1), stated, by_hand,
        tuple(in_mm(frame, per_mm) for frame in frames), tuple(left_in_mm(one, per_mm) for one in left), problem,
        row["id"], source_of(row).version,
    )  # fmt: skip


def in_mm(frame: Frame, per_mm: float) -> PrintOutline:
    place = frame.place.scaled(1 / per_mm)
    left, top = place.x - place.width / 2, place.y - place.height / 2
    return PrintOutline(
        round(left, 2), round(top, 2), round(place.width, 2), round(place.height, 2), round(place.turn, 2),
        frame.doubts, frame.photograph, frame.caption,
    )  # fmt: skip


def left_in_mm(one: Left, per_mm: float) -> LeftOnBed:
    x0, y0, x1, y1 = (edge / per_mm for edge in one.box)
    return LeftOnBed(round(x0, 1), round(y0, 1), round(x1 - x0, 1), round(y1 - y0, 1))


def replace_open(
    work: Work, scan_id: int, frames: Sequence[Frame], photographs: Iterable[int | None] = repeat(None)
) -> None:
    """Keep these outlines on a scan instead of those along which nothing was cut yet, with the photographs (row ids)
    that were cut out along them."""
    f = t.print_frame.c
    rows = work.connection.execute(select(f.id, f.photograph_id).where(f.scan_id == scan_id)).all()
    work.delete(t.print_frame, [each.id for each in rows if each.photograph_id is None])
    taken = sum(each.photograph_id is not None for each in rows)
    work.insert(
        t.print_frame,
        [
            {
                "scan_id": scan_id,
                "position": taken + k,
                "photograph_id": photograph,
                "caption": frame.caption,
                **asdict(frame.place),
            }
            for k, (frame, photograph) in enumerate(zip(frames, photographs, strict=False), 1)
        ],
    )


def checked_outlines(given: Sequence[PrintOutline], row: RowMapping) -> list[Place]:
    """Outlines by hand in pixels of a scan. Raises InvalidValueError."""
    if len(given) > MOST:
        raise InvalidValueError(f"{len(given)} outlines are more than {MOST}", remedy="Draw one for each print.")
    per_mm, _ = _per_mm(row)
    return [_checked(one, per_mm, shown_size(row), number) for number, one in enumerate(given, 1)]


def _checked(one: PrintOutline, per_mm: float, size: tuple[int, int], number: int) -> Place:
    """An outline by hand in pixels. Raises InvalidValueError."""
    numbers = (one.left, one.top, one.width, one.height, one.turn)
    if not all(abs(each) < 1e5 for each in numbers):  # also what is not a number
        raise InvalidValueError(f"print {number} has no size", remedy="Give left, top, width and height in mm.")
    if min(one.width, one.height) < SMALLEST:
        raise InvalidValueError(
            f"print {number} is smaller than {SMALLEST:g} mm", remedy="Draw it larger, or leave it out."
        )
    middle = (one.left + one.width / 2) * per_mm, (one.top + one.height / 2) * per_mm
    if not (0 <= middle[0] <= size[0] and 0 <= middle[1] <= size[1]):
        raise InvalidValueError(f"print {number} is outside the picture", remedy="Move it onto the picture.")
    if max(one.width * per_mm, one.height * per_mm) > 1.5 * max(size):
        raise InvalidValueError(f"print {number} is larger than the picture", remedy="Draw it smaller.")
    return Place(*middle, one.width * per_mm, one.height * per_mm, normal(one.turn))


def bed_row(row: RowMapping) -> RowMapping:
    """The scan, unless one print on it is shown straight. Raises InvalidValueError."""
    if source_of(row).straightened is not None:
        name = Path(row["path"]).name
        raise InvalidValueError(
            f"{name} is shown straight, as a photograph of one print",
            remedy=f"To cut several prints out of it: kinphoto scans straighten {name} --as-taken, then cut it.",
        )
    return row


def _per_mm(row: RowMapping) -> tuple[float, bool]:
    """Pixels a millimetre of a scan, and whether its file says so."""
    if row["ppi"] and row["ppi"] >= 100:
        return row["ppi"] / MM_PER_INCH, True
    return max(row["width"], row["height"]) / GLASS, False


def turn_outlines(work: Work, scan: RowMapping, moved: int) -> None:
    """Turn the outlines on a scan with its picture, which was shown as `scan` says before."""
    f = t.print_frame.c
    rows = work.connection.execute(select(t.print_frame).where(f.scan_id == scan["id"])).mappings().all()
    size = shown_size(scan)
    places = {row["id"]: _place(row) for row in rows}
    if moved & MIRROR:
        places = {id_: place.mirrored(size[0]) for id_, place in places.items()}
    work.rewrite(
        t.print_frame, [{"id": id_, **asdict(place.quarter_turned(size, moved))} for id_, place in places.items()]
    )


def _place(row: RowMapping) -> Place:
    return Place(row["x"], row["y"], row["width"], row["height"], row["turn"])

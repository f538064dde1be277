"""Several prints on the glass or on an album page: where each lies, corrected by hand where that does not show, with
the words beside it, and one file each.

The parts are new files in a folder of their own beside the bed, under the theme's next numbers; the bed stays as it is
and becomes the page that they are part of. Each part remembers its bed and its place on it, in the archive and in the
file itself. A bed of which not every outline is sure is left alone until somebody has looked at it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, RowMapping, func, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_scan, photograph_code
from kinphoto.archive.collection.film_strips import perhaps_one_strip
from kinphoto.archive.collection.images import shown_size, source_of
from kinphoto.archive.collection.numbers import Numbers, box_names, checked_theme, note_given
from kinphoto.archive.statements.claims import NewClaim, Tie, relate, state
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.documents import INTERNAL
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError
from kinphoto.phrases import counted
from kinphoto.scans.beds.cutting import GLASS, WholeBed, margins, part, prints_of, read_bed, write_part
from kinphoto.scans.beds.outlines import Left, Outline
from kinphoto.scans.beds.places import Place, normal
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.measure import measure
from kinphoto.scans.numbering import LARGEST, NumberedName, numbered, theme_of
from kinphoto.scans.pages import file_path
from kinphoto.scans.thumbnails import FOLDER as THUMBNAILS
from kinphoto.scans.upright import MIRROR
from kinphoto.scans.walk import shown
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import add_roots
from kinphoto.store.session import Work, reading, working

Progress = Callable[[int, int], None]

CUT = "cut"
"""The folder beside a bed that its parts are put into."""
SMALLEST = 5.0
"""Millimetres: the least side of an outline by hand."""
MOST = 60
"""Outlines on one bed."""


@dataclass(frozen=True, slots=True)
class PrintOutline:
    """Where a print lies on its bed: a rectangle, then turned around its middle."""

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
    """Something that lies on the bed in no outline."""

    left: Annotated[float, "millimetres from the left edge"]
    top: Annotated[float, "millimetres from the top"]
    width: Annotated[float, "millimetres"]
    height: Annotated[float, "millimetres"]


@dataclass(frozen=True, slots=True)
class BedOutlines:
    """A bed and what lies on it."""

    photograph: Annotated[str, "the bed's code"]
    scan: Annotated[str, "the bed's path"]
    width: Annotated[float, "millimetres"]
    height: Annotated[float, "millimetres"]
    stated: Annotated[bool, "false when the file states no resolution, and an A4 glass was assumed"]
    by_hand: Annotated[bool, "true when somebody drew or corrected the outlines"]
    outlines: Annotated[tuple[PrintOutline, ...], "the prints, in reading order"]
    left: Annotated[tuple[LeftOnBed, ...], "what lies in no outline and is more than dust"]
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


@dataclass(frozen=True, slots=True)
class CutPart:
    """A part of a bed."""

    photograph: Annotated[str, "the code of the new photograph"]
    scan: Annotated[str, "its file"]
    outline: PrintOutline


@dataclass(frozen=True, slots=True)
class CutBed:
    """A bed that was cut apart."""

    photograph: Annotated[str, "the bed's code"]
    scan: Annotated[str, "the bed's path; the file is as it was"]
    parts: tuple[CutPart, ...]
    left: Annotated[tuple[LeftOnBed, ...], "what lies on it in no part and is more than dust"]
    covered: Annotated[float, "per cent of the bed that the prints cover; the rest is bare glass and what is left"]
    strip: Annotated[
        tuple[str, ...], "what was cut out of it, where it is film and may be one strip, which nobody has recorded yet"
    ] = ()


@dataclass(frozen=True, slots=True)
class NotCut:
    """A scan that was left alone."""

    photograph: Annotated[str, "a scan's photograph"]
    scan: Annotated[str, "its path"]
    why: Annotated[str, "why it was left alone"]


@dataclass(frozen=True, slots=True)
class BedsCut:
    """What was cut apart."""

    beds: tuple[CutBed, ...]
    not_cut: Annotated[tuple[NotCut, ...], "scans that were left alone"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing was cut"]


# Outlines ------------------------------------------------------------------------------------------------------


def outlines(engine: Engine, scan: str) -> BedOutlines:
    """Where the prints lie on a scan: as somebody drew them, or else as the picture shows. Nothing is changed.

    Raises NotFoundError, AmbiguousError, UnreadableFileError.
    """
    with reading(engine) as connection:
        row = _whole(find_scan(connection, scan))
        kept = _kept(connection, row["id"])
        code = row_of(connection, t.photograph, row["photograph_id"])["code"]
        strip = perhaps_one_strip(connection, row)
    if kept:
        return replace(_shown(row, code, _per_mm(row), kept, (), ""), strip=strip)
    bed = read_bed(source_of(row))
    found, left, problem = _found(bed)
    return _shown(row, code, (bed.per_mm, bed.stated), [_Frame(one.place, one.doubts) for one in found], left, problem)


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
    """Keep where the prints lie on a scan, as somebody drew them; how many there are. Without any, they are found
    anew. Those that were cut out already stay.

    Raises InvalidValueError for one that is too small, outside the picture, or too many; NotFoundError, AmbiguousError.
    """
    row = _whole(find_scan(work.connection, scan))
    places = _checked_all(given, row)
    taken = _drop_open(work, row["id"])
    work.insert(
        t.print_frame,
        [
            {"scan_id": row["id"], "position": taken + k, "caption": one.caption.strip(), **_columns(place)}
            for k, (one, place) in enumerate(zip(given, places, strict=True), 1)
        ],
    )
    name, code = Path(row["path"]).name, row_of(work.connection, t.photograph, row["photograph_id"])["code"]
    work.what = (
        f"outlined {counted(len(places), 'print')} on {name} ({code})" if places else
        f"dropped the outlines on {name} ({code})"
    )  # fmt: skip
    return len(places)


@dataclass(frozen=True)
class _Frame:
    """An outline in pixels of the bed, with what is known of it."""

    place: Place
    doubts: tuple[str, ...] = ()
    photograph: str | None = None
    id: int | None = None
    caption: str = ""


def _kept(connection: Connection, scan_id: int) -> list[_Frame]:
    """The outlines that somebody drew, and those that were cut out."""
    f, p = t.print_frame.c, t.photograph.c
    query = select(t.print_frame, p.code).outerjoin(t.photograph, p.id == f.photograph_id)
    rows = connection.execute(query.where(f.scan_id == scan_id).order_by(f.position, f.id)).mappings()
    return [_Frame(_place(row), (), row["code"], row["id"], row["caption"]) for row in rows]


def _found(bed: WholeBed) -> tuple[tuple[Outline, ...], tuple[Left, ...], str]:
    """What the picture shows, and why that cannot be cut without anybody looking."""
    seen = prints_of(bed)
    if not seen.bed_seen:
        return (), (), "the glass around the prints does not show, so where each begins is unsure"
    doubtful = sum(bool(one.doubts) for one in seen.outlines)
    if not seen.outlines:
        problem = "no print shows on it"
    elif len(seen.outlines) == 1 and not doubtful and not seen.left:
        problem = "one print lies on it; there is nothing to cut apart"
    elif doubtful:
        problem = f"{counted(doubtful, 'outline is', 'outlines are')} unsure"
    elif seen.left:
        problem = f"{counted(len(seen.left), 'thing lies', 'things lie')} on it in no outline"
    else:
        problem = ""
    return seen.outlines, seen.left, problem


def _shown(
    row: RowMapping, code: str, scale: tuple[float, bool], frames: Sequence[_Frame], left: Sequence[Left], problem: str
) -> BedOutlines:
    per_mm, stated = scale
    width, height = shown_size(row)
    by_hand = any(frame.id is not None for frame in frames)
    if by_hand and all(frame.photograph for frame in frames):
        problem = "it was cut apart already"
    return BedOutlines(
        code, row["path"], round(width / per_mm, 1), round(height / per_mm, 1), stated, by_hand,
        tuple(_in_mm(frame, per_mm) for frame in frames), tuple(_left(one, per_mm) for one in left), problem,
        row["id"], source_of(row).version,
    )  # fmt: skip


def _in_mm(frame: _Frame, per_mm: float) -> PrintOutline:
    place = frame.place.scaled(1 / per_mm)
    left, top = place.x - place.width / 2, place.y - place.height / 2
    return PrintOutline(
        round(left, 2), round(top, 2), round(place.width, 2), round(place.height, 2), round(place.turn, 2),
        frame.doubts, frame.photograph, frame.caption,
    )  # fmt: skip


def _left(one: Left, per_mm: float) -> LeftOnBed:
    x0, y0, x1, y1 = (edge / per_mm for edge in one.box)
    return LeftOnBed(round(x0, 1), round(y0, 1), round(x1 - x0, 1), round(y1 - y0, 1))


def _drop_open(work: Work, scan_id: int) -> int:
    """Delete the outlines along which nothing was cut yet; how many are left."""
    f = t.print_frame.c
    rows = work.connection.execute(select(f.id, f.photograph_id).where(f.scan_id == scan_id)).all()
    work.delete(t.print_frame, [each.id for each in rows if each.photograph_id is None])
    return sum(each.photograph_id is not None for each in rows)


def _checked_all(given: Sequence[PrintOutline], row: RowMapping) -> list[Place]:
    """Outlines by hand in pixels of a scan. Raises InvalidValueError."""
    if len(given) > MOST:
        raise InvalidValueError(f"{len(given)} outlines are more than {MOST}", remedy="Draw one for each print.")
    per_mm, _ = _per_mm(row)
    return [_checked(one, per_mm, shown_size(row), number) for number, one in enumerate(given, 1)]


def _checked(one: PrintOutline, per_mm: float, size: tuple[int, int], number: int) -> Place:
    """An outline by hand in pixels. Raises InvalidValueError."""
    numbers = (one.left, one.top, one.width, one.height, one.turn)
    if not all(abs(each) < 1e5 for each in numbers):  # also what is no number
        raise InvalidValueError(f"print {number} has no size", remedy="Give left, top, width and height in mm.")
    if min(one.width, one.height) < SMALLEST:
        raise InvalidValueError(
            f"print {number} is smaller than {SMALLEST:g} mm", remedy="Draw it larger, or leave it out."
        )
    middle = (one.left + one.width / 2) * per_mm, (one.top + one.height / 2) * per_mm
    if not (0 <= middle[0] <= size[0] and 0 <= middle[1] <= size[1]):
        raise InvalidValueError(f"print {number} lies outside the picture", remedy="Move it onto the picture.")
    if max(one.width * per_mm, one.height * per_mm) > 1.5 * max(size):
        raise InvalidValueError(f"print {number} is larger than the picture", remedy="Draw it smaller.")
    return Place(*middle, one.width * per_mm, one.height * per_mm, normal(one.turn))


def _columns(place: Place) -> dict[str, float]:
    return asdict(place)


def _whole(row: RowMapping) -> RowMapping:
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


# Cutting -------------------------------------------------------------------------------------------------------


def cut(
    engine: Engine, scans: Sequence[str], theme: str | None = None, folder: Path | str | None = None,
    progress: Progress | None = None, *, unsure: bool = False, drawn: Sequence[PrintOutline] = (),
) -> BedsCut:  # fmt: skip
    """Cut these beds apart, each into as many files as prints lie on it, in `folder` or one named `cut` beside the
    bed. A bed whose outlines are not all sure is left alone, unless that is wanted all the same (`unsure`). One bed may
    be cut along outlines that somebody has `drawn`.

    Each bed is done or not; what was done before an interruption is kept. Raises NotFoundError, AmbiguousError,
    InvalidValueError where no theme can be made, ArchiveError when a file cannot be written.
    """
    with reading(engine) as connection:
        found = [_whole(find_scan(connection, text)) for text in scans]
        rows = list({row["id"]: row for row in found}.values())
    if not rows or (drawn and len(rows) > 1):
        raise InvalidValueError(
            "outlines are those of one scan" if rows else "no scan was named to be cut",
            remedy="Name one: kinphoto scans cut K00012.",
        )
    by_hand = _checked_all(drawn, rows[0])
    report = progress or (lambda _done, _total: None)
    done: list[CutBed] = []
    not_cut: list[NotCut] = []
    change: int | None = None
    for number, row in enumerate(rows, 1):
        with reading(engine) as connection:
            code = row_of(connection, t.photograph, row["photograph_id"])["code"]
            kept = _kept(connection, row["id"])
        if by_hand:
            kept = [frame for frame in kept if frame.photograph] + [
                _Frame(place, caption=one.caption.strip()) for one, place in zip(drawn, by_hand, strict=True)
            ]
        try:
            one, change = _cut_one(engine, row, code, kept, theme, folder, unsure, change)
        except _LeftAloneError as why:
            not_cut.append(NotCut(code, row["path"], str(why)))
        else:
            done.append(one)
        report(number, len(rows))
    return BedsCut(tuple(done), tuple(not_cut), change)


class _LeftAloneError(Exception):
    """Why a bed is not cut. Never leaves this module."""


def _cut_one(
    engine: Engine, row: RowMapping, code: str, kept: list[_Frame], theme: str | None, folder: Path | str | None,
    unsure: bool, change: int | None,
) -> tuple[CutBed, int | None]:  # fmt: skip
    if kept and all(frame.photograph for frame in kept):
        raise _LeftAloneError("it was cut apart already; draw outlines for what is still on it")
    try:
        bed = read_bed(source_of(row))
    except KinphotoError as problem:
        raise _LeftAloneError(problem.what) from problem
    left: tuple[Left, ...] = ()
    if kept:
        frames = [frame for frame in kept if frame.photograph is None]
    else:
        found, left, why = _found(bed)
        frames = [_Frame(one.place, one.doubts) for one in found]
        if why and not (unsure and frames):
            raise _LeftAloneError(why)
    files = _files(engine, row, theme, folder, len(frames))
    places = [frame.place for frame in (*frames, *(one for one in kept if one.photograph))]
    written: list[Path] = []
    try:
        for frame, path, margin in zip(frames, files, margins(places, bed.per_mm), strict=False):
            written.append(path)
            write_part(path, part(bed, frame.place, margin), bed, _description(row, frame.place, margin))
        with working(engine, "", change) as work:
            parts = _record(work, row, frames, files, bed)
            before = (
                row_of(work.connection, t.change, change)["what"] if change is not None and work.id == change else ""
            )
            words = f"cut {Path(row['path']).name} ({code}) apart into {counted(len(parts), 'photograph')}"
            work.what = f"{before}; {words}" if before else words
            strip = perhaps_one_strip(work.connection, row)
        change = work.id
    except BaseException:
        for path in written:  # what no row tells of must not lie about
            path.unlink(missing_ok=True)
        raise
    per_mm = bed.per_mm
    covered = sum(place.area for place in places) / (bed.size[0] * bed.size[1])
    shown_parts = tuple(
        CutPart(each, str(path), replace(_in_mm(frame, per_mm), doubts=(), photograph=each))
        for each, path, frame in zip(parts, files, frames, strict=True)
    )
    return CutBed(
        code,
        row["path"],
        shown_parts,
        tuple(_left(one, per_mm) for one in left),
        round(100 * min(covered, 1.0), 1),
        strip,
    ), change


def _files(engine: Engine, row: RowMapping, theme: str | None, folder: Path | str | None, count: int) -> list[Path]:
    """The names that the parts get."""
    bed = Path(file_path(row["path"], row["page"]))
    where = Path(os.path.realpath(folder)) if folder is not None else bed.parent / CUT
    with reading(engine) as connection:
        numbers = Numbers(connection)
        name = _theme(connection, numbers, bed, theme)
    number = numbers.next(name)
    files: list[Path] = []
    spelled = numbers.spelled(name)
    while len(files) < count:
        if number > LARGEST:
            raise InvalidValueError(f"'{spelled}' has no numbers left", remedy="Choose another theme.")
        path = where / f"{NumberedName(spelled, number).stem}.tif"
        if not os.path.lexists(path):
            files.append(path)
        number += 1
    try:
        where.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise ArchiveError(
            f"the folder for the parts cannot be made ({problem.strerror})", where=shown(str(where)),
            remedy="Choose another: kinphoto scans cut --to FOLDER.",
        ) from problem  # fmt: skip
    add_roots(engine, {str(where)})
    return files


def _theme(connection: Connection, numbers: Numbers, bed: Path, theme: str | None) -> str:
    """The theme asked for, or that of the bed's name, its box, its folder."""
    if theme is not None:
        written = theme.strip()
        return written if written.casefold() in numbers.series else checked_theme(theme)
    name = numbered(bed.stem)
    if name is not None:
        return name.theme
    made = theme_of(box_names(connection).get(str(bed.parent), bed.parent.name))
    if not made:
        raise InvalidValueError(
            f"neither {bed.name} nor its folder has a name that says something", where=shown(str(bed)),
            remedy='Choose a theme for the parts, such as --theme "ada-album".',
        )  # fmt: skip
    return made


def _description(row: RowMapping, place: Place, margin: float) -> str:
    """What a part says of itself, for whoever has it without the archive."""
    sha256 = row["file_sha256"] or row["sha256"]
    return (
        f"Cut from {Path(row['path']).name} (SHA-256 {sha256}): middle at {place.x:.1f}, {place.y:.1f} of its upright "
        f"picture, print {place.width:.1f} by {place.height:.1f} pixels, turned {place.turn:.2f} degrees clockwise, "
        f"{margin:.1f} pixels of the bed around it."
    )


def _record(work: Work, row: RowMapping, frames: Sequence[_Frame], files: Sequence[Path], bed: WholeBed) -> list[str]:
    """New photographs in the bed's box, right after what is in it, part of the bed; their codes."""
    folder = folder_of(work.connection.engine)
    measured = [asdict(scan) for path in files for scan in measure(str(path), folder / THUMBNAILS).scans]
    codes = [photograph_code(number) for number in work.take("photograph.code", len(files))]
    page = row_of(work.connection, t.photograph, row["photograph_id"])
    box = page["container_id"]
    places = Containers(work).next_positions(box, len(files)) if box is not None else range(len(files))
    today = date.today().toordinal()
    photographs = work.insert(
        t.photograph,
        [
            {"code": code, "container_id": box, "position": at, "indexed": today, "private": page["private"]}
            for code, at in zip(codes, places, strict=True)
        ],
    )
    work.insert(
        t.scan,
        [
            {
                **scan,
                "photograph_id": id_,
                "indexed_at": work.at,
                "first_sha256": scan["sha256"],
                "first_code": code,
                "exif_digitized": scan["exif_digitized"] or row["exif_digitized"],
                "device": scan["device"] or row["device"],
            }
            for scan, id_, code in zip(measured, photographs, codes, strict=True)
        ],
    )
    note_given(work, [str(path) for path in files])
    _keep_places(work, row["id"], frames, list(photographs))
    recorder = Recorder(work)
    for code in codes:
        relate(recorder, Tie(photograph=code, relation="part-of", other=page["code"]))
    for code, frame in zip(codes, frames, strict=True):
        if frame.caption:
            state(recorder, NewClaim(photograph=code, kind="inscription", text=frame.caption))
    recorder.write()
    return codes


def _keep_places(work: Work, scan_id: int, frames: Sequence[_Frame], photographs: Sequence[int]) -> None:
    """Those that were drawn before give way to what was cut."""
    taken = _drop_open(work, scan_id)
    work.insert(
        t.print_frame,
        [
            {
                "scan_id": scan_id,
                "position": taken + k,
                "photograph_id": photograph,
                "caption": frame.caption,
                **_columns(frame.place),
            }
            for k, (frame, photograph) in enumerate(zip(frames, photographs, strict=True), 1)
        ],
    )


def turn_outlines(work: Work, scan: RowMapping, moved: int) -> None:
    """Turn the outlines on a scan with its picture, which was shown as `scan` says before."""
    f = t.print_frame.c
    rows = work.connection.execute(select(t.print_frame).where(f.scan_id == scan["id"])).mappings().all()
    size = shown_size(scan)
    places = {row["id"]: _place(row) for row in rows}
    if moved & MIRROR:
        places = {id_: place.mirrored(size[0]) for id_, place in places.items()}
    work.rewrite(
        t.print_frame, [{"id": id_, **_columns(place.quarter_turned(size, moved))} for id_, place in places.items()]
    )


def _place(row: RowMapping) -> Place:
    return Place(row["x"], row["y"], row["width"], row["height"], row["turn"])

"""Several prints on the glass or on an album page, cut apart along their outlines (`bed_outlines.py`): one file each.

The parts are new files in a folder of their own beside the bed, under the theme's next numbers; the bed stays as it is
and becomes the page that they are part of. Each part remembers its bed and its place on it, in the archive and in the
file itself. A bed whose outlines are not all sure is left alone until somebody has looked at it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, RowMapping

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_scan
from kinphoto.archive.collection.bed_outlines import (
    Frame,
    LeftOnBed,
    PrintOutline,
    bed_row,
    checked_outlines,
    found_outlines,
    in_mm,
    kept_frames,
    left_in_mm,
    replace_open,
)
from kinphoto.archive.collection.film_strips import perhaps_one_strip
from kinphoto.archive.collection.images import source_of
from kinphoto.archive.collection.measured_files import insert_photographs
from kinphoto.archive.collection.numbers import Numbers, box_names, checked_theme, note_given
from kinphoto.archive.statements.claims import NewClaim, Tie, relate, state
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError
from kinphoto.phrases import counted
from kinphoto.scans.beds.cutting import margins, part, read_bed, write_part
from kinphoto.scans.beds.outlines import Left
from kinphoto.scans.beds.places import Place
from kinphoto.scans.measure import measure
from kinphoto.scans.numbering import LARGEST, NumberedName, numbered, theme_of
from kinphoto.scans.pages import file_path
from kinphoto.scans.thumbnails import FOLDER as THUMBNAILS
from kinphoto.scans.walk import shown
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import add_roots
from kinphoto.store.session import Work, reading, working

Progress = Callable[[int, int], None]

CUT = "cut"
"""The folder beside a bed that its parts are put into."""


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
    left: Annotated[tuple[LeftOnBed, ...], "what is on it outside every part and is more than dust"]
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


def cut(
    engine: Engine, scans: Sequence[str], theme: str | None = None, folder: Path | str | None = None,
    progress: Progress | None = None, *, unsure: bool = False, drawn: Sequence[PrintOutline] = (),
) -> BedsCut:  # fmt: skip
    """Cut these beds apart, each into one file for each print on it, in `folder` or one named `cut` beside the
    bed. A bed whose outlines are not all sure is left alone, unless that is wanted all the same (`unsure`). One bed may
    be cut along outlines that somebody has `drawn`.

    Each bed is done or not; what was done before an interruption is kept. Raises NotFoundError, AmbiguousError,
    InvalidValueError where no theme can be made, ArchiveError when a file cannot be written.
    """
    with reading(engine) as connection:
        found = [bed_row(find_scan(connection, text)) for text in scans]
        rows = list({row["id"]: row for row in found}.values())
    if not rows or (drawn and len(rows) > 1):
        raise InvalidValueError(
            "outlines can be given for one scan only" if rows else "no scan was named to be cut",
            remedy="Name one: kinphoto scans cut K00012.",
        )
    by_hand = checked_outlines(drawn, rows[0])
    report = progress or (lambda _done, _total: None)
    done: list[CutBed] = []
    not_cut: list[NotCut] = []
    change: int | None = None
    for number, row in enumerate(rows, 1):
        with reading(engine) as connection:
            code = row_of(connection, t.photograph, row["photograph_id"])["code"]
            kept = kept_frames(connection, row["id"])
        if by_hand:
            kept = [frame for frame in kept if frame.photograph] + [
                Frame(place, caption=one.caption.strip()) for one, place in zip(drawn, by_hand, strict=True)
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
    engine: Engine, row: RowMapping, code: str, kept: list[Frame], theme: str | None, folder: Path | str | None,
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
        found, left, why = found_outlines(bed)
        frames = [Frame(one.place, one.doubts) for one in found]
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
            parts = _record(work, row, frames, files)
            before = (
                row_of(work.connection, t.change, change)["what"] if change is not None and work.id == change else ""
            )
            words = f"cut {Path(row['path']).name} ({code}) apart into {counted(len(parts), 'photograph')}"
            work.what = f"{before}; {words}" if before else words
            strip = perhaps_one_strip(work.connection, row)
        change = work.id
    except BaseException:
        for path in written:  # no file without a row may stay behind
            path.unlink(missing_ok=True)
        raise
    per_mm = bed.per_mm
    covered = sum(place.area for place in places) / (bed.size[0] * bed.size[1])
    shown_parts = tuple(
        CutPart(each, str(path), replace(in_mm(frame, per_mm), doubts=(), photograph=each))
        for each, path, frame in zip(parts, files, frames, strict=True)
    )
    return CutBed(
        code,
        row["path"],
        shown_parts,
        tuple(left_in_mm(one, per_mm) for one in left),
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
            f"neither {bed.name} nor its folder has a name that says anything about the prints", where=shown(str(bed)),
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


def _record(work: Work, row: RowMapping, frames: Sequence[Frame], files: Sequence[Path]) -> list[str]:
    """New photographs in the bed's box, right after what is in it, part of the bed; their codes."""
    folder = folder_of(work.connection.engine)
    scans = [asdict(scan) for path in files for scan in measure(str(path), folder / THUMBNAILS).scans]
    for scan in scans:
        scan.update({key: scan[key] or row[key] for key in ("exif_digitized", "device")})
    page = row_of(work.connection, t.photograph, row["photograph_id"])
    box = page["container_id"]
    positions = Containers(work).next_positions(box, len(files)) if box is not None else range(len(files))
    codes, photographs = insert_photographs(work, scans, [(box, at) for at in positions], private=page["private"])
    note_given(work, [str(path) for path in files])
    replace_open(work, row["id"], frames, photographs)
    recorder = Recorder(work)
    for code in codes:
        relate(recorder, Tie(photograph=code, relation="part-of", other=page["code"]))
    for code, frame in zip(codes, frames, strict=True):
        if frame.caption:
            state(recorder, NewClaim(photograph=code, kind="inscription", text=frame.caption))
    recorder.write()
    return codes

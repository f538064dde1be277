"""Prints to order: for which sizes a scan is good enough, and files of one size to be printed.

A file is never made larger than its scan: it has the pixels that are there, and says how many of them go to an inch. No
face is cut, and none is in the 3 mm at each edge that printers trim; where the proportions do not allow that, the whole
picture is given a white border instead.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Annotated, NamedTuple

from PIL import Image, ImageOps
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.giving.copies import Unusable, kept_away, key_of, opened_scan
from kinphoto.archive.giving.given import Given, Region
from kinphoto.archive.giving.selection import Report, Wanted, gift, refuse_empty
from kinphoto.errors import InvalidValueError, UnreadableFileError
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.upright import POSITIVE, shown_size
from kinphoto.share.folder import GiftFolder
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import reading

SIZES = {"10x15": (100, 150), "13x18": (130, 180), "20x25": (200, 250), "30x40": (300, 400)}
"""The usual sizes of prints, in millimetres."""
TRIM = 3.0
"""Millimetres at each edge that printers may cut off."""
GOOD, ENOUGH = 300, 200
"""Pixels to the inch of a print that looks sharp in the hand, and of one that still does at arm's length (common
practice, from memory)."""
CROP, BORDER = "crop", "border"


class PrintSize(NamedTuple):
    """How a photograph would come out at one size."""

    size: Annotated[str, "the size in centimetres, such as `10x15`"]
    ppi: Annotated[int, "pixels to the inch at that size"]
    good: Annotated[str, "`good` (300 ppi or more), `enough` (200 or more) or `no`"]


@dataclass(frozen=True, slots=True)
class Printable:
    """The sizes of one photograph."""

    photograph: Annotated[str, "a photograph's code"]
    sizes: tuple[PrintSize, ...]
    largest: Annotated[str | None, "the largest of them that is good, or enough where none is; null for none"]


@dataclass(frozen=True, slots=True)
class PrintsWritten:
    """Files to be printed, or what would be."""

    report: Annotated[Report, "what goes, and what is held back and why"]
    printable: tuple[Printable, ...]
    folder: Annotated[str | None, "the folder they are in; null when only sizes were asked for"] = None
    done: Annotated[bool, "false without `--write`: nothing was written"] = False
    written: Annotated[int, "how many files were written"] = 0
    unchanged: Annotated[int, "how many were there already as they are now"] = 0
    removed: Annotated[int, "how many of an earlier run were removed, because they no longer go"] = 0
    bordered: Annotated[tuple[str, ...], "photographs with a border, because cropping would have cut a face"] = ()
    too_small: Annotated[
        tuple[str, ...], "photographs left out because their scan has too few pixels for the size"
    ] = ()
    unusable: tuple[Unusable, ...] = ()


def write_prints(
    engine: Engine,
    audience: str,
    wanted: Wanted = Wanted(),
    *,
    folder: Path | str | None = None,
    size: str = "10x15",
    fit: str = CROP,
    positives: bool = False,
    write: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> PrintsWritten:
    """Say for which sizes the photographs are good; with a folder and `write`, files of one size to be printed.

    `fit` crops to the proportions of the size or adds a border. With `positives` negatives come out as positives.
    Raises NotFoundError, AmbiguousError, InvalidValueError for an unknown size or manner, and ArchiveError.
    """
    name = size.lower().replace("×", "x").replace(" ", "").removesuffix("cm")
    if name not in SIZES:
        raise InvalidValueError(f"'{size}' is not a print size", remedy=f"Use {', '.join(SIZES)}.")
    if fit not in (CROP, BORDER):
        raise InvalidValueError(f"'{fit}' is not a way to fit a picture", remedy=f"Use {CROP} or {BORDER}.")
    refresh(engine)
    with reading(engine) as connection:
        found = gift(connection, audience, wanted)
        faces = _faces(connection, [one.id for one in found.photographs])
        negatives = _negatives(connection, [one.id for one in found.photographs]) if positives else set[int]()
        negatives -= {one.id for one in found.photographs if one.front.turn & POSITIVE}  # shown so already
        inside = None
        if folder is not None:
            inside = GiftFolder(Path(folder), f"prints of {name}", found.report.audience, kept_away(connection))
    printable = tuple(sizes_of(one) for one in found.photographs)
    if inside is None or not write:
        return PrintsWritten(found.report, printable, None if inside is None else str(inside.folder))
    refuse_empty(found)
    small, bordered, unusable = [], [], []
    inside.begin([f"{one.code}.jpg" for one in found.photographs])
    for number, one in enumerate(found.photographs, 1):
        if progress is not None:
            progress(number, len(found.photographs))
        paper = _turned(SIZES[name], one.front.upright)
        if ppi_at(one.front.upright, paper) < ENOUGH:
            small.append(one.code)
            continue
        box = None if fit == BORDER else crop(one.front.upright, paper, faces.get(one.id, ()))
        if box is None and fit == CROP:
            bordered.append(one.code)
        key = key_of(one.front.sha256, one.front.turn, *one.front.corners, name, fit, box, one.id in negatives)
        try:
            inside.put(f"{one.code}.jpg", key, partial(_print, one, paper, box, one.id in negatives))
        except (OSError, UnreadableFileError) as problem:
            unusable.append(Unusable(one.code, getattr(problem, "what", "") or str(problem)))
    inside.finish()
    return PrintsWritten(
        found.report, printable, str(inside.folder), True, inside.written, inside.unchanged, inside.removed,
        tuple(bordered), tuple(small), tuple(unusable),
    )  # fmt: skip


class SizeCount(NamedTuple):
    """How many of some photographs come out well at one size."""

    size: str
    good: int
    enough: int
    too_small: int


def count_sizes(connection: Connection, codes: Collection[str]) -> tuple[SizeCount, ...]:
    """For each size, how many of these photographs are good, enough or too small for it, by their front scans."""
    p, s = t.photograph.c, t.scan.c
    query = select(s.photograph_id, s.width, s.height, s.orientation, s.turn, s.straight).join(
        t.photograph, p.id == s.photograph_id
    )
    query = query.where(s.side == "recto", s.superseded == 0, s.missing == 0, among(connection, p.code, set(codes)))
    fronts = {
        row.photograph_id: shown_size((row.width, row.height), row.orientation, row.turn, row.straight)
        for row in connection.execute(query.order_by(s.position.desc(), s.id.desc()))
    }
    found = [{size.size: size.good for size in _sizes(pixels)} for pixels in fronts.values()]
    return tuple(
        SizeCount(name, *(sum(one[name] == good for one in found) for good in ("good", "enough", "no")))
        for name in SIZES
    )


def sizes_of(one: Given) -> Printable:
    """For which sizes a photograph is good."""
    sizes = _sizes(one.front.upright)
    good = [size.size for size in sizes if size.good == "good"] or [
        size.size for size in sizes if size.good == "enough"
    ]
    return Printable(one.code, tuple(sizes), good[-1] if good else None)


def _sizes(pixels: tuple[int, int]) -> list[PrintSize]:
    sizes = []
    for name, paper in SIZES.items():
        ppi = int(ppi_at(pixels, _turned(paper, pixels)))
        sizes.append(PrintSize(name, ppi, "good" if ppi >= GOOD else "enough" if ppi >= ENOUGH else "no"))
    return sizes


def ppi_at(pixels: tuple[int, int], paper: tuple[int, int]) -> float:
    """Pixels to the inch of a picture that fills a sheet and is cropped to its proportions."""
    return min(pixels[0] / paper[0], pixels[1] / paper[1]) * MM_PER_INCH


def _turned(paper: tuple[int, int], pixels: tuple[int, int]) -> tuple[int, int]:
    """The sheet upright or on its side, as the picture is."""
    short, long = sorted(paper)
    return (short, long) if pixels[0] <= pixels[1] else (long, short)


def crop(pixels: tuple[int, int], paper: tuple[int, int], faces: Sequence[Region]) -> tuple[int, int, int, int] | None:
    """The largest box of the proportions of the sheet that holds every face, away from the edges that are trimmed;
    as near to the middle as that allows. None where there is none."""
    width, height = pixels
    scale = min(width / paper[0], height / paper[1])
    across, down = min(width, round(paper[0] * scale)), min(height, round(paper[1] * scale))
    spared = TRIM * scale
    left = _start(width, across, [(face[0] * width, (face[0] + face[2]) * width) for face in faces], spared)
    top = _start(height, down, [(face[1] * height, (face[1] + face[3]) * height) for face in faces], spared)
    return None if left is None or top is None else (left, top, left + across, top + down)


def _start(whole: int, part: int, spans: list[tuple[float, float]], spared: float) -> int | None:
    """Where a part of a length begins that holds these spans, nearest to the middle."""
    middle = (whole - part) / 2
    if not spans:
        return round(middle)
    least = max(0.0, max(end for _, end in spans) + spared - part)
    most = min(float(whole - part), min(start for start, _ in spans) - spared)
    if least > most:
        return None
    return min(max(round(middle), -int(-least // 1)), int(most))


def _faces(connection: Connection, ids: Sequence[int]) -> dict[int, list[Region]]:
    a, r = t.appearance.c, t.region.c
    query = select(a.photograph_id, r.left, r.top, r.width, r.height).join(t.region, r.id == a.region_id)
    found: dict[int, list[Region]] = {}
    for id_, *region in rows_of(connection, query.where(a.withdrawn == 0), a.photograph_id, ids):
        found.setdefault(id_, []).append(tuple(region))
    return found


def _negatives(connection: Connection, ids: Sequence[int]) -> set[int]:
    """Photographs that somebody said are negatives."""
    s = t.statement.c
    query = select(s.photograph_id, s.value).where(s.kind.in_(("process", "format")), s.withdrawn == 0)
    return {
        row.photograph_id for row in rows_of(connection, query, s.photograph_id, ids) if row.value.endswith("-negative")
    }


def _print(one: Given, paper: tuple[int, int], box: tuple[int, int, int, int] | None, negative: bool) -> bytes:
    """The file to be printed: cropped to the box, or whole with a border."""
    with opened_scan(one.front, max(one.front.size)) as picture:
        whole = picture.part(picture.whole if box is None else box)
    if negative:
        whole = ImageOps.autocontrast(ImageOps.invert(whole))
    if box is None:
        whole = _bordered(whole, paper)
    ppi = whole.width / paper[0] * MM_PER_INCH
    out = io.BytesIO()
    dpi = round(ppi), round(ppi)
    whole.save(out, "JPEG", quality=95, dpi=dpi, exif=b"", icc_profile=None, comment=b"", xmp=b"")
    return out.getvalue()


def _bordered(picture: Image.Image, paper: tuple[int, int]) -> Image.Image:
    """The whole picture on a white sheet of these proportions, with what is trimmed and a little more around it."""
    free = paper[0] - 4 * TRIM, paper[1] - 4 * TRIM
    scale = max(picture.width / free[0], picture.height / free[1])  # pixels to the millimetre, so that it just fits
    sheet = Image.new(picture.mode, (round(paper[0] * scale), round(paper[1] * scale)), "white")
    sheet.paste(picture, ((sheet.width - picture.width) // 2, (sheet.height - picture.height) // 2))
    return sheet

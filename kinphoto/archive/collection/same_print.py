"""Scans that show the same picture: of one print, made again, or of another print of it.

Which may be alike is found among all by what they look like as a whole (`scans/look.py`), the likeliest first; then the
two are laid on one another (`scans/registration.py`). The same enlargement in millimetres means the same print, also
where one is cropped or was photographed; another one means another object. A second print that a machine made at the
same size looks just like a rescan, so only a scan that was saved twice is sure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage
from sqlalchemy import Connection, Engine, RowMapping

from kinphoto.archive.collection.images import shown_size, source_of
from kinphoto.errors import KinphotoError
from kinphoto.scans import look
from kinphoto.scans.likeness import bed_box
from kinphoto.scans.registration import Registration, contrasts, quarter_turned, registered
from kinphoto.scans.tiles import small_path
from kinphoto.scans.upright import MIRROR, POSITIVE
from kinphoto.store.opening import folder_of

AGREES = 0.955
"""The share of two pictures that has to agree. With two exposures seconds apart it is less: somebody moved."""
SAME_ENLARGEMENT = 0.02
"""By how much the size of the picture in millimetres may differ between two scans of one print."""
MOST = 4_000
"""Pairs that are laid on one another at once, the likeliest."""
SOFTER = 0.6
"""The share of the other's fine detail that a photograph taken of a print has at most."""
_SHIFT, _LEVELS = 0.0012, 3.0  # shares, and grey levels, by which a scan that was saved twice differs at most
_KEPT = 20_000  # comparisons of two pictures that are remembered


@dataclass(frozen=True)
class SmallPicture:
    """A scan as it is shown, small, and the part of it that is not bed."""

    picture: Image.Image

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and lower edge of the print, as shares."""
        return bed_box(self.picture) or (0.0, 0.0, 1.0, 1.0)

    @cached_property
    def print_(self) -> Image.Image:
        """The print without the bed."""
        left, top, right, lower = self.box
        width, height = self.picture.size
        return self.picture.crop(
            (round(left * width), round(top * height), round(right * width), round(lower * height))
        )

    @cached_property
    def contrasts(self) -> tuple[NDArray[np.float32], ...]:
        """As they are compared."""
        return contrasts(self.print_)

    @cached_property
    def detail(self) -> float:
        """How much fine detail there is, relative to its contrast."""
        level = np.asarray(self.print_, dtype=np.float32)
        return float(ndimage.laplace(ndimage.gaussian_filter(level, 0.7)).std() / max(float(level.std()), 1.0))

    @property
    def to_whole(self) -> NDArray[np.float64]:
        """From shares of the print to shares of the scan."""
        left, top, right, lower = self.box
        return np.array([[right - left, 0, left], [0, lower - top, top], [0, 0, 1.0]])


class SamePicture(NamedTuple):
    """Two scans, by their places in the list, that show the same picture, and where the second is on the first.

    `ratio` is how much larger the picture of the second is in millimetres, None when that is unknown; `saved_twice`
    says that it is the same scan in two files; `softer` is the place of one that has much less detail, or None.
    """

    one: int
    other: int
    registration: Registration
    ratio: float | None
    saved_twice: bool
    softer: int | None

    @property
    def same_print(self) -> bool:
        """Whether it can be one print."""
        return self.ratio is None or abs(math.log(self.ratio)) <= SAME_ENLARGEMENT


def small_picture(row: RowMapping | Mapping[str, Any], folder: Path) -> SmallPicture | None:
    """A scan of the archive at `folder`, small; None where nothing of it can be opened."""
    try:
        with Image.open(small_path(folder, source_of(row))) as image:  # type: ignore[arg-type]
            return SmallPicture(image.convert("L"))
    except (OSError, KinphotoError):
        return None


def laid_over(one: SmallPicture, other: SmallPicture, quarters: Sequence[int] = (0, 1, 3, 2)) -> Registration | None:
    """Where the second picture is on the first, in shares of both as they are shown; `quarters` are the turns that are
    tried. None where they show different things."""
    for quarter in quarters:
        found = registered(one.contrasts, other.contrasts, quarter_turned(quarter))
        if found is not None and found.agreement >= AGREES:
            whole = other.to_whole @ found.matrix @ np.linalg.inv(one.to_whole)
            return Registration(whole / whole[2, 2], found.agreement, found.correlation, found.common)
    return None


_known: WeakKeyDictionary[Engine, dict[tuple[str, str], tuple[Registration, float, float, float] | None]] = (
    WeakKeyDictionary()
)
"""What was laid over what, by the versions of both."""


def same_pictures(
    connection: Connection, rows: Sequence[RowMapping], ours: int, apart: set[frozenset[int]]
) -> tuple[list[SamePicture], int]:
    """The pairs among these scans that show the same picture, at least one of them among the first `ours`; and how many
    that look a little alike were left out, as there are too many. Not those that are `apart`, by their row ids."""
    folder = folder_of(connection.engine)
    all_ = _looks(rows, folder)
    candidates = [
        each
        for each in look.pairs(all_[:ours], all_, most=4 * MOST)
        if frozenset((rows[each[0]]["id"], rows[each[1]]["id"])) not in apart
    ]
    pictures: dict[int, SmallPicture | None] = {}

    def picture(at: int) -> SmallPicture | None:
        if at not in pictures:
            if len(pictures) > 400:
                pictures.clear()
            pictures[at] = small_picture(rows[at], folder)
        return pictures[at]

    found = []
    for one, other, quarters, _ in sorted(candidates[:MOST], key=lambda each: (each[0], each[1])):
        known = _known.setdefault(connection.engine, {})
        key = source_of(rows[one]).name, source_of(rows[other]).name
        if key not in known:
            if len(known) > _KEPT:
                known.clear()
            first, second = picture(one), picture(other)
            registration = None if first is None or second is None else laid_over(first, second, [quarters])
            known[key] = (
                None
                if registration is None or first is None or second is None
                else (registration, first.detail, second.detail, _levels_apart(first, second))
            )
        if (seen := known[key]) is not None:
            found.append(_judged(rows, one, other, *seen))
    return found, max(0, len(candidates) - MOST)


def _judged(
    rows: Sequence[RowMapping], one: int, other: int, registration: Registration, detail: float, others: float,
    levels: float,
) -> SamePicture:  # fmt: skip
    first, second = rows[one], rows[other]
    ratio = None
    if first["ppi"] and second["ppi"]:
        ratio = pixels_ratio(registration, shown_size(first), shown_size(second)) * first["ppi"] / second["ppi"]
    alike = ratio is None or abs(math.log(ratio)) <= SAME_ENLARGEMENT
    twice = alike and levels <= _LEVELS and _shift(registration) <= _SHIFT
    softer = one if detail < SOFTER * others else other if others < SOFTER * detail else None
    return SamePicture(one, other, registration, ratio, twice, softer)


def pixels_ratio(registration: Registration, one: tuple[int, int], other: tuple[int, int]) -> float:
    """How many pixels of the second a pixel in the middle of the first is long."""
    step = 0.05
    x0, y0 = registration.moved(0.5, 0.5)
    x1, y1 = registration.moved(0.5 + step, 0.5)
    x2, y2 = registration.moved(0.5, 0.5 + step)
    area = ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) * other[0] * other[1]
    return math.sqrt(abs(area) / (step * one[0] * step * one[1]))


def _shift(registration: Registration) -> float:
    corners = [(x, y) for x in (0.0, 1.0) for y in (0.0, 1.0)]
    return max(math.dist(registration.moved(*corner), corner) for corner in corners)


def _levels_apart(one: SmallPicture, other: SmallPicture) -> float:
    """The mean difference of two pictures that are framed the same, in grey levels."""
    size = (96, 96)
    first, second = (np.asarray(each.picture.resize(size, reducing_gap=3.0), dtype=np.float32) for each in (one, other))
    return float(np.abs(first - second).mean())


def _looks(rows: Sequence[RowMapping], folder: Path) -> look.Looks:
    """What these scans look like as they are shown."""
    known = _looked.setdefault(folder, {})
    texts = []
    for row in rows:
        source = replace(source_of(row), turn=0)
        text = row["look"] if source.straightened is None else None
        if text is None and source.name not in known:
            small = small_picture({**row, "turn": 0}, folder)
            known[source.name] = "00" * 64 if small is None else look.look(small.picture)
        texts.append(text or known[source.name])
    stored = look.looks(texts)
    turns = np.array([row["turn"] for row in rows], dtype=np.int64)
    mirrored, positive = (turns & MIRROR) != 0, (turns & POSITIVE) != 0
    stored[mirrored] = look.mirrored(stored[mirrored])
    stored[positive] *= -1
    for quarters in (1, 2, 3):
        these = turns % 4 == quarters
        stored[these] = look.turned(stored[these], quarters)
    return stored


_looked: dict[Path, dict[str, str]] = {}
"""What scans look like that were added before that was kept, or that are shown straight, by archive and name."""

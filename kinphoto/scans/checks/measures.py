"""What is measured on one scan to judge it: one plain value, from one reading of the file.

All of it follows from the bytes of the file, so it is kept under their SHA-256 and never measured twice. Everything
is in the picture as stored, before any turning. A picture is looked at three times: as a whole in about a million
pixels (tones, outline, glare), in some three million (specks), and in some tiles at full size (sharpness, grain,
compression).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kinphoto.scans.checks import compression, film, marks, sharpness, tones
from kinphoto.scans.checks.outline import Outline, outline
from kinphoto.scans.checks.way_up import way_up
from kinphoto.scans.colour import Colours
from kinphoto.scans.fixity import reading_bytes
from kinphoto.scans.kinds import FileType
from kinphoto.scans.measure import stated_ppi
from kinphoto.scans.picture import eight_bits, opened, stored_whole

VERSION = 1
"""Raised when something is measured differently: what was kept of an older one is measured again."""

_WHOLE = 1000  # pixels of the longer edge
_FOR_SPECKS = 2000
_TILE = 192
_BUSY, _PLAIN = 16, 12
_FOR_LINES = 1024
_INSIDE = 0.04  # of the print on each side is left out of its tones


@dataclass(frozen=True, slots=True)
class Measures:
    """What was measured on one scan. Shares are from 0 to 1, spreads in pixels of the file, tones in L* (0 to 100),
    NaN is None. The functions of this folder say what each is."""

    ppi: float | None
    camera: bool
    bits: int | None
    grey: bool
    quality: int | None
    saved_twice: float
    clipped_light: float
    clipped_dark: float
    darkest: float
    lightest: float
    cast: float
    cast_a: float
    cast_b: float
    hues: float
    empty_levels: float
    channels_clipped: float
    edges: int
    spread: float | None
    spread_by_direction: tuple[float | None, ...]
    overshoot: float
    grain: tuple[float, float]
    interpolated: float
    tilt: float | None
    box: tuple[float, ...]
    corners: tuple[tuple[float, ...], ...]
    cut: tuple[str, ...]
    glare: float
    unwritten: float
    orange: float
    up: str
    up_why: str
    specks: tuple[tuple[float, ...], ...]


def measures(path: str, page: int = 0, memory: int | None = None) -> Measures:
    """Measure the scan at `path` (`page` counts from 1; 0 is the only one).

    Raises UnreadableFileError where the file is damaged or gone, NeedsMemoryError when it takes more than `memory`
    bytes.
    """
    with reading_bytes(path) as file, opened(file, path, page) as (kind, image):
        ppi, camera, bits = stated_ppi(file, image, kind)
        tables = getattr(image, "quantization", None) if kind is FileType.JPEG else None
        stored_whole(image, memory)
        return _measured(image, ppi, camera, bits, tables)


def of_picture(image: Image.Image, ppi: float | None = None) -> Measures:
    """The same for a picture in memory."""
    return _measured(image, ppi, False, 8, None)


def _measured(image: Image.Image, ppi: float | None, camera: bool, bits: int | None, tables: Any) -> Measures:
    profile = image.info.get("icc_profile")
    grey = image.mode in ("1", "L", "I", "F", "LA") or image.mode.startswith("I;16")
    picture = eight_bits(image)
    factor = max(1, round(max(picture.size) / _FOR_SPECKS))
    medium = picture.reduce(factor)
    small = Colours(profile).converted(medium.reduce(max(1, round(max(medium.size) / _WHOLE))))
    whole = np.asarray(small)
    found = outline(whole)
    box = _inside(found)
    content = _part(whole, box)
    colours = tones.lab(content[::2, ::2])
    samples = np.asarray(picture.resize(_fitted(picture.size, _WHOLE), Image.Resampling.NEAREST))
    sampled = _part(samples, box)
    light, dark = tones.clipped_shares(sampled)
    counts = np.array([np.bincount(each.ravel(), minlength=256) for each in _channels(sampled)])
    darkest, lightest = tones.tonal_range(colours[..., 0])
    cast, a, b, hues = tones.cast(colours)
    tiles, plain = _tiles(picture, whole, box)
    edges = sharpness.edges(tiles)
    luminance = compression.luminance_table(tables) if tables else None
    up = way_up(content)
    speck = marks.specks(medium.convert("L"))
    return Measures(
        ppi=ppi,
        camera=camera,
        bits=bits,
        grey=grey,
        quality=None if luminance is None else compression.jpeg_quality(luminance),
        saved_twice=0.0 if luminance is None else _rounded(compression.saved_twice(_stacked(tiles, plain), luminance)),
        clipped_light=_rounded(light, 4),
        clipped_dark=_rounded(dark, 4),
        darkest=_rounded(darkest, 1),
        lightest=_rounded(lightest, 1),
        cast=_rounded(cast, 1),
        cast_a=_rounded(a, 1),
        cast_b=_rounded(b, 1),
        hues=_rounded(hues, 1),
        empty_levels=_rounded(max(tones.empty_levels(each) for each in counts)),
        channels_clipped=_rounded(tones.channels_clipped(counts) if len(counts) == 3 else 0.0, 4),
        edges=edges.points,
        spread=_or_none(edges.spread),
        spread_by_direction=tuple(map(_or_none, edges.by_direction)),
        overshoot=_rounded(edges.overshoot),
        grain=tuple(_rounded(each, 2) for each in sharpness.grain(plain if len(plain) else tiles)),  # type: ignore[arg-type]
        interpolated=_rounded(sharpness.interpolated(_middle(picture, box)), 1),
        tilt=None if found is None else _rounded(found.tilt, 2),
        box=() if found is None else tuple(_rounded(each, 4) for each in found.box),
        corners=() if found is None else tuple((_rounded(x, 4), _rounded(y, 4)) for x, y in found.corners),
        cut=() if found is None else found.cut,
        glare=_rounded(marks.glare_share(content, _paper(whole, found)), 4),
        unwritten=_rounded(marks.unwritten_rows(samples), 4),
        orange=_rounded(film.orange_mask(tones.lab(whole[::4, ::4])) if whole.ndim == 3 else 0.0),
        up=up.way,
        up_why=up.why,
        specks=tuple((round(float(x) * factor), round(float(y) * factor), round(float(z))) for x, y, z in speck),
    )


def _inside(found: Outline | None) -> tuple[float, float, float, float]:
    """The part of a picture that the tones are taken from, as shares."""
    left, top, right, lower = (0.0, 0.0, 1.0, 1.0) if found is None else found.box
    # What a tilted print leaves free in the corners of its box is bed.
    lean = abs(np.tan(np.radians(found.tilt))) if found is not None else 0.0
    across, down = (right - left) * (_INSIDE + lean), (lower - top) * (_INSIDE + lean)
    return left + across, top + down, right - across, lower - down


def _part(picture: NDArray[np.uint8], box: tuple[float, float, float, float]) -> NDArray[np.uint8]:
    rows, columns = picture.shape[:2]
    left, top, right, lower = box
    part = picture[round(top * rows) : round(lower * rows), round(left * columns) : round(right * columns)]
    return part if min(part.shape[:2]) >= 8 else picture


def _paper(picture: NDArray[np.uint8], found: Outline | None) -> float:
    """The level of the lightest paper along the sides of the print, where it usually is white; 0 without an outline."""
    if found is None:
        return 0.0
    left, top, right, lower = found.box
    lean = abs(np.tan(np.radians(found.tilt)))
    across, down = (right - left) * (0.01 + lean), (lower - top) * (0.01 + lean)
    part = _part(picture, (left + across, top + down, right - across, lower - down))
    grey = tones.lowest(part)
    edge = max(1, round(0.01 * max(grey.shape)))
    sides = (grey[:edge], grey[-edge:], grey[:, :edge], grey[:, -edge:])
    return float(np.median(np.concatenate([side.ravel() for side in sides])))


def _channels(picture: NDArray[np.uint8]) -> list[NDArray[np.uint8]]:
    return [picture] if picture.ndim == 2 else [picture[..., k] for k in range(picture.shape[2])]


def _fitted(size: tuple[int, int], edge: int) -> tuple[int, int]:
    share = min(1.0, edge / max(size))
    return max(1, round(size[0] * share)), max(1, round(size[1] * share))


def _tiles(
    picture: Image.Image, whole: NDArray[np.uint8], box: tuple[float, float, float, float]
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Tiles of the picture at full size: those with the strongest edges, and even ones of middling tones inside the
    print. They lie on the grid of 8 pixels that JPEG has."""
    across, down = picture.width // _TILE, picture.height // _TILE
    if not across or not down:
        edge = min(picture.size) // 8 * 8
        return _cut(picture, np.zeros((1, 2), dtype=np.int64), max(edge, 8)), np.zeros((0, _TILE, _TILE), np.uint8)
    grey = (whole if whole.ndim == 2 else whole.mean(axis=2)).astype(np.float32)
    steps = np.zeros_like(grey)
    steps[1:, 1:] = np.diff(grey, axis=0)[:, 1:] ** 2 + np.diff(grey, axis=1)[1:] ** 2
    covered = (0, 0, across * _TILE / picture.width * grey.shape[1], down * _TILE / picture.height * grey.shape[0])
    contrast, level = (
        np.asarray(Image.fromarray(each).resize((across, down), Image.Resampling.BOX, covered))
        for each in (steps, grey)
    )
    y, x = np.indices((down, across)) * _TILE
    inside = (x >= box[0] * picture.width) & (x + _TILE <= box[2] * picture.width)
    inside &= (y >= box[1] * picture.height) & (y + _TILE <= box[3] * picture.height) & (level > 30) & (level < 225)
    busy = np.argsort(-contrast.ravel(), kind="stable")[:_BUSY]
    even = np.argsort(np.where(inside, contrast, np.inf).ravel(), kind="stable")[: min(_PLAIN, int(inside.sum()))]
    places = np.column_stack([x.ravel(), y.ravel()])
    return _cut(picture, places[busy], _TILE), _cut(picture, places[even], _TILE)


def _cut(picture: Image.Image, places: NDArray[np.int64], edge: int) -> NDArray[np.uint8]:
    if not len(places):
        return np.zeros((0, edge, edge), np.uint8)
    boxes = [(int(x), int(y), int(x) + edge, int(y) + edge) for x, y in places]
    return np.stack([np.asarray(picture.crop(box).convert("L")) for box in boxes])


def _stacked(*tiles: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The tiles one above the other: their blocks of 8 by 8 pixels stay what they are."""
    return np.concatenate([each.reshape(-1, each.shape[-1]) for each in tiles if len(each)])


def _middle(picture: Image.Image, box: tuple[float, float, float, float]) -> NDArray[np.uint8]:
    """A square of full size from the middle of the print, on the grid of 8 pixels."""
    x, y = ((box[0] + box[2]) / 2 * picture.width, (box[1] + box[3]) / 2 * picture.height)
    width = min(_FOR_LINES, int((box[2] - box[0]) * picture.width)) // 8 * 8
    height = min(_FOR_LINES, int((box[3] - box[1]) * picture.height)) // 8 * 8
    left, top = max(0, int(x - width / 2) // 8 * 8), max(0, int(y - height / 2) // 8 * 8)
    return np.asarray(picture.crop((left, top, left + max(width, 8), top + max(height, 8))).convert("L"))


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 3)


def _rounded(value: float, digits: int = 3) -> float:
    return round(float(value), digits)

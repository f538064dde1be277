"""What is measured on one scan to judge it: one plain value, from one reading of the file.

All of it follows from the bytes of the file, so it is kept under their SHA-256 and never measured twice. Everything is
in the picture as stored, before any turning. A picture is looked at twice: as a whole in a million pixels (tones,
outline, glare; specks in a few millions where there are as many), and in some tiles at full size (sharpness, grain,
compression), which of a JPEG are taken from as few of its first rows as hold enough (`sources.py`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kinphoto.scans.captures.corners import corners_of
from kinphoto.scans.captures.straight import Corners, Straight, ratio_of_sides
from kinphoto.scans.captures.view import straightened
from kinphoto.scans.checks import compression, film, marks, repairs, sharpness, tones
from kinphoto.scans.checks.outline import PaperOutline, outline
from kinphoto.scans.checks.sources import REDUCED_EDGE, InMemory, StoredScan
from kinphoto.scans.checks.way_up import way_up
from kinphoto.scans.colour import Colours

VERSION = 6
"""Raised when something is measured differently: what was kept of an older one is measured again."""

_SAMPLED = 1000  # pixels of the longer edge from which levels are taken as they are
_COLOURS = 150  # of its longer edge that are enough for how tones and colours are spread
_FOR_SPECKS = 2000
_TILE = 192
_BUSY, _RIM, _PLAIN = 8, 3, 6
_FOR_LINES, _FEWEST = 768, 3  # rows of pixels; rows of tiles where each has to be decoded for that
_BLACK, _WHITE = 30, 225  # levels between which a tile shows something
_INSIDE = 0.04  # of the print on each side is left out of its tones
_LIKE_BED = 3.0  # levels by which rows of the bed differ from it
_AS_CLEAR = 0.5  # of the contrast that the tiles of the whole picture have is enough


@dataclass(frozen=True, slots=True)
class Measures:
    """What was measured on one scan. Shares are from 0 to 1, spreads in pixels of the file, tones in L* (0 to 100),
    NaN is None. The functions of this folder say what each is; of `specks` those with a fourth number are points on the
    hair with that number."""

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
    perforated: bool
    clear_edges: float
    up: str
    up_why: str
    specks: tuple[tuple[float, ...], ...]
    lens: float | None = None
    print_corners: tuple[tuple[float, ...], ...] = ()
    print_doubts: tuple[str, ...] = ()
    smoothed: float = 0.0


@dataclass(frozen=True, slots=True)
class Stated:
    """What a file says of itself: `camera` when one took it, `tables` of quantization for a JPEG, its ICC `profile`,
    the focal length of the `lens` as on 35 mm film."""

    ppi: float | None = None
    camera: bool = False
    bits: int | None = 8
    tables: Any = None
    profile: bytes | None = None
    lens: float | None = None


def of_picture(image: Image.Image, ppi: float | None = None) -> Measures:
    """What is measured on a picture in memory."""
    return of_source(InMemory(image), is_grey(image.mode), Stated(ppi, profile=image.info.get("icc_profile")))


def is_grey(mode: str) -> bool:
    """Whether a picture of this mode (Pillow's name) has no colours."""
    return mode in ("1", "L", "I", "F", "LA") or mode.startswith("I;16")


def of_source(source: StoredScan, grey: bool, stated: Stated) -> Measures:
    """What is measured on a scan, `grey` when it has no colours."""
    shrink = max(source.reduced.size) // REDUCED_EDGE
    smaller = source.reduced.reduce(shrink) if shrink > 1 else source.reduced
    small = Colours(stated.profile).converted(smaller)
    whole, shades = np.asarray(small), np.asarray(small.convert("L"))
    print_ = corners_of(source.reduced) if stated.camera else None
    sure = print_ if print_ is not None and print_.sure else None
    found = outline(whole) if sure is None else None
    box = _inside(found) if sure is None else _inside_corners(sure.corners)
    content = _part(whole, box) if sure is None else _straight(small, sure.corners)
    every = max(4, max(content.shape) // _COLOURS)
    colours = tones.lab(content[::every, ::every])
    sampled = _sampled(source)
    samples = whole if sampled is small else np.asarray(sampled)
    light, dark = tones.clipped_shares(_part(samples, box))
    counts = _histograms(sampled.crop(_pixels(sampled.size, box)))
    darkest, lightest = tones.tonal_range(colours[..., 0])
    cast, a, b, hues = tones.cast(colours)
    paper = found.box if found is not None else box if sure is not None else (0.0, 0.0, 1.0, 1.0)
    full, tiles, plain = _at_full_size(source, shades, box, paper, found is not None)
    edges = sharpness.edges(tiles)
    luminance = compression.luminance_table(stated.tables) if stated.tables else None
    silver = stated.ppi is not None and stated.ppi >= film.FILM_PPI and hues < tones.COLOURED
    up = way_up(_part(shades, box))
    strip = film.seen_as_film(whole, shades, found)
    medium = shades if small is source.reduced else _for_specks(source)
    spots = marks.spots(medium)
    on_glass = [*marks.specks(spots).tolist(), *marks.hairs(spots).tolist()]
    pixels = source.size[0] / medium.shape[1]
    return Measures(
        ppi=stated.ppi,
        camera=stated.camera,
        bits=stated.bits,
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
        empty_levels=_rounded(_empty_levels(source, counts, full)),
        channels_clipped=_rounded(tones.channels_clipped(counts) if len(counts) == 3 else 0.0, 4),
        edges=edges.points,
        spread=_or_none(edges.spread),
        spread_by_direction=tuple(map(_or_none, edges.by_direction)),
        overshoot=_rounded(edges.overshoot),
        grain=tuple(_rounded(each, 2) for each in sharpness.grain(plain if len(plain) else tiles)),  # type: ignore[arg-type]
        interpolated=_rounded(sharpness.interpolated(_middle(full, box, paper, source.size)), 1),
        tilt=None if found is None else _rounded(found.tilt, 2),
        box=() if found is None else tuple(_rounded(each, 4) for each in found.box),
        corners=() if found is None else tuple((_rounded(x, 4), _rounded(y, 4)) for x, y in found.corners),
        cut=() if found is None else found.cut,
        glare=_rounded(marks.glare_share(content, _paper(whole, found)), 4),
        unwritten=_rounded(_unwritten(samples, found, stated), 4),
        orange=_rounded(strip.orange),
        perforated=strip.perforated,
        clear_edges=_rounded(strip.clear),
        up=up.way,
        up_why=up.why,
        lens=stated.lens,
        print_corners=() if print_ is None else tuple((_rounded(x, 5), _rounded(y, 5)) for x, y in print_.corners),
        print_doubts=() if print_ is None else print_.doubts,
        smoothed=_rounded(_smoothed(source, full, box), 4) if silver else 0.0,
        specks=tuple((round(x * pixels), round(y * pixels), *map(round, rest)) for x, y, *rest in on_glass),
    )


def _inside(found: PaperOutline | None) -> tuple[float, float, float, float]:
    """The part of a picture that the tones are taken from, as shares."""
    left, top, right, lower = (0.0, 0.0, 1.0, 1.0) if found is None else found.box
    # What a tilted print leaves free in the corners of its box is bed.
    lean = abs(np.tan(np.radians(found.tilt))) if found is not None else 0.0
    across, down = (right - left) * (_INSIDE + lean), (lower - top) * (_INSIDE + lean)
    return left + across, top + down, right - across, lower - down


def _inside_corners(corners: Corners) -> tuple[float, float, float, float]:
    """The largest upright box that is surely inside a print which was photographed at an angle."""
    x, y = sorted(corner[0] for corner in corners), sorted(corner[1] for corner in corners)
    left, top, right, lower = x[1], y[1], x[2], y[2]
    across, down = (right - left) * _INSIDE, (lower - top) * _INSIDE
    return left + across, top + down, right - across, lower - down


def _straight(picture: Image.Image, corners: Corners) -> NDArray[np.uint8]:
    """The print alone, straight, without its edges: what is around it on the table is no part of it."""
    straight = Straight(corners, ratio_of_sides(corners, picture.size))
    return _part(np.asarray(straightened(picture, 1, straight)), (_INSIDE, _INSIDE, 1 - _INSIDE, 1 - _INSIDE))


def _part(picture: NDArray[np.uint8], box: tuple[float, float, float, float]) -> NDArray[np.uint8]:
    left, top, right, lower = _pixels((picture.shape[1], picture.shape[0]), box)
    return picture[top:lower, left:right]


def _pixels(size: tuple[int, int], box: tuple[float, float, float, float]) -> tuple[int, int, int, int]:
    """Left, top, right and lower edge in pixels; of the whole picture where hardly anything is left inside."""
    width, height = size
    left, top, right, lower = (round(share * side) for share, side in zip(box, (width, height) * 2, strict=True))
    return (left, top, right, lower) if min(right - left, lower - top) >= 8 else (0, 0, width, height)


def _unwritten(samples: NDArray[np.uint8], found: PaperOutline | None, stated: Stated) -> float:
    """The rows that were never written; in a JPEG an even bed below the print may have lost all its noise."""
    if stated.tables and found is not None and abs(float(samples[-1].mean()) - found.bed) <= _LIKE_BED:
        return 0.0
    return marks.unwritten_rows(samples)


def _paper(picture: NDArray[np.uint8], found: PaperOutline | None) -> float:
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


def _histograms(picture: Image.Image) -> NDArray[np.int64]:
    """How often each of the 256 levels comes up, a row for each channel."""
    return np.array(picture.histogram(), dtype=np.int64).reshape(-1, 256)


def _for_specks(source: StoredScan) -> NDArray[np.uint8]:
    """The picture in grey, small enough to look for specks and hairs."""
    grey = source.reduced.convert("L")
    return np.asarray(grey.reduce(max(1, round(max(grey.size) / _FOR_SPECKS))))


def _sampled(source: StoredScan) -> Image.Image:
    """The picture in fewer pixels, each with the levels of one of its own as far as there are any."""
    picture = source.reduced
    share = _SAMPLED / max(picture.size)
    if source.averaged or share >= 1:
        return picture
    size = max(1, round(picture.width * share)), max(1, round(picture.height * share))
    return picture.resize(size, Image.Resampling.NEAREST)


def _at_full_size(
    source: StoredScan,
    shades: NDArray[np.uint8],
    box: tuple[float, float, float, float],
    paper: tuple[float, float, float, float],
    sides: bool,
) -> tuple[Image.Image, NDArray[np.uint8], NDArray[np.uint8]]:
    """As many of the first rows, in grey at full size, as hold enough to measure; of them the tiles with the strongest
    edges, up to three of them on the sides of the `paper` where these are seen, and even ones of middling tones inside
    it. They lie on the grid of 8 pixels that JPEG has. The edge of paper is as sharp as the scanner shows it, however
    soft the picture is.

    Enough is when half of the tiles with edges are nearly as clear as those of the whole picture are, there are as many
    even ones as wanted, and `_FOR_LINES` rows of the inner print. Where each has to be decoded for that, `_FEWEST` rows
    of tiles do, which may lie nearer to the edge of the paper where they mostly show something, be it its grain.
    """
    width, height = source.size
    across, down = width // _TILE, height // _TILE
    if not across or not down:
        full = source.first_rows(height)
        edge = max(min(width, height) // 8 * 8, 8)
        return full, _cut(full, np.zeros((1, 2), dtype=np.int64), edge), np.zeros((0, _TILE, _TILE), np.uint8)
    contrast, level = _by_tile(shades, (across, down), (across * _TILE / width, down * _TILE / height))
    y, x = np.indices((down, across)) * _TILE
    inside = (x >= box[0] * width) & (x + _TILE <= box[2] * width)
    shows = (level > _BLACK) & (level < _WHITE)
    inside &= (y >= box[1] * height) & (y + _TILE <= box[3] * height) & shows
    lines = _FEWEST * _TILE if source.averaged else _FOR_LINES
    least = min(down, -(-(round(box[1] * height) + lines) // _TILE))
    on_paper = (y[:, 0] >= paper[1] * height) & (2 * shows.sum(axis=1) >= across * (paper[2] - paper[0]))
    if source.averaged and on_paper.sum() >= _FEWEST:
        least = min(least, int(np.flatnonzero(on_paper)[_FEWEST - 1]) + 1)
    rows = _enough(contrast, inside, least)
    rim = _on_sides(contrast[:rows], (x[:rows], y[:rows]), paper, (width, height)) if sides else []
    busy = np.argsort(-contrast[:rows].ravel(), kind="stable")
    busy = np.concatenate([rim, busy[~np.isin(busy, rim)]]).astype(np.int64)[:_BUSY]
    even = np.argsort(np.where(inside, contrast, np.inf)[:rows].ravel(), kind="stable")
    even = even[: min(_PLAIN, int(inside[:rows].sum()))]
    places = np.column_stack([x.ravel(), y.ravel()])
    full = source.first_rows(height if rows == down else rows * _TILE)
    return full, _cut(full, places[busy], _TILE), _cut(full, places[even], _TILE)


def _by_tile(
    shades: NDArray[np.uint8], tiles: tuple[int, int], covered: tuple[float, float]
) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
    """The mean squared step from pixel to pixel, of every second row, and the mean level, of `tiles` (across, down),
    which cover these shares of the width and the height."""
    wide = shades[: len(shades) // 2 * 2].astype(np.int16)
    steps = [wide[1::2, 1:] - beside for beside in (wide[1::2, :-1], wide[::2, 1:])]
    across, down = (np.multiply(each, each, out=each).view(np.uint16) for each in steps)
    squared = np.add(across, down, dtype=np.float32)
    contrast, level = (
        np.asarray(
            Image.fromarray(each).resize(
                tiles, Image.Resampling.BOX, (0, 0, covered[0] * each.shape[1], covered[1] * each.shape[0])
            )
        )
        for each in (squared, shades)
    )
    return contrast, level


def _on_sides(
    contrast: NDArray[np.float32],
    places: tuple[NDArray[np.int64], NDArray[np.int64]],
    box: tuple[float, float, float, float],
    size: tuple[int, int],
) -> list[int]:
    """Up to three of the tiles at these places: of each side of the print the one with the strongest edges."""
    x, y = places
    reach = _TILE // 4  # as far as a side leads away from the box when the print is not straight
    found: set[int] = set()
    for at, edge, inwards in (
        (x, box[0] * size[0], 1), (y, box[1] * size[1], 1), (x, box[2] * size[0], -1), (y, box[3] * size[1], -1),
    ):  # fmt: skip
        first, last = sorted((edge, edge + inwards * reach))
        there = (at <= last) & (at + _TILE >= first)
        if there.any():
            found.add(int(np.where(there, contrast, -1).argmax()))
    return sorted(found, key=lambda tile: -float(contrast.flat[tile]))[:_RIM]


def _enough(contrast: NDArray[np.float32], inside: NDArray[np.bool_], least: int) -> int:
    """How many rows of tiles are enough, at least `least`."""
    half = _BUSY // 2
    clear = np.sort(contrast, axis=None)[-half:][0] * _AS_CLEAR
    edges = np.cumsum((contrast >= clear).sum(axis=1)) >= min(half, contrast.size)
    even = np.cumsum(inside.sum(axis=1)) >= min(_PLAIN, int(inside.sum()))
    return max(least, int((edges & even).argmax()) + 1)


def _cut(full: Image.Image, places: NDArray[np.int64], edge: int) -> NDArray[np.uint8]:
    if not len(places):
        return np.zeros((0, edge, edge), np.uint8)
    return np.stack([np.asarray(full.crop((x, y, x + edge, y + edge))) for x, y in places.tolist()])


def _empty_levels(source: StoredScan, counts: NDArray[np.int64], full: Image.Image) -> float:
    """For a picture whose levels were averaged, every eighth row of the grey at full size counts."""
    if source.averaged:
        counts = _histograms(full.resize((full.width, -(-full.height // 8)), Image.Resampling.NEAREST))
    return max(tones.empty_levels(each) for each in counts)


def _stacked(*tiles: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The tiles one above the other: their blocks of 8 by 8 pixels stay what they are."""
    return np.concatenate([each.reshape(-1, each.shape[-1]) for each in tiles if len(each)])


def _middle(
    full: Image.Image,
    box: tuple[float, float, float, float],
    paper: tuple[float, float, float, float],
    size: tuple[int, int],
) -> NDArray[np.uint8]:
    """As many pixels of full size as a square of `_FOR_LINES` has, from the middle of the print, as far as these rows
    go, on the grid of 8 pixels: where there are fewer rows they are longer, and begin further up on the paper. A line
    of a spectrum stands out of its noise by the root of how many pixels there are, whether along it or across."""
    lower = min(round(box[3] * size[1]), full.height)
    top = max(round(paper[1] * size[1]), min(round(box[1] * size[1]), lower - _FEWEST * _TILE))
    x, y = (box[0] + box[2]) / 2 * size[0], (top + lower) / 2
    height = max(min(_FOR_LINES, lower - top) // 8 * 8, 8)
    longest = _FOR_LINES**2 // min(max(height, _FEWEST * _TILE), _FOR_LINES)
    width = max(min(longest, int((box[2] - box[0]) * size[0])) // 8 * 8, 8)
    left, first = max(0, int(x - width / 2) // 8 * 8), max(0, int(y - height / 2) // 8 * 8)
    return np.asarray(full.crop((left, first, min(left + width, full.width), min(first + height, full.height))))


def _smoothed(source: StoredScan, full: Image.Image, box: tuple[float, float, float, float]) -> float:
    """The share of patches without grain inside the picture: of a JPEG as far as these rows go."""
    width, height = source.size
    rows = full if source.averaged else source.first_rows(height)
    left, top, right, lower = (round(share * side) for share, side in zip(box, (width, height) * 2, strict=True))
    return repairs.smoothed_patches(np.asarray(rows.crop((left, top, right, min(lower, rows.height)))))


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 3)


def _rounded(value: float, digits: int = 3) -> float:
    return round(float(value), digits)

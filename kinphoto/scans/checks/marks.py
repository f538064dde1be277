"""Marks that are not of the picture: glare, specks of dust, hairs, and rows that were never written."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from scipy import ndimage

from kinphoto.scans.checks.masks import opened
from kinphoto.scans.checks.tones import highest, lowest

_BLOWN = 250  # level in all channels of the middle of glare
_AROUND = 205  # level of its fading edge
_SOFT = 0.006  # of the longer edge: how wide the fading edge of glare is at least
_LEAST = 0.001  # of the picture: less is not looked at
_PLACES, _MOSTLY = 2, 0.75  # places at most, and the share of all that is blown out which is there
_ABOVE_PAPER = 5.0  # levels by which glare is lighter than the lightest paper beside it
_MOST_SPECKS = 200
_RING = 5  # pixels around a speck
_IN_RING = np.maximum(*np.abs(np.indices((2 * _RING + 1,) * 2) - _RING)) >= 3
_SPECK_STEP = 22.0  # grey levels by which a speck differs from what is around it
_LARGEST_SPECK, _LARGEST_HAIR = 12, 3000  # pixels of their area
_MOST_HAIRS = 20
_EVEN, _EDGE = 2.5, 0.65  # times as much as its sides vary; the share of it by which the other side of an edge differs
_LONG, _THICK = 24, 5  # pixels
_LONGEST = 0.4  # of the longer edge
_BENT = 0.06  # of its length: how far a hair leads away from a straight line
_STEP = 4  # pixels between the points that are taken along a hair


def glare_share(picture: NDArray[np.uint8], paper: float = 0.0) -> float:
    """The share (0 to 1) of the picture that glare from glass, gloss or flash covers.

    Glare is blown out in the middle (250 and more in all channels) and fades slowly: between the contours of 250 and
    of 205 lie on average more than 0.6 % of the longer edge, while white things and white borders end within a pixel
    or two. It is in one place or two, though dark parts of the print may show through: where a quarter of what is blown
    out lies elsewhere, the exposure was too long. Light adds to what the paper reflects, so glare is lighter than
    the lightest paper outside it, by 5 levels or more; `paper` is its level where a white border shows it. Ink only
    takes light away, in every channel: where any of them is as light as glare in more than 2 % of what lies outside,
    the paper is too, and it was the exposure that was too long.
    """
    low = lowest(picture)
    blown = low >= _BLOWN
    if blown.sum() < _LEAST * low.size:
        return 0.0
    blown = opened(blown, 3)
    near = max(3, round(_SOFT * max(low.shape)))
    outside = highest(picture)[~ndimage.binary_dilation(blown, iterations=3 * near)]
    paper = max(paper, float(np.percentile(outside, 98)) if outside.size else 255.0)
    if paper > 255 - _ABOVE_PAPER:
        return 0.0
    places, _ = ndimage.label(ndimage.binary_dilation(blown, iterations=2 * near))
    whole = blown | ndimage.binary_closing(blown, iterations=near)
    areas = np.bincount(places[blown])
    halos, _ = ndimage.label(low >= _AROUND)
    found = 0
    for number in np.argsort(-areas)[:_PLACES]:
        part, area = blown & (places == number), int(areas[number])
        if area < _LEAST * low.size:
            continue
        halo = np.isin(halos, np.unique(halos[part]))
        solid = whole & (places == number)
        rim = int((solid & ~ndimage.binary_erosion(solid)).sum())
        inside = int((blown & halo).sum())
        width = (int(halo.sum()) - inside) / max(rim * inside / area, 1)
        found += area if width >= _SOFT * max(low.shape) else 0
    return found / low.size if found >= _MOSTLY * blown.sum() else 0.0


@dataclass(frozen=True, slots=True)
class Spots:
    """What stands out of its surroundings in a grey picture (`level`): by how many levels each pixel is `apart` from
    the mean of what lies up to 5 pixels away, the `rows` and `columns` of those that are far from it, spot by spot,
    dark ones and light ones apart, and the `sizes` of the spots in pixels."""

    level: NDArray[np.uint8]
    apart: NDArray[np.int16]
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    sizes: NDArray[np.int64]

    @property
    def first(self) -> NDArray[np.int64]:
        """Where each spot starts in `rows` and `columns`."""
        return np.asarray(np.cumsum(self.sizes) - self.sizes)


def spots(level: NDArray[np.uint8]) -> Spots:
    """The spots of a grey picture, which specks and hairs are among."""
    apart = level.astype(np.int16) - np.asarray(Image.fromarray(level).filter(ImageFilter.BoxBlur(_RING)))
    least = math.ceil(_SPECK_STEP * 0.8)
    places, sizes = [], []
    for far in (apart <= -least, apart >= least):
        parts, _ = ndimage.label(far, np.ones((3, 3)))
        at = np.flatnonzero(far)
        label = parts.ravel()[at]
        places.append(at[np.argsort(label, kind="stable")])
        sizes.append(np.bincount(label)[1:])
    rows, columns = np.divmod(np.concatenate(places), level.shape[1])
    return Spots(level, apart, rows, columns, np.concatenate(sizes))


def specks(found: Spots) -> NDArray[np.float32]:
    """The specks among these: n rows of x and y (pixels) and contrast (grey levels, negative for dark ones), the
    clearest 200.

    A speck is a spot of at most a dozen pixels that differs by 22 levels or more from its surroundings (the mean of
    what lies 3 to 5 pixels away), where these are even: their standard deviation is under a quarter of that.
    """
    level, sizes = found.level, found.sizes
    if not len(sizes):
        return np.zeros((0, 3), dtype=np.float32)
    depths = found.apart[found.rows, found.columns]
    x, y, depth = (np.add.reduceat(each, found.first) / sizes for each in (found.columns, found.rows, depths))
    inside = (x >= _RING) & (x < level.shape[1] - _RING - 1) & (y >= _RING) & (y < level.shape[0] - _RING - 1)
    small = np.flatnonzero((sizes <= _LARGEST_SPECK) & inside)
    small = small[np.argsort(-np.abs(depth[small]))][: 20 * _MOST_SPECKS]
    patches = _around(level, x[small], y[small])
    ring = patches[:, _IN_RING]
    contrast = np.where(depth[small] > 0, patches.max(axis=(1, 2)), patches.min(axis=(1, 2))) - ring.mean(axis=1)
    clear = (np.abs(contrast) >= _SPECK_STEP) & (4 * ring.std(axis=1) <= np.abs(contrast))
    chosen = np.column_stack([x[small], y[small], contrast])[clear]
    clearest: NDArray[np.float32] = chosen[np.argsort(-np.abs(chosen[:, 2]))][:_MOST_SPECKS].astype(np.float32)
    return clearest


def hairs(found: Spots) -> NDArray[np.float32]:
    """The hairs among these, the longest 20: n rows of x and y (pixels) of points along them, contrast (grey levels,
    negative for dark ones) and the number of the hair.

    A hair is a spot that is long (24 pixels or more from side to side) and nowhere thicker than 5 pixels, bent (what is
    straight is a line of the print, its edge or a ruled frame), and differs from what lies on both of its sides by 2.5
    times as much as that varies: so it is no edge of what the picture shows.
    """
    if not len(found.sizes):
        return np.zeros((0, 4), dtype=np.float32)
    least, most = (
        np.stack([edge.reduceat(axis, found.first) for axis in (found.rows, found.columns)])
        for edge in (np.minimum, np.maximum)
    )
    extent = most - least + 1
    longer = extent.max(axis=0)
    thin = (longer >= _LONG) & (longer <= _LONGEST * max(found.level.shape))
    thin &= found.sizes <= np.minimum(_THICK * extent.sum(axis=0), _LARGEST_HAIR)
    chosen = [_along_hair(found, *found_at) for found_at in zip(found.first[thin], found.sizes[thin], strict=True)]
    longest = sorted(chosen, key=len, reverse=True)[:_MOST_HAIRS]
    numbered = [np.column_stack([points, np.full(len(points), k)]) for k, points in enumerate(longest)]
    return np.concatenate([np.zeros((0, 4)), *numbered]).astype(np.float32)


def _along_hair(found: Spots, first: int, size: int) -> NDArray[np.float64]:
    """Points (x, y, contrast) along the spot that starts there; none where it is no hair."""
    none = np.zeros((0, 3))
    rows, columns = found.rows[first : first + size], found.columns[first : first + size]
    axes = np.linalg.eigh(np.cov(np.stack([columns, rows])))[1].T
    bent, length = (float(np.ptp(columns * axis[0] + rows * axis[1])) for axis in axes)
    if bent < max(_BENT * length, _THICK + 1):
        return none
    top, left = max(0, int(rows.min()) - _RING), max(0, int(columns.min()) - _RING)
    part = found.apart[top : int(rows.max()) + _RING + 1, left : int(columns.max()) + _RING + 1]
    spot = np.zeros(part.shape, dtype=bool)
    spot[rows - top, columns - left] = True
    if ndimage.binary_erosion(spot, np.ones((_THICK, _THICK))).any():
        return none
    contrast = found.apart[rows, columns].astype(float)
    depth = float(np.median(contrast))
    beside = part[ndimage.binary_dilation(spot, iterations=_RING - 1) & ~ndimage.binary_dilation(spot, iterations=2)]
    if not beside.size or _EVEN * float(beside.std()) > abs(depth):
        return none
    if np.percentile(beside * -np.sign(depth), 90) > _EDGE * abs(depth):
        return none
    cells = np.unique(rows // _STEP * found.level.shape[1] + columns // _STEP, return_inverse=True)[1]
    count = np.bincount(cells)
    return np.column_stack([np.bincount(cells, each) / count for each in (columns, rows, contrast)])


def _around(level: NDArray[np.uint8], x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float32]:
    """The 11 by 11 pixels around each of these places."""
    reach = np.arange(-_RING, _RING + 1)
    rows = np.rint(y).astype(int)[:, None, None] + reach[:, None]
    columns = np.rint(x).astype(int)[:, None, None] + reach
    return level[rows, columns].astype(np.float32)


def unwritten_rows(picture: NDArray[np.uint8]) -> float:
    """The share (0 to 1) of the rows at the foot of the picture that are all of one and the same level.

    So a program that mends a file that was cut off fills what is missing; no scanner sees a whole row without any noise
    for long, unless it is at an end of the scale (a white lid, black film holders).
    """
    if picture[-1].max() >= 250 or picture[-1].max() <= 4:
        return 0.0
    last = picture[-1, 0]
    rows = 0
    while rows < len(picture) and (picture[-1 - rows] == last).all():
        rows += 1
    return rows / len(picture)

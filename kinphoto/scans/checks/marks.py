"""Marks that are not of the picture: glare, specks of dust, hairs, and rows that were never written."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
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
_WINDOW = (2 * _RING + 1) ** 2
_ROWS = 64  # that are worked out together
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
    """What stands out of its surroundings in a grey picture (`level`): by how much each pixel is `apart` from the mean
    of the 121 that lie up to 5 pixels away, in 121sts of a level. A spot is dark or light, and made of runs of pixels
    side by side, which follow each other here spot by spot: `row`, and the columns from `first` to before `stop`.
    `begins` has where each spot begins among the runs, and `sizes` how many pixels it has."""

    level: NDArray[np.uint8]
    apart: NDArray[np.int16]
    row: NDArray[np.int64]
    first: NDArray[np.int64]
    stop: NDArray[np.int64]
    begins: NDArray[np.int64]
    sizes: NDArray[np.int64]

    def pixels(self, chosen: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The rows and columns of the pixels of these spots, spot by spot."""
        ends = np.append(self.begins, len(self.row))
        runs = _counted(ends[chosen], ends[chosen + 1])
        return np.repeat(self.row[runs], (self.stop - self.first)[runs]), _counted(self.first[runs], self.stop[runs])


def spots(level: NDArray[np.uint8]) -> Spots:
    """The spots of a grey picture, which specks and hairs are among.

    Pixels side by side that are far from their surroundings in the same direction are one run, and runs that touch,
    also by a corner, are of one spot: there are far fewer runs than pixels to be labelled.
    """
    apart = _apart(level)
    least = math.ceil(_SPECK_STEP * 0.8 * _WINDOW)
    width = level.shape[1] + 1  # with a pixel beside each row, where every run ends
    flat = np.zeros(level.shape[0] * width + 1, dtype=np.int8)
    side = flat[:-1].reshape(-1, width)[:, 1:]
    np.subtract(apart >= least, apart <= -least, out=side, dtype=np.int8)
    changes = np.flatnonzero(flat[1:] != flat[:-1]) + 1
    runs = np.flatnonzero(flat[changes])
    start, stop, lighter = changes[runs], changes[1:][runs], flat[changes[runs]]
    touching = np.searchsorted(stop, start + width), np.searchsorted(start, stop + width, "right")
    upper = np.repeat(np.arange(len(start)), np.maximum(touching[1] - touching[0], 0))
    lower = _counted(*touching)
    alike = lighter[upper] == lighter[lower]
    spot = _joined(len(start), upper[alike], lower[alike])
    order = np.argsort(spot, kind="stable")
    begins = np.flatnonzero(np.diff(spot[order], prepend=-1))
    row, first = np.divmod(start[order], width)
    length = (stop - start)[order]
    sizes = np.add.reduceat(length, begins) if len(begins) else length
    return Spots(level, apart, row, first - 1, first - 1 + length, begins, sizes)


def _apart(level: NDArray[np.uint8]) -> NDArray[np.int16]:
    """For each pixel the sum of its differences from those up to 5 pixels away; beyond the sides the outermost pixels
    count again. Some rows at a time stay in the nearest memory."""
    wide = np.pad(level, _RING, "edge")
    apart = np.empty(level.shape, dtype=np.int16)
    for top in range(0, len(level), _ROWS):
        rows = slice(top, top + _ROWS)
        across = _summed(wide[top : top + _ROWS + 2 * _RING].T)
        np.multiply(level[rows], _WINDOW, out=apart[rows], dtype=np.int16)
        apart[rows] -= _summed(across.T).view(np.int16)
    return apart


def _summed(level: NDArray[np.uint8] | NDArray[np.uint16]) -> NDArray[np.uint16]:
    """The sums of eleven rows each."""
    two = np.add(level[:-1], level[1:], dtype=np.uint16)
    four = two[:-2] + two[2:]
    eleven: NDArray[np.uint16] = four[:-7] + four[4:-3]
    eleven += two[8:-1]
    eleven += level[2 * _RING :]
    return eleven


def _counted(first: NDArray[np.int64], stop: NDArray[np.int64]) -> NDArray[np.int64]:
    """The numbers from each first to before its stop, one after the other."""
    counts = np.maximum(stop - first, 0)
    return np.asarray(np.arange(counts.sum()) + np.repeat(first - np.cumsum(counts) + counts, counts))


def _joined(count: int, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """For each of `count` things the lowest number of those that it is connected with by these pairs."""
    group = np.arange(count)
    while len(one):
        low, high = np.minimum(group[one], group[other]), np.maximum(group[one], group[other])
        np.minimum.at(group, high, low)
        while ((next_ := group[group]) != group).any():
            group = next_
        apart = group[one] != group[other]
        one, other = one[apart], other[apart]
    return group


def specks(found: Spots) -> NDArray[np.float32]:
    """The specks among these: n rows of x and y (pixels) and contrast (grey levels, negative for dark ones), the
    clearest 200.

    A speck is a spot of at most a dozen pixels that differs by 22 levels or more from its surroundings (the mean of
    what lies 3 to 5 pixels away), where these are even: their standard deviation is under a quarter of that.
    """
    level, sizes = found.level, found.sizes
    small = np.flatnonzero(sizes <= _LARGEST_SPECK)
    if not len(small):
        return np.zeros((0, 3), dtype=np.float32)
    rows, columns = found.pixels(small)
    sizes = sizes[small]
    begins = np.cumsum(sizes) - sizes
    depths = found.apart[rows, columns]
    x, y, depth = (np.add.reduceat(each, begins, dtype=np.float64) / sizes for each in (columns, rows, depths))
    inside = (x >= _RING) & (x < level.shape[1] - _RING - 1) & (y >= _RING) & (y < level.shape[0] - _RING - 1)
    clearest = np.flatnonzero(inside)
    clearest = clearest[np.argsort(-np.abs(depth[clearest]))][: 20 * _MOST_SPECKS]
    x, y, depth = x[clearest], y[clearest], depth[clearest]
    patches = _around(level, x, y)
    ring = patches[:, _IN_RING]
    contrast = np.where(depth > 0, patches.max(axis=(1, 2)), patches.min(axis=(1, 2))) - ring.mean(axis=1)
    clear = (np.abs(contrast) >= _SPECK_STEP) & (4 * ring.std(axis=1) <= np.abs(contrast))
    chosen: NDArray[np.float32] = np.column_stack([x, y, contrast])[clear].astype(np.float32)
    return chosen[np.argsort(-np.abs(chosen[:, 2]))][:_MOST_SPECKS]


def hairs(found: Spots) -> NDArray[np.float32]:
    """The hairs among these, the longest 20: n rows of x and y (pixels) of points along them, contrast (grey levels,
    negative for dark ones) and the number of the hair.

    A hair is a spot that is long (24 pixels or more from side to side) and nowhere thicker than 5 pixels, bent (what is
    straight is a line of the print, its edge or a ruled frame), and differs from what lies on both of its sides by 2.5
    times as much as that varies: so it is not an edge of what the picture shows.
    """
    if not len(found.sizes):
        return np.zeros((0, 4), dtype=np.float32)
    ends = np.append(found.begins[1:], len(found.row)) - 1
    first, stop = np.minimum.reduceat(found.first, found.begins), np.maximum.reduceat(found.stop, found.begins)
    extent = np.stack([found.row[ends] - found.row[found.begins] + 1, stop - first])
    longer = extent.max(axis=0)
    thin = (longer >= _LONG) & (longer <= _LONGEST * max(found.level.shape))
    thin &= found.sizes <= np.minimum(_THICK * extent.sum(axis=0), _LARGEST_HAIR)
    chosen = [_along_hair(found, *found.pixels(spot)) for spot in np.flatnonzero(thin)[:, None]]
    longest = sorted(chosen, key=len, reverse=True)[:_MOST_HAIRS]
    numbered = [np.column_stack([points, np.full(len(points), k)]) for k, points in enumerate(longest)]
    return np.concatenate([np.zeros((0, 4)), *numbered]).astype(np.float32)


def _along_hair(found: Spots, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.float64]:
    """Points (x, y, contrast) along the spot of these pixels; none where it is not a hair."""
    none = np.zeros((0, 3))
    axes = np.linalg.eigh(np.cov(np.stack([columns, rows])))[1].T
    bent, length = (float(np.ptp(columns * axis[0] + rows * axis[1])) for axis in axes)
    if bent < max(_BENT * length, _THICK + 1):
        return none
    top, left = max(0, int(rows.min()) - _RING), max(0, int(columns.min()) - _RING)
    part = found.apart[top : int(rows.max()) + _RING + 1, left : int(columns.max()) + _RING + 1] / _WINDOW
    spot = np.zeros(part.shape, dtype=bool)
    spot[rows - top, columns - left] = True
    if ndimage.binary_erosion(spot, np.ones((_THICK, _THICK))).any():
        return none
    contrast = found.apart[rows, columns] / _WINDOW
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
    """The share (0 to 1) of the rows at the foot of the picture that all have the same level.

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

"""Marks that are not of the picture: glare, specks of dust, and rows that were never written."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from scipy import ndimage

from kinphoto.scans.checks.tones import lowest

_BLOWN = 250  # level in all channels of the middle of glare
_AROUND = 205  # level of its fading edge
_SOFT = 0.006  # of the longer edge: how wide the fading edge of glare is at least
_LEAST = 0.001  # of the picture: less is not looked at
_MOSTLY = 0.6  # of all that is blown out belongs to the glare
_ABOVE_PAPER = 5.0  # levels by which glare is lighter than the lightest paper beside it
_MOST_SPECKS = 200
_RING = 5  # pixels around a speck
_IN_RING = np.maximum(*np.abs(np.indices((2 * _RING + 1,) * 2) - _RING)) >= 3
_SPECK_STEP = 22.0  # grey levels by which a speck differs from what is around it


def glare_share(picture: NDArray[np.uint8], paper: float = 0.0) -> float:
    """The share (0 to 1) of the picture that glare from glass, gloss or flash covers.

    Glare is blown out in the middle (250 and more in all channels) and fades slowly: between the contours of 250 and
    of 205 lie on average more than 0.6 % of the longer edge, while white things and white borders end within a pixel
    or two. It is one place or a few: where most of what is blown out is elsewhere, the exposure was too long. Light
    adds to what the paper reflects, so glare is lighter than the lightest paper outside it, by 5 levels or more;
    `paper` is its level where a white border shows it.
    """
    low = lowest(picture)
    blown = low >= _BLOWN
    if blown.sum() < _LEAST * low.size:
        return 0.0
    blown = ndimage.binary_opening(blown, np.ones((3, 3)))
    around = low >= _AROUND
    parts, count = ndimage.label(blown)
    halos, _ = ndimage.label(around)
    found = 0
    outside = low[~ndimage.binary_dilation(blown, iterations=max(3, round(_SOFT * 3 * max(low.shape))))]
    paper = max(paper, float(np.percentile(outside, 98)) if outside.size else 255.0)
    for number in range(1, count + 1):
        part = parts == number
        area = int(part.sum())
        if area < _LEAST * low.size or paper > 255 - _ABOVE_PAPER:
            continue
        halo = halos == halos[part][0]
        rim = int((part & ~ndimage.binary_erosion(part)).sum())
        inside = int((blown & halo).sum())
        width = (int(halo.sum()) - inside) / max(rim * inside / max(area, 1), 1)
        found += area if width >= _SOFT * max(low.shape) else 0
    return found / low.size if found >= _MOSTLY * blown.sum() else 0.0


def specks(level: NDArray[np.uint8]) -> NDArray[np.float32]:
    """The specks of a grey picture: n rows of x and y (pixels) and contrast (grey levels, negative for dark ones), the
    clearest 200.

    A speck is a spot of at most a dozen pixels that differs by 22 levels or more from its surroundings (the mean of
    what lies 3 to 5 pixels away), where these are even: their standard deviation is under a quarter of that.
    """
    apart = level.astype(np.int16) - np.asarray(Image.fromarray(level).filter(ImageFilter.BoxBlur(_RING)))
    far = np.abs(apart) >= _SPECK_STEP * 0.8
    rows, columns = np.nonzero(far)
    parts, count = ndimage.label(far, np.ones((3, 3)))
    if not count:
        return np.zeros((0, 3), dtype=np.float32)
    label = parts[rows, columns] - 1
    sizes = np.bincount(label)
    x, y = (np.bincount(label, axis) / sizes for axis in (columns, rows))
    depth = np.bincount(label, apart[rows, columns]) / sizes
    inside = (x >= _RING) & (x < level.shape[1] - _RING - 1) & (y >= _RING) & (y < level.shape[0] - _RING - 1)
    small = np.flatnonzero((sizes <= 12) & inside)
    small = small[np.argsort(-np.abs(depth[small]))][: 20 * _MOST_SPECKS]
    patches = _around(level, x[small], y[small])
    ring = patches[:, _IN_RING]
    contrast = np.where(depth[small] > 0, patches.max(axis=(1, 2)), patches.min(axis=(1, 2))) - ring.mean(axis=1)
    clear = (np.abs(contrast) >= _SPECK_STEP) & (4 * ring.std(axis=1) <= np.abs(contrast))
    found = np.column_stack([x[small], y[small], contrast])[clear]
    clearest: NDArray[np.float32] = found[np.argsort(-np.abs(found[:, 2]))][:_MOST_SPECKS].astype(np.float32)
    return clearest


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

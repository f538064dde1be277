"""Traces of infrared dust removal on silver film: patches without grain in a picture that has it everywhere else.

A scanner that removes dust by infrared light fills what stops that light from its surroundings. Dyes let infrared
light through and dust does not; silver stops it as dust does, so on black-and-white film parts of the picture itself
are filled. The infrared channel is not in the file any more, but what was filled has neither the grain of the film nor
the noise of the scanner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

_CELL = 4  # pixels; roughness is looked at in squares of two by two cells
_DARKEST, _CLEAR = 40.0, 24.0  # level, and levels below the lightest: denser and clearer film shows hardly any grain
_BAND = 16  # levels within which the grain is alike
_FEWEST = 400  # squares in a band
_WITHOUT = 0.45  # of the usual roughness at that level: less is without grain
_NO_NOISE = 0.4  # levels of roughness: nor is there the noise of a scanner
_LEAST_GRAIN = 0.8  # levels of the usual roughness: with less there is none to miss
_LEAST_PATCH = 6  # squares
_LARGEST_PATCH = 0.01  # of the picture: larger ones are something else
_FEWEST_PATCHES = 5


def smoothed_patches(grey: NDArray[np.uint8]) -> float:
    """The share (0 to 1) of a grey picture at full size that is in patches without grain.

    Roughness is the mean absolute second difference (5-point Laplacian, scaled so that white noise of one level has
    0.8) of a square of 8 by 8 pixels, every 4 pixels; the usual one is its median among squares of about the same
    level, since grain depends on density; where film is clear, as in the shadows of a negative, it has hardly any, and
    that is left out. Where roughness is under 45 % of that and under 0.4 levels, in 6 neighbouring squares or more,
    there is no grain: neither chance takes it from one place of film nor a picture that is out of focus, a sky or JPEG
    at quality 90. Patches are small and many: one larger than 1 % of the picture is none, and fewer than five say
    nothing.
    """
    if min(grey.shape) < 8 * _CELL:
        return 0.0
    wide = grey.astype(np.int16)
    around = wide[:-2, 1:-1] + wide[2:, 1:-1] + wide[1:-1, :-2] + wide[1:-1, 2:]
    rough = _squares(np.abs(4 * wide[1:-1, 1:-1] - around)) / np.float32(np.sqrt(20))
    level = _squares(wide[1:-1, 1:-1])
    inside = (level >= _DARKEST) & (level < np.percentile(level, 99) - _CLEAR)
    bands = np.where(inside, level // _BAND, -1).astype(int)
    smooth = np.zeros(rough.shape, dtype=bool)
    for band in range(256 // _BAND):
        there = bands == band
        if there.sum() >= _FEWEST:
            usual = float(np.median(rough[there]))
            if usual >= _LEAST_GRAIN:
                smooth |= there & (rough < min(_WITHOUT * usual, _NO_NOISE))
    parts, count = ndimage.label(smooth, np.ones((3, 3)))
    sizes = np.bincount(parts.ravel(), minlength=count + 1)[1:]
    patches = sizes[(sizes >= _LEAST_PATCH) & (sizes <= _LARGEST_PATCH * inside.size)]
    return float(patches.sum() / inside.size) if len(patches) >= _FEWEST_PATCHES else 0.0


def _squares(values: NDArray[np.int16]) -> NDArray[np.float32]:
    """The means of squares of two by two cells, one for each cell but the last of a row and a column."""
    down, across = values.shape[0] // _CELL, values.shape[1] // _CELL
    cut = values[: down * _CELL, : across * _CELL].reshape(down, _CELL, across, _CELL)
    cells = cut.sum(axis=3, dtype=np.int32).sum(axis=1)
    four = cells[:-1, :-1] + cells[1:, :-1] + cells[:-1, 1:] + cells[1:, 1:]
    return np.asarray(four / np.float32(4 * _CELL * _CELL), dtype=np.float32)

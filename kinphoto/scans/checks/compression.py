"""What JPEG compression did to a scan: how coarse it was, and whether it was done twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

LUMINANCE = (
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92,
    49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
)  # fmt: skip
"""The luminance table of ITU-T T.81, annex K, table K.1, row by row; libjpeg scales it by its quality."""

_FEWEST_BLOCKS = 400
_MOST_BLOCKS = 4096
_AT_ONCE = 512  # blocks, few enough for the nearest memory
_COEFFICIENTS = ((0, 1), (1, 0), (1, 1), (0, 2), (2, 0), (1, 2), (2, 1))
_AT = np.arange(8)
_WAVES = np.cos((2 * _AT + 1) * np.arange(3)[:, None] * np.pi / 16) / 2
"""The discrete cosine transform of eight levels (T.81, A.3.3) for the three lowest frequencies."""
_WAVES[0] /= np.sqrt(2)
_LOWEST = np.stack([np.outer(_WAVES[row], _WAVES[column]).ravel() for row, column in _COEFFICIENTS]).astype(np.float32)
_FEWEST = 40  # coefficients in a bin
_LEAST_BINS = 7
_REACH = 40  # multiples of a step on each side of zero


def scaled_table(quality: int) -> tuple[int, ...]:
    """The luminance table of libjpeg at a quality of 1 to 100 (`jpeg_quality_scaling`: 5000/q below 50, 200 - 2q from
    there, per cent)."""
    scale = 5000 // quality if quality < 50 else 200 - 2 * quality
    return tuple(min(max((step * scale + 50) // 100, 1), 255) for step in LUMINANCE)


def jpeg_quality(table: Sequence[int]) -> int:
    """The quality, on libjpeg's scale of 1 to 100, whose luminance table (row by row) is nearest to this one.

    Exact for files by libjpeg. Cameras and some programs have tables of their own: then it is the quality that is as
    coarse, by the sum of the differences of logarithms.
    """
    steps = np.log(np.maximum(np.asarray(table, dtype=float), 1))
    return int(np.abs(_known_tables() - steps).sum(axis=1).argmin()) + 1


@cache
def _known_tables() -> NDArray[np.float64]:
    """The logarithms of libjpeg's tables of every quality."""
    tables: NDArray[np.float64] = np.log(np.array([scaled_table(quality) for quality in range(1, 101)], dtype=float))
    return tables


def luminance_table(tables: Mapping[int, Sequence[int]]) -> Sequence[int] | None:
    """The table for luminance of those in a file, which Pillow gives row by row; None without one."""
    return tables.get(0)


def saved_twice(grey: NDArray[np.uint8], table: Sequence[int]) -> float:
    """How unevenly the coefficients of a JPEG fill their bins, as earlier compression leaves them: near 0 for none, 0.2
    and more for one.

    Multiples of an earlier step q1, rounded to multiples of the present q2, fill the bins of a coefficient unevenly
    and at regular distances (Popescu and Farid, Statistical tools for digital forensics, 2004); otherwise their
    logarithms lie near straight lines on both sides of zero, as those of a Laplace distribution do. Measured on the
    8 by 8 blocks of the file (ITU-T T.81) for the seven lowest frequencies: the scatter of the second differences of
    the logarithms, less that of chance (1.5 divided by the count) and of their slow course; the median of the three
    clearest. An earlier compression that was finer, or on another grid of blocks (the picture was turned or cut),
    leaves no trace.
    """
    blocks = _blocks(grey)
    if len(blocks) < _FEWEST_BLOCKS:
        return 0.0
    some = np.split(blocks, range(_AT_ONCE, len(blocks), _AT_ONCE))
    found = np.concatenate([_LOWEST @ each.astype(np.float32).T for each in some], axis=1)
    steps = np.asarray(table)[[8 * row + column for row, column in _COEFFICIENTS]]
    uneven = [_unevenness(each) for each in np.rint(found / steps[:, None].astype(np.float32))]
    return float(np.median(sorted(uneven)[-3:]))


def _blocks(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Up to `_MOST_BLOCKS` blocks of the file's grid, evenly from all of the picture."""
    down, across = grey.shape[0] // 8, grey.shape[1] // 8
    every = max(1, int(np.sqrt(down * across / _MOST_BLOCKS)))
    grid = grey[: down * 8, : across * 8].reshape(down, 8, across, 8)[::every, :, ::every]
    return grid.swapaxes(1, 2).reshape(-1, 64)


def _unevenness(multiples: NDArray[np.float32]) -> float:
    """The scatter of second differences of the logarithms of a histogram beside zero, beyond what chance gives."""
    inside = multiples[np.abs(multiples) <= _REACH].astype(int) + _REACH
    counts = np.bincount(inside, minlength=2 * _REACH + 1).astype(float)
    folded = counts[_REACH + 1 :] + counts[_REACH - 1 :: -1]  # both signs together: 1, 2, 3 ... steps from zero
    smooth = np.convolve(np.pad(folded, 2, "edge"), np.ones(5) / 5, "valid")
    few = np.flatnonzero(smooth < _FEWEST)
    last = int(few[0]) if few.size else len(folded)
    if last < _LEAST_BINS:
        return 0.0
    logs = np.log(np.maximum(folded[:last], 1))
    second = logs[1:-1] - (logs[:-2] + logs[2:]) / 2
    at = np.arange(len(second))
    course = np.polyval(np.polyfit(at, second, 2), at)
    chance = float((1.5 / np.maximum(smooth[1 : last - 1], 1)).mean())
    return float(np.sqrt(max(0.0, ((second - course) ** 2).mean() - chance)))

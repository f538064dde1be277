"""Only for speed: ages that may suit a date somebody guessed, for all photographs together (`perception.fitted`).

Of a photograph whose ages were not given unseen, z is the date that they suit and x the one at which it was taken:

    P(x | z) is 1 - f at z, and f times normal about it, where z is possible (`perception.shift_sd`).

Everything else that is known bears on x. What crosses over from either to the other is worked out on quarter-years by
FFT (`wide`), which is the slow part of the mixture; the part where x is z stays on the cells of the photograph.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.density import log_bell
from kinphoto.reason.model.perception import FITTED, SHIFT_SD
from kinphoto.reason.soft.grid import Grid

_PER_YEAR = 4
REACH = int(4 * SHIFT_SD * _PER_YEAR)
"""Quarter-years over which a date is shifted at most."""
LEAST = 1e-30


@dataclass(frozen=True)
class Wide:
    """The logarithm of the shifted part, on the cells of some rows of a grid."""

    cells: Grid
    log: Array

    def mixed(self, log: Array, rows: Ints, cells: Grid) -> Array:
        """The logarithm of the mixture, from that of the part that is not shifted; `rows` are those of these cells in
        the order of this one's. The cells may be finer."""
        if not len(rows):
            return log
        at, begin = cells.of(rows)
        which = np.repeat(np.arange(len(rows)), np.diff(begin))
        shifted = self.cells.interpolated(self.log, which, cells.middle[at])
        found = log.copy()
        found[at] = np.logaddexp(np.log(1 - FITTED) + log[at], np.log(FITTED) + shifted)
        return found

    def take(self, which: Ints) -> Wide:
        """Some of the rows."""
        at, begin = self.cells.of(which)
        return Wide(Grid(begin, self.cells.left[at], self.cells.right[at]), self.log[at])


def wide(log: Array, rows: Ints, cells: Grid, sd: Array) -> Wide:
    """The shifted part of these rows of a grid, from the logarithm of the likelihood in each cell; `sd`: by how many
    years each of them is shifted."""
    at, begin = cells.of(rows)
    some = Grid(begin, cells.left[at], cells.right[at])
    if not len(rows):
        return Wide(some, log[at])
    value = log[at]
    top = some.per_row(value, np.maximum)
    quarter = some.quarter
    first = quarter[some.start[:-1]]
    long = int((quarter[some.start[1:] - 1] - first).max()) + 1
    place = some.row * long + quarter - first[some.row]
    summed = np.zeros((2, len(rows) * long), dtype=np.float32)
    summed[0] = np.bincount(place, np.exp(value - top[some.row]) * some.width, minlength=len(rows) * long)
    summed[1] = np.bincount(place, some.width, minlength=len(rows) * long)
    spread = _shifted(summed.reshape(2, len(rows), long), sd).reshape(2, -1)
    share = spread[0][place] / np.maximum(spread[1][place], LEAST)
    return Wide(some, np.log(np.maximum(share, LEAST)) + top[some.row])


def _shifted(values: Array, sd: Array) -> Array:
    """Each row spread by its shift."""
    many = values.shape[-1]
    length = fft.next_fast_len(many + 2 * REACH, real=True)
    different, which = np.unique(sd, return_inverse=True)
    years = np.arange(-REACH, REACH + 1) / _PER_YEAR
    bells = fft.rfft(np.exp(log_bell(years, 0.0, different[:, None])).astype(np.float32), length, axis=1)
    spectrum = fft.rfft(values, length, axis=-1) * bells[which]
    return np.asarray(np.maximum(fft.irfft(spectrum, length, axis=-1)[..., REACH : REACH + many], 0.0))

"""Only for speed: ages that may suit a date somebody guessed, for all photographs together (`model/fitted_ages`).

Of a photograph whose ages were not given unseen, z is the date that they suit and x the one at which it was taken:

    P(x | z) is 1 - f at z, and f times normal about it, where z is possible (`fitted_ages.shift_sd`).

Everything else that is known bears on x. What crosses over from either to the other is worked out on quarter-years by
FFT (`wide`), which is the slow part of the mixture; the part where x is z stays on the cells of the photograph. The
likelihood of ages if they were fitted is that of known births alone: nobody reckons an age from a birth that they do
not know.

How often ages were fitted is learned from the photographs with the most ages (`learned_share`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import fft

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.density import log_bell
from kinphoto.reason.model.fitted_ages import SHIFT_SD, TO_A_DATE, FittedShare, learned
from kinphoto.reason.model.perception import Points
from kinphoto.reason.soft.grid import Grid, grid
from kinphoto.reason.soft.groups import Groups
from kinphoto.reason.soft.known_faces import KnownFace, KnownFaces

ENOUGH = 300
"""Photographs of either kind from which is learned how often ages are fitted, at most; more would add little."""
_PER_YEAR = 4
REACH = int(4 * SHIFT_SD * _PER_YEAR)
"""Quarter-years over which a date is shifted at most."""
LEAST = 1e-30
"""The least value that anything is divided by or that gets a logarithm."""


@dataclass(frozen=True)
class Wide:
    """The logarithm of the shifted part, on the cells of some rows of a grid, and the `share` of it in each row (f)."""

    cells: Grid
    log: Array
    share: Array

    def mixed(self, log: Array, rows: Ints, cells: Grid) -> Array:
        """The logarithm of the mixture, from that of the part that is not shifted; `rows` are those of these cells in
        the order of this one's. The cells may be finer."""
        if not len(rows):
            return log
        at, begin = cells.of(rows)
        which = np.repeat(np.arange(len(rows)), np.diff(begin))
        shifted = self.cells.interpolated(self.log, which, cells.middle[at])
        found, share = log.copy(), self.share[which]
        found[at] = np.logaddexp(np.log1p(-share) + log[at], np.log(share) + shifted)
        return found

    def times(self, log: Array) -> Wide:
        """The shifted part times something (its logarithm, in the same cells)."""
        return Wide(self.cells, self.log + log, self.share)

    def take(self, which: Ints) -> Wide:
        """Some of the rows."""
        at, begin = self.cells.of(which)
        return Wide(Grid(begin, self.cells.left[at], self.cells.right[at]), self.log[at], self.share[which])


def wide(log: Array, rows: Ints, cells: Grid, sd: Array, share: Array) -> Wide:
    """The shifted part of these rows of a grid, from the logarithm of the likelihood in each cell; `sd`: by how many
    years each of them is shifted, with the chance `share`."""
    at, begin = cells.of(rows)
    some = Grid(begin, cells.left[at], cells.right[at])
    if not len(rows):
        return Wide(some, log[at], share)
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
    crossed = spread[0][place] / np.maximum(spread[1][place], LEAST)
    return Wide(some, np.log(np.maximum(crossed, LEAST)) + top[some.row], share)


def _shifted(values: Array, sd: Array) -> Array:
    """Each row spread by its shift."""
    many = values.shape[-1]
    length = fft.next_fast_len(many + 2 * REACH, real=True)
    different, which = np.unique(sd, return_inverse=True)
    years = np.arange(-REACH, REACH + 1) / _PER_YEAR
    bells = fft.rfft(np.exp(log_bell(years, 0.0, different[:, None])).astype(np.float32), length, axis=1)
    spectrum = fft.rfft(values, length, axis=-1) * bells[which]
    return np.asarray(np.maximum(fft.irfft(spectrum, length, axis=-1)[..., REACH : REACH + many], 0.0))


def to_a_date(faces: Iterable[KnownFace], numbers: Mapping[str | None, int], groups: Groups) -> KnownFaces:
    """These faces, as they are if their ages were fitted to a date."""
    many = len(numbers)
    return KnownFaces(faces, numbers, [TO_A_DATE] * many, [True] * many, groups.first, groups.last)


def learned_share(
    faces: Iterable[KnownFace], undated: Ints, numbers: Mapping[str | None, int], informants: Sequence[Points],
    well_known: Sequence[bool], groups: Groups,
) -> FittedShare:  # fmt: skip
    """The likelihood of how often ages are fitted, from the ages of several faces in each of these `undated` groups;
    `numbers`, `informants` and `well_known` as in `KnownFaces`."""
    together: dict[bool, dict[int, list[KnownFace]]] = {True: defaultdict(list), False: defaultdict(list)}
    rows = set(undated.tolist())
    for face in faces:
        if face.row in rows and face.age:
            together[face.fitted][face.row].append(face)
    ratios: dict[bool, dict[int, float]] = {}
    for fitted, of in together.items():
        most = sorted((row for row, some in of.items() if len(some) > 1), key=lambda row: (-len(of[row]), row))
        chosen = np.array(sorted(most[:ENOUGH]), dtype=np.int64)
        some = [face for row in chosen.tolist() for face in of[row]]
        cells = grid(groups.first[chosen], groups.last[chosen])
        eye = KnownFaces(some, numbers, informants, well_known, groups.first, groups.last)
        ratio = _summed(to_a_date(some, numbers, groups), cells, chosen) - _summed(eye, cells, chosen)
        ratios[fitted] = dict(zip(chosen.tolist(), ratio.tolist(), strict=True))
    return learned(ratios[True], list(ratios[False].values()))


def _summed(faces: KnownFaces, cells: Grid, rows: Ints) -> Array:
    """The logarithm of the sum over each row of the product of its faces' likelihoods."""
    if not len(rows):
        return np.zeros(0)
    log = np.sum([factors.likelihood() for factors in faces.factors(cells, rows)], axis=0)
    top = cells.per_row(log, np.maximum)
    return np.asarray(top + np.log(cells.per_row(np.exp(log - np.repeat(top, cells.sizes)) * cells.width)))

"""Only for speed: lists of quarter-years of many rows, one behind the other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kinphoto.reason.model.arrays import Ints
from kinphoto.reason.soft.grid import starts


@dataclass(frozen=True)
class Rows:
    """Lists of consecutive quarter-years: row i has `start[i + 1] - start[i]`, of which `first[i]` is the first."""

    start: Ints
    first: Ints

    @cached_property
    def quarters(self) -> Ints:
        """The quarter-year of each entry."""
        return counted(self.first, np.diff(self.start))

    def of(self, rows: Ints) -> tuple[Ints, Ints]:
        """Where the entries of these rows stand, one row behind the other; and where each begins."""
        sizes = self.start[rows + 1] - self.start[rows]
        return counted(self.start[rows], sizes), starts(sizes)


def counted(first: Ints, sizes: Ints, step: int = 1) -> Ints:
    """Lists of numbers one behind the other, each counted from its `first` on."""
    begin = starts(sizes)
    return np.asarray(np.repeat(first - step * begin[:-1], sizes) + step * np.arange(begin[-1]))

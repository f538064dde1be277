"""Types of arrays, and lists of different lengths concatenated in one array."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
"""An array of floats."""
Ints = NDArray[np.int64]
"""An array of whole numbers: rows, places, counts."""
SMALLEST = 1e-300
"""The least value a likelihood gets before its logarithm is taken or something is divided by it."""


def starts(sizes: Ints) -> Ints:
    """Where each list of these sizes begins, and where the last one ends."""
    found = np.zeros(len(sizes) + 1, dtype=np.int64)
    np.cumsum(sizes, out=found[1:])
    return found


def ranges(first: Ints, sizes: Ints, step: int = 1) -> Ints:
    """Lists of consecutive numbers, each of its own size and beginning with its own `first`."""
    begin = starts(sizes)
    found = np.repeat(first - step * begin[:-1], sizes)
    found += np.arange(0, step * begin[-1], step)
    return found


def entries(start: Ints, rows: Ints) -> tuple[Ints, Ints]:
    """The positions of the entries of some lists, and where each list begins among them; list i has the positions from
    `start[i]` to `start[i + 1]`."""
    first = start[rows]
    sizes = start[rows + 1] - first
    begin = starts(sizes)
    found = np.repeat(first - begin[:-1], sizes)
    found += np.arange(begin[-1])
    return found, begin

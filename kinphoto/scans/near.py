"""Perceptual hashes that differ in few bits, among very many: one against all, and all against each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FEW = 3_000
"""Hashes up to which each is compared with each."""
_CHUNK = 512
_M1, _M2, _M4, _H = (
    np.uint64(number) for number in (0x5555555555555555, 0x3333333333333333, 0x0F0F0F0F0F0F0F0F, 0x0101010101010101)
)


def like(hash_: int, hashes: NDArray[np.uint64], most: int) -> NDArray[np.int64]:
    """The places of the hashes that differ in at most this many bits from one, the nearest first."""
    apart = bits(hashes ^ np.uint64(hash_))
    found = np.flatnonzero(apart <= most)
    return found[np.argsort(apart[found], kind="stable")]


def pairs(hashes: Sequence[int], most: int) -> Iterator[tuple[int, int, int]]:
    """Every two that differ in at most this many bits, by their places, and in how many.

    The 64 bits are cut into one band more than bits may differ, so one band at least is the same in both: only hashes
    that share a band are compared.
    """
    table = np.array(hashes, dtype=np.uint64)
    if len(table) <= _FEW:
        yield from _among(table, np.arange(len(table)), most)
        return
    found: dict[tuple[int, int], int] = {}
    edges = [round(64 * at / (most + 1)) for at in range(most + 2)]
    for low, high in pairwise(edges):
        band = (table >> np.uint64(low)) & np.uint64((1 << (high - low)) - 1)
        order = np.argsort(band, kind="stable")
        for places in np.split(order, np.flatnonzero(np.diff(band[order])) + 1):
            found.update(((one, other), apart) for one, other, apart in _among(table, places, most))
    yield from ((one, other, apart) for (one, other), apart in sorted(found.items()))


def _among(table: NDArray[np.uint64], places: NDArray[np.int64], most: int) -> Iterator[tuple[int, int, int]]:
    """The same among the hashes at these places, which ascend."""
    for start in range(0, len(places), _CHUNK):
        rows = places[start : start + _CHUNK]
        apart = bits(table[rows][:, None] ^ table[places[start:]][None])
        for row, column in np.argwhere(apart <= most):
            if column > row:
                yield int(rows[row]), int(places[start + column]), int(apart[row, column])


def bits(words: NDArray[np.uint64]) -> NDArray[np.uint8]:
    """How many bits are set in each."""
    if hasattr(np, "bitwise_count"):
        counted: NDArray[np.uint8] = np.bitwise_count(words)
        return counted
    words = words - ((words >> np.uint64(1)) & _M1)
    words = (words & _M2) + ((words >> np.uint64(2)) & _M2)
    words = (words + (words >> np.uint64(4))) & _M4
    return ((words * _H) >> np.uint64(56)).astype(np.uint8)

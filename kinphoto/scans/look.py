"""What a picture looks like as a whole, in 64 numbers: to find the few it may show again among very many.

Two pictures of one print have nearly the same numbers, also where one is tilted, faded, cropped a little or seen from
an angle. They only say which are worth a closer look: `registration.py` takes it. The numbers are the lowest
frequencies (discrete cosine transform) of the local contrast, weighed towards the middle of the picture, which is what
two scans have in common. A quarter turn of the picture reorders them, so a picture lying on its side is found too.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kinphoto.scans.likeness import without_bed

if TYPE_CHECKING:
    from collections.abc import Sequence

Looks = NDArray[np.float32]
"""A row of unit length for each picture."""

ALIKE = 0.70
"""The cosine from which two pictures are worth a closer look: 98 of 100 altered prints have it, 2 of 10,000 pairs of
different pictures (`tests/bench/bench_same_print.py`)."""

_EDGE, _SIDE = 32, 8
_NEAR, _PLAIN = 6.0, 4.0
_CHUNK = 512


def look(picture: Image.Image) -> str:
    """The numbers of a picture, as 128 hexadecimal digits."""
    from scipy import fft, ndimage

    small = without_bed(picture.convert("L")).resize((_EDGE, _EDGE), Image.Resampling.BOX, reducing_gap=4.0)
    level = np.asarray(small, dtype=np.float32)
    level = level - ndimage.gaussian_filter(level, _NEAR)
    level = np.clip(level / (np.sqrt(ndimage.gaussian_filter(level**2, _NEAR)) + _PLAIN), -2.5, 2.5)
    weight = np.sqrt(np.hanning(_EDGE + 2)[1:-1])
    waves = fft.dctn(level * weight[:, None] * weight, norm="ortho")[:_SIDE, :_SIDE]
    waves[0, 0] = 0
    largest = max(float(np.abs(waves).max()), 1e-6)
    numbers: NDArray[np.int8] = np.rint(waves / largest * 127).astype(np.int8)
    return numbers.tobytes().hex()


def looks(texts: Sequence[str]) -> Looks:
    """The numbers of many pictures, a row each."""
    raw = np.frombuffer(bytes.fromhex("".join(texts)), dtype=np.int8).reshape(len(texts), _SIDE * _SIDE)
    rows = raw.astype(np.float32)
    rows /= np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-6)
    return rows


def turned(rows: Looks, quarters: int) -> Looks:
    """The numbers these pictures would have if they were turned clockwise by so many quarters."""
    waves = rows.reshape(-1, _SIDE, _SIDE)
    odd = np.where(np.arange(_SIDE) % 2, -1.0, 1.0).astype(np.float32)
    for _ in range(quarters % 4):
        waves = waves.transpose(0, 2, 1) * odd  # rows become columns, from right to left
    return waves.reshape(len(rows), _SIDE * _SIDE)


def mirrored(rows: Looks) -> Looks:
    """The numbers these pictures would have if they were mirrored, left to right."""
    odd = np.where(np.arange(_SIDE) % 2, -1.0, 1.0).astype(np.float32)
    return (rows.reshape(-1, _SIDE, _SIDE) * odd).reshape(len(rows), _SIDE * _SIDE)


def like(one: Looks, among: Looks, least: float = ALIKE) -> list[tuple[int, int, float]]:
    """The places of the pictures that may be this one (a single row) again, the likeliest first: the place, by how many
    quarters that one is turned clockwise from this, and the cosine."""
    cosines = np.concatenate([turned(one, quarters) for quarters in range(4)]) @ among.T
    quarters, places = np.nonzero(cosines >= least)
    found: dict[int, tuple[int, int, float]] = {}
    for at in np.argsort(-cosines[quarters, places], kind="stable"):
        place, quarter = int(places[at]), int(quarters[at])
        found.setdefault(place, (place, quarter, float(cosines[quarter, place])))
    return list(found.values())


def pairs(ours: Looks, all_: Looks, least: float = ALIKE, most: int = 4000) -> list[tuple[int, int, int, float]]:
    """The likeliest pairs of one of ours with one of all, where ours are the first rows of all and each pair is named
    once: the places of both, by how many quarters the second is turned clockwise, and the cosine."""
    found: list[tuple[int, int, int, float]] = []
    for each in _alike(ours, all_, least):
        found += each
        if len(found) > 8 * most:
            found = sorted(found, key=_first)[:most]
            least = found[-1][3]
    best: dict[tuple[int, int], tuple[int, int, int, float]] = {}
    for one in sorted(found, key=_first):
        best.setdefault((one[0], one[1]), one)
    return list(best.values())[:most]


def _first(pair: tuple[int, int, int, float]) -> Any:
    return (-pair[3], pair[0], pair[1])


def _alike(ours: Looks, all_: Looks, least: float) -> Iterator[list[tuple[int, int, int, float]]]:
    """A half turn changes the sign of half of the numbers, so what the halves give is worked out once for both ways."""
    odd = np.add(*np.indices((_SIDE, _SIDE))).ravel() % 2 == 1
    even_columns = np.ascontiguousarray(all_[:, ~odd].T)
    odd_columns = np.ascontiguousarray(all_[:, odd].T)
    for quarter in range(2):
        lying = turned(ours, quarter)
        even_rows, odd_rows = np.ascontiguousarray(lying[:, ~odd]), np.ascontiguousarray(lying[:, odd])
        for start in range(0, len(ours), _CHUNK):
            for from_ in range(start, len(all_), _CHUNK):
                place = slice(start, start + _CHUNK), slice(from_, from_ + _CHUNK)
                upright = even_rows[place[0]] @ even_columns[:, place[1]]
                differing = odd_rows[place[0]] @ odd_columns[:, place[1]]
                rows, columns = np.nonzero(upright + np.abs(differing) >= least)
                yield [
                    (int(row) + start, int(column) + from_, quarter + (2 if differing[row, column] < 0 else 0),
                     float(upright[row, column] + abs(differing[row, column])))
                    for row, column in zip(rows, columns, strict=True)
                    if column + from_ > row + start
                ]  # fmt: skip

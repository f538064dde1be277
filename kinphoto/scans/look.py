"""What a picture looks like as a whole, in 64 numbers: to find the few it may show again among very many.

Two pictures of one print have nearly the same numbers, also where one is tilted, faded, cropped a little or seen from
an angle. They only say which are worth a closer look: `registration.py` takes it. The numbers are the lowest
frequencies (discrete cosine transform) of the local contrast, weighed towards the middle of the picture, which is what
two scans have in common. A quarter turn of the picture reorders them, so a picture lying on its side is found too; and
what they nearly become when a tenth of the picture is cut off follows from them by a matrix, so that is found as well.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from kinphoto.scans.likeness import without_bed

if TYPE_CHECKING:
    from collections.abc import Sequence

Looks = NDArray[np.float32]
"""A row of unit length for each picture."""

ALIKE = 0.70
"""The likeness from which two pictures are worth a closer look: 99 of 100 altered prints have it, 6 of 10,000 pairs of
different pictures, many with the same background (`tests/bench/bench_same_print.py`). It is the cosine of their
numbers, or `_CUT` less than the cosine of what they would be if one of the two were cut off."""

_EDGE, _SIDE = 32, 8
_NEAR, _PLAIN = 6.0, 4.0
_CHUNK = 512
_KEPT, _CORNERS = 0.9, (0.02, 0.08)  # of width and height, and where this part begins: one in each corner, nearly
_CUT = 0.09
_BEFORE = 0.15  # by how much less the cosine of the whole may be when one is cut
_PAIR = np.dtype([("likeness", np.float32), ("one", np.int64), ("other", np.int64), ("quarters", np.int64)])


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
    """The numbers these pictures would have if they were turned clockwise by this many quarters."""
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
    quarters that one is turned clockwise from this, and the likeness."""
    lying = np.concatenate([turned(one, quarters) for quarters in range(4)])
    likeness = lying @ among.T
    for row, cut in zip(likeness, _cut(lying), strict=True):
        near = np.flatnonzero(row >= least - _BEFORE)
        row[near] = np.maximum(row[near], (cut @ among[near].T).max(axis=0, initial=-1) - _CUT)
    quarters, places = np.nonzero(likeness >= least)
    found: dict[int, tuple[int, int, float]] = {}
    for at in np.argsort(-likeness[quarters, places], kind="stable"):
        place, quarter = int(places[at]), int(quarters[at])
        found.setdefault(place, (place, quarter, float(likeness[quarter, place])))
    return list(found.values())


def pairs(ours: Looks, all_: Looks, least: float = ALIKE, most: int = 4000) -> list[tuple[int, int, int, float]]:
    """The likeliest pairs of one of ours with one of all, where ours are the first rows of all and each pair is named
    once: the places of both, by how many quarters the second is turned clockwise, and the likeness.

    A half turn changes the sign of half of the numbers, so what the halves give is worked out once for both ways.
    """
    found = np.zeros(0, _PAIR)
    odd = np.add(*np.indices((_SIDE, _SIDE))).ravel() % 2 == 1
    even_columns = np.ascontiguousarray(all_[:, ~odd].T)
    odd_columns = np.ascontiguousarray(all_[:, odd].T)
    for start in range(0, len(ours), _CHUNK):
        lying = [turned(ours[start : start + _CHUNK], quarters) for quarters in range(4)]
        cut = np.stack([_cut(rows) for rows in lying])
        for quarter in range(2):
            even_rows, odd_rows = (np.ascontiguousarray(lying[quarter][:, half]) for half in (~odd, odd))
            for from_ in range(start, len(all_), _CHUNK):
                upright = even_rows @ even_columns[:, from_ : from_ + _CHUNK]
                differing = odd_rows @ odd_columns[:, from_ : from_ + _CHUNK]
                cosine = upright + np.abs(differing)
                rows, columns = np.nonzero(cosine >= least - _BEFORE)
                later = columns + from_ > rows + start
                rows, columns = rows[later], columns[later]
                part = np.zeros(len(rows), _PAIR)
                part["one"], part["other"] = rows + start, columns + from_
                part["quarters"] = quarter + np.where(differing[rows, columns] < 0, 2, 0)
                as_cut = np.einsum("nkd,nd->nk", cut[part["quarters"], rows], all_[part["other"]]).max(axis=1)
                part["likeness"] = np.maximum(cosine[rows, columns], as_cut - _CUT)
                found = np.concatenate([found, part[part["likeness"] >= least]])
                if len(found) > 8 * most:
                    found = _likeliest(found, most)
                    least = float(found["likeness"][-1])
    return [
        (int(one), int(other), int(quarters), float(likeness))
        for likeness, one, other, quarters in _likeliest(found, most)
    ]


def _likeliest(found: NDArray[np.void], most: int) -> NDArray[np.void]:
    """The likeliest of these pairs, each once."""
    ordered = found[np.lexsort((found["other"], found["one"], -found["likeness"]))]
    _, first = np.unique(ordered[["one", "other"]], return_index=True)
    return ordered[np.sort(first)][:most]


def _cut(rows: Looks) -> Looks:
    """For each row the eight it nearly is when one of two pictures of one print lacks a tenth of width and height: the
    numbers of what is left in each corner, and of a picture that has this left in one."""
    smaller = _smaller()
    found = np.concatenate([smaller @ rows.T, smaller.transpose(0, 2, 1) @ rows.T]).transpose(2, 0, 1)
    return np.ascontiguousarray(found / np.maximum(np.linalg.norm(found, axis=2, keepdims=True), 1e-6))


@cache
def _smaller() -> Looks:
    """Four matrices that make of the numbers of a picture those of its part in one corner: the waves are added up, the
    weight is taken off, the part is stretched, weighed and taken apart into waves again, across and down alike."""
    middle = (np.arange(_EDGE) + 0.5) / _EDGE
    waves = np.cos(np.pi * np.arange(_SIDE)[:, None] * middle) * np.sqrt(2 / _EDGE)
    waves[0] /= np.sqrt(2)
    weight = np.sqrt(np.hanning(_EDGE + 2)[1:-1])
    along = []
    for begin in _CORNERS:
        place = (begin + _KEPT * middle) * _EDGE - 0.5
        stretch = np.maximum(0, 1 - np.abs(place[:, None] - np.arange(_EDGE)))  # linear between two neighbours
        along.append((waves * weight) @ stretch @ (waves * weight / (weight**2 + 0.02)).T)
    return np.stack([np.kron(down, across) for down in along for across in along]).astype(np.float32)

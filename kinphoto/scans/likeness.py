"""How two scans seem to be related: the same picture again, a front and its back, or two pictures.

The name decides first (`ada_back.jpg` beside `ada.jpg`), then the thumbnails: the same picture has nearly the same
perceptual hash; a back is paper with writing, stamps or print, while a photograph has tones, that is, broad areas that
differ from its paper. It is a guess that saves a question where the answer is plain; where it is not, the person is
asked.
"""

from __future__ import annotations

import re
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from kinphoto.scans.checks.outline import outline
from kinphoto.scans.numbering import BACKS, FRONTS

if TYPE_CHECKING:
    from numpy.typing import NDArray

SAME_BITS = 10
"""Bits of 64 by which the perceptual hashes of one picture scanned twice differ at most; those of two pictures differ
by about 32 (a judgement of the project, from scanning the sample twice)."""
MOST_TONE = 0.05
"""The share of a back that broad tones (stamps, stains) cover at most. Likewise: in the sample backs have at most 0.03
and fronts at least 0.07."""

_EDGE = 256
_MARGIN = 0.06  # of each side is ignored: the bed of the scanner, the edges of the paper
_BROAD = 9  # pixels of _EDGE: broader than the strokes of a pen or of print
_APART = (10.0, 0.18)  # grey levels, or share of the range of greys, by which a tone differs from the paper at least

# Letters (harbour_a, harbour_b) are no sign: just as often they number pictures.


class Likeness(StrEnum):
    """What the second of two scans seems to be to the first."""

    BACK = "back"
    SAME = "same"
    ANOTHER = "another"


def side_by_name(first: str, second: str) -> str | None:
    """ "back" when the second file is named as the back of the first, "front" when the first is named as the back of
    the second; None when the names do not say. Names are without folder and suffix."""
    one, one_mark = _split_side(first)
    two, two_mark = _split_side(second)
    if one != two or one_mark == two_mark:
        return None
    if two_mark == "back":
        return "back"
    return "front" if one_mark == "back" else None


def _split_side(name: str) -> tuple[str, str]:
    """A name without the word for its side, and that side: "harbour_7", "back"."""
    plain = name.casefold()
    found = re.fullmatch(r"(?:(.*[^\W_])[\s._()\[\]-]+)?([^\W\d_]+)[)\]]?", plain)
    stem, word = (found[1] or "", found[2]) if found else (plain, "")
    if word in BACKS:
        return stem, "back"
    return (stem, "front") if word in FRONTS else (plain, "")


def bits_apart(one: str | None, other: str | None) -> int:
    """The number of bits that differ between two perceptual hashes; 64 when one is unknown."""
    return (int(one, 16) ^ int(other, 16)).bit_count() if one and other else 64


def likeness(first: Image.Image, second: Image.Image, apart: int) -> Likeness:
    """What the second picture seems to be to the first; their perceptual hashes differ in `apart` bits."""
    if apart <= SAME_BITS and (tone(first) > MOST_TONE or tone(second) > MOST_TONE):
        return Likeness.SAME
    return Likeness.BACK if tone(second) <= MOST_TONE else Likeness.ANOTHER


def tone(picture: Image.Image) -> float:
    """The share of a picture that is broad areas unlike its paper, 0 to 1.

    The paper is the plane through the commonest grey, so that uneven light does not count as tone.
    """
    from scipy import ndimage  # row by row and column by column, which Pillow's filters are not

    small = without_bed(picture.convert("L"))
    small.thumbnail((_EDGE, _EDGE))
    across, down = (round(side * _MARGIN) for side in small.size)
    small = small.crop((across, down, small.width - across, small.height - down))
    grey = np.asarray(small, dtype=np.float32)
    low, high = np.percentile(grey, (1, 99))
    far = max(_APART[0], _APART[1] * float(high - low))
    apart = np.abs(grey - _paper(grey, far)) > far
    narrowed = ndimage.minimum_filter(apart.astype(np.uint8), _BROAD, mode="nearest")
    return float(ndimage.maximum_filter(narrowed, _BROAD, mode="nearest").mean())


def bed_box(picture: Image.Image) -> tuple[float, float, float, float] | None:
    """Left, top, right and lower edge of the print in a grey picture, as shares; None where no bed shows around it."""
    found = outline(np.asarray(picture))
    return None if found is None else found.box


def without_bed(picture: Image.Image) -> Image.Image:
    """The part of a grey picture that the print covers, where the bed of the scanner shows around it."""
    box = bed_box(picture)
    if box is None:
        return picture
    left, top, right, lower = box
    width, height = picture.size
    return picture.crop((round(left * width), round(top * height), round(right * width), round(lower * height)))


def _paper(grey: NDArray[np.float32], far: float) -> NDArray[np.float32]:
    """The plane through the pixels near the commonest grey, fitted three times."""
    rows, columns = np.indices(grey.shape, dtype=np.float32)
    terms = np.stack([np.ones_like(grey), rows / grey.shape[0], columns / grey.shape[1]], axis=-1)
    counts = np.convolve(np.bincount(grey.astype(np.uint8).ravel(), minlength=256), np.ones(9), "same")
    plane = np.full_like(grey, float(counts.argmax()))
    for _ in range(3):
        near = np.abs(grey - plane) <= far
        if near.sum() < 100:
            break
        weights, *_ = np.linalg.lstsq(terms[near], grey[near], rcond=None)
        plane = (terms @ weights).astype(np.float32)
    return plane

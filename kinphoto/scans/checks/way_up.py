"""Which way up a picture is, as far as light and detail show it: often they do not, and then the answer is "unsure".

Nothing is recognised: no face, no writing. A picture taken outdoors has its light and even part above and its dark and
busy part below; indoors and in portraits that is less so.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

_BAND = 0.25  # of the height: what counts as above and below
_LIGHTER = 55.0  # grey levels by which a sky is lighter than what is opposite
_EVENER = 0.35  # and its detail against that of what is opposite
_CLEARER = 2.0  # how much clearer than along the other axis

UPRIGHT, LEFT, RIGHT, OVER, UNSURE = "upright", "left", "right", "over", "unsure"


class WayUp(NamedTuple):
    """Where the upper side of the picture seems to be: `upright`, or the way to turn it (`left`, `right`, `over`);
    `unsure` when it does not show. `why` says it in words."""

    way: str
    why: str = ""


def way_up(shades: NDArray[np.uint8]) -> WayUp:
    """Guess which side of a picture in grey is up.

    For each side the mean level and the detail (mean absolute step from pixel to pixel) of the outer quarter are
    compared with those opposite. A side is up that is lighter by 55 levels or more and has at most 0.35 of the
    detail, if across the picture the difference is less than half as large (judgements of the project).
    """
    rows, columns = max(2, int(shades.shape[0] * _BAND)), max(2, int(shades.shape[1] * _BAND))
    bands = {
        UPRIGHT: (shades[:rows], shades[-rows:]),
        OVER: (shades[-rows:], shades[:rows]),
        RIGHT: (shades[:, :columns], shades[:, -columns:]),  # what is up is on the left: a quarter clockwise is needed
        LEFT: (shades[:, -columns:], shades[:, :columns]),
    }
    lighter = {way: float(one.mean() - other.mean()) for way, (one, other) in bands.items()}
    way = max(lighter, key=lambda each: lighter[each])
    one, other = bands[way]
    across = lighter[RIGHT] if way in (UPRIGHT, OVER) else lighter[UPRIGHT]
    detail = _detail(one) / max(_detail(other), 0.5)
    if lighter[way] < _LIGHTER or detail > _EVENER or lighter[way] < _CLEARER * abs(across):
        return WayUp(UNSURE)
    return WayUp(way, "light and even on that side as a sky is, dark and full of detail opposite")


def _detail(part: NDArray[np.uint8]) -> float:
    level = part.astype(np.int16)
    return float(sum(np.abs(np.diff(level, axis=axis)).mean() for axis in (0, 1)))

"""Negatives among the scans: the orange mask of colour film."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MASKED = 0.95
"""The least share of a colour negative that has the mask."""
_MASK_CHROMA = 38.0
_MASK_HUES = (30.0, 85.0)  # degrees, from orange-red to orange-yellow
_YELLOWISH = 8.0  # b*
_SURROUND = 10.0  # L*: what lies around film is black and has no hue


def orange_mask(colours: NDArray[np.float32]) -> float:
    """How far (0 to 1) a picture has the orange mask of colour negatives: the share of it that is yellowish (b* over
    8), or 0 where its lightest parts are not strongly orange.

    `colours` are CIE L*a*b*. The mask is in the base of the film, so also its clearest part (from the 96th
    percentile of L*) has it: a chroma of 38 or more and a hue of 30 to 85 degrees. The paper of a faded or toned
    print is cream at most: its lightest parts stay below 35 (both judgements of the project).
    """
    flat = colours.reshape(-1, 3)
    lit = flat[flat[:, 0] > _SURROUND]
    if len(lit) < 0.2 * len(flat):
        return 0.0
    light = np.median(lit[lit[:, 0] >= np.percentile(lit[:, 0], 96)], axis=0)
    hue = np.degrees(np.arctan2(light[2], light[1]))
    if np.hypot(light[1], light[2]) < _MASK_CHROMA or not _MASK_HUES[0] <= hue <= _MASK_HUES[1]:
        return 0.0
    return float((lit[:, 2] > _YELLOWISH).mean())

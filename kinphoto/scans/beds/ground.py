"""The bare bed: what the rim of the picture shows evenly. Its light, which falls off to the sides, is a smooth surface
through all that is connected with the rim."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

_RIM = 0.03  # of each edge: where the bed is looked for first
_EVEN = 2.2  # grey levels: the standard deviation of 3 by 3 pixels of the bed at most
_RIM_SHARE = 0.2  # of the rim that has to be bed
_NEAR = 14.0  # grey levels: how much the light on a bed varies at most


def ground_of(colours: NDArray[np.float32]) -> tuple[NDArray[np.float32], float] | None:
    """The light of the bed at each pixel and its noise; None where the rim shows none."""
    grey = colours.mean(axis=2)
    mean = ndimage.uniform_filter(grey, 3)
    spread = np.sqrt(np.maximum(ndimage.uniform_filter(grey * grey, 3) - mean * mean, 0))
    even = spread <= _EVEN
    rows, columns = grey.shape
    edge = max(3, round(_RIM * min(rows, columns)))
    rim = np.ones_like(even)
    rim[edge:-edge, edge:-edge] = False
    counts = np.bincount(np.clip(grey[rim & even], 0, 255).astype(np.int64), minlength=256)
    window = np.convolve(counts, np.ones(9), "same")
    peak = float(window.argmax())
    if window.max() < _RIM_SHARE * rim.sum():
        return None
    ground = ndimage.binary_propagation(
        rim & even & (np.abs(grey - peak) < _NEAR / 2), mask=even & (np.abs(grey - peak) < _NEAR)
    )
    y, x = np.indices(grey.shape, dtype=np.float32)
    y, x = y / rows - 0.5, x / columns - 0.5
    terms = np.stack((np.ones_like(x), x, y, x * x, y * y, x * y), axis=-1)
    surface = np.empty_like(colours)
    noise = 0.0
    for k in range(colours.shape[2]):
        kept = ground.copy()
        for near in (_NEAR, _NEAR / 3, _NEAR / 5):
            some = terms[kept][:: max(1, int(kept.sum() // 20_000))]
            values = colours[..., k][kept][:: max(1, int(kept.sum() // 20_000))]
            if len(values) < 200:
                return None
            fit, *_ = np.linalg.lstsq(some, values, rcond=None)
            surface[..., k] = terms @ fit
            kept = ground & (np.abs(colours[..., k] - surface[..., k]) < near)
        rest = (colours[..., k] - surface[..., k])[kept]
        noise = max(noise, 1.4826 * float(np.median(np.abs(rest))))
    return surface, noise

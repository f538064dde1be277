"""What a small picture of a print on a table shows: where it changes, and how much each pixel looks like the table.

The table is what the rim of the picture shows (its colours in all the lights that fall on it, and its texture)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from kinphoto.scans.captures.edges import Floats

_BLUR = 1.2
_RIM = 0.045  # of the longer edge: where the table is seen
_LEVELS = (20, 14, 14, 5)  # steps of lightness, of two differences of colours, and of texture
_LEAST = 1.4  # grey levels a pixel: the least edge


class OnTable:
    """A small picture: its gradient, and how much each pixel looks like the table."""

    def __init__(self, pixels: Floats) -> None:
        self.shape = pixels.shape[:2]
        self.longer = max(self.shape)
        smooth = np.stack([ndimage.gaussian_filter(pixels[..., k], _BLUR) for k in range(3)], axis=-1)
        opponent = np.stack(
            [
                smooth.mean(axis=2),
                smooth[..., 0] - smooth[..., 1],
                (smooth[..., 0] + smooth[..., 1]) / 2 - smooth[..., 2],
            ],
            axis=-1,
        )
        gy, gx = np.gradient(opponent, axis=(0, 1))
        strength = np.hypot(gx, gy)
        strongest = strength.argmax(axis=2)[..., None]
        self.gx, self.gy = (np.take_along_axis(each, strongest, axis=2)[..., 0] for each in (gx, gy))
        self.strength = strength.max(axis=2)
        rim = self.rim
        # A step has to rise above the texture of the table; half of the pixels of a coarse one do.
        self.step = max(_LEAST, float(np.percentile(self.strength[rim], 70)))
        self.table = _like_table(opponent, _texture(pixels), rim)
        ty, tx = np.gradient(self.table)
        self.parts = np.minimum(4 * np.hypot(ty, tx), 1.0)

    @property
    def rim(self) -> NDArray[np.bool_]:
        """The rim of the picture."""
        rim = np.ones(self.shape, dtype=bool)
        edge = max(3, round(_RIM * self.longer))
        rim[edge:-edge, edge:-edge] = False
        return rim


def _texture(pixels: Floats) -> Floats:
    """How rough each pixel's surroundings are: the logarithm of the median of the finest differences around it."""
    grey = pixels.mean(axis=2)
    fine = np.abs(grey - ndimage.gaussian_filter(grey, 1.5))
    found: Floats = np.log2(ndimage.gaussian_filter(ndimage.median_filter(fine, 5), 1.0) + 0.5)
    return found


def _like_table(colours: Floats, texture: Floats, rim: NDArray[np.bool_]) -> Floats:
    """How much the colours and the roughness of each pixel are those of the rim, 0 to 1: the share of the rim among all
    pixels like it, both counted as if there were as much of one as of the other (Bayes' rule)."""
    lows, highs = np.array([0.0, -70.0, -70.0, -1.0]), np.array([255.0, 90.0, 110.0, 4.0])
    values = np.concatenate([colours, texture[..., None]], axis=-1)
    steps = (np.clip((values - lows) / (highs - lows), 0, 0.9999) * _LEVELS).astype(np.intp)
    at = np.ravel_multi_index(tuple(steps[..., k] for k in range(4)), _LEVELS)
    count = int(np.prod(_LEVELS))

    def density(cells: NDArray[np.intp]) -> Floats:
        counts = np.bincount(cells.ravel(), minlength=count).astype(np.float32).reshape(_LEVELS)
        counts = ndimage.gaussian_filter(counts, (1.0, 0.7, 0.7, 0.6), mode="constant")
        shares: Floats = counts / max(float(counts.sum()), 1.0)
        return shares

    table, rest = density(at[rim]), density(at[~rim])
    likely = table / np.maximum(table + rest, 1e-9)
    found = np.where((table + rest) > 0, likely, 0).ravel()[at]
    smooth: Floats = ndimage.gaussian_filter(found.astype(np.float32), 1.5)
    return smooth

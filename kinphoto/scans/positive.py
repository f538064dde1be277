"""Negatives shown as positives.

A negative is dark where there was light. What its density says (the logarithm of how little light it lets through,
against the clear film) is what a print from it would show, so that is shown, from the clearest film (black) to the
densest (white). In colour each layer has its own clear level, which takes the orange mask away. Only what is shown
changes; the file does not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image

_CLEAR, _DENSE = 99.0, 1.0
"""Percentiles of a channel that are taken for the clearest film and the densest: dust and scratches lie beyond."""
_HOLDER, _LAMP, _MOST, _RIM = 8, 250, 0.5, 2
"""Levels of a black holder beside the film at most, and of the lamp that shines beside it and through perforations at
least: neither is film, nor the two pixels beside them, where at least half of the picture is left."""
_LEAST = 0.1
"""The least density from black to white; a film that is thinner all over is not made harder than that."""

Table = list[int]
"""For each of the 256 levels of each channel what is shown instead (as `Image.point` takes it)."""


def positive_table(picture: Image.Image) -> Table:
    """What makes a positive of this negative (mode L or RGB), by its own tones."""
    import numpy as np  # here, as whoever shows pictures has few negatives among them, or none
    from scipy import ndimage

    pixels = np.asarray(picture).reshape(picture.height, picture.width, -1)
    beside = (pixels.max(axis=2) <= _HOLDER) | (pixels.min(axis=2) >= _LAMP)
    film = ~ndimage.binary_dilation(beside, iterations=_RIM) if beside.any() else ~beside
    pixels = pixels[film if film.mean() >= _MOST else np.ones_like(film)]
    levels = np.maximum(np.arange(256), 1)
    table: Table = []
    for k in range(pixels.shape[1]):
        clear, dense = np.percentile(pixels[:, k], (_CLEAR, _DENSE))
        density = np.log10(max(clear, 1.0) / levels)
        reach = max(float(np.log10(max(clear, 1.0) / max(dense, 1.0))), _LEAST)
        table += np.clip(np.rint(255 * density / reach), 0, 255).astype(int).tolist()
    return table

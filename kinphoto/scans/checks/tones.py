"""Tones and colours: what is clipped, how far the tones reach, a cast, and traces of automatic correction.

Pictures are arrays of 8-bit levels, rows by columns (grey) or rows by columns by three (RGB, sRGB).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Pixels = NDArray[np.uint8]

COLOURED = 4.0
"""Scatter of hues from which on a picture is in colours."""
_LIGHT, _DARK = 254, 1
_NEAR = 5  # levels by which JPEG moves the end of a channel, since colours are kept in fewer pixels than light is
_LIGHT_LUMA, _DARK_LUMA = 252.5, 1.5  # and the luma that such a pixel keeps
_FAR = 10.0  # of the mean colour from grey, less the scatter
_FRAME_SIDES = 3  # of the four that a white border touches at least, and a white sky does not


def clipped_shares(picture: Pixels) -> tuple[float, float]:
    """The shares (0 to 1) of the pixels at the top and at the foot of the scale, where differences no longer show: all
    channels within 5 levels of it, and the luma (ITU-R BT.601) within 2 of it.

    That counts what was clipped also after JPEG, which keeps colours in fewer pixels and so leaves few of them at the
    very end. The white border of a print, and a black one, is paper and not counted: what touches three sides of the
    picture.
    """
    light, dark = lowest(picture) >= 255 - _NEAR, highest(picture) <= _NEAR
    light[light] = _luma(picture[light]) >= _LIGHT_LUMA
    dark[dark] = _luma(picture[dark]) <= _DARK_LUMA
    return _without_frame(light), _without_frame(dark)


def _luma(pixels: Pixels) -> NDArray[np.float32]:
    return (pixels @ _LUMA if pixels.ndim == 2 else pixels).astype(np.float32)


_LUMA = np.array([0.299, 0.587, 0.114], dtype=np.float32)


def lowest(picture: Pixels) -> Pixels:
    """The lowest level of the channels of each pixel."""
    return picture if picture.ndim == 2 else np.minimum(np.minimum(picture[..., 0], picture[..., 1]), picture[..., 2])


def highest(picture: Pixels) -> Pixels:
    """The highest level of the channels of each pixel."""
    return picture if picture.ndim == 2 else np.maximum(np.maximum(picture[..., 0], picture[..., 1]), picture[..., 2])


def _without_frame(mask: NDArray[np.bool_]) -> float:
    if not mask.any():
        return 0.0
    parts, _ = ndimage.label(mask)
    touched = [set(np.unique(side)) - {0} for side in (parts[0], parts[-1], parts[:, 0], parts[:, -1])]
    frame = [part for part in set().union(*touched) if sum(part in side for side in touched) >= _FRAME_SIDES]
    left = mask & ~np.isin(parts, frame) if frame else mask
    return float(left.sum() / max(1, mask.size - (mask.sum() - left.sum())))


def lab(picture: Pixels) -> NDArray[np.float32]:
    """CIE L*a*b* (D65) of sRGB levels or of grey (IEC 61966-2-1 for the transfer curve and the weights, CIE 15)."""
    linear = _LINEAR[picture if picture.ndim == 3 else np.repeat(picture[..., None], 3, axis=2)]
    ratio = linear @ _TO_XYZ
    root = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).astype(np.float32)


_LEVELS = np.arange(256) / 255
_LINEAR = np.where(_LEVELS <= 0.04045, _LEVELS / 12.92, ((_LEVELS + 0.055) / 1.055) ** 2.4).astype(np.float32)
_XYZ = np.array([[0.4124, 0.2126, 0.0193], [0.3576, 0.7152, 0.1192], [0.1805, 0.0722, 0.9505]])
_TO_XYZ = (_XYZ / np.array([0.9505, 1.0, 1.089])).astype(np.float32)


def tonal_range(light: NDArray[np.float32]) -> tuple[float, float]:
    """The first and 99th percentile of L*: how dark the shadows and how light the highlights are."""
    dark, bright = np.percentile(light, (1, 99))
    return float(dark), float(bright)


def cast(colours: NDArray[np.float32]) -> tuple[float, float, float, float]:
    """How strong a cast is and where it leads: strength, mean a*, mean b*, and `spread`.

    The mean of (a*, b*) lies μ from grey and the colours scatter around it with σ = sqrt(σa² + σb²); the strength is
    (μ - σ) / σ, and 0 where μ - σ is under 10. A picture whose colours are close together, far from grey, has a cast
    (Gasparini and Schettini, Color balancing of digital photos using simple image statistics, Pattern Recognition
    37, 2004). `spread` is the standard deviation of the hues that is left when for every lightness the mean colour
    is taken away: next to none in a picture of one ink.
    """
    light, a, b = (np.ascontiguousarray(colours[..., k]).ravel() for k in range(3))
    mean = float(a.mean()), float(b.mean())
    around = float(np.sqrt(a.var() + b.var()))
    bands = np.clip((light / 5).astype(np.intp), 0, 19)
    counts = np.maximum(np.bincount(bands, minlength=20), 1)
    left = [each - (np.bincount(bands, each, 20) / counts).astype(np.float32)[bands] for each in (a, b)]
    spread = float(np.sqrt(left[0].var() + left[1].var()))
    distance = float(np.hypot(*mean)) - around
    return distance / max(around, 1e-6) if distance >= _FAR else 0.0, *mean, spread


def empty_levels(counts: NDArray[np.int64]) -> float:
    """The share of the levels between the darkest and the lightest used that hold hardly anything while their
    neighbours are full, 0 to 1.

    `counts` is a histogram of 256 levels. Stretching n levels over 256 leaves 1 - n/256 of them empty, at regular
    distances. Level i counts as empty with less than a tenth of the larger of its neighbours.
    """
    used = np.flatnonzero(counts)
    if used.size < 2:
        return 0.0
    inside = counts[used[0] : used[-1] + 1].astype(float)
    if inside.size < 16:
        return 0.0
    around = np.maximum(inside[:-2], inside[2:])
    full = around > 0.0005 * inside.sum()
    return float((full & (inside[1:-1] < 0.1 * around)).sum() / max(full.sum(), 1)) if full.sum() >= 16 else 0.0


def channels_clipped(counts: NDArray[np.int64]) -> float:
    """The least share (0 to 1) of pixels at an end of the scale, of both ends of all three channels.

    `counts` has a row of 256 for each channel. Automatic correction moves each channel by itself until a fixed share of
    it (0.1 % to 0.5 % at each end, from memory) is clipped; light does not clip all six ends alike. The last seven
    levels count, since JPEG moves many by some, but at most twice as many as are in the last two: where tones only come
    near to an end, nothing was clipped.
    """
    least = [
        min(ends[: _NEAR + 2].sum(), 2 * ends[: _DARK + 1].sum()) / max(each.sum(), 1)
        for each in counts
        for ends in (each, each[::-1])
    ]
    return float(min(least))

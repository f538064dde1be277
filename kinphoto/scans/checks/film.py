"""Negatives among the scans: the orange mask of colour film, and the edges of film that was not exposed there.

Where light fell, a negative is dark, so its edges, which were never exposed, are its clearest part; those of a slide
are its darkest. Edges are known by their perforations, or by lying clear within a black holder, as those of roll film
do; but so lies a print with a white border on a black ground, unless it has another width (`film_findings.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from kinphoto.scans.checks.outline import PaperOutline
from kinphoto.scans.checks.tones import lab

FILM_PPI = 1000.0
"""Film is scanned with that many pixels per inch or more, and prints seldom are."""
MASKED = 0.95
"""The least share of a colour negative that has the mask."""
MOSTLY_MASKED = 0.8
"""The same of what may be one."""
_MASK_CHROMA = 38.0
_MASK_HUES = (30.0, 75.0)  # degrees, from orange-red to orange-yellow
_YELLOWISH = 8.0  # b*
_ALONG = 112  # pixels of the longer edge that are enough to know the mask
_LAMP, _HUELESS, _MOST_LAMP = 96.0, 5.0, 0.4  # L*, chroma, share of a scan: white
_SURROUND = 10.0  # L*: what lies around film is black and has no hue


def orange_mask(colours: NDArray[np.float32], *, lamp: bool = False) -> float:
    """How far (0 to 1) a picture has the orange mask of colour negatives: the share of it that is yellowish (b* over
    8), or 0 where its lightest parts are not strongly orange.

    `colours` are CIE L*a*b*. The mask is in the base of the film, so also its clearest part (from the 96th
    percentile of L*) has it: a chroma of 38 or more and a hue of 30 to 75 degrees. The paper of a faded or toned
    print is cream at most: its lightest parts stay below 35 (both judgements of the project). With `lamp` what is
    white does not count: through perforations shines the lamp.
    """
    flat = colours.reshape(-1, 3)
    beside = (flat[:, 0] > _LAMP) & (np.hypot(flat[:, 1], flat[:, 2]) < _HUELESS)
    if lamp and beside.mean() < _MOST_LAMP:
        flat = flat[~beside]
    lit = flat[flat[:, 0] > _SURROUND]
    if len(lit) < 0.2 * len(flat):
        return 0.0
    light = np.median(lit[lit[:, 0] >= np.percentile(lit[:, 0], 96)], axis=0)
    hue = np.degrees(np.arctan2(light[2], light[1]))
    if np.hypot(light[1], light[2]) < _MASK_CHROMA or not _MASK_HUES[0] <= hue <= _MASK_HUES[1]:
        return 0.0
    return float((lit[:, 2] > _YELLOWISH).mean())


# Edges of film ------------------------------------------------------------------------------------------------

PITCH, HOLE, BETWEEN = 4.75, (1.98, 2.8), 28.18
"""Millimetres of 35 mm film (ISO 1007): from one perforation to the next, a perforation along and across the film, and
from the middle of one row of perforations to that of the other (35 - 2 (2.01 + 1.4))."""
CLEAR = 0.9
"""The least share of the picture that is darker than the edges of a negative."""
_BAND = 4  # rows of the picture that are looked at together
_PERIODS = (4.0, 60.0)  # perforations along a scan
_PERIODIC = 0.45  # of the variance along a row of perforations is in their period; of a perfect one 0.78
_HIGH = 3.0  # levels between hole and film, at least
_FITS = 0.06  # by which the distance of the two rows may differ from that of the standard
_HOLDER = 10.0  # level of a black holder at most
_EVEN = 14.0  # levels within which most of a clear edge lies
_LIKE = 4.0  # levels by which the clearest of the picture may be lighter than the edge


@dataclass(frozen=True, slots=True)
class Film:
    """What a scan shows of film. `perforated` when two rows of perforations were found; `clear` is the share (0 to 1)
    of the picture that is darker than the edges of the film, 0 where none were found; `orange` how far it has the mask
    of colour negatives (`orange_mask`)."""

    perforated: bool
    clear: float
    orange: float


def seen_as_film(picture: NDArray[np.uint8], shades: NDArray[np.uint8], outline: PaperOutline | None) -> Film:
    """What a picture (RGB or grey) shows of film, which `shades` has in grey; some thousand pixels long at most."""
    clear = next((found for grey in (shades, shades.T) if (found := _perforated(grey)) is not None), None)
    perforated = clear is not None
    orange = 0.0
    if picture.ndim == 3 and picture[::16, ::16, 0].mean() > picture[::16, ::16, 2].mean():
        every = max(4, max(shades.shape) // _ALONG)
        orange = orange_mask(lab(picture[::every, ::every]), lamp=perforated)
    return Film(perforated, _clear_rim(shades, outline) if clear is None else clear, orange)


def surely_negative(perforated: bool, clear: float, orange: float) -> bool:
    """Whether what was seen is sure to be a negative: it has the mask, or perforations and clear edges."""
    return orange >= MASKED or (perforated and clear >= CLEAR)


def _perforated(grey: NDArray[np.uint8]) -> float | None:
    """The share of the picture that is darker than the film between perforations, of film that lies along the rows.

    Along a row of perforations levels go up and down with one period p, and so do those of the second row, which is
    5.93 p away (ISO 1007). Perforations are 0.42 p long, so the median there is the film's.
    """
    count, width = len(grey) // _BAND, grey.shape[1]
    if count < 12 or width < 64:
        return None
    each = (grey[start : count * _BAND : _BAND] for start in range(_BAND))
    rows = sum(each, np.zeros((count, width), np.uint16)).astype(np.float32) / _BAND
    level = rows - rows.mean(axis=1, keepdims=True)
    level *= np.hanning(width).astype(np.float32)
    waves = fft.rfft(level, axis=1)
    power = np.square(waves.real) + np.square(waves.imag)
    first, last = round(_PERIODS[0]), min(round(_PERIODS[1]), power.shape[1] - 3)
    if last <= first:
        return None
    peak = power[:, first:last].argmax(axis=1) + first
    at = np.arange(count)
    near = power[at, peak - 1] + power[at, peak] + power[at, peak + 1]
    strong = near > _PERIODIC * power[:, 2:].sum(axis=1)
    strong[strong] = rows[strong].std(axis=1) > _HIGH
    if strong.sum() < 2:
        return None
    exact = _refined(power, at, peak)
    for one in np.unique(peak[strong]):
        same = np.flatnonzero(strong & (np.abs(peak - one) <= 1))
        bands = np.split(same, np.flatnonzero(np.diff(same) > 2) + 1)
        period = width / float(np.median(exact[same]))
        tall = [band for band in bands if 0.3 * period <= len(band) * _BAND <= 1.2 * period]
        for k, upper in enumerate(tall):
            for lower in tall[k + 1 :]:
                apart = (lower.mean() - upper.mean()) * _BAND / period
                if abs(apart / (BETWEEN / PITCH) - 1) <= _FITS:
                    return _darker_between(grey, upper, lower, period)
    return None


def _refined(power: NDArray[np.float32], at: NDArray[np.int64], peak: NDArray[np.int64]) -> NDArray[np.float32]:
    """The frequency of a peak between the steps of the transform, by the parabola through three logarithms."""
    below, top, above = (np.log(power[at, peak + k] + 1e-6) for k in (-1, 0, 1))
    bend = below - 2 * top + above
    shift = np.where(bend < 0, (below - above) / (2 * np.minimum(bend, -1e-6)), 0)
    return np.asarray(peak + shift, dtype=np.float32)


def _darker_between(
    grey: NDArray[np.uint8], upper: NDArray[np.int64], lower: NDArray[np.int64], period: float
) -> float:
    edges = [grey[band[0] * _BAND : (band[-1] + 1) * _BAND] for band in (upper, lower)]
    level = np.mean([np.median(edge) for edge in edges])
    middle = (upper.mean() + lower.mean() + 1) / 2 * _BAND
    reach = 11 / PITCH * period  # the frame is 24 mm high
    picture = grey[max(0, int(middle - reach)) : int(middle + reach)]
    return float((picture < level + _LIKE).mean())


def _clear_rim(shades: NDArray[np.uint8], outline: PaperOutline | None) -> float:
    """The share of a picture in a black holder that is darker than its rim; 0 where that is not clear and even."""
    if outline is None or outline.bed > _HOLDER:
        return 0.0
    rows, columns = shades.shape
    left, top, right, lower = outline.box
    inside = shades[round(top * rows) : round(lower * rows), round(left * columns) : round(right * columns)]
    edge = max(3, round(0.012 * min(inside.shape)))
    inside = inside[edge:-edge, edge:-edge]  # as far as tilt and unsharpness reach
    if min(inside.shape) < 12 * edge:
        return 0.0
    sides = [inside[:edge].ravel(), inside[-edge:].ravel(), inside[:, :edge].ravel(), inside[:, -edge:].ravel()]
    levels = [float(np.median(side)) for side in sides]
    even = [float(np.ptp(np.percentile(side, (15, 85)))) <= _EVEN for side in sides]
    if sum(even) < 3 or np.ptp(levels) > _EVEN or min(levels) < 100:
        return 0.0
    return float((inside[2 * edge : -2 * edge, 2 * edge : -2 * edge] < np.median(levels) + _LIKE).mean())

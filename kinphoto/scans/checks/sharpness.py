"""Sharpness of a scan: how far its sharpest edges spread, whether the grain is there, and what sharpening did.

Pictures are arrays of 8-bit grey levels at full size. What is measured is the scan and not the picture: an old print
may be soft, but its grain, its dust and the edge of its paper are as sharp as the scanner shows them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

_FINE, _BROAD = 0.8, 2.4  # pixels: the two Gaussians whose gradients are compared
_FEWEST = 30  # edge points that are needed to say anything
_SHARPEST = 0.03  # the share of the edges that are taken for the sharpest
_SHARP = 0.8  # pixels: edges whose overshoot is looked at
_SHARPER = 0.25  # the share of them that counts
_STEP = 18.0  # grey levels of the least edge
_ENDS = (3, 252)  # levels: what is beyond may be clipped
_ROOM = 0.1  # of a step: an overshoot of so much would be seen
_ONE_SIDED = 2.0  # times the overshoot of the lesser side that counts at most
_UNSEEN = 0.9  # of the overshoot of one side counts where the other cannot be seen
_CHANCE = 2.7  # medians that the largest of some hundred values of noise in two directions has
_ROOT = float(np.sqrt(2 * np.pi))
_DIRECTIONS = 4
EFFICIENCY = 0.683
"""Pixels: a Gaussian of this standard deviation passes a tenth of the contrast at half a cycle per pixel."""


@dataclass(frozen=True, slots=True)
class Edges:
    """The edges of a picture: how many points, and how far the sharpest spread.

    `spread` is the standard deviation in pixels of the Gaussian that would blur a perfect step as much; `by_direction`
    has it for edges across 0, 45, 90 and 135 degrees, NaN where there are too few. `overshoot` is by how much the two
    sides of an edge overdo the step, as a share of it (median).
    """

    points: int
    spread: float
    by_direction: tuple[float, ...]
    overshoot: float


def edges(tiles: NDArray[np.uint8]) -> Edges:
    """Measure the edges of tiles (n by rows by columns), leaving out a margin of 8 pixels.

    The gradient of a step blurred by σ and then by a Gaussian of s is proportional to 1/sqrt(σ² + s²). So from the
    gradients g₁, g₂ at s₁ < s₂ and R = g₁/g₂ follows σ² = (s₂² - R² s₁²) / (R² - 1) (after Zhuo and Sim, Defocus map
    estimation from a single image, Pattern Recognition 44, 2011). Points are the ridges of the gradient where the
    step g₁ sqrt(2π (σ² + s₁²)) has at least 18 levels, and where the profile leads from one level to another. The
    spread that the sharpest 3 % do not exceed counts, at least 30 points.
    """
    few = (tiles[start : start + _AT_ONCE] for start in range(0, len(tiles), _AT_ONCE))
    spread, angle, profile = (np.concatenate(each, axis=-1) for each in zip(*map(_steps, few), strict=True))
    direction = np.rint(angle / (np.pi / _DIRECTIONS)).astype(int) % _DIRECTIONS
    found = tuple(_sharpest(spread[direction == k]) for k in range(_DIRECTIONS))
    return Edges(len(spread), _sharpest(spread), found, _overshoot(profile, spread))


_AT_ONCE = 2
"""Tiles: few enough for the nearest memory."""


def _steps(tiles: NDArray[np.uint8]) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """The points of the edges: their spread, the angle of their gradient, and their profile.

    Most ridges are grain. In squares F and B of the two gradients, that a step has at least 18 levels (k) is
    F (c - B) <= c B with c = k² / 2π (s₂² - s₁²), which is known without a root before ridges are looked for.
    """
    grey = tiles.astype(np.float32)
    gx, gy = _gradients(grey, _FINE)
    bx, by = _gradients(grey, _BROAD)
    fine, broad = gx * gx + gy * gy, bx * bx + by * by
    least = (_STEP / (_ROOT * 6)) ** 2  # the gradient of such a step at the widest spread that matters
    enough = np.float32((_STEP / _ROOT) ** 2 / (_BROAD**2 - _FINE**2))
    sharp = np.maximum(broad, fine * np.float32((_FINE / _BROAD) ** 2))
    wanted = (fine * (enough - sharp) <= enough * sharp) & (fine > least) & (broad > least)
    at = _ridges(fine, gx, gy, wanted)
    x, y, fine, broad = (np.take(each, at) for each in (gx, gy, fine, broad))
    ratio = np.sqrt(np.clip(fine / np.maximum(broad, 1e-6), 1.02**2, (_BROAD / _FINE) ** 2))
    spread = np.sqrt(np.maximum((_BROAD**2 - ratio**2 * _FINE**2) / (ratio**2 - 1), 0))
    angle = np.arctan2(y, x)
    kept = np.flatnonzero(_step(_levels(tiles, at, angle, _AROUND)) >= _STEP)
    at, spread, angle = at[kept], spread[kept], angle[kept]
    profile = _levels(tiles, at, angle, _REACH)
    steps = _are_steps(profile)
    return spread[steps], angle[steps], profile[:, steps]


def effective_ppi(ppi: float, spread: float) -> float:
    """How many of the pixels per inch hold detail, when the sharpest edges spread by `spread` pixels.

    The limit of resolution is where a tenth of the contrast is left (SFR10, as in the sampling efficiency of FADGI
    and ISO 19264-1). A Gaussian has exp(-2π²σ²f²) at f cycles per pixel, a tenth at f = 0.3416/σ, and n pixels per
    inch hold at most n/2 cycles: n · min(1, 0.683/σ).
    """
    return ppi * min(1.0, EFFICIENCY / max(spread, 1e-6))


def grain(tiles: NDArray[np.uint8]) -> tuple[float, float]:
    """The standard deviation in grey levels of the finest structure, from pixel to pixel, across and down.

    Filtered by (1, -2, 1)/sqrt(6) along one direction and averaged over three pixels of the other, scaled so that
    white noise gives its own standard deviation; the median of the quieter half of the tiles, so that edges of the
    picture do not count. What is left of structure blurred by 1.5 pixels is below a thousandth: then only the noise
    of the scanner shows (below 1 level in a good one), while paper and silver grain that are resolved have several
    levels.
    """
    found = [[_finest(each), _finest(each.T)] for each in tiles.astype(np.float32)]
    across, down = np.sort(found, axis=0)[: max(1, len(tiles) // 2)].T
    return float(np.median(across)), float(np.median(down))


def interpolated(grey: NDArray[np.uint8]) -> float:
    """How clearly a picture was enlarged by computing: about 1 for not at all, several for one that was.

    Interpolated pixels are smoother than those on either side of them, so the mean absolute second difference along
    the rows repeats with the factor of enlargement (Gallagher, Detection of linear and cubic interpolation in JPEG
    compressed images, 2005), and so it does along the columns, at the same frequency: the geometric mean of both
    spectra shows a line where neither alone rises above its noise. Its highest line counts, against its median; the
    lines of JPEG's blocks (multiples of 1/8) only as far as they rise above the other such lines. Enlarging exactly
    twice leaves no such trace, nor by 4/3 or 8/5 once it was saved as JPEG.
    """
    courses = [_course(each) for each in (grey, np.ascontiguousarray(grey.T))]
    shorter, longer = sorted(map(len, courses))
    if shorter < 128:
        return 1.0
    spectrum = np.sqrt(np.prod([np.abs(np.fft.rfft(each, longer)) for each in courses], axis=0))
    frequency = np.arange(len(spectrum)) / longer
    near = 2.5 / shorter
    usual = max(float(np.median(spectrum[frequency > 0.1])), 1e-6)
    eighths = np.abs(frequency * 8 - np.rint(frequency * 8)) < 8 * near
    odd = eighths & (np.rint(frequency * 8) % 2 == 1)
    blocks = float(spectrum[odd & (frequency > 0.1)].max(initial=usual))
    plain = float(spectrum[~eighths & (frequency > 0.15)].max(initial=0))
    half = float(spectrum[frequency > 0.5 - near].max(initial=0))
    quarter = float(spectrum[np.abs(frequency - 0.25) < near].max(initial=0))
    even = max(half, quarter) * usual / blocks
    return float(max(plain, even) / usual / _CHANCE)


def _gradients(grey: NDArray[np.float32], sigma: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The slopes across and down of each tile, by matrices that have the kernel on their diagonal: on pieces this small
    they take a third of the time of a filter that goes from pixel to pixel."""
    sloping, smooth, across, down = (np.empty_like(grey) for _ in range(4))
    _, rows, columns = grey.shape
    lines, sloped, smoothed = (each.reshape(-1, columns) for each in (grey, sloping, smooth))
    for out, into, kernel, slope in _pieces(columns, sigma):
        np.matmul(lines[:, into], slope.T, out=sloped[:, out])
        np.matmul(lines[:, into], kernel.T, out=smoothed[:, out])
    for out, into, kernel, slope in _pieces(rows, sigma):
        np.matmul(kernel, sloping[:, into], out=across[:, out])
        np.matmul(slope, smooth[:, into], out=down[:, out])
    return across, down


_PIECE = 24


@cache
def _pieces(length: int, sigma: float) -> list[tuple[slice, slice, NDArray[np.float32], NDArray[np.float32]]]:
    """For each piece of `length` pixels: what of them is worked out, of which of them, and the matrices that smooth and
    that give the slope. Beyond an end the pixels are mirrored."""
    kernels = _kernels(sigma)
    reach = len(kernels[0]) // 2
    mirrored = np.pad(np.arange(length), reach, "symmetric")
    whole = np.zeros((2, length, length), dtype=np.float32)
    for at in range(length):
        for matrix, kernel in zip(whole, kernels, strict=True):
            np.add.at(matrix[at], mirrored[at : at + len(kernel)], kernel)
    found = []
    for start in range(0, length, _PIECE):
        out = slice(start, min(start + _PIECE, length))
        into = slice(max(0, out.start - reach), min(length, out.stop + reach))
        kernel, slope = (np.ascontiguousarray(matrix[out, into]) for matrix in whole)
        found.append((out, into, kernel, slope))
    return found


def _kernels(sigma: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """A Gaussian and its derivative, sampled."""
    reach = np.arange(-round(4 * sigma + 0.5), round(4 * sigma + 0.5) + 1)
    bell = np.exp(-(reach**2) / (2 * sigma**2))
    bell /= bell.sum()
    slope = reach * bell
    return bell.astype(np.float32), (slope / (slope * reach).sum()).astype(np.float32)


def _ridges(
    strength: NDArray[np.float32], gx: NDArray[np.float32], gy: NDArray[np.float32], wanted: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Those of the wanted points, as places in all tiles, where the gradient is largest along its own direction,
    rounded to across, down or a diagonal; a margin of 8 pixels is left out."""
    inner = np.zeros_like(wanted)
    inner[:, _MARGIN:-_MARGIN, _MARGIN:-_MARGIN] = wanted[:, _MARGIN:-_MARGIN, _MARGIN:-_MARGIN]
    at = np.flatnonzero(inner)
    x, y, width = np.take(gx, at), np.take(gy, at), strength.shape[2]
    across, down = np.abs(x), np.abs(y)
    ahead = np.where((x < 0) == (y < 0), width + 1, width - 1)
    ahead[down <= _DIAGONAL * across] = 1
    ahead[across < _DIAGONAL * down] = width
    here = np.take(strength, at)
    found: NDArray[np.int64] = at[(here >= np.take(strength, at + ahead)) & (here > np.take(strength, at - ahead))]
    return found


_MARGIN = 8
_DIAGONAL = np.float32(np.tan(np.pi / 8))


def _sharpest(spread: NDArray[np.float32]) -> float:
    if len(spread) < _FEWEST:
        return float("nan")
    count = max(_FEWEST, int(len(spread) * _SHARPEST))
    return float(np.partition(spread, count - 1)[count - 1])


def _finest(grey: NDArray[np.float32]) -> float:
    """The standard deviation of one tile filtered so, from left to right."""
    triple = grey[:-2] + grey[1:-1]
    triple += grey[2:]
    second = 2 * triple[:, 1:-1]
    second -= triple[:, :-2]
    second -= triple[:, 2:]
    return float(second.std() / np.sqrt(18))


_REACH = np.arange(-7, 8, dtype=np.float32)


_AROUND = _REACH[[3, 4, 10, 11]]


def _levels(
    tiles: NDArray[np.uint8], at: NDArray[np.int64], angle: NDArray[np.float32], reach: NDArray[np.float32]
) -> NDArray[np.float32]:
    """The levels along the gradient, at these distances in pixels before (less than 0) and behind each point."""
    places = np.rint(np.outer(reach, np.sin(angle)))
    places *= tiles.shape[2]
    places += np.rint(np.outer(reach, np.cos(angle)))
    levels: NDArray[np.float32] = np.take(tiles, places.astype(np.int64) + at).astype(np.float32)
    return levels


def _step(around: NDArray[np.float32]) -> NDArray[np.float32]:
    """How far the levels 3 and 4 pixels behind each point are above those before it."""
    step: NDArray[np.float32] = (around[2] + around[3] - around[0] - around[1]) / 2
    return step


def _are_steps(profile: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Which profiles lead from one level to another; those of lines, specks and grain come back to the first, and look
    sharper than a step."""
    ends = profile[12:].mean(axis=0) - profile[:3].mean(axis=0)
    found: NDArray[np.bool_] = ends >= 0.7 * _step(profile[[3, 4, 10, 11]])
    return found


def _overshoot(profile: NDArray[np.float32], spread: NDArray[np.float32]) -> float:
    """How far the sharper edges go beyond the levels 5 to 7 pixels away, per step: of the median of their profiles, in
    which noise has hardly any part.

    Sharpening does so on both sides alike. An end of the scale hides it: what is clipped there overshoots by more than
    is seen where there was room for a tenth of the step, and tells nothing where there was none. The shadow that paper
    throws on the bed does so on one side only: the mean of both counts, and at most twice the lesser, or nine
    tenths of one where the other cannot be seen.
    """
    below, above = profile[:3].mean(axis=0), profile[-3:].mean(axis=0)
    flat = np.maximum(np.ptp(profile[:3], axis=0), np.ptp(profile[-3:], axis=0))
    step = above - below
    plain = (spread < _SHARP) & (step >= 2 * _STEP) & (flat < 0.2 * step)  # an edge between two even areas
    if plain.sum() < _FEWEST:
        return 0.0
    sharper = max(_FEWEST, int(plain.sum() * _SHARPER))
    plain &= spread <= np.partition(spread[plain], sharper - 1)[sharper - 1]
    part = profile[:, plain]
    share = (part - below[plain]) / step[plain]
    sides = []
    for beyond, clipped, room in (
        (share[8:12] - 1, part[8:12].max(axis=0) >= _ENDS[1], above[plain] + _ROOM * step[plain] < _ENDS[1]),
        (-share[3:7], part[3:7].min(axis=0) <= _ENDS[0], below[plain] - _ROOM * step[plain] > _ENDS[0]),
    ):
        seen = room | ~clipped
        if seen.sum() >= _FEWEST // 2:
            side = float(np.median(np.where(clipped, np.inf, beyond)[:, seen], axis=1).max())
            sides += [max(0.0, side)] if side < np.inf else []
    if len(sides) < 2:
        return _UNSEEN * sum(sides)
    return min(sum(sides) / 2, _ONE_SIDED * min(sides))


_LINES = 64  # that are worked out together: at most 510 each, in 16 bits


def _second_differences(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    """The sums of the absolute second differences along these lines."""
    wide = grey.astype(np.int16)
    second = 2 * wide[:, 1:-1]
    second -= wide[:, :-2]
    second -= wide[:, 2:]
    return np.asarray(np.abs(second, out=second).sum(axis=0, dtype=np.int16), dtype=float)


def _course(grey: NDArray[np.uint8]) -> NDArray[np.float64]:
    """How the mean absolute second difference along the rows changes from column to column, up to a multiple of 8, free
    of what changes slowly and fading to both ends."""
    some = np.split(grey, range(_LINES, len(grey), _LINES))
    second = np.mean([_second_differences(lines) for lines in some], axis=0) * (len(some) / len(grey))
    second = second[: len(second) // 8 * 8]
    course: NDArray[np.float64] = (second - ndimage.uniform_filter1d(second, 17)) * np.hanning(len(second))
    return course

"""Scans of film, made from photographs: negatives with and without the orange mask, and slides.

A strip of 35 mm film has the measures of ISO 1007 (35 mm wide, perforations of 2.8 by 1.98 mm every 4.75 mm, 2.01 mm
from its edge, frames of 24 by 36 mm); roll film has clear edges with numbers. The film records the logarithm of light
with the gradation of a negative (0.5 to 0.75, common practice) or of a slide; the scanner sees how much light it lets
through. Beside it lies a black holder or nothing, and through perforations shines the lamp.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scanned_prints import PHOTOGRAPHS, photograph
from scipy import ndimage

BLACK_AND_WHITE, COLOUR, SLIDE = "black-and-white negative", "colour negative", "slide"
STRIP, ROLL, FRAME, MOUNTED = "strip with perforations", "roll film with clear edges", "frame alone", "mounted"


_ROLL_SMALLER = 1.6
"""Roll film is drawn with so many times fewer pixels a millimetre."""


@dataclass(frozen=True)
class Film:
    """What was drawn: `ppi` of the picture, and how many times as large a scanner writes it."""

    kind: str
    shape: str
    picture: Image.Image
    ppi: float
    times: float


def film(kind: str, shape: str, seed: int) -> Film:
    """A scan of film of this kind, as this shape of it."""
    rng = np.random.default_rng([seed, len(kind), len(shape)])
    clear = (
        np.array([rng.uniform(215, 240), rng.uniform(120, 155), rng.uniform(65, 105)]) / 255
        if kind == COLOUR
        else np.repeat(rng.uniform(0.72, 0.93), 3)
    )
    clear = clear**2.2  # the light that its clearest part lets through
    gradation, reach = float(rng.uniform(0.5, 0.75)), float(rng.uniform(1.4, 2.0))

    def seen(light: NDArray[np.float64]) -> NDArray[np.float64]:
        """The light that gets through film that took up so much (0 to 1, rows by columns by 3)."""
        taken = np.clip(reach + np.log10(np.maximum(light, 1e-4)), 0, reach)  # from the least that blackens it
        if kind == SLIDE:
            return 10 ** -(0.1 + 1.6 * (reach - taken))
        return clear * 10 ** -(gradation * taken)

    scale = float(rng.uniform(16, 24))  # pixels a millimetre of the picture that is drawn
    if shape == STRIP:
        through = _strip(rng, seen, scale, kind)
    elif shape == ROLL:
        through = _roll(rng, seen, scale, kind)
    else:
        through = _frame(rng, seen, scale, kind)
        if shape == MOUNTED:
            edge = int(rng.uniform(0.06, 0.16) * through.shape[0])
            through = np.pad(
                through, ((edge, edge), (edge, edge), (0, 0)), constant_values=float(rng.choice([0.0, 0.8]))
            )
    level = 255 * np.clip(through, 0, 1) ** (1 / 2.2)
    level = ndimage.gaussian_filter(level, (0.8, 0.8, 0)) + rng.normal(0, rng.uniform(1, 3), (*level.shape[:2], 1))
    if rng.random() < 0.5:
        level = np.rot90(level)
    picture = Image.fromarray(np.clip(np.rint(level), 0, 255).astype(np.uint8))
    turned = picture.rotate(float(rng.uniform(-0.8, 0.8)), Image.Resampling.BICUBIC)
    margin = round(0.02 * max(picture.size))
    picture = turned.crop((margin, margin, picture.width - margin, picture.height - margin))
    grey = kind == BLACK_AND_WHITE and rng.random() < 0.5
    smaller = _ROLL_SMALLER if shape == ROLL else 1
    return Film(kind, shape, picture.convert("L") if grey else picture, scale / smaller * 25.4, 3 * smaller)


def _light(rng: np.random.Generator, rows: int, columns: int, colour: bool) -> NDArray[np.float64]:
    """The light of a scene."""
    taken = Image.fromarray(photograph(str(rng.choice(PHOTOGRAPHS)))).convert("RGB" if colour else "L")
    share = min(taken.width / columns, taken.height / rows) * rng.uniform(0.7, 1.0)
    width, height = int(columns * share), int(rows * share)
    left, top = rng.integers(0, taken.width - width + 1), rng.integers(0, taken.height - height + 1)
    part = taken.crop((left, top, left + width, top + height)).resize((columns, rows), Image.Resampling.BICUBIC)
    light = (np.asarray(part.convert("RGB"), dtype=np.float64) / 255) ** 2.2
    return light * rng.uniform(0.5, 1.0)


def _frame(rng, seen, scale, kind) -> NDArray[np.float64]:  # type: ignore[no-untyped-def]
    return seen(_light(rng, round(24 * scale), round(36 * scale), kind != BLACK_AND_WHITE))


def _strip(rng, seen, scale, kind) -> NDArray[np.float64]:  # type: ignore[no-untyped-def]
    """A piece of a strip, with a frame and parts of its neighbours."""
    length = float(rng.uniform(38, 60))
    strip = np.zeros((round(35 * scale), round(length * scale), 3))
    start = float(rng.uniform(-36, 0))
    while start < length:
        left, right = max(0, round(start * scale)), min(strip.shape[1], round((start + 36) * scale))
        top, lower = round(5.5 * scale), round(29.5 * scale)
        if right > left:
            strip[top:lower, left:right] = _light(rng, lower - top, right - left, kind != BLACK_AND_WHITE)
        start += 38
    strip = _written(strip, rng, scale, 1.0)
    through = seen(strip)
    lamp = float(rng.uniform(0.97, 1.1))
    phase = float(rng.uniform(0, 4.75))
    for place in np.arange(phase - 4.75, length, 4.75):
        for top in (2.01, 35 - 2.01 - 2.8):
            across = slice(max(0, round(place * scale)), max(0, round((place + 1.98) * scale)))
            through[round(top * scale) : round((top + 2.8) * scale), across] = lamp
    beside = 0.0 if rng.random() < 0.6 else lamp
    edge = round(rng.uniform(0, 4) * scale)
    return np.pad(through, ((edge, edge), (0, 0), (0, 0)), constant_values=beside)


def _roll(rng, seen, scale, kind) -> NDArray[np.float64]:  # type: ignore[no-untyped-def]
    """One frame of 6 by 6 or 6 by 9 cm (56 mm, and 56 by 84 mm) on film of 61 mm, in a black holder."""
    scale = scale / _ROLL_SMALLER
    long = float(rng.choice([56.0, 84.0]))
    ends = float(rng.uniform(1.5, 4))
    film_ = np.zeros((round(61 * scale), round((long + 2 * ends) * scale), 3))
    top, lower, left = round(2.5 * scale), round(58.5 * scale), round(ends * scale)
    right = film_.shape[1] - left
    film_[top:lower, left:right] = _light(rng, lower - top, right - left, kind != BLACK_AND_WHITE)
    film_ = _written(film_, rng, scale, 0.8)
    edge = round(rng.uniform(1.5, 6) * scale)
    return np.pad(seen(film_), ((edge, edge), (edge, edge), (0, 0)))


def _written(film_: NDArray[np.float64], rng: np.random.Generator, scale: float, high: float) -> NDArray[np.float64]:
    """Numbers exposed along the edge by the maker."""
    words = Image.new("L", (film_.shape[1], film_.shape[0]))
    draw = ImageDraw.Draw(words)
    for place in np.arange(rng.uniform(0, 10), film_.shape[1] / scale, 19):
        draw.text((place * scale, 0.4 * scale), str(rng.integers(1, 37)), fill=255, font_size=max(6, high * scale))
    there = np.asarray(words, dtype=np.float64)[..., None] / 255
    return np.maximum(film_, there * 0.6)


# Grain, and what infrared dust removal does to it ------------------------------------------------------------------


def grainy(seed: int, grain: float = 0.06, size: tuple[int, int] = (1000, 1500)) -> NDArray[np.uint8]:
    """Grey levels (rows by columns) of a black-and-white negative with grain, as a scanner for film sees it.

    `grain` is the standard deviation of density where that is one above clear film; it grows with its root (as
    Selwyn's law has it for grains that lie by chance; from memory). About 0.03 is fine and 0.12 coarse. The scanner
    blurs by half a pixel and has noise of 0.8 levels.
    """
    rng = np.random.default_rng([seed, 31])
    light = ndimage.gaussian_filter(_light(rng, *size, False)[..., 0], rng.uniform(1, 2))
    density = 0.25 + 0.65 * np.clip(1.6 + np.log10(np.maximum(light, 1e-4)), 0, 1.6)
    grains = ndimage.gaussian_filter(rng.standard_normal(size), rng.uniform(0.7, 1.3))
    density += grain * np.sqrt(np.maximum(density - 0.2, 0.01)) * grains / grains.std()
    level = ndimage.gaussian_filter(293 * 10 ** (-density / 2.2), 0.5) + rng.normal(0, 0.8, size)
    return np.clip(np.rint(level), 0, 255).astype(np.uint8)


def filled(level: NDArray[np.uint8], share: float, seed: int, blur: float = 4.0) -> NDArray[np.uint8]:
    """The same with patches of 12 to 60 pixels, together this share of the picture, filled from around: smoothed by a
    Gaussian of `blur` pixels, with soft edges."""
    rng = np.random.default_rng([seed, 37])
    there = np.zeros(level.shape, dtype=bool)
    while there.mean() < share:
        long, middle = rng.uniform(6, 30), rng.uniform(0, 1, 2) * level.shape
        high, turn = long * rng.uniform(0.3, 1), rng.uniform(0, np.pi)
        y, x = (np.arange(edge) - at for edge, at in zip(level.shape, middle, strict=True))
        across, down = (
            x * np.cos(turn) + y[:, None] * np.sin(turn),
            y[:, None] * np.cos(turn) - x * np.sin(turn),
        )
        there |= (across / long) ** 2 + (down / high) ** 2 < 1
    cover = ndimage.gaussian_filter(there.astype(np.float32), 1.5)
    smooth = ndimage.gaussian_filter(level.astype(np.float32), blur)
    return np.rint(level * (1 - cover) + smooth * cover).astype(np.uint8)

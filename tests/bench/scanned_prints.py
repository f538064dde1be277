"""Scans of prints, made from photographs and spoilt by known amounts: what the checks of scans are tried on.

The photographs are those that come with scikit-image. A print of one has the tones that paper has, a white border,
the grain of the paper and a little dust; it lies on the bed of a scanner, nearly straight, and is seen with that
scanner's blur and noise.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, fields, replace
from functools import cache, lru_cache
from typing import Any

import numpy as np
import skimage.data
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy import ndimage
from scipy.special import expit

Pixels = NDArray[np.uint8]
Levels = NDArray[np.float32]

NAMES = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins", "clock", "brick", "grass", "gravel", "retina")
PHOTOGRAPHS = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins")
"""Those that show something; the others are textures, or spoilt themselves (`clock` is a picture of camera shake)."""


@cache
def photograph(name: str) -> Pixels:
    """One of scikit-image's photographs, RGB or grey."""
    picture: Pixels = np.asarray(getattr(skimage.data, name)())
    return picture


@dataclass(frozen=True)
class Print:
    """How a print is made and scanned. Lengths are pixels of the scan, tones grey levels of it, angles degrees.

    `softness` blurs the picture before it is printed, `texture` is the grain of the paper (standard deviation),
    `black` and `white` are the tones of ink and paper (closer together where it has faded), `tint` multiplies the
    channels. The rest is done by the scanner: `blur` (standard deviation), `shake` (length), `noise`, `tilt`,
    `margin` of bed around it, `gain` (1 leaves the tones alone), `lift` is subtracted; on its glass lie `specks` (y, x)
    and `hairs` (points x, y along each, `curled`).
    """

    size: tuple[int, int] = (1500, 1100)
    softness: float = 0.6
    texture: float = 2.5
    dust: int = 25
    black: float = 24.0
    white: float = 232.0
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    border: int = 40
    bed: float = 246.0
    margin: int = 60
    tilt: float = 0.2
    cut: int = 0
    blur: float = 0.45
    shake: int = 0
    noise: float = 0.7
    gain: float = 1.0
    lift: float = 0.0
    glare: float = 0.0
    sharpening: float = 0.0
    enlarged: float = 1.0
    specks: tuple[tuple[int, int], ...] = ()
    hairs: tuple[tuple[tuple[float, float], ...], ...] = ()
    grey: bool = False


_SCANNER = {
    each.name: each.default
    for each in fields(Print)
    if each.name in ("blur", "shake", "noise", "gain", "lift", "glare", "sharpening", "specks", "hairs", "grey")
}
"""What the scanner does to what lies on it, at its best."""


def scanned(picture: Pixels, how: Print, seed: int = 1) -> Image.Image:
    """The scan of a print of this photograph."""
    if how.enlarged != 1:
        small = replace(
            how,
            enlarged=1.0,
            size=tuple(round(edge / how.enlarged) for edge in how.size),
            border=round(how.border / how.enlarged),
            margin=round(how.margin / how.enlarged),
        )
        less = scanned(picture, small, seed)
        return less.resize(
            (round(less.width * how.enlarged), round(less.height * how.enlarged)), Image.Resampling.BICUBIC
        )
    paper = replace(how, **_SCANNER)  # type: ignore[arg-type]
    level, then = _on_bed_once(picture.tobytes(), picture.shape, paper, seed)
    rng = np.random.default_rng(seed)
    rng.bit_generator.state = then
    return seen(level, how, rng)


@lru_cache(maxsize=3)
def _on_bed_once(picture: bytes, shape: tuple[int, ...], how: Print, seed: int) -> tuple[Levels, dict[str, Any]]:
    """As `on_bed`, with how the random numbers go on: one print is often scanned in many ways."""
    rng = np.random.default_rng(seed)
    level = on_bed(np.frombuffer(picture, dtype=np.uint8).reshape(shape), how, rng)
    level.flags.writeable = False
    return level, dict(rng.bit_generator.state)


def on_bed(picture: Pixels, how: Print, rng: np.random.Generator) -> Levels:
    """The levels of a print of this photograph as it lies on the bed, before the scanner does anything to them."""
    return _laid(_print(picture, how, rng), how, rng)


def seen(level: Levels, how: Print, rng: np.random.Generator) -> Image.Image:
    """The scan of what lies on the bed."""
    found = np.clip(np.rint(_seen(level, how, rng)), 0, 255).astype(np.uint8)
    return Image.fromarray(found if not how.grey else found[..., 1])


def as_jpeg(image: Image.Image, quality: int = 95, ppi: int | None = 600) -> bytes:
    """The file that a scanner writes."""
    file = io.BytesIO()
    image.save(file, "JPEG", quality=quality, **({} if ppi is None else {"dpi": (ppi, ppi)}))
    return file.getvalue()


def _print(picture: Pixels, how: Print, rng: np.random.Generator) -> Levels:
    width, height = how.size
    shape = picture.shape[:2]
    share = min(shape[1] / width, shape[0] / height)  # as much of the picture as has these proportions
    rows, columns = int(height * share), int(width * share)
    top, left = rng.integers(0, shape[0] - rows + 1), rng.integers(0, shape[1] - columns + 1)
    part = Image.fromarray(picture[top : top + rows, left : left + columns]).convert("RGB")
    inner = (width - 2 * how.border, height - 2 * how.border)
    # Turned a little, as a print knows nothing of the rows of pixels that its photograph had.
    angle = np.radians(rng.uniform(2, 3))
    across, down = part.width / (1.12 * inner[0]), part.height / (1.12 * inner[1])
    turn = (across * np.cos(angle), -across * np.sin(angle), down * np.sin(angle), down * np.cos(angle))
    start = [
        middle - turn[2 * k] * inner[0] / 2 - turn[2 * k + 1] * inner[1] / 2
        for k, middle in enumerate((part.width / 2, part.height / 2))
    ]
    affine = (turn[0], turn[1], start[0], turn[2], turn[3], start[1])
    part = part.transform(inner, Image.Transform.AFFINE, affine, Image.Resampling.BICUBIC)
    tones = _blurred(np.asarray(part, dtype=np.float32), how.softness)
    low, high = np.percentile(tones[::2, ::2], (0.5, 99.5))
    tones = np.clip((tones - low) / max(high - low, 1), 0, 1) * (how.white - how.black) + how.black
    paper = np.full((height, width, 3), how.white, dtype=np.float32)
    paper[how.border : height - how.border, how.border : width - how.border] = tones
    for y, x in zip(rng.integers(0, height - 3, how.dust), rng.integers(0, width - 3, how.dust), strict=True):
        paper[y : y + rng.integers(1, 4), x : x + rng.integers(1, 4)] = rng.choice([30.0, 225.0])
    return paper * np.asarray(how.tint, dtype=np.float32)


def _laid(paper: Levels, how: Print, rng: np.random.Generator) -> Levels:
    """Turned as a sensor sees it that lies askew: bilinear, since a pixel takes up the light of its area and so nothing
    overshoots at an edge. The grain of the paper is added where the paper lies, as that would only smooth it."""
    height, width = paper.shape[:2]
    sheet = Image.fromarray(np.clip(np.rint(paper), 0, 255).astype(np.uint8))
    full = (width + 2 * how.margin, height + 2 * how.margin)
    bed = Image.new("RGB", full, (round(how.bed),) * 3)
    bed.paste(sheet, (how.margin, how.margin))
    mask = Image.new("L", full, 0)
    mask.paste(255, (how.margin, how.margin, how.margin + width, how.margin + height))
    turned = bed.rotate(-how.tilt, Image.Resampling.BILINEAR, fillcolor=(round(how.bed),) * 3)
    level = np.asarray(turned, dtype=np.float32)
    there = np.asarray(mask.rotate(-how.tilt, Image.Resampling.BILINEAR), dtype=np.float32) / 255
    grain = rng.standard_normal(there.shape, dtype=np.float32) * (how.texture * there)
    level = level + grain[..., None] * np.asarray(how.tint, dtype=np.float32)
    # The edge of paper throws a thin shadow on the bed to its right and below.
    dark = np.zeros_like(there)
    dark[3:, 3:] = np.clip(there[:-3, :-3] - there[3:, 3:], 0, 1)
    level = level - 35 * _blurred(dark, 1.0)[..., None]
    return level[:, how.margin + how.cut :] if how.cut else level


def _blurred(level: Levels, sigma: float) -> Levels:
    found: Levels = ndimage.gaussian_filter(level, (sigma, sigma) + (0,) * (level.ndim - 2))
    return found


def _seen(level: Levels, how: Print, rng: np.random.Generator) -> Levels:
    level = level.copy() if how.specks else level
    for y, x in how.specks:  # on the glass, so not turned with the print
        level[y : y + 2, x : x + 3] = 40
    if how.hairs:
        level = _under_hairs(level, how.hairs)
    if how.glare:
        level = level + glare_light(level.shape[:2], how.glare, rng)[..., None]
    if how.blur:
        level = _blurred(level, how.blur)
    if how.shake:
        level = ndimage.uniform_filter1d(level, how.shake, axis=1)
    level = (level - how.lift) * how.gain
    level = level + rng.standard_normal(level.shape, dtype=np.float32) * np.float32(how.noise)
    if how.sharpening:
        level = level + how.sharpening * (level - _blurred(level, 1.2))
    return level


def curled(rng: np.random.Generator, size: tuple[int, int], length: float) -> tuple[tuple[float, float], ...]:
    """Points along a hair of this length somewhere in a picture of this size: it turns by a little less or more from
    step to step, by a quarter to a whole turn altogether."""
    steps = 40
    turn = np.cumsum(rng.uniform(1.5, 6) * rng.choice([-1, 1]) / steps + rng.normal(0, 0.05, steps))
    way = rng.uniform(0, 2 * np.pi) + turn
    path = np.cumsum(np.stack([np.cos(way), np.sin(way)], axis=1) * (length / steps), axis=0)
    room = np.asarray(size) - np.ptp(path, axis=0)
    path += rng.uniform(0.12, 0.88, 2) * room - path.min(axis=0)
    return tuple((float(x), float(y)) for x, y in path)


def _under_hairs(level: Levels, hairs: tuple[tuple[tuple[float, float], ...], ...]) -> Levels:
    """Dark hairs, a pixel and a half thick, drawn four times as large."""
    drawn = Image.new("L", (4 * level.shape[1], 4 * level.shape[0]))
    draw = ImageDraw.Draw(drawn)
    for hair in hairs:
        draw.line([(4 * x, 4 * y) for x, y in hair], fill=255, width=6, joint="curve")
    cover = np.asarray(drawn.reduce(4), dtype=np.float32)[..., None] / 255
    return level * (1 - cover) + 45 * cover


def glare_light(shape: tuple[int, int], share: float, rng: np.random.Generator) -> Levels:
    """Light that covers `share` of the picture with 250 or more, whatever is below it, and fades to its edge."""
    rows, columns = np.indices(shape, dtype=np.float32)
    radius = float(np.sqrt(share * shape[0] * shape[1] / np.pi))
    y, x = (edge * rng.uniform(0.35, 0.65) for edge in shape)
    apart = np.hypot(rows - y, columns - x)
    soft = 0.5 * radius + 0.02 * max(shape)
    return (260.0 * expit((radius + soft - apart) / (soft / 3))).astype(np.float32)

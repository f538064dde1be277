"""From a drawn scene to an old print: the tones of its process, its grain, what a century did to it.

Pictures are height by width by 3 arrays in 0..1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from .canvas import Canvas, Colour, Pixels, cloud, oval

Rng = np.random.Generator
Tones = tuple[Colour, Colour, Colour]

TONES: dict[str, Tones] = {
    "albumen": ((0.22, 0.135, 0.115), (0.60, 0.44, 0.33), (0.95, 0.87, 0.71)),
    "collodion-printing-out": ((0.18, 0.105, 0.115), (0.58, 0.43, 0.38), (0.95, 0.90, 0.82)),
    "gelatin-printing-out": ((0.19, 0.12, 0.10), (0.60, 0.46, 0.36), (0.95, 0.89, 0.78)),
    "gelatin-silver": ((0.085, 0.08, 0.078), (0.49, 0.475, 0.445), (0.95, 0.94, 0.91)),
    "warm gelatin-silver": ((0.13, 0.10, 0.08), (0.54, 0.475, 0.40), (0.94, 0.90, 0.81)),
    "tintype": ((0.07, 0.062, 0.055), (0.37, 0.345, 0.315), (0.70, 0.67, 0.61)),
    "cyanotype": ((0.05, 0.14, 0.30), (0.36, 0.53, 0.68), (0.90, 0.94, 0.93)),
}
"""Shadows, middle tones and highlights of each one-coloured process."""

SEES: dict[str, tuple[float, float, float]] = {
    "albumen": (0.28, 0.40, 0.32), "tintype": (0.24, 0.40, 0.36), "cyanotype": (0.30, 0.40, 0.30), "collodion-printing-out": (0.30, 0.42, 0.28),
}  # fmt: skip
"""How much red, green and blue count: early plates were nearly blind to red, so skies are white and faces dark."""

COLOURED = ("chromogenic", "colour-slide")


@dataclass(frozen=True, slots=True)
class Wear:
    """How much a print has suffered, each 0..1."""

    fade: float = 0.3
    foxing: float = 0.2
    scratches: float = 0.2
    crease: float = 0.0
    vignette: float = 0.35
    blur: float = 0.3


def tinted(grey: Pixels, tones: Tones) -> Pixels:
    """A grey picture in the tones of a process."""
    stops = np.asarray(tones, np.float32)
    return np.stack([np.interp(grey, (0.0, 0.5, 1.0), stops[:, c]) for c in range(3)], -1).astype(np.float32)


def develop(scene: Pixels, process: str, tones: str, year: int, wear: Wear, rng: Rng) -> Pixels:
    """The print of a scene, before it is mounted."""
    scene = _lens(scene, wear, rng)
    if process in COLOURED:
        picture = _colour(scene, process, year, wear, rng)
    else:
        picture = _grey(scene, process, tones, wear, rng)
    return np.clip(_damage(picture, process, wear, rng), 0, 1)


def _lens(scene: Pixels, wear: Wear, rng: Rng) -> Pixels:
    """Softness towards the corners, and their darkness."""
    h, w = scene.shape[:2]
    image = Image.fromarray((np.clip(scene, 0, 1) * 255).astype(np.uint8))
    near = np.asarray(image.filter(ImageFilter.GaussianBlur(0.5 + 0.9 * wear.blur)), np.float32) / 255
    far = np.asarray(image.filter(ImageFilter.GaussianBlur(1.0 + 2.2 * wear.blur)), np.float32) / 255
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    r2 = ((x / w - 0.5) ** 2 + (y / h - 0.48) ** 2)[..., None] * 2
    soft = np.clip(r2 * 1.3 - 0.3, 0, 1)
    return (near * (1 - soft) + far * soft) * (1 - wear.vignette * np.clip(r2 * 1.15, 0, 1) ** 1.2)


def _grey(scene: Pixels, process: str, tones: str, wear: Wear, rng: Rng) -> Pixels:
    """A one-coloured print: what the plate saw, its contrast, its grain, its tones."""
    h, w = scene.shape[:2]
    weights = np.asarray(SEES.get(process, (0.34, 0.46, 0.20)), np.float32)
    grey = scene @ weights
    low, high = np.percentile(grey, (0.8, 99.4))
    grey = np.clip((grey - low) / max(high - low, 0.1), 0, 1)
    grey = grey**0.78
    grey = grey * grey * (3 - 2 * grey) * 0.6 + grey * 0.4
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    edge = np.clip(1 - np.minimum(np.minimum(x, w - x), np.minimum(y, h - y)) / (0.1 * w), 0, 1)
    patches = 0.6 + 0.4 * cloud(w, h, w / 5, rng, 3)
    pale = wear.fade * (0.22 + 0.4 * edge**1.5 * patches)
    grey = grey * (1 - pale) + pale * (0.80 if process != "tintype" else 0.35)
    return tinted(np.clip(grey + _grain(h, w, 0.020, rng), 0, 1), TONES[tones])


def _grain(h: int, w: int, strength: float, rng: Rng) -> Pixels:
    """Clumped grain."""
    noise = Image.fromarray((rng.normal(0, 1, (h, w)) * 40 + 128).clip(0, 255).astype(np.uint8))
    soft = np.asarray(noise.filter(ImageFilter.GaussianBlur(0.9)), np.float32) / 255 - 0.5
    return soft / max(float(soft.std()), 1e-6) * strength


def _colour(scene: Pixels, process: str, year: int, wear: Wear, rng: Rng) -> Pixels:
    """Colour film: slides keep their depth, prints lose their cyan and warm up."""
    h, w = scene.shape[:2]
    mean = scene.mean(-1, keepdims=True)
    if process == "colour-slide":
        rich = mean + (scene - mean) * 1.3
        rich = np.clip((rich - 0.05) * 1.1, 0, 1)
        rich = rich * rich * (3 - 2 * rich) * 0.5 + rich * 0.5
        picture = rich * np.asarray((1.03, 0.99, 0.97), np.float32)
    else:
        dull = mean + (scene - mean) * (1.02 - 0.3 * wear.fade)
        lift = np.asarray((0.14, 0.075, 0.07), np.float32) * (0.4 + wear.fade)
        gain = np.asarray((1.0, 0.92, 0.81), np.float32) * (1 - 0.06 * wear.fade) + 0.03
        picture = lift + dull * gain
        h_edge = cloud(w, h, w / 2, rng, 2)[..., None]
        picture = picture * (1 + 0.03 * h_edge * np.asarray((1, 0.3, -0.6), np.float32))
    return np.clip(picture + np.stack([_grain(h, w, 0.014, rng) for _ in range(3)], -1), 0, 1)


def _damage(picture: Pixels, process: str, wear: Wear, rng: Rng) -> Pixels:
    """Foxing, scratches, creases, spots of dust."""
    h, w = picture.shape[:2]
    canvas = Canvas(w, h)
    canvas.px = picture.astype(np.float32)
    if process not in COLOURED:
        for _ in range(int(46 * wear.foxing)):
            x, y, r = rng.uniform(0, w), rng.uniform(0, h), abs(rng.normal(0, 1)) * w * 0.005 + 1.2
            canvas.glow(x, y, r, r, (0.50, 0.33, 0.18), float(rng.uniform(0.15, 0.5)))
        for _ in range(int(7 * wear.foxing)):
            x, y, r = rng.uniform(0, w), rng.uniform(0, h), w * rng.uniform(0.03, 0.1)
            canvas.glow(x, y, r, r * rng.uniform(0.6, 1.3), (0.66, 0.50, 0.30), 0.13)
    pale = (0.93, 0.90, 0.84) if process != "tintype" else (0.42, 0.38, 0.33)
    for _ in range(int(22 * wear.scratches)):
        x, y, long, turn = rng.uniform(0, w), rng.uniform(0, h), w * rng.uniform(0.01, 0.14), rng.normal(1.4, 0.5)
        end = (x + long * np.cos(turn), y + long * np.sin(turn))
        canvas.stroke(
            [(x, y), ((x + end[0]) / 2 + rng.normal(0, 2), (y + end[1]) / 2), end],
            pale,
            rng.uniform(0.8, 1.4),
            alpha=0.4,
            taper=True,
        )
    for _ in range(int(60 * wear.scratches)):
        x, y, r = rng.uniform(0, w), rng.uniform(0, h), rng.uniform(0.6, 1.8)
        canvas.fill(oval(x, y, r, r), pale if rng.uniform() < 0.7 else (0.15, 0.12, 0.1), relief=0, rim=0, alpha=0.6)
    if wear.crease:
        _crease(canvas, wear.crease, rng)
    return canvas.px


def _crease(canvas: Canvas, strength: float, rng: Rng) -> None:
    """A fold across a corner, the emulsion cracked along it."""
    w, h = canvas.width, canvas.height
    corner = int(rng.integers(4))
    x, y = w * rng.uniform(0.12, 0.26), h * rng.uniform(0.08, 0.2)
    a, b = (
        ((x, 0), (0, y))
        if corner == 0
        else ((w - x, 0), (w, y))
        if corner == 1
        else ((x, h), (0, h - y))
        if corner == 2
        else ((w - x, h), (w, h - y))
    )
    steps = np.linspace(0, 1, 12)
    line = [
        (a[0] + (b[0] - a[0]) * t + rng.normal(0, 1.5), a[1] + (b[1] - a[1]) * t + rng.normal(0, 1.5)) for t in steps
    ]
    canvas.stroke([(p + 2, q + 2) for p, q in line], (0.2, 0.16, 0.13), 2.0, alpha=0.35 * strength)
    canvas.stroke(line, (0.95, 0.92, 0.86), 2.2, alpha=0.8 * strength)


def mirrored(picture: Pixels, rng: Rng) -> Pixels:
    """Silvering out: a bluish sheen in the shadows near the edges of old gelatin prints."""
    h, w = picture.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    edge = np.clip(1 - np.minimum(np.minimum(x, w - x), np.minimum(y, h - y)) / (0.14 * w), 0, 1) ** 1.5
    sheen = edge * (0.5 + 0.5 * cloud(w, h, w / 6, rng, 3)) * np.clip(0.75 - picture.mean(-1), 0, 1) * 0.75
    return picture + (np.asarray((0.60, 0.66, 0.74), np.float32) - picture) * np.clip(sheen, 0, 0.6)[..., None]

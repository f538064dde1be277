"""A picture made of soft, lit shapes.

Every shape is filled through an anti-aliased mask and shaded as if it were slightly rounded and lit from the upper
left: the blurred mask is taken for a height, and the brightness follows its slope. That, and a soft shadow below each
shape, is what lets flat outlines pass for things in front of a camera. Colours are red, green, blue in 0..1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, floor, pi, sin
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

Pixels = NDArray[np.floating[Any]]
Colour = tuple[float, float, float]
Point = tuple[float, float]
LIGHT = (-0.6, -0.8)


def mix(one: Colour, other: Colour, share: float) -> Colour:
    """A colour between two: `share` of the other."""
    return tuple(a + (b - a) * share for a, b in zip(one, other, strict=True))  # type: ignore[return-value]


def smooth(points: Sequence[Point], closed: bool = True, steps: int = 8) -> list[Point]:
    """A Catmull-Rom curve through the points."""
    p = np.asarray(points, dtype=float)
    if len(p) < 3:
        return [tuple(q) for q in p]
    before = np.roll(p, 1, 0) if closed else np.vstack([p[:1], p[:-1]])
    after = np.roll(p, -1, 0) if closed else np.vstack([p[1:], p[-1:]])
    beyond = np.roll(p, -2, 0) if closed else np.vstack([p[2:], p[-1:], p[-1:]])
    t = np.linspace(0, 1, steps, endpoint=False)[:, None, None]
    curve = 0.5 * (
        2 * p + (after - before) * t + (2 * before - 5 * p + 4 * after - beyond) * t**2
        + (3 * p - before - 3 * after + beyond) * t**3
    )  # fmt: skip
    flat = curve.transpose(1, 0, 2).reshape(-1, 2)
    return [tuple(q) for q in (flat if closed else np.vstack([flat[: (len(p) - 1) * steps], p[-1:]]))]


def oval(x: float, y: float, rx: float, ry: float, turn: float = 0.0, points: int = 28) -> list[Point]:
    """The outline of an ellipse; `turn` in radians."""
    c, s = cos(turn), sin(turn)
    ring = [(rx * cos(2 * pi * i / points), ry * sin(2 * pi * i / points)) for i in range(points)]
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in ring]


def limb(path: Sequence[Point], widths: Sequence[float], steps: int = 8) -> list[Point]:
    """The outline of a rounded tube along `path`, with a half-width at each of its points."""
    line = np.asarray(smooth(path, closed=False, steps=steps))
    half = np.interp(np.linspace(0, 1, len(line)), np.linspace(0, 1, len(widths)), widths)
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-6)[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], 1) * half[:, None]
    cap = [tuple(line[-1] + along[-1] * half[-1] * cos(a) + across[-1] * sin(a)) for a in np.linspace(1.3, -1.3, 13)]
    tail = [tuple(line[0] - along[0] * half[0] * cos(a) - across[0] * sin(a)) for a in np.linspace(1.3, -1.3, 13)]
    return [tuple(q) for q in line + across] + cap + [tuple(q) for q in (line - across)[::-1]] + tail


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a thing's own coordinates lie on the picture: origin, pixels per unit, turn in radians, mirrored or not."""

    x: float
    y: float
    unit: float
    turn: float = 0.0
    mirrored: bool = False

    def at(self, u: float, v: float) -> Point:
        """One point."""
        if self.mirrored:
            u = -u
        c, s = cos(self.turn), sin(self.turn)
        return self.x + self.unit * (c * u - s * v), self.y + self.unit * (s * u + c * v)

    def all(self, points: Sequence[Point]) -> list[Point]:
        """Many points."""
        return [self.at(u, v) for u, v in points]

    def inside(self, u: float, v: float, unit: float = 1.0, turn: float = 0.0) -> Frame:
        """A frame whose origin is a point of this one."""
        x, y = self.at(u, v)
        return Frame(x, y, self.unit * unit, self.turn + (-turn if self.mirrored else turn), self.mirrored)


def _blurred(mask: Pixels, radius: float) -> Pixels:
    """Gaussian blur of a mask in 0..1."""
    if radius < 0.3:
        return mask
    image = Image.fromarray((mask * 255).astype(np.uint8)).filter(ImageFilter.GaussianBlur(float(radius)))
    return np.asarray(image, dtype=np.float32) / 255


class Canvas:
    """The picture being drawn: `px` is height by width by 3, float32 in 0..1."""

    def __init__(self, width: int, height: int, colour: Colour = (0.8, 0.8, 0.8)) -> None:
        self.width, self.height = width, height
        self.px: Pixels = np.empty((height, width, 3), np.float32)
        self.px[:] = colour

    def _box(self, points: Sequence[Point], pad: float) -> tuple[int, int, int, int] | None:
        """The part of the picture that the points and a margin cover, or None outside it."""
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x0, y0 = max(0, floor(min(xs) - pad)), max(0, floor(min(ys) - pad))
        x1, y1 = min(self.width, ceil(max(xs) + pad)), min(self.height, ceil(max(ys) + pad))
        return (x0, y0, x1, y1) if x1 - x0 > 1 and y1 - y0 > 1 else None

    @staticmethod
    def _mask(points: Sequence[Point], box: tuple[int, int, int, int]) -> Pixels:
        """Coverage of a polygon within a box, anti-aliased."""
        x0, y0, x1, y1 = box
        fine = 4 if (x1 - x0) * (y1 - y0) < 60_000 else 2
        image = Image.new("L", ((x1 - x0) * fine, (y1 - y0) * fine))
        ImageDraw.Draw(image).polygon([((x - x0) * fine, (y - y0) * fine) for x, y in points], fill=255)
        return np.asarray(image.reduce(fine), dtype=np.float32) / 255

    def fill(
        self,
        points: Sequence[Point],
        colour: Colour,
        *,
        relief: float = 0.3,
        rim: float = 0.25,
        depth: float = 0.0,
        alpha: float = 1.0,
        shadow: float = 0.0,
        weave: Pixels | None = None,
        soft: float = 0.0,
    ) -> None:
        """A shape. `relief`: how strongly its sides take light and shade; `rim`: how dark its edges; `depth`: how far
        (pixels) the rounding reaches in; `shadow`: what it casts on what is below; `weave`: a pattern over the whole
        picture, multiplied in; `soft`: blur of the edge in pixels."""
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        size = min(max(xs) - min(xs), max(ys) - min(ys))
        depth = depth or max(1.0, size * 0.16)
        box = self._box(points, depth * 2.6 + soft * 2.5)
        if box is None:
            return
        x0, y0, x1, y1 = box
        mask = _blurred(self._mask(points, box), soft)
        high = _blurred(mask, depth)
        part = self.px[y0:y1, x0:x1]
        if shadow:
            drop = max(1, round(depth * 0.35))
            aside = max(1, drop // 2)
            cast = np.zeros_like(high)
            cast[drop:, aside:] = high[:-drop, :-aside]
            part *= 1 - shadow * cast[..., None]
        gy, gx = np.gradient(high)
        slope = -(gx * LIGHT[0] + gy * LIGHT[1]) * depth * 2.2
        shade = 1 + relief * np.clip(slope, -1, 1) - rim * np.clip(1 - high, 0, 1) * 0.9
        paint = np.asarray(colour, np.float32) * shade[..., None]
        if weave is not None:
            paint = paint * weave[y0:y1, x0:x1]
        cover = (mask * alpha)[..., None]
        part += (np.clip(paint, 0, 1) - part) * cover

    def stroke(
        self, points: Sequence[Point], colour: Colour, width: float, *, alpha: float = 1.0, taper: bool = False
    ) -> None:
        """A line of `width` pixels; `taper` thins its ends."""
        if len(points) < 2:
            return
        half = width / 2
        widths = [half * 0.25, half, half * 0.9, half * 0.2] if taper else [half, half]
        self.fill(limb(points, widths, steps=6), colour, relief=0, rim=0, alpha=alpha, depth=1)

    def glow(self, x: float, y: float, rx: float, ry: float, colour: Colour, alpha: float) -> None:
        """A soft spot of colour, strongest in the middle."""
        box = self._box([(x - 2 * rx, y - 2 * ry), (x + 2 * rx, y + 2 * ry)], 0)
        if box is None:
            return
        x0, y0, x1, y1 = box
        v, u = np.mgrid[y0:y1, x0:x1].astype(np.float32)
        cover = alpha * np.exp(-(((u - x) / rx) ** 2 + ((v - y) / ry) ** 2))[..., None]
        part = self.px[y0:y1, x0:x1]
        part += (np.asarray(colour, np.float32) - part) * cover

    def shade(self, points: Sequence[Point], colour: Colour, alpha: float, soft: float) -> None:
        """A soft-edged tint."""
        self.fill(points, colour, relief=0, rim=0, alpha=alpha, soft=soft, depth=1)

    def gradient(self, top: Colour, bottom: Colour, y0: float = 0.0, y1: float = 1.0) -> None:
        """Fill from y0 to y1 (shares of the height) with a vertical gradient."""
        a, b = round(y0 * self.height), round(y1 * self.height)
        share = np.linspace(0, 1, max(b - a, 1), dtype=np.float32)[:, None, None]
        self.px[a:b] = np.asarray(top, np.float32) * (1 - share) + np.asarray(bottom, np.float32) * share

    def blur(self, radius: float) -> None:
        """Put everything drawn so far out of focus."""
        image = Image.fromarray((np.clip(self.px, 0, 1) * 255).astype(np.uint8))
        self.px = np.asarray(image.filter(ImageFilter.GaussianBlur(float(radius))), dtype=np.float32) / 255


def cloud(width: int, height: int, cell: float, rng: np.random.Generator, octaves: int = 3) -> Pixels:
    """Smooth noise about 0, roughly within -1..1, with features of `cell` pixels."""
    total = np.zeros((height, width), np.float32)
    for octave in range(octaves):
        size = max(cell / 2**octave, 1)
        grid = rng.uniform(-1, 1, (max(2, ceil(height / size) + 1), max(2, ceil(width / size) + 1)))
        image = Image.fromarray(grid.astype(np.float32)).resize((width, height), Image.Resampling.BICUBIC)
        total += np.asarray(image) / 2**octave
    return total / 1.6

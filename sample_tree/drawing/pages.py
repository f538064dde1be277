"""The backs of photographs, and album pages."""

from __future__ import annotations

import numpy as np
from PIL import Image

from .canvas import Canvas, Colour, Pixels, oval
from .lettering import width_of, write
from .mounts import Kind, Rng, Sheet, card, rounded, sheet_size


def back(kind: Kind, landscape: bool, colour: Colour, rng: Rng) -> Canvas:
    """An empty back."""
    w, h = sheet_size(kind, landscape)
    return card(w, h, colour, rng, 0.8)


def postcard_back(
    kind: Kind, rng: Rng, message: tuple[str, ...], address: tuple[str, ...], postmark: str = "", divided: bool = True
) -> Canvas:
    """The written side of a postcard."""
    canvas = back(kind, True, (0.90, 0.86, 0.77), rng)
    w, h = canvas.width, canvas.height
    ink, print_ink, steady = (0.20, 0.17, 0.26), (0.42, 0.37, 0.33), np.random.default_rng(1)
    write(
        canvas,
        "POST CARD",
        w * 0.5 - width_of("POST CARD", h * 0.06, True) / 2,
        h * 0.12,
        h * 0.06,
        print_ink,
        rng=steady,
        upright=True,
        weight=0.1,
    )
    if divided:
        canvas.stroke([(w * 0.5, h * 0.2), (w * 0.5, h * 0.94)], print_ink, 1.5, alpha=0.7)
    size = h * 0.062
    for i, line in enumerate(message):
        write(canvas, line, w * 0.035, h * (0.28 + 0.115 * i), size, ink, rng=rng, weight=0.065, slope=-0.015)
    for i, line in enumerate(address):
        y = h * (0.52 + 0.125 * i)
        write(canvas, line, w * 0.54, y, size, ink, rng=rng, weight=0.065, slope=-0.01)
        canvas.stroke([(w * 0.53, y + h * 0.025), (w * 0.96, y + h * 0.025)], print_ink, 1.0, alpha=0.4)
    if postmark:
        _postage(canvas, postmark, rng)
    return canvas


def _postage(canvas: Canvas, postmark: str, rng: Rng) -> None:
    """A stamp with a boat, and the circle of a postmark over it."""
    w, h = canvas.width, canvas.height
    x0, y0, sw, sh = w * 0.85, h * 0.06, w * 0.11, h * 0.22
    canvas.fill(
        [(x0, y0), (x0 + sw, y0), (x0 + sw, y0 + sh), (x0, y0 + sh)], (0.93, 0.91, 0.86), relief=0.1, shadow=0.2
    )
    canvas.fill(
        [(x0 + 4, y0 + 4), (x0 + sw - 4, y0 + 4), (x0 + sw - 4, y0 + sh - 4), (x0 + 4, y0 + sh - 4)],
        (0.60, 0.32, 0.28),
        relief=0,
    )
    cx = x0 + sw / 2
    canvas.fill(
        [
            (cx - sw * 0.25, y0 + sh * 0.62),
            (cx + sw * 0.25, y0 + sh * 0.62),
            (cx + sw * 0.16, y0 + sh * 0.75),
            (cx - sw * 0.16, y0 + sh * 0.75),
        ],
        (0.93, 0.88, 0.8),
        relief=0,
    )
    canvas.fill(
        [(cx, y0 + sh * 0.2), (cx + sw * 0.2, y0 + sh * 0.56), (cx, y0 + sh * 0.56)], (0.93, 0.88, 0.8), relief=0
    )
    px, py, r, ink, steady = w * 0.80, h * 0.2, h * 0.135, (0.12, 0.11, 0.12), np.random.default_rng(1)
    for radius in (r, r * 0.7):
        ring = oval(px, py, radius, radius, points=40)
        canvas.stroke([*ring, ring[0]], ink, 2.0, alpha=0.7)
    for line, dy in zip(postmark.split("|"), (-0.5, 0.18, 0.75), strict=False):
        size = min(r * 0.27, r * 1.25 / max(width_of(line, 1.0, True), 1e-3))
        write(
            canvas,
            line,
            px - width_of(line, size, True) / 2,
            py + dy * r * 0.6 + size * 0.3,
            size,
            ink,
            rng=steady,
            upright=True,
            weight=0.12,
            alpha=0.75,
        )
    for i in range(5):
        y = py - r * 0.6 + i * r * 0.3
        canvas.stroke(
            [(px + r, y), (px + r * 1.7, y + 3), (px + r * 2.2, y - 3), (px + r * 2.6, y)], ink, 1.6, alpha=0.55
        )


def album_page(
    pieces: list[tuple[Pixels, Pixels, float, float, float]],
    captions: list[tuple[str, float, float]],
    width: int,
    height: int,
    rng: Rng,
) -> Sheet:
    """A page of black album card with prints held by paper corners: (pixels, cover, left, top, turn in degrees)."""
    canvas = card(width, height, (0.17, 0.165, 0.16), rng, 0.6)
    for px, cover, left, top, turn in pieces:
        image = Image.fromarray((np.clip(px, 0, 1) * 255).astype(np.uint8)).rotate(
            turn, Image.Resampling.BICUBIC, expand=True
        )
        mask = Image.fromarray((np.clip(cover, 0, 1) * 255).astype(np.uint8)).rotate(
            turn, Image.Resampling.BILINEAR, expand=True
        )
        x, y, (w, h) = round(left * width), round(top * height), image.size
        canvas.shade(
            [(x + 3, y + 3), (x + w + 4, y + 3), (x + w + 4, y + h + 4), (x + 3, y + h + 4)], (0, 0, 0), 0.5, 4
        )
        alpha = np.asarray(mask, np.float32)[..., None] / 255
        part = canvas.px[y : y + h, x : x + w]
        part += (np.asarray(image, np.float32) / 255 - part) * alpha
        for cx, cy, sx, sy in ((x, y, 1, 1), (x + w, y, -1, 1), (x, y + h, 1, -1), (x + w, y + h, -1, -1)):
            size = 0.024 * width
            canvas.fill(
                [(cx - sx * 2, cy - sy * 2), (cx + sx * size, cy - sy * 2), (cx - sx * 2, cy + sy * size)],
                (0.11, 0.105, 0.1),
                relief=0.5,
                rim=0.3,
            )
    for words, x, y in captions:
        write(canvas, words, x * width, y * height, height * 0.024, (0.88, 0.87, 0.84), rng=rng, weight=0.08)
    return Sheet(canvas.px, rounded(width, height, 4, rng, 0.6), 0, 0)


def blank_like(canvas: Canvas, rng: Rng, corner: float = 3.0) -> Sheet:
    """A drawn back as an object to scan."""
    return Sheet(canvas.px, rounded(canvas.width, canvas.height, corner, rng, 0.5), 0, 0)

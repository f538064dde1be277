"""The photographer's studio: painted backdrops, curtains, carpets, and the canvas at the fair."""

from __future__ import annotations

from math import sin

import numpy as np

from .canvas import Canvas, Colour, cloud, mix, oval, smooth
from .nature import Rng, draw_floor, draw_tree


def _studio(canvas: Canvas, ground: float, rng: Rng, wall: Colour) -> None:
    """A wall lit from the left, and a carpet."""
    canvas.px[:] = wall
    canvas.glow(
        canvas.width * 0.42,
        canvas.height * 0.4,
        canvas.width * 0.62,
        canvas.height * 0.5,
        mix(wall, (1, 1, 1), 0.45),
        0.8,
    )
    noise = cloud(canvas.width, canvas.height, canvas.width / 3, rng, 3)
    canvas.px *= 1 + 0.07 * noise[..., None]


def _carpet(canvas: Canvas, ground: float, rng: Rng) -> None:
    if ground >= 0.99:
        return
    draw_floor(canvas, ground, (0.46, 0.36, 0.30), (0.56, 0.46, 0.38), rng)
    w, h = canvas.width, canvas.height
    for row in range(4):
        y = h * (ground + (1 - ground) * (0.1 + row * 0.27))
        size = w * (0.035 + 0.02 * row)
        for i in range(-1, 14):
            x = (i + 0.5 * (row % 2)) * size * 2.6
            canvas.fill(oval(x, y, size, size * 0.28), (0.34, 0.22, 0.2), relief=0, rim=0, alpha=0.4, soft=2)
            canvas.fill(oval(x, y, size * 0.45, size * 0.12), (0.7, 0.6, 0.48), relief=0, rim=0, alpha=0.5, soft=1)
    canvas.shade(
        [(0, ground * h - 3), (w, ground * h - 3), (w, ground * h + 6), (0, ground * h + 6)], (0.15, 0.1, 0.08), 0.5, 4
    )


def backdrop_lake(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A painted park with a lake, rather freely done."""
    _studio(canvas, ground, rng, (0.62, 0.60, 0.56))
    w, h = canvas.width, canvas.height
    canvas.fill(
        [(0, h * 0.5), (w * 0.3, h * 0.44), (w * 0.62, h * 0.5), (w, h * 0.42), (w, h * 0.7), (0, h * 0.7)],
        (0.52, 0.52, 0.49),
        soft=w * 0.02,
        relief=0.1,
    )
    canvas.fill(oval(w * 0.6, h * 0.66, w * 0.5, h * 0.05), (0.78, 0.78, 0.76), soft=w * 0.02, relief=0, rim=0)
    draw_tree(canvas, w * 0.06, h * 0.75, h * 0.62, (0.42, 0.42, 0.37), rng)
    draw_tree(canvas, w * 0.95, h * 0.74, h * 0.42, (0.48, 0.48, 0.43), rng)
    canvas.blur(w * 0.012)
    _balustrade(canvas, ground, w * 0.62, w * 1.05)
    canvas.blur(w * 0.003)
    _carpet(canvas, ground, rng)


def _balustrade(canvas: Canvas, ground: float, x0: float, x1: float) -> None:
    """A painted stone railing."""
    h = canvas.height
    top, bottom, stone = h * (ground - 0.2), h * ground, (0.74, 0.72, 0.68)
    step = h * 0.055
    for i in range(int((x1 - x0) / step) + 1):
        x = x0 + i * step
        neck = [(x - step * 0.12, top), (x - step * 0.3, top + (bottom - top) * 0.62), (x - step * 0.15, bottom), (x + step * 0.15, bottom),
                (x + step * 0.3, top + (bottom - top) * 0.62), (x + step * 0.12, top)]  # fmt: skip
        canvas.fill(smooth(neck), stone, relief=0.5, rim=0.35)
    canvas.fill(
        [(x0 - step, top - h * 0.02), (x1, top - h * 0.02), (x1, top + h * 0.012), (x0 - step, top + h * 0.012)],
        stone,
        relief=0.4,
        shadow=0.2,
    )


def backdrop_drape(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A column, a heavy curtain and a distance of hills."""
    _studio(canvas, ground, rng, (0.55, 0.53, 0.51))
    w, h = canvas.width, canvas.height
    canvas.fill(
        [
            (w * 0.3, h * 0.55),
            (w * 0.55, h * 0.4),
            (w * 0.8, h * 0.52),
            (w, h * 0.46),
            (w, h * 0.72),
            (w * 0.3, h * 0.72),
        ],
        (0.6, 0.59, 0.57),
        soft=w * 0.03,
        relief=0,
    )
    canvas.fill(
        [(w * 0.80, -5), (w * 0.94, -5), (w * 0.94, h * ground), (w * 0.80, h * ground)],
        (0.66, 0.63, 0.59),
        relief=0.5,
        rim=0.3,
        depth=w * 0.05,
    )
    canvas.blur(w * 0.01)
    for i in range(7):
        x = w * (-0.03 + 0.045 * i)
        fold = [
            (x, -5),
            (x + w * 0.05, -5),
            (x + w * 0.035, h * 0.3),
            (x - w * 0.04, h * 0.62),
            (x - w * 0.1, h * (ground + 0.02)),
            (x - w * 0.13, h * 0.6),
            (x - w * 0.01, h * 0.28),
        ]
        canvas.fill(smooth(fold), (0.36, 0.24, 0.22), relief=0.6, rim=0.35, soft=1.5)
    canvas.blur(w * 0.003)
    _carpet(canvas, ground, rng)


def backdrop_plain(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A soft graded wall."""
    _studio(canvas, ground, rng, (0.58, 0.56, 0.53) if year < 1915 else (0.66, 0.64, 0.61))
    _carpet(canvas, ground, rng)


def backdrop_fair(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A travelling photographer's canvas: a painted sea, a painted boat."""
    _studio(canvas, ground, rng, (0.5, 0.52, 0.52))
    w, h = canvas.width, canvas.height
    for i in range(9):
        y = h * (0.5 + 0.035 * i)
        wave = [(x, y + sin(x / w * 22 + i * 1.7) * h * 0.008) for x in np.linspace(0, w, 40)]
        canvas.stroke(wave, (0.72, 0.74, 0.74), h * 0.008, alpha=0.6)
    sail = [(w * 0.72, h * 0.2), (w * 0.9, h * 0.46), (w * 0.7, h * 0.47)]
    canvas.fill(sail, (0.78, 0.76, 0.72), relief=0.3)
    canvas.fill(
        smooth([(w * 0.62, h * 0.48), (w * 0.95, h * 0.48), (w * 0.9, h * 0.54), (w * 0.68, h * 0.54)], steps=4),
        (0.3, 0.28, 0.26),
    )
    canvas.blur(w * 0.004)
    draw_floor(canvas, ground, (0.34, 0.29, 0.25), (0.42, 0.37, 0.32), rng, 0.12)

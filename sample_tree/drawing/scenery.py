"""Where the pictures were taken: the studio's painted backdrops, the river, the osier beds, the school, the sea."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sin

import numpy as np

from .canvas import Canvas, Colour, Frame, cloud, mix, oval, smooth
from .lettering import write
from .nature import (
    draw_bricks,
    draw_bushes,
    draw_clouds,
    draw_floor,
    draw_grass,
    draw_house,
    draw_planks,
    draw_tent,
    draw_tree,
    draw_water,
    draw_window,
)
from .props import draw_basket, draw_bundle
from .studio import backdrop_drape, backdrop_fair, backdrop_lake, backdrop_plain

Rng = np.random.Generator
SKY: tuple[Colour, Colour] = ((0.56, 0.70, 0.84), (0.86, 0.90, 0.92))


def draw_place(canvas: Canvas, place: str, ground: float, year: int, rng: Rng) -> None:
    """Draw a place behind the people; `ground` is the height of the far edge of the floor, as a share."""
    PLACES[place](canvas, ground, year, rng)


def _school(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The wall of Pellering's ferry school."""
    draw_bricks(canvas, ground, rng, (0.55, 0.36, 0.29) if year < 1930 else (0.6, 0.44, 0.36))
    w, h = canvas.width, canvas.height
    for x in (0.06, 0.39, 0.72):
        draw_window(canvas, w * x, h * 0.05, w * 0.2, h * 0.3)
    draw_floor(canvas, ground, (0.62, 0.57, 0.49), (0.66, 0.61, 0.53), rng, 0.1)


def _doorway(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The front door of the ferry house, with climbing roses."""
    w, h = canvas.width, canvas.height
    canvas.px[:] = (0.80, 0.77, 0.70)
    canvas.px *= 1 + 0.06 * cloud(w, h, w / 10, rng, 4)[..., None]
    door = [(w * 0.33, h * 0.08), (w * 0.67, h * 0.08), (w * 0.67, h * ground), (w * 0.33, h * ground)]
    canvas.fill(
        [(w * 0.29, h * 0.04), (w * 0.71, h * 0.04), (w * 0.71, h * ground), (w * 0.29, h * ground)],
        (0.68, 0.65, 0.58),
        relief=0.3,
    )
    canvas.fill(door, (0.24, 0.33, 0.3), relief=0.3, rim=0.35)
    for y in (0.14, 0.38):
        for x in (0.37, 0.52):
            canvas.fill(
                [(w * x, h * y), (w * (x + 0.11), h * y), (w * (x + 0.11), h * (y + 0.2)), (w * x, h * (y + 0.2))],
                (0.27, 0.37, 0.33),
                relief=0.4,
                rim=0.4,
            )
    draw_window(canvas, w * 0.02, h * 0.2, w * 0.18, h * 0.26)
    for side in (0.25, 0.75):
        for _ in range(46):
            x, y = w * (side + rng.normal(0, 0.035)), h * rng.uniform(-0.02, ground)
            canvas.fill(
                oval(x, y, w * 0.028, w * 0.018, float(rng.uniform(0, 3))),
                mix((0.3, 0.4, 0.22), (0.6, 0.66, 0.4), float(rng.uniform())),
                relief=0.4,
            )
        for _ in range(12):
            x, y = w * (side + rng.normal(0, 0.04)), h * rng.uniform(0, ground * 0.8)
            canvas.fill(oval(x, y, w * 0.017, w * 0.017), (0.93, 0.78, 0.76), relief=0.5, rim=0.4)
    draw_floor(canvas, ground, (0.58, 0.53, 0.46), (0.64, 0.6, 0.52), rng, 0.1)


def _river(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The Lauve at Pellering, with the far bank and the deck of the rope ferry."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_clouds(canvas, ground * 0.6, rng)
    bank = ground * 0.52
    draw_bushes(canvas, h * bank, h * 0.06, (0.46, 0.52, 0.36), rng)
    for x, size in ((0.035, 0.34), (0.215, 0.22), (0.685, 0.26), (0.985, 0.3)):
        draw_tree(canvas, w * x, h * bank, h * size, (0.44, 0.5, 0.34), rng)
    draw_house(canvas, w * 0.52, h * bank, h * 0.12)
    draw_water(canvas, bank, ground, rng)
    canvas.blur(w * 0.0035)
    draw_planks(canvas, ground, rng)


def _osiers(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The osier beds in March: stools, rods and bolts of cut willow."""
    w, h = canvas.width, canvas.height
    canvas.gradient((0.7, 0.76, 0.8), (0.9, 0.9, 0.87), 0, ground)
    draw_bushes(canvas, h * (ground - 0.06), h * 0.07, (0.5, 0.5, 0.42), rng)
    for _ in range(330):
        x = rng.uniform(-0.02, 1.02) * w
        y = h * (ground + rng.uniform(-0.05, 0.03))
        tall = h * rng.uniform(0.18, 0.36)
        path = [(x, y), (x + rng.normal(0, 0.006) * w, y - tall * 0.5), (x + rng.normal(0, 0.02) * w, y - tall)]
        canvas.stroke(
            smooth(path, closed=False, steps=4),
            mix((0.5, 0.36, 0.2), (0.75, 0.6, 0.36), float(rng.uniform())),
            max(1.2, w * 0.002),
            alpha=0.8,
            taper=True,
        )
    canvas.blur(w * 0.0025)
    draw_floor(canvas, ground, (0.45, 0.39, 0.3), (0.53, 0.48, 0.37), rng, 0.2)
    for _ in range(120):
        x, y = rng.uniform(0, w), h * rng.uniform(ground, 1)
        canvas.stroke(
            [(x, y), (x + rng.normal(0, 0.02) * w, y + rng.normal(0, 0.004) * h)],
            (0.68, 0.58, 0.4),
            max(1.0, w * 0.0018),
            alpha=0.6,
        )


def _yard(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The yard of the basket works: a boarded wall and stacks of baskets."""
    w, h = canvas.width, canvas.height
    boards = max(5, w // 40)
    _y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    tint = rng.uniform(0.82, 1.12, 400)[np.floor(x / boards).astype(int) % 400]
    canvas.px[:] = np.asarray((0.50, 0.43, 0.35), np.float32) * tint[..., None]
    canvas.px *= (1 - 0.35 * (np.mod(x, boards) < 2) + 0.07 * cloud(w, h, w / 12, rng))[..., None]
    sign = [(w * 0.24, h * 0.05), (w * 0.76, h * 0.05), (w * 0.76, h * 0.15), (w * 0.24, h * 0.15)]
    canvas.fill(sign, (0.86, 0.83, 0.74), relief=0.3, shadow=0.3)
    write(canvas, "Quillern Baskets", w * 0.28, h * 0.125, h * 0.058, (0.2, 0.15, 0.12), upright=True, rng=rng)
    for i in range(5):
        draw_bundle(canvas, Frame(w * (0.05 + 0.018 * i), h * (ground + 0.01), h * 0.28), rng)
    canvas.blur(w * 0.002)
    draw_floor(canvas, ground, (0.58, 0.53, 0.45), (0.62, 0.57, 0.49), rng, 0.14)
    for row, count in ((0, 4), (1, 3), (2, 2)):
        for i in range(count):
            draw_basket(
                canvas, Frame(w * (0.80 + 0.062 * i + 0.03 * row), h * (ground + 0.03) - row * h * 0.1, h * 0.26), 0.9
            )


def _beach(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Sandle Point: sea, breakwater, tents."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_clouds(canvas, ground * 0.7, rng)
    sea = ground * 0.62
    draw_water(canvas, sea, ground, rng)
    canvas.fill(
        smooth(
            [
                (w * 0.72, h * sea),
                (w * 0.82, h * (sea - 0.05)),
                (w * 1.05, h * (sea - 0.08)),
                (w * 1.05, h * (sea + 0.01)),
                (w * 0.72, h * (sea + 0.01)),
            ],
            steps=4,
        ),
        (0.55, 0.58, 0.55),
        relief=0.2,
    )
    for i in range(9):
        x = w * (0.04 + 0.028 * i)
        canvas.fill(
            [
                (x, h * (ground - 0.1 + 0.012 * i)),
                (x + w * 0.014, h * (ground - 0.1 + 0.012 * i)),
                (x + w * 0.014, h * (ground + 0.01)),
                (x, h * (ground + 0.01)),
            ],
            (0.36, 0.3, 0.25),
            relief=0.4,
        )
    foam = [(x, h * (ground - 0.005) + sin(x / w * 17) * h * 0.007) for x in np.linspace(0, w, 30)]
    canvas.stroke(foam, (0.96, 0.97, 0.96), h * 0.014, alpha=0.8)
    canvas.blur(w * 0.003)
    draw_floor(canvas, ground, (0.84, 0.76, 0.60), (0.78, 0.71, 0.58), rng, 0.07)
    draw_tent(canvas, w * 0.87, h * (ground + 0.04), h * 0.24)
    for _ in range(60):
        x, y = rng.uniform(0, w), h * rng.uniform(ground + 0.03, 1)
        canvas.fill(oval(x, y, w * 0.004, h * 0.003), (0.6, 0.55, 0.46), relief=0.4)


def _garden(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Lawn, hedge, an apple tree and a flower bed."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_house(canvas, w * 0.2, h * (ground - 0.12), h * 0.2)
    draw_bushes(canvas, h * ground, h * 0.17, (0.36, 0.46, 0.28), rng)
    draw_tree(canvas, w * 0.84, h * (ground + 0.02), h * 0.62, (0.4, 0.52, 0.3), rng)
    canvas.blur(w * 0.0035)
    draw_floor(canvas, ground, (0.47, 0.58, 0.33), (0.56, 0.65, 0.4), rng, 0.1)
    draw_grass(canvas, ground, rng)
    for _ in range(50):
        x, y = rng.uniform(0, w), h * (ground + rng.uniform(-0.025, 0.02))
        tone = ((0.9, 0.4, 0.38), (0.95, 0.83, 0.4), (0.93, 0.9, 0.9), (0.66, 0.5, 0.75))[int(rng.integers(4))]
        canvas.fill(oval(x, y, w * 0.008, w * 0.008), tone, relief=0.4, rim=0.3)


def _orchard(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Port Lissom: young apple trees in rows below hills."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_clouds(canvas, ground * 0.5, rng)
    for level, tone in ((0.3, (0.62, 0.68, 0.72)), (0.38, (0.54, 0.6, 0.56))):
        ridge = [
            (x, h * (ground - level * 0.5 - 0.05 * sin(x / w * 5 + level * 20) - 0.04 * sin(x / w * 11)))
            for x in np.linspace(-5, w + 5, 30)
        ]
        canvas.fill([*ridge, (w + 5, h * ground), (-5, h * ground)], tone, relief=0.1, rim=0.05)
    for row in range(3):
        for i in range(7):
            draw_tree(
                canvas,
                w * (i / 6 + 0.04 * row),
                h * (ground - 0.05 + 0.03 * row),
                h * (0.14 + 0.06 * row),
                (0.42, 0.54, 0.32),
                rng,
            )
    canvas.blur(w * 0.003)
    draw_floor(canvas, ground, (0.56, 0.58, 0.36), (0.62, 0.63, 0.42), rng, 0.12)
    draw_grass(canvas, ground, rng)


def _road(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A road out of town, with poplars."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_clouds(canvas, ground * 0.7, rng)
    draw_bushes(canvas, h * ground, h * 0.1, (0.45, 0.52, 0.34), rng)
    for i in range(6):
        x, tall = w * (0.06 + 0.18 * i), h * (0.42 - 0.03 * abs(i - 2))
        crown = [
            (x, h * ground - tall),
            (x + w * 0.03, h * ground - tall * 0.6),
            (x + w * 0.022, h * ground),
            (x - w * 0.022, h * ground),
            (x - w * 0.03, h * ground - tall * 0.6),
        ]
        canvas.fill(smooth(crown), mix((0.36, 0.44, 0.28), (0.6, 0.62, 0.5), 0.12 * i), relief=0.5, rim=0.3)
    canvas.blur(w * 0.0035)
    draw_floor(canvas, ground, (0.62, 0.58, 0.51), (0.68, 0.64, 0.56), rng, 0.1)
    canvas.fill(
        [(0, h * ground), (w, h * ground), (w, h * (ground + 0.05)), (0, h * (ground + 0.07))],
        (0.52, 0.57, 0.38),
        relief=0.1,
        soft=3,
    )


def _bridge(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The bridge of 1931, which ended the ferry."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    draw_clouds(canvas, ground * 0.6, rng)
    bank = ground * 0.72
    draw_bushes(canvas, h * bank, h * 0.07, (0.45, 0.52, 0.34), rng)
    draw_water(canvas, bank, ground, rng)
    stone, deck = (0.50, 0.46, 0.41), h * bank * 0.62
    for i in range(3):
        x0, x1 = w * (-0.1 + 0.4 * i), w * (0.3 + 0.4 * i)
        arch = [
            (
                x0 + (x1 - x0) * (0.5 - 0.5 * np.cos(pi * k / 16)),
                h * (bank + 0.03) - np.sin(pi * k / 16) * (h * bank - deck) * 0.9,
            )
            for k in range(17)
        ]
        canvas.fill([(x0, deck - h * 0.01), (x1, deck - h * 0.01), *reversed(arch)], stone, relief=0.25)
        canvas.fill(
            [
                (x0 - w * 0.025, deck),
                (x0 + w * 0.025, deck),
                (x0 + w * 0.03, h * (bank + 0.06)),
                (x0 - w * 0.03, h * (bank + 0.06)),
            ],
            mix(stone, (0, 0, 0), 0.08),
            relief=0.4,
        )
    canvas.fill(
        [(0, deck - h * 0.045), (w, deck - h * 0.045), (w, deck), (0, deck)],
        mix(stone, (1, 1, 1), 0.12),
        relief=0.3,
        shadow=0.2,
    )
    if year < 1935:
        for i in range(24):
            x = w * i / 23
            flag = [(x, deck - h * 0.1), (x + w * 0.022, deck - h * 0.085), (x, deck - h * 0.07)]
            canvas.fill(flag, ((0.8, 0.35, 0.3), (0.95, 0.9, 0.8), (0.35, 0.45, 0.6))[i % 3], relief=0.2)
    canvas.blur(w * 0.003)
    draw_floor(canvas, ground, (0.5, 0.54, 0.36), (0.58, 0.6, 0.42), rng, 0.12)
    draw_grass(canvas, ground, rng)


def _parlour(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A sitting room: wallpaper, a lamp, a picture of the ferry."""
    w, h = canvas.width, canvas.height
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    gap = w / 15
    u, v = np.mod(x + np.floor(y / gap) % 2 * gap / 2, gap) - gap / 2, np.mod(y, gap) - gap / 2
    paper = np.where(
        (np.hypot(u, v * 0.8) < gap * 0.2)[..., None],
        np.asarray((0.80, 0.56, 0.40), np.float32),
        np.asarray((0.86, 0.77, 0.58), np.float32),
    )
    canvas.px[:] = np.where(
        (np.hypot(u, v * 0.8) < gap * 0.1)[..., None], np.asarray((0.45, 0.5, 0.36), np.float32), paper
    )
    frame = [(w * 0.1, h * 0.08), (w * 0.36, h * 0.08), (w * 0.36, h * 0.3), (w * 0.1, h * 0.3)]
    canvas.fill(frame, (0.42, 0.28, 0.16), relief=0.4, shadow=0.3)
    canvas.fill(
        [(w * 0.12, h * 0.1), (w * 0.34, h * 0.1), (w * 0.34, h * 0.28), (w * 0.12, h * 0.28)],
        (0.6, 0.68, 0.72),
        relief=0.1,
    )
    canvas.fill(
        [(w * 0.12, h * 0.22), (w * 0.34, h * 0.22), (w * 0.34, h * 0.28), (w * 0.12, h * 0.28)],
        (0.4, 0.46, 0.4),
        relief=0.1,
    )
    canvas.fill(
        smooth([(w * 0.8, h * 0.16), (w * 0.9, h * 0.16), (w * 0.95, h * 0.34), (w * 0.75, h * 0.34)], steps=3),
        (0.95, 0.85, 0.6),
        relief=0.3,
    )
    canvas.glow(w * 0.85, h * 0.3, w * 0.3, h * 0.3, (1, 0.93, 0.7), 0.45)
    canvas.stroke([(w * 0.85, h * 0.34), (w * 0.85, h * ground)], (0.3, 0.22, 0.16), w * 0.012)
    canvas.blur(w * 0.003)
    draw_floor(canvas, ground, (0.5, 0.3, 0.24), (0.56, 0.36, 0.28), rng, 0.08)


PLACES: dict[str, Callable[[Canvas, float, int, Rng], None]] = {
    "lake": backdrop_lake, "drape": backdrop_drape, "plain": backdrop_plain, "fair": backdrop_fair, "school": _school, "doorway": _doorway,
    "river": _river, "osiers": _osiers, "yard": _yard, "beach": _beach, "garden": _garden, "orchard": _orchard, "road": _road, "bridge": _bridge,
    "parlour": _parlour,
}  # fmt: skip

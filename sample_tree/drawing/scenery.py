"""Where the pictures were taken: the studio's painted backdrops, the river, the osier beds, the school, the sea."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sin

import numpy as np

from .canvas import Canvas, Colour, Frame, cloud, mix, oval, smooth
from .lettering import write

Rng = np.random.Generator
SKY: tuple[Colour, Colour] = ((0.56, 0.70, 0.84), (0.86, 0.90, 0.92))


def draw_place(canvas: Canvas, place: str, ground: float, year: int, rng: Rng) -> None:
    """Draw a place behind the people; `ground` is the height of the far edge of the floor, as a share."""
    PLACES[place](canvas, ground, year, rng)


def _floor(canvas: Canvas, ground: float, near: Colour, far: Colour, rng: Rng, rough: float = 0.06) -> None:
    if ground >= 0.99:
        return
    canvas.gradient(far, near, ground, 1.0)
    y0 = round(ground * canvas.height)
    noise = cloud(canvas.width, canvas.height - y0, canvas.width / 14, rng, 4)
    canvas.px[y0:] *= 1 + rough * noise[..., None]


def _tree(canvas: Canvas, x: float, y: float, size: float, colour: Colour, rng: Rng, bare: bool = False) -> None:
    """A tree standing at (x, y) pixels, `size` pixels high."""
    trunk = [(x, y), (x + size * 0.02, y - size * 0.4), (x - size * 0.02, y - size * 0.75)]
    canvas.stroke(smooth(trunk, closed=False), (0.3, 0.24, 0.18), size * 0.06)
    if bare:
        return
    for _ in range(16):
        a, r = rng.uniform(0, 2 * pi), rng.uniform(0, 0.24) * size
        cx, cy = x + r * np.cos(a) * 1.1, y - size * 0.68 + r * np.sin(a)
        tone = mix(colour, (0.95, 0.95, 0.75) if cy < y - size * 0.7 else (0.1, 0.12, 0.08), float(rng.uniform(0, 0.3)))
        canvas.fill(
            oval(cx, cy, size * rng.uniform(0.1, 0.17), size * rng.uniform(0.08, 0.13)),
            tone,
            relief=0.45,
            rim=0.3,
            soft=size * 0.01,
        )


def _bushes(canvas: Canvas, y: float, high: float, colour: Colour, rng: Rng) -> None:
    """A hedge along the whole width."""
    for _ in range(70):
        x = rng.uniform(-0.05, 1.05) * canvas.width
        cy = y - rng.uniform(0, high)
        tone = mix(colour, (0.9, 0.92, 0.7) if cy < y - high * 0.5 else (0.1, 0.12, 0.08), float(rng.uniform(0, 0.28)))
        canvas.fill(
            oval(x, cy, high * rng.uniform(0.25, 0.45), high * rng.uniform(0.2, 0.32)), tone, relief=0.4, rim=0.3
        )


def _clouds(canvas: Canvas, ground: float, rng: Rng) -> None:
    y1 = round(ground * canvas.height)
    noise = np.clip(cloud(canvas.width, max(y1, 2), canvas.width / 3, rng, 4) * 1.1 - 0.1, 0, 1)[..., None]
    canvas.px[:y1] += (np.asarray((0.97, 0.97, 0.96), np.float32) - canvas.px[:y1]) * noise[: canvas.px[:y1].shape[0]]


def _grass(canvas: Canvas, ground: float, rng: Rng, count: int = 260) -> None:
    for _ in range(count):
        depth = rng.uniform(0, 1) ** 0.7
        x, y = rng.uniform(0, canvas.width), (ground + (1 - ground) * depth) * canvas.height
        long = canvas.height * 0.012 * (0.4 + depth)
        tone = mix((0.42, 0.5, 0.28), (0.75, 0.76, 0.5), float(rng.uniform()))
        canvas.stroke(
            [(x, y), (x + rng.uniform(-0.6, 0.6) * long, y - long)], tone, max(1.0, canvas.height * 0.0016), alpha=0.6
        )


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
    _floor(canvas, ground, (0.46, 0.36, 0.30), (0.56, 0.46, 0.38), rng)
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


def _backdrop_lake(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
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
    _tree(canvas, w * 0.06, h * 0.75, h * 0.62, (0.42, 0.42, 0.37), rng)
    _tree(canvas, w * 0.95, h * 0.74, h * 0.42, (0.48, 0.48, 0.43), rng)
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


def _backdrop_drape(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
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


def _backdrop_plain(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A soft graded wall."""
    _studio(canvas, ground, rng, (0.58, 0.56, 0.53) if year < 1915 else (0.66, 0.64, 0.61))
    _carpet(canvas, ground, rng)


def _fair(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
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
    _floor(canvas, ground, (0.34, 0.29, 0.25), (0.42, 0.37, 0.32), rng, 0.12)


def _bricks(canvas: Canvas, bottom: float, rng: Rng, colour: Colour = (0.56, 0.36, 0.29)) -> None:
    w, h = canvas.width, round(canvas.height * bottom)
    course = max(6.0, canvas.height / 34)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    row = np.floor(y / course)
    u = np.mod(x + (row % 2) * course * 1.2, course * 2.4)
    joint = (np.mod(y, course) < course * 0.13) | (u < course * 0.13)
    number = (row * 131 + np.floor((x + (row % 2) * course * 1.2) / (course * 2.4)) * 71).astype(int)
    tint = rng.uniform(0.82, 1.14, 4096)[number % 4096]
    wall = np.asarray(colour, np.float32) * tint[..., None]
    wall[joint] = (0.70, 0.66, 0.6)
    canvas.px[:h] = wall * (1 + 0.06 * cloud(w, h, w / 8, rng)[..., None])


def _window(canvas: Canvas, x: float, y: float, wide: float, high: float) -> None:
    canvas.fill(
        [
            (x - wide * 0.08, y - high * 0.06),
            (x + wide * 1.08, y - high * 0.06),
            (x + wide * 1.08, y + high * 1.06),
            (x - wide * 0.08, y + high * 1.06),
        ],
        (0.86, 0.84, 0.8),
        relief=0.3,
    )
    canvas.fill([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], (0.24, 0.27, 0.29), relief=0.2, rim=0.4)
    canvas.fill(
        [(x + wide * 0.05, y + high * 0.02), (x + wide * 0.5, y + high * 0.02), (x + wide * 0.1, y + high * 0.6)],
        (0.5, 0.55, 0.58),
        relief=0,
        rim=0,
        alpha=0.5,
    )
    for i in (1, 2):
        canvas.stroke([(x + wide * i / 3, y), (x + wide * i / 3, y + high)], (0.86, 0.84, 0.8), wide * 0.05)
    for i in (1, 2, 3):
        canvas.stroke([(x, y + high * i / 4), (x + wide, y + high * i / 4)], (0.86, 0.84, 0.8), wide * 0.05)


def _school(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The wall of Pellering's ferry school."""
    _bricks(canvas, ground, rng, (0.55, 0.36, 0.29) if year < 1930 else (0.6, 0.44, 0.36))
    w, h = canvas.width, canvas.height
    for x in (0.06, 0.39, 0.72):
        _window(canvas, w * x, h * 0.05, w * 0.2, h * 0.3)
    _floor(canvas, ground, (0.62, 0.57, 0.49), (0.66, 0.61, 0.53), rng, 0.1)


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
    _window(canvas, w * 0.02, h * 0.2, w * 0.18, h * 0.26)
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
    _floor(canvas, ground, (0.58, 0.53, 0.46), (0.64, 0.6, 0.52), rng, 0.1)


def _river(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The Lauve at Pellering, with the far bank and the deck of the rope ferry."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    _clouds(canvas, ground * 0.6, rng)
    bank = ground * 0.52
    _bushes(canvas, h * bank, h * 0.06, (0.46, 0.52, 0.36), rng)
    for x, size in ((0.12, 0.3), (0.3, 0.2), (0.78, 0.34), (0.92, 0.24)):
        _tree(canvas, w * x, h * bank, h * size, (0.44, 0.5, 0.34), rng)
    _house(canvas, w * 0.52, h * bank, h * 0.12)
    _water(canvas, bank, ground, rng)
    canvas.blur(w * 0.0035)
    _planks(canvas, ground, rng)


def _house(canvas: Canvas, x: float, y: float, size: float) -> None:
    canvas.fill(
        [(x - size, y), (x - size, y - size * 0.7), (x + size, y - size * 0.7), (x + size, y)],
        (0.84, 0.8, 0.72),
        relief=0.3,
    )
    canvas.fill(
        [
            (x - size * 1.12, y - size * 0.66),
            (x - size * 0.7, y - size * 1.3),
            (x + size * 0.7, y - size * 1.3),
            (x + size * 1.12, y - size * 0.66),
        ],
        (0.5, 0.34, 0.28),
        relief=0.3,
    )
    for dx in (-0.6, 0.05, 0.55):
        canvas.fill(
            [
                (x + dx * size, y - size * 0.5),
                (x + (dx + 0.22) * size, y - size * 0.5),
                (x + (dx + 0.22) * size, y - size * 0.2),
                (x + dx * size, y - size * 0.2),
            ],
            (0.25, 0.27, 0.28),
            relief=0,
        )
    canvas.fill(
        [
            (x + size * 0.35, y - size * 1.15),
            (x + size * 0.5, y - size * 1.15),
            (x + size * 0.5, y - size * 1.55),
            (x + size * 0.35, y - size * 1.55),
        ],
        (0.5, 0.36, 0.3),
    )


def _water(canvas: Canvas, top: float, bottom: float, rng: Rng) -> None:
    w, h = canvas.width, canvas.height
    canvas.gradient((0.62, 0.70, 0.72), (0.42, 0.52, 0.55), top, bottom)
    for _ in range(150):
        depth = rng.uniform(0, 1)
        y, x = h * (top + (bottom - top) * depth), rng.uniform(0, w)
        long = w * (0.01 + 0.05 * depth) * rng.uniform(0.5, 1.5)
        tone = (0.86, 0.9, 0.9) if rng.uniform() < 0.55 else (0.3, 0.38, 0.38)
        canvas.stroke(
            [(x - long, y), (x, y + 1.5), (x + long, y)],
            tone,
            max(1.0, h * 0.0025 * (0.5 + depth)),
            alpha=0.4,
            taper=True,
        )


def _planks(canvas: Canvas, ground: float, rng: Rng) -> None:
    w, h = canvas.width, canvas.height
    _floor(canvas, ground, (0.52, 0.45, 0.37), (0.6, 0.54, 0.46), rng, 0.12)
    for i in range(-6, 22):
        x = w * i / 14
        canvas.stroke(
            [(w * 0.5 + (x - w * 0.5) * 0.8, h * ground), (w * 0.5 + (x - w * 0.5) * 1.5, h)],
            (0.25, 0.2, 0.16),
            max(1.0, w * 0.0025),
            alpha=0.6,
        )
    canvas.fill(
        [(0, h * (ground - 0.02)), (w, h * (ground - 0.02)), (w, h * (ground + 0.015)), (0, h * (ground + 0.015))],
        (0.38, 0.31, 0.25),
        relief=0.4,
        shadow=0.3,
    )


def _osiers(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """The osier beds in March: stools, rods and bolts of cut willow."""
    w, h = canvas.width, canvas.height
    canvas.gradient((0.7, 0.76, 0.8), (0.9, 0.9, 0.87), 0, ground)
    _bushes(canvas, h * (ground - 0.06), h * 0.07, (0.5, 0.5, 0.42), rng)
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
    _floor(canvas, ground, (0.45, 0.39, 0.3), (0.53, 0.48, 0.37), rng, 0.2)
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
    from .props import draw_basket, draw_bundle

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
    _floor(canvas, ground, (0.58, 0.53, 0.45), (0.62, 0.57, 0.49), rng, 0.14)
    for row, count in ((0, 4), (1, 3), (2, 2)):
        for i in range(count):
            draw_basket(
                canvas, Frame(w * (0.80 + 0.062 * i + 0.03 * row), h * (ground + 0.03) - row * h * 0.1, h * 0.26), 0.9
            )


def _beach(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Sandle Point: sea, breakwater, tents."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    _clouds(canvas, ground * 0.7, rng)
    sea = ground * 0.62
    _water(canvas, sea, ground, rng)
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
    _floor(canvas, ground, (0.84, 0.76, 0.60), (0.78, 0.71, 0.58), rng, 0.07)
    _tent(canvas, w * 0.87, h * (ground + 0.04), h * 0.24)
    for _ in range(60):
        x, y = rng.uniform(0, w), h * rng.uniform(ground + 0.03, 1)
        canvas.fill(oval(x, y, w * 0.004, h * 0.003), (0.6, 0.55, 0.46), relief=0.4)


def _tent(canvas: Canvas, x: float, y: float, size: float) -> None:
    """A striped bathing tent."""
    for i in range(6):
        a, b = -0.5 + i / 6, -0.5 + (i + 1) / 6
        tone = (0.93, 0.91, 0.86) if i % 2 else (0.66, 0.34, 0.3)
        canvas.fill(
            [
                (x + a * size * 0.7, y - size * 0.7),
                (x + b * size * 0.7, y - size * 0.7),
                (x + b * size, y),
                (x + a * size, y),
            ],
            tone,
            relief=0.15,
        )
        canvas.fill(
            [(x, y - size * 1.05), (x + b * size * 0.72, y - size * 0.68), (x + a * size * 0.72, y - size * 0.68)],
            mix(tone, (0, 0, 0), 0.12),
            relief=0.15,
        )


def _garden(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Lawn, hedge, an apple tree and a flower bed."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    _house(canvas, w * 0.2, h * (ground - 0.12), h * 0.2)
    _bushes(canvas, h * ground, h * 0.17, (0.36, 0.46, 0.28), rng)
    _tree(canvas, w * 0.84, h * (ground + 0.02), h * 0.62, (0.4, 0.52, 0.3), rng)
    canvas.blur(w * 0.0035)
    _floor(canvas, ground, (0.47, 0.58, 0.33), (0.56, 0.65, 0.4), rng, 0.1)
    _grass(canvas, ground, rng)
    for _ in range(50):
        x, y = rng.uniform(0, w), h * (ground + rng.uniform(-0.025, 0.02))
        tone = ((0.9, 0.4, 0.38), (0.95, 0.83, 0.4), (0.93, 0.9, 0.9), (0.66, 0.5, 0.75))[int(rng.integers(4))]
        canvas.fill(oval(x, y, w * 0.008, w * 0.008), tone, relief=0.4, rim=0.3)


def _orchard(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """Port Lissom: young apple trees in rows below hills."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    _clouds(canvas, ground * 0.5, rng)
    for level, tone in ((0.3, (0.62, 0.68, 0.72)), (0.38, (0.54, 0.6, 0.56))):
        ridge = [
            (x, h * (ground - level * 0.5 - 0.05 * sin(x / w * 5 + level * 20) - 0.04 * sin(x / w * 11)))
            for x in np.linspace(-5, w + 5, 30)
        ]
        canvas.fill([*ridge, (w + 5, h * ground), (-5, h * ground)], tone, relief=0.1, rim=0.05)
    for row in range(3):
        for i in range(7):
            _tree(
                canvas,
                w * (i / 6 + 0.04 * row),
                h * (ground - 0.05 + 0.03 * row),
                h * (0.14 + 0.06 * row),
                (0.42, 0.54, 0.32),
                rng,
            )
    canvas.blur(w * 0.003)
    _floor(canvas, ground, (0.56, 0.58, 0.36), (0.62, 0.63, 0.42), rng, 0.12)
    _grass(canvas, ground, rng)


def _road(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A road out of town, with poplars."""
    w, h = canvas.width, canvas.height
    canvas.gradient(*SKY, 0, ground)
    _clouds(canvas, ground * 0.7, rng)
    _bushes(canvas, h * ground, h * 0.1, (0.45, 0.52, 0.34), rng)
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
    _floor(canvas, ground, (0.62, 0.58, 0.51), (0.68, 0.64, 0.56), rng, 0.1)
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
    _clouds(canvas, ground * 0.6, rng)
    bank = ground * 0.72
    _bushes(canvas, h * bank, h * 0.07, (0.45, 0.52, 0.34), rng)
    _water(canvas, bank, ground, rng)
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
    _floor(canvas, ground, (0.5, 0.54, 0.36), (0.58, 0.6, 0.42), rng, 0.12)
    _grass(canvas, ground, rng)


def _parlour(canvas: Canvas, ground: float, year: int, rng: Rng) -> None:
    """A sitting room: wallpaper, a lamp, a picture of the ferry."""
    w, h = canvas.width, canvas.height
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    gap = w / 15
    u, v = np.mod(x + np.floor(y / gap) % 2 * gap / 2, gap) - gap / 2, np.mod(y, gap) - gap / 2
    paper = np.where(
        (np.hypot(u, v * 0.8) < gap * 0.2)[..., None], np.float32((0.80, 0.56, 0.40)), np.float32((0.86, 0.77, 0.58))
    )
    canvas.px[:] = np.where((np.hypot(u, v * 0.8) < gap * 0.1)[..., None], np.float32((0.45, 0.5, 0.36)), paper)
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
    _floor(canvas, ground, (0.5, 0.3, 0.24), (0.56, 0.36, 0.28), rng, 0.08)


PLACES: dict[str, Callable[[Canvas, float, int, Rng], None]] = {
    "lake": _backdrop_lake, "drape": _backdrop_drape, "plain": _backdrop_plain, "fair": _fair, "school": _school, "doorway": _doorway,
    "river": _river, "osiers": _osiers, "yard": _yard, "beach": _beach, "garden": _garden, "orchard": _orchard, "road": _road, "bridge": _bridge,
    "parlour": _parlour,
}  # fmt: skip

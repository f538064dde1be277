"""What places are made of: ground, trees, hedges, clouds, water, and the walls people stand before."""

from __future__ import annotations

from math import pi

import numpy as np

from .canvas import Canvas, Colour, cloud, mix, oval, smooth

Rng = np.random.Generator


def draw_floor(canvas: Canvas, ground: float, near: Colour, far: Colour, rng: Rng, rough: float = 0.06) -> None:
    if ground >= 0.99:
        return
    canvas.gradient(far, near, ground, 1.0)
    y0 = round(ground * canvas.height)
    noise = cloud(canvas.width, canvas.height - y0, canvas.width / 14, rng, 4)
    canvas.px[y0:] *= 1 + rough * noise[..., None]


def draw_tree(canvas: Canvas, x: float, y: float, size: float, colour: Colour, rng: Rng, bare: bool = False) -> None:
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


def draw_bushes(canvas: Canvas, y: float, high: float, colour: Colour, rng: Rng) -> None:
    """A hedge along the whole width."""
    for _ in range(70):
        x = rng.uniform(-0.05, 1.05) * canvas.width
        cy = y - rng.uniform(0, high)
        tone = mix(colour, (0.9, 0.92, 0.7) if cy < y - high * 0.5 else (0.1, 0.12, 0.08), float(rng.uniform(0, 0.28)))
        canvas.fill(
            oval(x, cy, high * rng.uniform(0.25, 0.45), high * rng.uniform(0.2, 0.32)), tone, relief=0.4, rim=0.3
        )


def draw_clouds(canvas: Canvas, ground: float, rng: Rng) -> None:
    y1 = round(ground * canvas.height)
    noise = np.clip(cloud(canvas.width, max(y1, 2), canvas.width / 3, rng, 4) * 1.1 - 0.1, 0, 1)[..., None]
    canvas.px[:y1] += (np.asarray((0.97, 0.97, 0.96), np.float32) - canvas.px[:y1]) * noise[: canvas.px[:y1].shape[0]]


def draw_grass(canvas: Canvas, ground: float, rng: Rng, count: int = 260) -> None:
    for _ in range(count):
        depth = rng.uniform(0, 1) ** 0.7
        x, y = rng.uniform(0, canvas.width), (ground + (1 - ground) * depth) * canvas.height
        long = canvas.height * 0.012 * (0.4 + depth)
        tone = mix((0.42, 0.5, 0.28), (0.75, 0.76, 0.5), float(rng.uniform()))
        canvas.stroke(
            [(x, y), (x + rng.uniform(-0.6, 0.6) * long, y - long)], tone, max(1.0, canvas.height * 0.0016), alpha=0.6
        )


def draw_bricks(canvas: Canvas, bottom: float, rng: Rng, colour: Colour = (0.56, 0.36, 0.29)) -> None:
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


def draw_window(canvas: Canvas, x: float, y: float, wide: float, high: float) -> None:
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


def draw_house(canvas: Canvas, x: float, y: float, size: float) -> None:
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


def draw_water(canvas: Canvas, top: float, bottom: float, rng: Rng) -> None:
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


def draw_planks(canvas: Canvas, ground: float, rng: Rng) -> None:
    w, h = canvas.width, canvas.height
    draw_floor(canvas, ground, (0.52, 0.45, 0.37), (0.6, 0.54, 0.46), rng, 0.12)
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


def draw_tent(canvas: Canvas, x: float, y: float, size: float) -> None:
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

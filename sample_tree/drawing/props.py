"""Things people sit on, hold, push and lean against. A frame's origin is where the thing stands; its unit is 100 cm."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np

from .canvas import Canvas, Colour, Frame, Point, mix, oval, smooth
from .canvas import limb as tube

WOOD: Colour = (0.30, 0.19, 0.12)
WICKER: Colour = (0.70, 0.54, 0.33)
DARK: Colour = (0.06, 0.05, 0.05)


def _bar(canvas: Canvas, f: Frame, path: list[Point], half: float, colour: Colour = WOOD) -> None:
    canvas.fill(f.all(tube(path, [half] * len(path))), colour, relief=0.5, rim=0.3, shadow=0.15)


def draw_chair(canvas: Canvas, f: Frame) -> None:
    """A carved studio chair with a padded back, for somebody to sit on or rest a hand on."""
    for x in (-0.24, 0.24):
        _bar(canvas, f, [(x, 0), (x * 0.98, -0.55), (x, -1.08)], 0.025)
    canvas.fill(
        smooth(
            f.all(
                [(-0.24, -1.02), (-0.15, -1.16), (0, -1.2), (0.15, -1.16), (0.24, -1.02), (0.2, -0.62), (-0.2, -0.62)]
            )
        ),
        (0.42, 0.20, 0.19),
        relief=0.4,
    )
    _bar(canvas, f, [(-0.25, -1.04), (-0.13, -1.18), (0, -1.23), (0.13, -1.18), (0.25, -1.04)], 0.025)
    canvas.fill(oval(*f.at(0, -1.25), f.unit * 0.05, f.unit * 0.04), WOOD, relief=0.7)
    canvas.fill(f.all([(-0.28, -0.46), (0.28, -0.46), (0.31, -0.38), (-0.31, -0.38)]), (0.42, 0.20, 0.19), relief=0.5)
    for x in (-0.28, 0.28):
        _bar(canvas, f, [(x, -0.4), (x * 1.05, 0.03)], 0.025)


def draw_wicker_chair(canvas: Canvas, f: Frame) -> None:
    """A wicker armchair from the family's own workshop."""
    back = [(-0.34, -0.4), (-0.4, -0.85), (-0.25, -1.15), (0, -1.22), (0.25, -1.15), (0.4, -0.85), (0.34, -0.4)]
    canvas.fill(smooth(f.all(back)), WICKER, relief=0.35, rim=0.35, shadow=0.3)
    _weave_lines(canvas, f, (-0.36, -1.12, 0.36, -0.42))
    for side in (-1, 1):
        _bar(canvas, f, [(side * 0.36, -0.72), (side * 0.46, -0.66), (side * 0.44, -0.02)], 0.04, WICKER)
    canvas.fill(f.all([(-0.4, -0.46), (0.4, -0.46), (0.4, -0.12), (-0.4, -0.12)]), mix(WICKER, DARK, 0.2), relief=0.3)
    _weave_lines(canvas, f, (-0.4, -0.45, 0.4, -0.13))


def _weave_lines(canvas: Canvas, f: Frame, box: tuple[float, float, float, float]) -> None:
    """The over and under of willow rods."""
    x0, y0, x1, y1 = box
    rows, columns = max(4, round((y1 - y0) / 0.05)), max(5, round((x1 - x0) / 0.07))
    for r in range(rows):
        y = y0 + (y1 - y0) * (r + 0.5) / rows
        inset = 0.12 * (x1 - x0) * max(0.0, 1 - (y - y0) / max(0.35 * (y1 - y0), 1e-3)) if y1 - y0 > 0.5 else 0
        for c in range(columns):
            a = x0 + inset + (x1 - x0 - 2 * inset) * c / columns
            b = x0 + inset + (x1 - x0 - 2 * inset) * (c + 1) / columns
            if (r + c) % 2:
                canvas.stroke(
                    f.all([(a, y), ((a + b) / 2, y - 0.012), (b, y)]),
                    mix(WICKER, DARK, 0.6),
                    f.unit * 0.012,
                    alpha=0.55,
                )
            else:
                canvas.stroke(
                    f.all([(a, y), ((a + b) / 2, y - 0.01), (b, y)]),
                    mix(WICKER, (1, 1, 1), 0.4),
                    f.unit * 0.016,
                    alpha=0.5,
                )


def draw_basket(canvas: Canvas, f: Frame, size: float = 1.0) -> None:
    """A round willow basket with a handle."""
    g = f.inside(0, 0, size)
    _bar(
        canvas,
        g,
        [(-0.25, -0.3), (-0.18, -0.58), (0, -0.66), (0.18, -0.58), (0.25, -0.3)],
        0.018,
        mix(WICKER, DARK, 0.2),
    )
    canvas.fill(
        smooth(g.all([(-0.27, -0.32), (-0.24, -0.02), (0, 0.03), (0.24, -0.02), (0.27, -0.32), (0, -0.27)]), steps=5),
        WICKER,
        relief=0.45,
        rim=0.35,
        shadow=0.3,
    )
    _weave_lines(canvas, g, (-0.25, -0.3, 0.25, -0.01))
    canvas.stroke(oval(*g.at(0, -0.32), g.unit * 0.27, g.unit * 0.055), mix(WICKER, DARK, 0.25), g.unit * 0.03)


def draw_pram(canvas: Canvas, f: Frame) -> None:
    """A wicker pram with a hood."""
    for x in (-0.36, 0.36):
        for r, w in ((0.2, 0.03), (0.04, 0.04)):
            ring = oval(*f.at(x, -0.2), f.unit * r, f.unit * r)
            canvas.stroke([*ring, ring[0]], (0.16, 0.15, 0.15), f.unit * w)
        for k in range(8):
            canvas.stroke(
                [f.at(x, -0.2), f.at(x + 0.19 * cos(k * pi / 4), -0.2 + 0.19 * sin(k * pi / 4))],
                (0.3, 0.3, 0.3),
                f.unit * 0.01,
            )
    _bar(canvas, f, [(-0.45, -0.38), (0, -0.3), (0.45, -0.38)], 0.02, (0.2, 0.2, 0.2))
    _bar(canvas, f, [(0.48, -0.7), (0.7, -0.95), (0.8, -0.95)], 0.022, (0.25, 0.2, 0.18))
    canvas.fill(
        smooth(
            f.all([(-0.5, -0.82), (-0.52, -0.6), (-0.32, -0.4), (0.32, -0.4), (0.52, -0.62), (0.5, -0.82)]), steps=6
        ),
        WICKER,
        relief=0.4,
        shadow=0.3,
    )
    _weave_lines(canvas, f, (-0.42, -0.78, 0.42, -0.44))


def draw_pram_hood(canvas: Canvas, f: Frame) -> None:
    """Hood and blanket of the pram, in front of the baby."""
    hood = [(-0.52, -0.8), (-0.62, -1.05), (-0.45, -1.25), (-0.2, -1.28), (-0.26, -1.02), (-0.3, -0.8)]
    canvas.fill(smooth(f.all(hood)), (0.2, 0.19, 0.2), relief=0.5, rim=0.3)
    blanket = [(-0.1, -0.86), (0.2, -0.9), (0.52, -0.84), (0.52, -0.74), (0, -0.72), (-0.2, -0.78)]
    canvas.fill(smooth(f.all(blanket)), (0.92, 0.9, 0.86), relief=0.4, shadow=0.2)


def draw_car(canvas: Canvas, f: Frame, year: int, colour: Colour) -> None:
    """A motor car from the side: an open tourer, a saloon of the thirties, or a small family car of the sixties."""
    if year < 1933:
        body = [
            (-1.9, -0.45),
            (-1.85, -0.95),
            (-0.75, -1.0),
            (-0.7, -1.05),
            (0.9, -1.05),
            (1.6, -1.0),
            (1.75, -0.8),
            (1.75, -0.4),
        ]
        roof = [(-0.75, -1.75), (1.5, -1.75), (1.6, -1.66), (-0.8, -1.66)]
        for x in (-0.6, 0.5, 1.45):
            _bar(canvas, f, [(x, -1.0), (x - 0.05, -1.7)], 0.025, (0.2, 0.18, 0.17))
        canvas.fill(f.all(roof), (0.16, 0.15, 0.15), relief=0.4)
    else:
        late = year > 1950
        body = [
            (-2.0, -0.4),
            (-2.0, -0.8),
            (-1.0, -0.95),
            (-0.55, -1.45),
            (0.7, -1.5),
            (1.25, -0.98),
            (1.85, -0.9 if late else -0.6),
            (1.95, -0.4),
        ]
        canvas.fill(smooth(f.all(body), steps=6), colour, relief=0.45, rim=0.25, shadow=0.3)
        for pane in (
            [(-0.75, -0.98), (-0.42, -1.36), (0.02, -1.38), (0.02, -0.98)],
            [(0.12, -0.98), (0.12, -1.38), (0.6, -1.38), (0.95, -0.98)],
        ):
            canvas.fill(f.all(pane), (0.62, 0.68, 0.72), relief=0.2, rim=0.4)
        body = []
    if body:
        canvas.fill(f.all(body), colour, relief=0.45, rim=0.25, shadow=0.3)
        for x in (-0.72, 0.2, 0.95):
            canvas.stroke(f.all([(x, -1.02), (x, -0.45)]), mix(colour, DARK, 0.6), f.unit * 0.02)
    canvas.stroke(f.all([(-1.9, -0.72), (1.85, -0.72)]), mix(colour, (1, 1, 1), 0.35), f.unit * 0.03, alpha=0.7)
    for x in (-1.25, 1.2):
        canvas.fill(oval(*f.at(x, -0.34), f.unit * 0.4, f.unit * 0.4), (0.1, 0.1, 0.1), relief=0.4)
        canvas.fill(oval(*f.at(x, -0.34), f.unit * 0.22, f.unit * 0.22), (0.6, 0.58, 0.55), relief=0.4, rim=0.5)
        if year < 1950:
            guard = [
                (x - 0.5, -0.4),
                (x - 0.32, -0.78),
                (x + 0.1, -0.85),
                (x + 0.5, -0.5),
                (x + 0.42, -0.5),
                (x + 0.05, -0.74),
                (x - 0.3, -0.66),
            ]
            canvas.fill(smooth(f.all(guard), steps=5), mix(colour, DARK, 0.5), relief=0.5)
    canvas.fill(oval(*f.at(-1.95, -0.75), f.unit * 0.1, f.unit * 0.13), (0.86, 0.84, 0.76), relief=0.6, rim=0.4)


def draw_bench(canvas: Canvas, f: Frame) -> None:
    """A slatted bench."""
    for y in (-0.88, -0.72, -0.58):
        _bar(canvas, f, [(-0.95, y), (0.95, y)], 0.05, (0.45, 0.38, 0.3))
    canvas.fill(f.all([(-1, -0.48), (1, -0.48), (1.02, -0.4), (-1.02, -0.4)]), (0.5, 0.43, 0.34), relief=0.4)
    for x in (-0.85, 0.85):
        _bar(canvas, f, [(x, -0.9), (x, 0)], 0.04, (0.25, 0.22, 0.2))


def draw_table(canvas: Canvas, f: Frame, cake: bool = False) -> None:
    """A round table with a cloth, and a cake with candles or a vase."""
    canvas.fill(
        smooth(
            f.all([(-0.55, -0.72), (0, -0.78), (0.55, -0.72), (0.6, -0.1), (0.3, -0.02), (-0.3, -0.02), (-0.6, -0.1)]),
            steps=6,
        ),
        (0.93, 0.91, 0.87),
        relief=0.35,
        shadow=0.3,
    )
    canvas.fill(oval(*f.at(0, -0.73), f.unit * 0.56, f.unit * 0.1), (0.97, 0.96, 0.93), relief=0.2)
    if cake:
        canvas.fill(f.all([(-0.2, -0.9), (0.2, -0.9), (0.2, -0.74), (-0.2, -0.74)]), (0.55, 0.33, 0.2), relief=0.4)
        canvas.fill(oval(*f.at(0, -0.9), f.unit * 0.2, f.unit * 0.045), (0.96, 0.9, 0.88), relief=0.3)
        for i in range(9):
            x = -0.16 + i * 0.04
            canvas.stroke(f.all([(x, -0.9), (x, -0.99)]), (0.85, 0.4, 0.4), f.unit * 0.014)
            canvas.fill(oval(*f.at(x, -1.01), f.unit * 0.012, f.unit * 0.02), (1, 0.85, 0.4), relief=0, rim=0)
        return
    canvas.fill(
        smooth(f.all([(-0.07, -0.78), (-0.09, -0.92), (-0.04, -1.0), (0.04, -1.0), (0.09, -0.92), (0.07, -0.78)])),
        (0.35, 0.4, 0.45),
        relief=0.6,
    )
    rng = np.random.default_rng(5)
    for _ in range(12):
        x, y = rng.normal(0, 0.09), -1.1 + rng.normal(0, 0.07)
        canvas.fill(
            oval(*f.at(x, y), f.unit * 0.05, f.unit * 0.045),
            mix((0.9, 0.85, 0.85), (0.7, 0.3, 0.35), float(rng.uniform())),
            relief=0.5,
            rim=0.4,
        )


def draw_bundle(canvas: Canvas, f: Frame, rng: np.random.Generator, high: float = 1.7) -> None:
    """A bolt of cut willow rods, standing."""
    for _ in range(26):
        x, top = rng.normal(0, 0.09), rng.normal(0, 0.16)
        path = [(x, 0), (x * 0.5, -high * 0.35), (x + top, -high * rng.uniform(0.85, 1.05))]
        tone = mix((0.55, 0.42, 0.24), (0.35, 0.3, 0.18), float(rng.uniform()))
        canvas.stroke(smooth(f.all(path), closed=False), tone, f.unit * 0.022, taper=True)
    for y in (-0.35, -0.8):
        canvas.stroke(f.all([(-0.13, y * high / 1.7), (0.13, y * high / 1.7)]), (0.3, 0.22, 0.12), f.unit * 0.04)


def draw_dog(canvas: Canvas, f: Frame, colour: Colour = (0.35, 0.24, 0.16)) -> None:
    """A small dog, sitting."""
    canvas.fill(
        smooth(f.all([(-0.12, 0), (-0.16, -0.2), (-0.06, -0.36), (0.06, -0.36), (0.16, -0.2), (0.14, 0)])),
        colour,
        relief=0.45,
        shadow=0.3,
    )
    for x in (-0.06, 0.06):
        _bar(canvas, f, [(x, -0.2), (x, -0.01)], 0.032, mix(colour, (1, 1, 1), 0.12))
    canvas.fill(oval(*f.at(0, -0.42), f.unit * 0.11, f.unit * 0.1), colour, relief=0.45)
    for side in (-1, 1):
        canvas.fill(
            smooth(f.all([(side * 0.07, -0.5), (side * 0.15, -0.46), (side * 0.13, -0.34)])),
            mix(colour, DARK, 0.4),
            relief=0.4,
        )
        canvas.fill(oval(*f.at(side * 0.04, -0.44), f.unit * 0.013, f.unit * 0.015), DARK, relief=0, rim=0)
    canvas.fill(oval(*f.at(0, -0.38), f.unit * 0.05, f.unit * 0.042), mix(colour, (1, 1, 1), 0.5), relief=0.4)
    canvas.fill(oval(*f.at(0, -0.4), f.unit * 0.02, f.unit * 0.015), DARK, relief=0.3)


def draw_pillar(canvas: Canvas, f: Frame) -> None:
    """A plaster half-column to lean on."""
    canvas.fill(
        f.all([(-0.14, -0.95), (0.14, -0.95), (0.14, -0.1), (-0.14, -0.1)]), (0.8, 0.77, 0.71), relief=0.5, shadow=0.25
    )
    for x in (-0.08, 0, 0.08):
        canvas.stroke(f.all([(x, -0.92), (x, -0.12)]), (0.55, 0.52, 0.47), f.unit * 0.015, alpha=0.6)
    for y, w in ((-1.0, 0.22), (-0.06, 0.2)):
        canvas.fill(
            f.all([(-w, y - 0.06), (w, y - 0.06), (w * 0.9, y + 0.06), (-w * 0.9, y + 0.06)]),
            (0.84, 0.81, 0.75),
            relief=0.5,
            shadow=0.2,
        )


def draw_rope(canvas: Canvas, f: Frame, span: float = 4.0) -> None:
    """The ferry's rope."""
    path = [(-span, -1.12), (0, -1.02), (span, -1.14)]
    canvas.stroke(smooth(f.all(path), closed=False), (0.35, 0.28, 0.2), f.unit * 0.035)


PROPS = {
    "chair": draw_chair, "wicker chair": draw_wicker_chair, "basket": draw_basket, "pram": draw_pram, "pram hood": draw_pram_hood, "bench": draw_bench,
    "table": draw_table, "dog": draw_dog, "pillar": draw_pillar, "rope": draw_rope,
}  # fmt: skip

"""What is pinned to clothes or tied over them: brooches, beads, sashes, aprons, shawls, flowers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .canvas import Canvas, Frame, Point, mix, oval, smooth
from .dress import WHITE, Outfit
from .garments import DARK, cardigan_of

if TYPE_CHECKING:
    from .body import Body


def draw_trims(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """Everything that is pinned or tied on, the undermost first."""
    for name, draw in TRIMS.items():
        if name in o.trims:
            draw(canvas, frame, o, body)


def _apron(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """An apron or a pinafore with its bib."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    u = frame.unit
    low = body.knee_y if not body.sits else body.knee_y + 0.3
    bib = [
        (-s * 0.5, sy + 0.25),
        (s * 0.5, sy + 0.25),
        (body.waist, wy),
        (0.72, low),
        (0, low + 0.1),
        (-0.72, low),
        (-body.waist, wy),
    ]
    canvas.fill(frame.all(bib), (0.92, 0.90, 0.86), relief=0.3, rim=0.25, shadow=0.2)
    for side in (-1, 1):
        canvas.stroke(frame.all([(side * s * 0.45, sy + 0.3), (side * s * 0.6, sy)]), (0.92, 0.90, 0.86), u * 0.12)


def _sash(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A sash with a hanging end."""
    u = frame.unit
    at = {"drop": body.hip_y - 0.12, "high": body.waist_y - 0.33}.get(o.waist, body.waist_y)
    canvas.stroke(frame.all([(-body.waist * 1.1, at), (body.waist * 1.1, at)]), o.accent, u * 0.15)
    canvas.fill(
        smooth(frame.all([(0.3, at), (0.5, at + 0.12), (0.52, at + 0.55), (0.36, at + 0.5)]), steps=4),
        o.accent,
        relief=0.4,
    )


def _belt(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A belt and its buckle."""
    wy = body.waist_y
    u = frame.unit
    canvas.stroke(
        frame.all([(-body.waist * 1.06, wy + 0.03), (body.waist * 1.06, wy + 0.03)]),
        mix(o.main, DARK, 0.7),
        u * 0.11,
    )
    canvas.fill(
        frame.all([(-0.06, wy - 0.03), (0.06, wy - 0.03), (0.06, wy + 0.09), (-0.06, wy + 0.09)]),
        (0.75, 0.68, 0.5),
        relief=0.5,
    )


def _cardigan(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """An open cardigan."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    for side in (-1, 1):
        half = [
            (side * 0.17, sy - 0.1),
            (side * s * 0.8, sy + 0.02),
            (side * s * 0.9, sy + 0.6),
            (side * body.waist * 1.15, wy + 0.35),
            (side * 0.26, wy + 0.38),
            (side * 0.13, sy + 0.5),
        ]
        canvas.fill(smooth(frame.all(half), steps=4), cardigan_of(o), relief=0.3, rim=0.3, shadow=0.15)


def _shawl(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A dark shawl."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    for side in (-1, 1):
        half = [
            (side * 0.15, sy - 0.14),
            (side * s * 0.8, sy + 0.0),
            (side * (s + 0.1), sy + 0.55),
            (side * 0.35, wy + 0.1),
            (0, wy - 0.1),
            (side * 0.02, sy + 0.2),
        ]
        canvas.fill(smooth(frame.all(half), steps=4), (0.30, 0.26, 0.25), relief=0.4, rim=0.35, shadow=0.2)


def _brooch(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A brooch at the throat."""
    sy = body.shoulder_y
    u = frame.unit
    canvas.fill(oval(*frame.at(0, sy + 0.04), u * 0.065, u * 0.055), (0.86, 0.78, 0.6), relief=0.7, rim=0.4)


def _beads(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A long string of beads, or a short one of pearls."""
    sy = body.shoulder_y
    u = frame.unit
    deep = 0.75 if "beads" in o.trims else 0.28
    for i in range(17):
        x = (i / 16 * 2 - 1) * 0.24
        y = sy - 0.1 + deep * (1 - (x / 0.24) ** 2) ** 0.6
        canvas.fill(oval(*frame.at(x, y), u * 0.028, u * 0.028), (0.9, 0.88, 0.84), relief=0.6, rim=0.3)


def _watch(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A watch chain."""
    wy = body.waist_y
    u = frame.unit
    canvas.stroke(
        smooth(frame.all([(-0.3, wy - 0.14), (-0.1, wy - 0.02), (0.05, wy - 0.14)]), closed=False),
        (0.85, 0.76, 0.5),
        u * 0.025,
    )


def _flower(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A flower in the buttonhole."""
    s = body.shoulder
    sy = body.shoulder_y
    u = frame.unit
    canvas.fill(oval(*frame.at(s * 0.45, sy + 0.3), u * 0.07, u * 0.07), WHITE, relief=0.5, rim=0.4)


def _strap(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A leather strap across the chest."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    u = frame.unit
    canvas.stroke(frame.all([(s * 0.6, sy), (-body.waist, wy)]), (0.25, 0.17, 0.11), u * 0.08)


def _fur(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A fur collar."""
    sy = body.shoulder_y
    u = frame.unit
    collar = [
        (-0.35, sy + 0.4),
        (-0.45, sy),
        (-0.2, sy - 0.18),
        (0, sy - 0.02),
        (0.2, sy - 0.18),
        (0.45, sy),
        (0.35, sy + 0.4),
        (0, sy + 0.7),
    ]
    canvas.fill(smooth(frame.all(collar)), (0.35, 0.27, 0.2), relief=0.5, rim=0.5, soft=u * 0.02)


def _bouquet(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """A bouquet held in front."""
    wy = body.waist_y
    draw_bouquet(canvas, frame, (0, wy + 0.3), 0.42)


def draw_bouquet(canvas: Canvas, frame: Frame, at: Point, size: float) -> None:
    """An armful of flowers and leaves."""
    rng = np.random.default_rng(3)
    for _ in range(14):
        x, y = rng.normal(0, size * 0.55), rng.normal(0.15, size * 0.5)
        leaf = oval(*frame.at(at[0] + x, at[1] + y), frame.unit * 0.16, frame.unit * 0.05, float(rng.uniform(0, 3)))
        canvas.fill(leaf, (0.36, 0.45, 0.28), relief=0.4, rim=0.3)
    for _ in range(16):
        x, y = rng.normal(0, size * 0.42), rng.normal(0, size * 0.4)
        tone = mix((0.96, 0.94, 0.9), (0.92, 0.72, 0.7), float(rng.uniform(0, 0.7)))
        canvas.fill(
            oval(*frame.at(at[0] + x, at[1] + y), frame.unit * 0.09, frame.unit * 0.085),
            tone,
            relief=0.5,
            rim=0.5,
            shadow=0.2,
        )
        canvas.fill(
            oval(*frame.at(at[0] + x, at[1] + y), frame.unit * 0.035, frame.unit * 0.03),
            mix(tone, (0.6, 0.35, 0.3), 0.4),
            relief=0.2,
        )


TRIMS = {
    "apron": _apron,
    "pinafore": _apron,
    "sash": _sash,
    "belt": _belt,
    "cardigan": _cardigan,
    "shawl": _shawl,
    "brooch": _brooch,
    "beads": _beads,
    "pearls": _beads,
    "watch": _watch,
    "flower": _flower,
    "strap": _strap,
    "fur": _fur,
    "bouquet": _bouquet,
}

"""How people wore their hair, decade by decade.

Coordinates are those of a head: its height is 1, (0, 0) the middle of the face, chin at 0.5, crown at -0.5. A style is an
upper edge and a hairline, both from left to right.
"""

from __future__ import annotations

from dataclasses import dataclass

from .canvas import Canvas, Colour, Frame, Point, mix, oval, smooth

Edge = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Style:
    """`top` edge and `line` (hairline) from left to right."""

    top: Edge
    line: Edge
    curls: tuple[tuple[float, float, float], ...] = ()
    """Round curls in front: x, y, radius."""


def _even(*right: Point) -> Edge:
    """A symmetric edge from its right half, which starts in the middle."""
    left = [(-x, y) for x, y in reversed(right) if x > 0.001]
    return (*left, *right)


STYLES: dict[str, Style] = {
    # Women and girls
    "parted": Style(
        _even((0, -0.53), (0.24, -0.5), (0.39, -0.3), (0.42, -0.04), (0.39, 0.12)),
        _even((0, -0.37), (0.2, -0.27), (0.31, -0.1), (0.35, 0.02), (0.36, 0.12)),
    ),
    "curled up": Style(
        _even((0, -0.6), (0.22, -0.57), (0.36, -0.38), (0.4, -0.15), (0.37, 0.0)),
        _even((0, -0.2), (0.12, -0.24), (0.24, -0.2), (0.32, -0.1), (0.34, 0.0)),
        curls=((-0.2, -0.25, 0.09), (-0.07, -0.22, 0.095), (0.08, -0.23, 0.095), (0.21, -0.26, 0.09)),
    ),
    "puffed up": Style(
        _even((0, -0.68), (0.28, -0.64), (0.49, -0.42), (0.5, -0.14), (0.39, 0.04)),
        _even((0, -0.33), (0.18, -0.3), (0.29, -0.19), (0.33, -0.06), (0.35, 0.04)),
    ),
    "low knot": Style(
        ((-0.4, 0.18), (-0.48, -0.05), (-0.44, -0.34), (-0.22, -0.53), (0.05, -0.56), (0.28, -0.5), (0.45, -0.3), (0.48, -0.02),
         (0.4, 0.18)),
        ((-0.33, 0.15), (-0.34, 0.0), (-0.3, -0.15), (-0.15, -0.3), (0.02, -0.33), (0.2, -0.28), (0.31, -0.15), (0.34, 0.0),
         (0.33, 0.15)),
    ),
    "bob": Style(
        _even((0, -0.54), (0.28, -0.49), (0.44, -0.26), (0.47, 0.05), (0.4, 0.3)),
        _even((0, -0.17), (0.2, -0.16), (0.31, -0.08), (0.31, 0.1), (0.25, 0.27)),
    ),
    "waved": Style(
        ((-0.38, 0.26), (-0.47, 0.08), (-0.42, -0.1), (-0.46, -0.3), (-0.3, -0.5), (-0.05, -0.55), (0.2, -0.54), (0.4, -0.4),
         (0.43, -0.2), (0.48, 0.0), (0.43, 0.14), (0.4, 0.28)),
        ((-0.31, 0.2), (-0.35, 0.06), (-0.32, -0.08), (-0.33, -0.2), (-0.22, -0.35), (-0.14, -0.4), (0.05, -0.31), (0.22, -0.3),
         (0.3, -0.17), (0.35, -0.02), (0.32, 0.1), (0.33, 0.22)),
        curls=((-0.39, 0.27, 0.08), (0.4, 0.28, 0.08), (-0.3, 0.38, 0.07), (0.31, 0.38, 0.07)),
    ),
    "rolled": Style(
        _even((0, -0.5), (0.16, -0.63), (0.36, -0.54), (0.44, -0.3), (0.41, -0.05), (0.4, 0.1)),
        _even((0, -0.36), (0.14, -0.36), (0.26, -0.3), (0.33, -0.16), (0.35, -0.02), (0.35, 0.1)),
        curls=((-0.22, -0.5, 0.13), (0.22, -0.5, 0.13)),
    ),
    "set": Style(
        ((-0.38, 0.12), (-0.46, -0.05), (-0.45, -0.3), (-0.3, -0.53), (-0.05, -0.6), (0.22, -0.57), (0.42, -0.38), (0.47, -0.1),
         (0.39, 0.12)),
        ((-0.34, 0.08), (-0.35, -0.04), (-0.32, -0.16), (-0.2, -0.3), (0.0, -0.27), (0.2, -0.31), (0.32, -0.18), (0.35, -0.04),
         (0.34, 0.08)),
        curls=((-0.4, 0.03, 0.09), (0.41, 0.03, 0.09), (-0.42, -0.16, 0.08), (0.43, -0.16, 0.08), (-0.37, 0.18, 0.08), (0.38, 0.18, 0.08),
         (-0.1, -0.5, 0.1), (0.1, -0.5, 0.1)),
    ),
    "beehive": Style(
        ((-0.38, 0.1), (-0.5, -0.1), (-0.47, -0.45), (-0.25, -0.7), (0.0, -0.75), (0.25, -0.7), (0.47, -0.45), (0.5, -0.1),
         (0.38, 0.1)),
        ((-0.35, 0.1), (-0.35, -0.05), (-0.31, -0.17), (-0.1, -0.21), (0.08, -0.29), (0.22, -0.27), (0.31, -0.17), (0.35, -0.05),
         (0.35, 0.1)),
    ),
    "long": Style(
        _even((0, -0.54), (0.26, -0.5), (0.41, -0.28), (0.43, 0.05), (0.44, 0.4), (0.4, 0.7)),
        _even((0, -0.42), (0.14, -0.3), (0.27, -0.14), (0.33, 0.06), (0.32, 0.4), (0.3, 0.72)),
    ),
    "combed back": Style(
        _even((0, -0.53), (0.24, -0.5), (0.38, -0.3), (0.4, -0.08), (0.37, 0.06)),
        _even((0, -0.39), (0.17, -0.34), (0.28, -0.22), (0.34, -0.08), (0.36, 0.06)),
    ),
    "loose": Style(
        _even((0, -0.54), (0.26, -0.5), (0.42, -0.28), (0.45, 0.05), (0.42, 0.28)),
        _even((0, -0.36), (0.16, -0.29), (0.29, -0.14), (0.34, 0.04), (0.35, 0.26)),
    ),
    "fringe": Style(
        _even((0, -0.54), (0.28, -0.49), (0.44, -0.26), (0.46, 0.02), (0.42, 0.24)),
        _even((0, -0.13), (0.2, -0.13), (0.32, -0.08), (0.33, 0.08), (0.31, 0.24)),
    ),
    "pony": Style(
        _even((0, -0.53), (0.25, -0.5), (0.39, -0.3), (0.4, -0.08), (0.37, 0.05)),
        _even((0, -0.24), (0.14, -0.22), (0.27, -0.2), (0.34, -0.08), (0.35, 0.05)),
    ),
    # The smallest
    "down": Style(
        _even((0, -0.52), (0.22, -0.49), (0.36, -0.34), (0.4, -0.16)),
        _even((0, -0.38), (0.18, -0.36), (0.3, -0.27), (0.37, -0.16)),
    ),
    "ringlets": Style(
        _even((0, -0.56), (0.26, -0.52), (0.42, -0.3), (0.45, -0.02)),
        _even((0, -0.32), (0.16, -0.31), (0.3, -0.2), (0.36, -0.02)),
        curls=((-0.4, 0.0, 0.1), (0.4, 0.0, 0.1), (-0.39, -0.17, 0.1), (0.4, -0.17, 0.1), (-0.38, 0.16, 0.09), (0.38, 0.16, 0.09),
         (-0.28, -0.36, 0.1), (0.28, -0.36, 0.1), (-0.1, -0.42, 0.11), (0.12, -0.42, 0.11), (0.0, -0.34, 0.08)),
    ),
    # Men and boys
    "side": Style(
        ((-0.36, 0.1), (-0.41, -0.1), (-0.38, -0.34), (-0.22, -0.53), (0.05, -0.59), (0.28, -0.52), (0.4, -0.32), (0.41, -0.1),
         (0.36, 0.1)),
        ((-0.34, 0.08), (-0.35, -0.08), (-0.32, -0.2), (-0.24, -0.33), (0.0, -0.29), (0.2, -0.32), (0.32, -0.22), (0.36, -0.08),
         (0.35, 0.08)),
    ),
    "sleek": Style(
        ((-0.36, 0.0), (-0.39, -0.12), (-0.36, -0.34), (-0.2, -0.51), (0.05, -0.55), (0.26, -0.5), (0.37, -0.32), (0.39, -0.12),
         (0.36, 0.0)),
        ((-0.35, -0.02), (-0.35, -0.1), (-0.32, -0.22), (-0.24, -0.37), (0.0, -0.37), (0.2, -0.37), (0.31, -0.24), (0.35, -0.1),
         (0.35, -0.02)),
    ),
    "long sides": Style(
        ((-0.4, 0.2), (-0.46, -0.02), (-0.41, -0.32), (-0.24, -0.53), (0.04, -0.58), (0.28, -0.52), (0.42, -0.32), (0.46, -0.02),
         (0.4, 0.2)),
        ((-0.33, 0.18), (-0.35, -0.04), (-0.32, -0.18), (-0.24, -0.31), (0.02, -0.28), (0.2, -0.33), (0.32, -0.2), (0.35, -0.04),
         (0.33, 0.18)),
    ),
    "bald": Style(
        ((-0.36, 0.12), (-0.43, 0.0), (-0.41, -0.18), (-0.36, -0.3)),
        ((-0.34, 0.1), (-0.35, 0.0), (-0.35, -0.14), (-0.35, -0.26)),
    ),
    "thin": Style(
        ((-0.36, 0.08), (-0.41, -0.08), (-0.38, -0.32), (-0.22, -0.5), (0.05, -0.54), (0.27, -0.49), (0.39, -0.3), (0.41, -0.08),
         (0.36, 0.08)),
        ((-0.34, 0.06), (-0.36, -0.08), (-0.35, -0.24), (-0.29, -0.4), (-0.02, -0.43), (0.2, -0.44), (0.34, -0.26), (0.36, -0.08),
         (0.35, 0.06)),
    ),
    "crop": Style(
        _even((0, -0.54), (0.2, -0.51), (0.34, -0.36), (0.39, -0.14), (0.37, 0.02)),
        _even((0, -0.31), (0.17, -0.31), (0.29, -0.24), (0.34, -0.12), (0.35, 0.0)),
    ),
    "mop": Style(
        _even((0, -0.57), (0.27, -0.52), (0.43, -0.28), (0.45, -0.02), (0.4, 0.14)),
        _even((0, -0.14), (0.18, -0.17), (0.3, -0.1), (0.34, 0.0), (0.34, 0.12)),
    ),
}  # fmt: skip


def _strands(canvas: Canvas, head: Frame, style: Style, colour: Colour, mirrored: bool) -> None:
    """Combed lines between the upper edge and the hairline."""
    if len(style.top) != len(style.line):
        return
    for i, share in enumerate((0.12, 0.24, 0.36, 0.5, 0.64, 0.78, 0.9)):
        path = [
            ((-1 if mirrored else 1) * (a[0] + (b[0] - a[0]) * share), a[1] + (b[1] - a[1]) * share)
            for a, b in zip(style.top, style.line, strict=True)
        ]
        tone = mix(colour, (1, 0.97, 0.9), 0.32) if i in (1, 2, 5) else mix(colour, (0, 0, 0), 0.45)
        canvas.stroke(smooth(head.all(path), closed=False), tone, max(0.9, head.unit * 0.011), alpha=0.4, taper=True)


def draw_front(canvas: Canvas, head: Frame, style: str, colour: Colour, parting: int = 1) -> None:
    """The hair over the forehead and the temples."""
    shape = STYLES[style]
    mirrored = parting < 0
    outlines = [(*shape.top, *reversed(shape.line))]
    if style == "bald":
        outlines.append(tuple((-x, y) for x, y in outlines[0]))
    for outline in outlines:
        points = [(-x, y) for x, y in outline] if mirrored else outline
        canvas.fill(
            smooth(head.all(points)), colour, relief=0.45, rim=0.25, depth=head.unit * 0.07, shadow=0.22,
            soft=head.unit * 0.008,
        )  # fmt: skip
    _strands(canvas, head, shape, colour, mirrored)
    for x, y, radius in shape.curls:
        canvas.fill(oval(*head.at(x, y), head.unit * radius, head.unit * radius), colour, relief=0.5, rim=0.3)
        canvas.stroke(
            oval(*head.at(x, y), head.unit * radius * 0.5, head.unit * radius * 0.5)[:18],
            mix(colour, (0, 0, 0), 0.5), max(0.8, head.unit * 0.01), alpha=0.4,
        )  # fmt: skip


def draw_plaits(canvas: Canvas, head: Frame, colour: Colour, ribbon: Colour) -> None:
    """Two plaits over the shoulders."""
    for side in (-1, 1):
        for step in range(7):
            x, y = side * (0.36 + 0.025 * step), 0.2 + 0.115 * step
            rx, ry = head.unit * (0.085 - 0.004 * step), head.unit * 0.08
            turn = side * (0.5 if step % 2 else -0.5)
            canvas.fill(oval(*head.at(x, y), rx, ry, turn), colour, relief=0.5, rim=0.35)
        canvas.fill(oval(*head.at(side * 0.52, 0.98), head.unit * 0.07, head.unit * 0.04), ribbon, rim=0.1)


def draw_bow(canvas: Canvas, head: Frame, ribbon: Colour, x: float = 0.22, y: float = -0.5, size: float = 0.24) -> None:
    """A large bow of ribbon."""
    for side in (-1, 1):
        wing = [(x, y), (x + side * size * 0.6, y - size * 0.65), (x + side * size * 1.1, y - size * 0.2),
                (x + side * size * 0.9, y + size * 0.35)]  # fmt: skip
        canvas.fill(smooth(head.all(wing)), ribbon, relief=0.4, rim=0.25, shadow=0.2)
    canvas.fill(oval(*head.at(x, y), head.unit * size * 0.2, head.unit * size * 0.22), ribbon, relief=0.4, rim=0.3)

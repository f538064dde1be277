"""Hats, caps and bonnets, in the coordinates of a head (see `hair`)."""

from __future__ import annotations

from .canvas import Canvas, Colour, Frame, Point, mix, oval, smooth


def _ring(*right: Point) -> list[Point]:
    return [*right, *[(-x, y) for x, y in reversed(right) if x > 0.001]]


def draw_hat(canvas: Canvas, head: Frame, hat: str, colour: Colour) -> None:
    """What sits on the head."""
    if hat:
        DRAWN[hat](canvas, head, colour)


def _brim(canvas: Canvas, head: Frame, colour: Colour, y: float, rx: float, ry: float) -> None:
    canvas.fill(oval(*head.at(0, y), head.unit * rx, head.unit * ry), colour, relief=0.35, rim=0.3, shadow=0.3)


def _band(canvas: Canvas, head: Frame, colour: Colour, y: float, rx: float, high: float) -> None:
    band = [(-rx, y - high), (0, y - high + 0.05), (rx, y - high), (rx * 1.02, y), (0, y + 0.06), (-rx * 1.02, y)]
    canvas.fill(head.all(band), colour, relief=0.25, rim=0.2)


def _bowler(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.27, 0.52, 0.085)
    canvas.fill(
        smooth(head.all(_ring((0, -0.74), (0.26, -0.68), (0.38, -0.48), (0.4, -0.28), (0, -0.22)))), colour, relief=0.6
    )
    _band(canvas, head, mix(colour, (0, 0, 0), 0.5), -0.28, 0.39, 0.1)


def _topper(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.28, 0.5, 0.075)
    crown = [
        (-0.36, -0.3),
        (-0.35, -0.6),
        (-0.38, -0.95),
        (0, -0.99),
        (0.38, -0.95),
        (0.35, -0.6),
        (0.36, -0.3),
        (0, -0.25),
    ]
    canvas.fill(head.all(crown), colour, relief=0.7)
    _band(canvas, head, mix(colour, (0, 0, 0), 0.5), -0.3, 0.36, 0.1)


def _cap(canvas: Canvas, head: Frame, colour: Colour) -> None:
    crown = [
        (-0.42, -0.27),
        (-0.48, -0.45),
        (-0.28, -0.62),
        (0.08, -0.64),
        (0.4, -0.54),
        (0.5, -0.38),
        (0.42, -0.26),
        (0, -0.3),
    ]
    canvas.fill(smooth(head.all(crown)), colour, relief=0.45, rim=0.3, shadow=0.3)
    peak = [(-0.33, -0.27), (0, -0.34), (0.33, -0.27), (0.28, -0.19), (0, -0.175), (-0.28, -0.19)]
    canvas.fill(smooth(head.all(peak)), mix(colour, (0, 0, 0), 0.3), relief=0.4, shadow=0.25)
    canvas.fill(oval(*head.at(0.02, -0.63), head.unit * 0.035, head.unit * 0.02), colour)


def _boater(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.3, 0.6, 0.1)
    crown = [(-0.38, -0.32), (-0.38, -0.54), (0, -0.59), (0.38, -0.54), (0.38, -0.32), (0, -0.26)]
    canvas.fill(head.all(crown), mix(colour, (1, 1, 1), 0.1), relief=0.4)
    _band(canvas, head, (0.15, 0.13, 0.18), -0.33, 0.38, 0.1)


def _fedora(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.28, 0.6, 0.1)
    crown = [
        (-0.4, -0.3),
        (-0.37, -0.55),
        (-0.18, -0.72),
        (0, -0.64),
        (0.18, -0.72),
        (0.37, -0.55),
        (0.4, -0.3),
        (0, -0.24),
    ]
    canvas.fill(smooth(head.all(crown)), colour, relief=0.5)
    _band(canvas, head, mix(colour, (0, 0, 0), 0.45), -0.3, 0.39, 0.11)


def _cloche(canvas: Canvas, head: Frame, colour: Colour) -> None:
    bell = _ring(
        (0, -0.63), (0.28, -0.58), (0.44, -0.36), (0.46, -0.08), (0.52, 0.06), (0.36, 0.04), (0.32, -0.1), (0, -0.15)
    )
    canvas.fill(smooth(head.all(bell)), colour, relief=0.5, rim=0.3, shadow=0.35)
    ribbon = [
        (-0.45, -0.2),
        (-0.3, -0.3),
        (0, -0.33),
        (0.3, -0.3),
        (0.45, -0.2),
        (0.46, -0.1),
        (0.3, -0.2),
        (0, -0.23),
        (-0.3, -0.2),
        (-0.46, -0.1),
    ]
    canvas.fill(smooth(head.all(ribbon)), mix(colour, (1, 1, 1), 0.45), relief=0.2, rim=0.2)
    canvas.fill(oval(*head.at(0.38, -0.2), head.unit * 0.08, head.unit * 0.08), mix(colour, (1, 1, 1), 0.6), relief=0.4)


def _wide(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.46, 0.86, 0.2)
    canvas.fill(
        smooth(head.all(_ring((0, -0.78), (0.3, -0.74), (0.42, -0.56), (0.3, -0.46), (0, -0.42)))), colour, relief=0.4
    )
    for x, y, r in (
        (-0.36, -0.6, 0.13),
        (-0.14, -0.66, 0.15),
        (0.1, -0.68, 0.14),
        (0.32, -0.6, 0.14),
        (-0.5, -0.52, 0.1),
    ):
        bloom = mix((0.95, 0.85, 0.85), colour, 0.15 + abs(x) * 0.4)
        canvas.fill(oval(*head.at(x, y), head.unit * r, head.unit * r * 0.8), bloom, relief=0.5, rim=0.45)
        canvas.fill(
            oval(*head.at(x, y), head.unit * r * 0.45, head.unit * r * 0.35),
            mix(bloom, (0.4, 0.2, 0.2), 0.3),
            relief=0.4,
        )


def _straw(canvas: Canvas, head: Frame, colour: Colour) -> None:
    _brim(canvas, head, colour, -0.33, 0.7, 0.17)
    canvas.fill(
        smooth(head.all(_ring((0, -0.7), (0.28, -0.64), (0.39, -0.42), (0.36, -0.34), (0, -0.28)))), colour, relief=0.45
    )
    _band(canvas, head, mix(colour, (0.2, 0.1, 0.2), 0.7), -0.36, 0.37, 0.09)


def _bonnet(canvas: Canvas, head: Frame, colour: Colour) -> None:
    frill = _ring(
        (0, -0.56),
        (0.3, -0.5),
        (0.47, -0.22),
        (0.48, 0.1),
        (0.38, 0.34),
        (0.32, 0.3),
        (0.38, 0.06),
        (0.35, -0.16),
        (0.22, -0.34),
        (0, -0.39),
    )
    canvas.fill(smooth(head.all(frill)), colour, relief=0.35, rim=0.25, shadow=0.15)
    for i in range(11):
        x = -0.42 + i * 0.084
        y = -0.36 + 0.9 * x * x
        canvas.stroke(
            head.all([(x * 1.04, y - 0.13), (x * 0.92, y)]),
            mix(colour, (0.4, 0.35, 0.3), 0.5),
            head.unit * 0.012,
            alpha=0.5,
        )
    for side in (-1, 1):
        canvas.fill(smooth(head.all([(0, 0.53), (side * 0.15, 0.47), (side * 0.17, 0.6)])), colour, relief=0.3, rim=0.3)


def _headscarf(canvas: Canvas, head: Frame, colour: Colour) -> None:
    cloth = _ring(
        (0, -0.58),
        (0.3, -0.52),
        (0.45, -0.25),
        (0.45, 0.1),
        (0.3, 0.45),
        (0.14, 0.54),
        (0.3, 0.3),
        (0.36, 0.05),
        (0.3, -0.2),
        (0.15, -0.32),
        (0, -0.35),
    )
    canvas.fill(smooth(head.all(cloth)), colour, relief=0.35, rim=0.3, shadow=0.2)
    for x, y in (
        (-0.3, -0.38),
        (-0.1, -0.46),
        (0.12, -0.46),
        (0.31, -0.36),
        (-0.4, -0.12),
        (0.4, -0.12),
        (-0.39, 0.12),
        (0.39, 0.12),
    ):
        canvas.fill(
            oval(*head.at(x, y), head.unit * 0.03, head.unit * 0.03), mix(colour, (1, 1, 1), 0.7), relief=0, rim=0
        )
    for side in (-1, 1):
        canvas.fill(
            smooth(head.all([(0, 0.52), (side * 0.12, 0.62), (side * 0.05, 0.72)])), colour, relief=0.3, rim=0.3
        )


def _peaked(canvas: Canvas, head: Frame, colour: Colour) -> None:
    top = [(-0.42, -0.32), (-0.5, -0.52), (-0.2, -0.64), (0.2, -0.64), (0.5, -0.52), (0.42, -0.32), (0, -0.3)]
    canvas.fill(smooth(head.all(top)), colour, relief=0.4, rim=0.3, shadow=0.3)
    _band(canvas, head, mix(colour, (0, 0, 0), 0.25), -0.27, 0.4, 0.1)
    peak = [(-0.33, -0.27), (0, -0.29), (0.33, -0.27), (0.27, -0.18), (0, -0.165), (-0.27, -0.18)]
    canvas.fill(smooth(head.all(peak)), (0.07, 0.06, 0.06), relief=0.8, shadow=0.25)
    canvas.fill(oval(*head.at(0, -0.36), head.unit * 0.045, head.unit * 0.05), (0.8, 0.7, 0.4), relief=0.6)


def _sidecap(canvas: Canvas, head: Frame, colour: Colour) -> None:
    cap = [(-0.38, -0.3), (-0.3, -0.55), (0.0, -0.72), (0.36, -0.58), (0.41, -0.28), (0, -0.36)]
    canvas.fill(smooth(head.all(cap), steps=4), colour, relief=0.4, rim=0.3, shadow=0.3)
    canvas.stroke(
        head.all([(-0.36, -0.32), (0.05, -0.5), (0.4, -0.3)]), mix(colour, (0, 0, 0), 0.4), head.unit * 0.02, alpha=0.7
    )
    canvas.fill(oval(*head.at(-0.14, -0.43), head.unit * 0.035, head.unit * 0.035), (0.8, 0.7, 0.4), relief=0.6)


def _sailor(canvas: Canvas, head: Frame, colour: Colour) -> None:
    canvas.fill(oval(*head.at(0, -0.5), head.unit * 0.5, head.unit * 0.17), (0.93, 0.93, 0.92), relief=0.4, shadow=0.25)
    _band(canvas, head, (0.14, 0.16, 0.26), -0.32, 0.39, 0.1)


def _beret(canvas: Canvas, head: Frame, colour: Colour) -> None:
    soft = [
        (-0.38, -0.3),
        (-0.52, -0.4),
        (-0.42, -0.58),
        (-0.1, -0.66),
        (0.28, -0.6),
        (0.42, -0.42),
        (0.36, -0.29),
        (0, -0.34),
    ]
    canvas.fill(smooth(head.all(soft)), colour, relief=0.4, rim=0.3, shadow=0.3)
    canvas.stroke(head.all([(-0.1, -0.64), (-0.1, -0.71)]), colour, head.unit * 0.03)


def _veil(canvas: Canvas, head: Frame, colour: Colour) -> None:
    crown = _ring((0, -0.57), (0.25, -0.53), (0.4, -0.33), (0.43, -0.16), (0.34, -0.2), (0.22, -0.34), (0, -0.4))
    canvas.fill(smooth(head.all(crown)), (0.97, 0.97, 0.96), relief=0.35, rim=0.2, shadow=0.2)
    for x in (-0.36, -0.24, -0.12, 0, 0.12, 0.24, 0.36):
        y = -0.42 + 1.4 * x * x
        canvas.fill(oval(*head.at(x, y), head.unit * 0.045, head.unit * 0.045), (0.95, 0.93, 0.9), relief=0.5, rim=0.4)


def _wreath(canvas: Canvas, head: Frame, colour: Colour) -> None:
    for i in range(11):
        x = -0.38 + i * 0.076
        y = -0.43 + 1.3 * x * x
        tone = (0.95, 0.93, 0.88) if i % 2 else (0.5, 0.58, 0.4)
        canvas.fill(oval(*head.at(x, y), head.unit * 0.05, head.unit * 0.045), tone, relief=0.5, rim=0.4)


def _tilted(canvas: Canvas, head: Frame, colour: Colour) -> None:
    canvas.fill(
        oval(*head.at(0.1, -0.5), head.unit * 0.42, head.unit * 0.13, 0.2), colour, relief=0.4, rim=0.3, shadow=0.3
    )
    canvas.fill(oval(*head.at(0.12, -0.57), head.unit * 0.24, head.unit * 0.12, 0.2), colour, relief=0.5)
    canvas.stroke(smooth(head.all([(0.25, -0.55), (0.5, -0.75), (0.62, -0.6)]), closed=False), mix(colour, (1, 1, 1), 0.4),
                  head.unit * 0.05, taper=True)  # fmt: skip


DRAWN = {
    "bowler": _bowler, "topper": _topper, "cap": _cap, "boater": _boater, "fedora": _fedora, "cloche": _cloche, "wide": _wide,
    "straw": _straw, "bonnet": _bonnet, "headscarf": _headscarf, "peaked": _peaked, "sidecap": _sidecap, "sailor": _sailor,
    "beret": _beret, "veil": _veil, "wreath": _wreath, "tilted": _tilted,
}  # fmt: skip

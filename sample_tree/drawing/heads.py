"""Heads and faces. Coordinates as in `hair`: the head is 1 high, (0, 0) is the middle of the face, y points down."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from . import hats
from .canvas import Canvas, Colour, Frame, Point, mix, oval, smooth
from .hair import draw_bow, draw_front, draw_plaits
from .looks import Looks, hair_at

INK: Colour = (0.10, 0.06, 0.05)


@dataclass(frozen=True, slots=True)
class Head:
    """How a head is turned and dressed: `turn` from -1 (their right) to 1, `smile` from -0.3 to 1."""

    looks: Looks
    age: float
    sex: str
    style: str
    turn: float = 0.0
    smile: float = 0.2
    beard: str = ""
    hat: str = ""
    hat_colour: Colour = (0.2, 0.18, 0.17)
    plaits: bool = False
    bow: bool = False
    ribbon: Colour = (0.9, 0.9, 0.92)
    glasses: bool = False
    shut: bool = False


def face_box(frame: Frame) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the face in pixels: forehead to chin, ear to ear."""
    corners = frame.all([(-0.42, -0.44), (0.42, -0.44), (0.42, 0.54), (-0.42, 0.54)])
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _youth(age: float) -> float:
    """1 for a newborn, 0 from fifteen on."""
    return max(0.0, 1 - age / 15)


def _outline(head: Head) -> list[Point]:
    """The edge of the face: an ellipse, fuller for a child, narrowed from the ears to the chin."""
    young, man = _youth(head.age), head.sex == "M"
    w = head.looks.width + 0.06 * young
    jaw = head.looks.jaw + (0.97 - head.looks.jaw) * young + (0.04 if head.age > 55 else 0)
    full = 0.86 if man else 0.94
    right = []
    for step in range(11):
        c, s = cos(pi * step / 10), sin(pi * step / 10)
        x = w * s ** (full if c < 0 else 0.8)
        below = min(max(-c, 0.0) / 0.75, 1.0)
        right.append((x * (1 - (1 - jaw) * below * below * (3 - 2 * below)), -0.5 * c))
    shift = head.turn * 0.02
    return [*right[:-1], (shift, 0.5), *[(-x, y) for x, y in reversed(right[1:-1])]]


def draw_head(canvas: Canvas, frame: Frame, head: Head) -> tuple[float, float, float, float]:
    """Draw the head from in front; returns the box of the face in pixels."""
    colour = hair_at(head.looks, head.age)
    _ears(canvas, frame, head)
    canvas.fill(
        smooth(frame.all(_outline(head))), head.looks.skin, relief=0.2, rim=0.42, depth=frame.unit * 0.13, shadow=0.25
    )
    _modelling(canvas, frame, head)
    for side in (-1, 1):
        _eye(canvas, frame, head, side)
        _brow(canvas, frame, head, side, colour)
    _nose(canvas, frame, head)
    _mouth(canvas, frame, head)
    _years(canvas, frame, head)
    if head.beard:
        _beard(canvas, frame, head, colour)
    if head.glasses:
        _glasses(canvas, frame, head)
    if head.hat != "bonnet":
        draw_front(canvas, frame, head.style, colour, head.looks.parting)
    if head.plaits:
        draw_plaits(canvas, frame, colour, head.ribbon)
    if head.bow:
        draw_bow(canvas, frame, head.ribbon, x=0.2 * head.looks.parting)
    hats.draw_hat(canvas, frame, head.hat, head.hat_colour)
    return face_box(frame)


def _eye_at(head: Head, side: int) -> tuple[float, float, float]:
    """Where an eye is, and how much of its width shows."""
    young = _youth(head.age)
    x = side * (head.looks.gap + 0.012 * young) + head.turn * 0.075
    return x, 0.02 + 0.085 * young, 1 - 0.22 * max(0.0, side * head.turn)


def _ears(canvas: Canvas, frame: Frame, head: Head) -> None:
    """Both ears, the nearer one larger."""
    for side in (-1, 1):
        w = head.looks.width + 0.055 * _youth(head.age)
        x = side * (w + 0.005) - head.turn * 0.02
        size = head.looks.ears * (1 - 0.5 * max(0.0, side * head.turn))
        canvas.fill(
            oval(*frame.at(x, 0.08), frame.unit * 0.055 * size, frame.unit * 0.1 * size, side * -0.15),
            mix(head.looks.skin, (0.75, 0.42, 0.34), 0.25), relief=0.3, rim=0.45,
        )  # fmt: skip


def _modelling(canvas: Canvas, frame: Frame, head: Head) -> None:
    """Light and shade of cheeks, sockets, temples and chin."""
    u, turn = frame.unit, head.turn * 0.075
    young = _youth(head.age)
    for side in (-1, 1):
        x, y, _ = _eye_at(head, side)
        canvas.glow(*frame.at(x, y - 0.03), u * 0.1, u * 0.055, (0.45, 0.26, 0.2), 0.2 - 0.08 * young)
        blush = 0.34 if head.sex == "F" or young > 0.3 else 0.2
        canvas.glow(*frame.at(side * 0.2 + turn, 0.21 + 0.03 * young), u * 0.1, u * 0.08, (0.88, 0.46, 0.4), blush)
    canvas.glow(*frame.at(0.24 + turn * 0.4, 0.15), u * 0.12, u * 0.3, (0.45, 0.27, 0.2), 0.16)
    canvas.glow(*frame.at(-0.1 + turn, -0.24), u * 0.16, u * 0.1, (1, 0.95, 0.88), 0.28)
    canvas.glow(*frame.at(turn * 0.7, 0.42), u * 0.08, u * 0.05, (1, 0.93, 0.86), 0.2)
    canvas.glow(*frame.at(turn, 0.355), u * 0.09, u * 0.025, (0.5, 0.28, 0.22), 0.22)


def _eye(canvas: Canvas, frame: Frame, head: Head, side: int) -> None:
    """One eye: white, iris, pupil, light, lids and lashes."""
    young, u = _youth(head.age), frame.unit
    x, y, share = _eye_at(head, side)
    wide, high = (0.074 + 0.006 * young) * share, 0.034 + 0.013 * young - 0.004 * (head.age > 60)
    lid = [
        (x - wide, y + 0.004),
        (x - wide * 0.4, y - high * 0.85),
        (x + wide * 0.4, y - high * 0.9),
        (x + wide, y + 0.002),
    ]
    if head.shut:
        shut = [(x - wide, y), (x, y + high * 0.5), (x + wide, y)]
        canvas.stroke(smooth(frame.all(shut), closed=False), INK, max(1.0, u * 0.017), alpha=0.85, taper=True)
        return
    below = [(x + wide * 0.4, y + high * 0.75), (x - wide * 0.4, y + high * 0.8)]
    canvas.fill(smooth(frame.all([*lid, *below])), (0.96, 0.93, 0.9), relief=0, rim=0.3)
    gaze = x + head.turn * 0.012
    iris = high * 0.98
    canvas.fill(oval(*frame.at(gaze, y - high * 0.06), u * iris, u * iris), head.looks.eyes, relief=0, rim=0.5)
    canvas.fill(
        oval(*frame.at(gaze, y - high * 0.06), u * iris * 0.5, u * iris * 0.5), (0.04, 0.03, 0.03), relief=0, rim=0
    )
    canvas.fill(
        oval(*frame.at(gaze - iris * 0.32, y - high * 0.42), u * iris * 0.24, u * iris * 0.24),
        (1, 1, 1),
        relief=0,
        rim=0,
    )
    thick = u * (0.021 if head.sex == "F" else 0.017)
    canvas.stroke(smooth(frame.all(lid), closed=False), INK, max(1.0, thick), alpha=0.85, taper=True)
    crease = [(px, py - 0.025) for px, py in lid]
    canvas.stroke(
        smooth(frame.all(crease), closed=False), (0.4, 0.22, 0.17), max(0.8, u * 0.009), alpha=0.3, taper=True
    )
    canvas.stroke(
        smooth(frame.all([lid[-1], *below, lid[0]]), closed=False), (0.4, 0.22, 0.18), max(0.8, u * 0.008), alpha=0.35
    )


def _brow(canvas: Canvas, frame: Frame, head: Head, side: int, hair: Colour) -> None:
    """One eyebrow."""
    young = _youth(head.age)
    x, y, share = _eye_at(head, side)
    y -= 0.085 + 0.01 * young
    lift = 0.012 * max(head.smile, 0)
    path = [(x - side * 0.085 * share, y + 0.012), (x, y - 0.012 - lift), (x + side * 0.095 * share, y + 0.014 - lift)]
    colour = mix(hair, INK, 0.45) if head.age < 60 else mix(hair, INK, 0.2)
    width = frame.unit * 0.026 * head.looks.brow * (1 - 0.45 * young)
    canvas.stroke(smooth(frame.all(path), closed=False), colour, max(1.0, width), alpha=0.75 - 0.3 * young, taper=True)


def _nose(canvas: Canvas, frame: Frame, head: Head) -> None:
    """A nose: shaded side, light ridge, rounded tip, nostrils."""
    young, u = _youth(head.age), frame.unit
    size = head.looks.nose * (1 - 0.35 * young)
    x, tip = head.turn * 0.12, 0.165 + 0.05 * young
    bridge = head.turn * 0.075
    side = 1 if head.turn >= 0 else -1
    path = [
        (bridge + side * 0.035, 0.0 + 0.06 * young),
        (x + side * 0.042 * size, tip - 0.05),
        (x + side * 0.06 * size, tip),
    ]
    canvas.stroke(
        smooth(frame.all(path), closed=False), (0.5, 0.28, 0.2), u * 0.035, alpha=0.22 * (1 - 0.6 * young), taper=True
    )
    canvas.glow(*frame.at(x - 0.012, tip - 0.02), u * 0.045 * size, u * 0.04 * size, (1, 0.9, 0.82), 0.5)
    canvas.glow(*frame.at(x, tip + 0.045), u * 0.075 * size, u * 0.02, (0.42, 0.22, 0.17), 0.4)
    for wing in (-1, 1):
        curve = [
            (x + wing * 0.05 * size, tip - 0.02),
            (x + wing * 0.064 * size, tip + 0.012),
            (x + wing * 0.03 * size, tip + 0.03),
        ]
        canvas.stroke(
            smooth(frame.all(curve), closed=False), (0.42, 0.22, 0.17), max(0.9, u * 0.012), alpha=0.5, taper=True
        )


def _mouth(canvas: Canvas, frame: Frame, head: Head) -> None:
    """Lips, more or less smiling."""
    young, u = _youth(head.age), frame.unit
    x, y = head.turn * 0.1, 0.292 + 0.035 * young
    half = (0.098 - 0.022 * young) * (1 + 0.22 * max(head.smile, 0))
    up = 0.036 * head.smile
    full = 0.03 * head.looks.lips * (1 + 0.15 * young)
    left, right = (x - half, y - up), (x + half, y - up)
    middle = (x, y + up * 0.5)
    lip = (0.76, 0.40, 0.36) if head.sex == "F" else (0.74, 0.47, 0.40)
    upper = [
        left,
        (x - half * 0.35, y - full * 0.75),
        (x, y - full * 0.5),
        (x + half * 0.35, y - full * 0.75),
        right,
        middle,
    ]
    lower = [left, middle, right, (x + half * 0.5, y + full * 0.9 + up * 0.5), (x, y + full * 1.25 + up * 0.6),
             (x - half * 0.5, y + full * 0.9 + up * 0.5)]  # fmt: skip
    canvas.fill(
        smooth(frame.all(upper)), mix(lip, (0.4, 0.15, 0.12), 0.2), relief=0, rim=0.15, alpha=0.75, soft=u * 0.005
    )
    canvas.fill(smooth(frame.all(lower)), lip, relief=0.25, rim=0.1, alpha=0.75, soft=u * 0.005)
    line = [left, (x - half * 0.4, y + up * 0.25), middle, (x + half * 0.4, y + up * 0.25), right]
    canvas.stroke(smooth(frame.all(line), closed=False), (0.28, 0.1, 0.08), max(1.0, u * 0.014), alpha=0.75, taper=True)
    for corner, side in ((left, -1), (right, 1)):
        canvas.glow(*frame.at(corner[0] + side * 0.012, corner[1]), u * 0.018, u * 0.02, (0.45, 0.22, 0.17), 0.35)


def _years(canvas: Canvas, frame: Frame, head: Head) -> None:
    """Folds and lines, from forty on."""
    old = min(max((head.age - 38) / 35, 0.0), 1.0)
    if not old:
        return
    u, turn = frame.unit, head.turn * 0.08
    ink, fine = (0.42, 0.24, 0.18), max(0.9, u * 0.012)
    for side in (-1, 1):
        fold = [(side * 0.085 + turn, 0.17), (side * 0.135 + turn, 0.24), (side * 0.145 + turn, 0.31)]
        canvas.stroke(smooth(frame.all(fold), closed=False), ink, fine, alpha=0.25 + 0.35 * old, taper=True)
        x, y, _ = _eye_at(head, side)
        canvas.stroke(smooth(frame.all([(x - 0.07, y + 0.055), (x, y + 0.075), (x + 0.07, y + 0.05)]), closed=False), ink, fine,
                      alpha=0.45 * old, taper=True)  # fmt: skip
        for ray in (-0.02, 0.01, 0.04):
            start = (x + side * 0.085, y + ray * 0.6)
            canvas.stroke(frame.all([start, (x + side * 0.13, y + ray * 1.6)]), ink, fine * 0.8, alpha=0.4 * old)
        if old > 0.5:
            canvas.stroke(smooth(frame.all([(side * 0.17 + turn, 0.36), (side * 0.19 + turn, 0.41), (side * 0.15 + turn, 0.45)]),
                                 closed=False), ink, fine, alpha=0.35 * old, taper=True)  # fmt: skip
    for level in (-0.18, -0.225, -0.27):
        line = [(-0.15 + turn, level + 0.01), (turn, level), (0.15 + turn, level + 0.012)]
        canvas.stroke(smooth(frame.all(line), closed=False), ink, fine, alpha=0.32 * old, taper=True)


BEARDS: dict[str, tuple[tuple[Point, ...], ...]] = {
    "moustache": (((0, 0.235), (0.08, 0.23), (0.15, 0.275), (0.13, 0.295), (0.06, 0.282), (0, 0.272)),),
    "handlebar": (((0, 0.232), (0.09, 0.23), (0.17, 0.27), (0.235, 0.225), (0.19, 0.305), (0.08, 0.29), (0, 0.275)),),
    "walrus": (((0, 0.225), (0.1, 0.225), (0.17, 0.285), (0.165, 0.36), (0.09, 0.31), (0, 0.30)),),
    "clipped": (((0, 0.236), (0.07, 0.24), (0.125, 0.268), (0.1, 0.274), (0.05, 0.268), (0, 0.264)),),
    "full": (
        ((0, 0.345), (0.1, 0.33), (0.14, 0.27), (0.22, 0.22), (0.31, 0.1), (0.385, 0.05), (0.37, 0.25), (0.3, 0.5), (0.17, 0.68), (0, 0.74)),
        ((0, 0.23), (0.1, 0.23), (0.17, 0.285), (0.165, 0.35), (0.08, 0.30), (0, 0.295)),
    ),
    "chin": (((0, 0.36), (0.09, 0.35), (0.13, 0.42), (0.09, 0.56), (0, 0.62)),
             ((0, 0.232), (0.09, 0.23), (0.16, 0.28), (0.14, 0.31), (0.06, 0.288), (0, 0.275))),
    "whiskers": (((0.37, -0.05), (0.39, 0.2), (0.33, 0.42), (0.2, 0.47), (0.22, 0.36), (0.29, 0.25), (0.33, 0.05)),),
    "sideburns": (((0.37, -0.1), (0.38, 0.14), (0.3, 0.24), (0.29, 0.14), (0.33, -0.05)),),
}  # fmt: skip


def _beard(canvas: Canvas, frame: Frame, head: Head, hair: Colour) -> None:
    """Whiskers of the fashion of the day; the right half of each outline is mirrored."""
    colour, shift = mix(hair, INK, 0.12), head.turn * 0.09
    for half in BEARDS[head.beard]:
        closed = half[0][0] == 0
        ring = [*half, *[(-x, y) for x, y in reversed(half) if x > 0]] if closed else list(half)
        rings = [ring] if closed else [ring, [(-x, y) for x, y in ring]]
        for outline in rings:
            points = [(x + shift * (1 if abs(x) < 0.25 else 0.3), y) for x, y in outline]
            canvas.fill(smooth(frame.all(points)), colour, relief=0.45, rim=0.25, shadow=0.15, soft=frame.unit * 0.008)
            for x, y in points[:: 2 if len(points) > 14 else 1]:
                comb = [(x * 0.75 + shift * 0.2, y - 0.02), (x * 0.95, y + 0.02)]
                tone = mix(colour, (1, 1, 1), 0.3) if x < 0 else mix(colour, (0, 0, 0), 0.4)
                canvas.stroke(frame.all(comb), tone, max(0.8, frame.unit * 0.01), alpha=0.35)


def _glasses(canvas: Canvas, frame: Frame, head: Head) -> None:
    """Round wire spectacles."""
    width = max(1.0, frame.unit * 0.014)
    for side in (-1, 1):
        x, y, share = _eye_at(head, side)
        ring = oval(*frame.at(x, y + 0.01), frame.unit * 0.105 * share, frame.unit * 0.092)
        canvas.stroke([*ring, ring[0]], (0.16, 0.14, 0.13), width, alpha=0.9)
        canvas.glow(*frame.at(x - 0.04, y - 0.03), frame.unit * 0.03, frame.unit * 0.02, (1, 1, 1), 0.4)
        canvas.stroke(
            frame.all([(x + side * 0.1 * share, y), (side * 0.37, y - 0.01)]), (0.16, 0.14, 0.13), width, alpha=0.7
        )
    left, right = _eye_at(head, -1), _eye_at(head, 1)
    bridge = [
        (left[0] + 0.1 * left[2], left[1]),
        (head.turn * 0.1, left[1] - 0.02),
        (right[0] - 0.1 * right[2], right[1]),
    ]
    canvas.stroke(smooth(frame.all(bridge), closed=False), (0.16, 0.14, 0.13), width, alpha=0.9)

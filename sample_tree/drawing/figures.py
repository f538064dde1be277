"""Whole people: legs, clothes, arms and head put together in a pose.

A figure's own coordinates are heads: (0, 0) is the ground between the feet, heights are negative (y points down).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from . import garments, necklines, trims
from .body import Body
from .canvas import Canvas, Colour, Frame, Pixels, Point, mix, oval, smooth
from .canvas import limb as tube
from .dress import Outfit
from .heads import Head, draw_head
from .looks import Build

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Pose:
    """How somebody stands or sits, what the arms do, and how the head is held (`tilt` in radians)."""

    name: str = "stand"
    left: str = "down"
    right: str = "down"
    tilt: float = 0.0
    lean: float = 0.0


@dataclass(frozen=True, slots=True)
class Figure:
    """Everything needed to draw one person."""

    head: Head
    build: Build
    outfit: Outfit
    pose: Pose
    weave: Pixels | None = None


def body_of(figure: Figure) -> Body:
    """Where the parts of the body are in this pose."""
    b, o = figure.build, figure.outfit
    sits = figure.pose.name in ("sit", "lap", "ground")
    seat = 0.06 if figure.pose.name == "ground" else b.knee_y + 0.12
    drop = b.hip_y - seat - 0.06 if sits else 0.0
    waist = b.waist * (o.nipped if o.waist == "natural" else 1.06)
    return Body(
        chin=-(b.heads - 1 - drop), shoulder_y=-(b.shoulder_y - drop), waist_y=-(b.waist_y - drop), hip_y=-(b.hip_y - drop),
        knee_y=-b.knee_y, shoulder=b.shoulder * o.wide, waist=waist, hip=b.hip, limb=b.limb, sits=sits, heads=b.heads,
    )  # fmt: skip


def draw_figure(canvas: Canvas, frame: Frame, figure: Figure) -> Box:
    """Draw one person; returns the box of the face in pixels."""
    if figure.pose.name == "arms":
        return _swaddled(canvas, frame, figure)
    body = body_of(figure)
    _behind(canvas, frame, figure, body)
    _legs(canvas, frame, figure, body)
    if figure.outfit.skirted:
        garments.draw_skirt(canvas, frame, figure.outfit, body, figure.weave)
    _neck(canvas, frame, figure, body)
    garments.draw_torso(canvas, frame, figure.outfit, body, figure.weave)
    for side, arm in ((-1, figure.pose.left), (1, figure.pose.right)):
        if arm != "back":
            _arm(canvas, frame, figure, body, side, arm)
    necklines.draw_neckline(canvas, frame, figure.outfit, body)
    trims.draw_trims(canvas, frame, figure.outfit, body)
    return draw_head(canvas, head_frame(frame, body, figure.pose), figure.head)


def head_frame(frame: Frame, body: Body, pose: Pose) -> Frame:
    """The frame of the head on this body."""
    return frame.inside(pose.lean * 0.2 + pose.tilt * 0.3, body.chin - 0.5, 1.0, pose.tilt)


def _behind(canvas: Canvas, frame: Frame, figure: Figure, body: Body) -> None:
    """Arms behind the back, and what hangs down behind."""
    for side, arm in ((-1, figure.pose.left), (1, figure.pose.right)):
        if arm == "back":
            _arm(canvas, frame, figure, body, side, arm)
    if "veil" in figure.outfit.trims or figure.head.hat == "veil":
        top = body.chin - 0.9
        veil = [(0, top), (0.5, top + 0.3), (0.8, body.waist_y), (1.0, body.hip_y), (1.2, -0.1), (0, -0.05), (-1.2, -0.1),
                (-1.0, body.hip_y), (-0.8, body.waist_y), (-0.5, top + 0.3)]  # fmt: skip
        canvas.fill(smooth(frame.all(veil)), (0.95, 0.95, 0.94), relief=0.2, rim=0.2, alpha=0.72)


def _legs(canvas: Canvas, frame: Frame, figure: Figure, body: Body) -> None:
    """Legs, trousers, stockings and shoes, as far as clothes leave them to be seen."""
    o = figure.outfit
    long_skirt = o.skirted and o.hem <= 0.02
    gap = 0.42 if body.sits else min(0.24, body.hip * 0.46)
    if figure.pose.name == "ground":
        _tucked(canvas, frame, figure, body)
        return
    for side in (-1, 1):
        hip = (side * min(gap, body.hip * 0.5), body.hip_y + 0.05)
        knee = (side * gap * (1.0 if body.sits else 1.02), body.knee_y)
        foot = (side * gap * (0.95 if body.sits else 1.1), -0.1)
        if not long_skirt:
            _leg(canvas, frame, figure, body, (hip, knee, foot))
            _shoe(canvas, frame, side, foot, o.shoes if o.legs != "bare" else figure.head.looks.skin, body)
        elif not body.sits or o.hem >= 0:
            _shoe(canvas, frame, side, (side * 0.2, -0.05), o.shoes, body)
    if body.sits and not o.skirted:
        _lap(canvas, frame, figure, body, gap)


def _leg(canvas: Canvas, frame: Frame, figure: Figure, body: Body, joints: tuple[Point, Point, Point]) -> None:
    """One leg from hip to foot."""
    o, skin, thick = figure.outfit, figure.head.looks.skin, body.limb
    hip, knee, foot = joints
    calf = ((knee[0] + foot[0]) / 2, (knee[1] + foot[1]) / 2)
    lower = [knee, calf, (foot[0], foot[1] - 0.02)]
    cloth = o.second if o.coat in ("shirt", "jumper", "waistcoat", "gansey", "cardigan") else o.main
    if o.skirted or o.legs in ("short", "breeches", "bare"):
        bare = skin if o.legs in ("short", "bare") or (o.socks[0] > 0.6 and not o.skirted) else o.socks
        if not body.sits:
            canvas.fill(frame.all(tube([hip, knee], [thick * 1.5, thick * 1.05])), bare, relief=0.4, rim=0.3)
        canvas.fill(frame.all(tube(lower, [thick, thick * 1.0, thick * 0.62])), bare, relief=0.4, rim=0.3)
        if (
            o.socks[0] > 0.25
            and o.legs != "bare"
            and not (o.skirted and 0.5 < o.socks[0] < 0.85 and figure.head.age > 14)
        ):
            top = (foot[0] + (knee[0] - foot[0]) * 0.45, foot[1] + (knee[1] - foot[1]) * 0.45)
            canvas.fill(frame.all(tube([top, foot], [thick * 0.98, thick * 0.68])), o.socks, relief=0.4, rim=0.3)
    if not o.skirted and o.legs in ("short", "breeches"):
        end = o.hem * body.heads
        hem = (knee[0], -end) if not body.sits else knee
        canvas.fill(
            frame.all(tube([hip, hem], [thick * 1.8, thick * 1.45])),
            cloth,
            relief=0.4,
            rim=0.3,
            weave=figure.weave if cloth is o.main else None,
        )
    elif not o.skirted and o.legs in ("long", "flared"):
        wide = (2.3 if o.legs == "flared" else 1.15, 1.0 if o.legs == "flared" else 1.25)
        cuff = (foot[0], foot[1] - 0.1)
        path, widths = [knee, cuff], [thick * wide[1] * 1.1, thick * wide[0]]
        if not body.sits:
            path, widths = [hip, knee, cuff], [thick * 1.75, thick * wide[1], thick * wide[0]]
        canvas.fill(
            frame.all(tube(path, widths)),
            cloth,
            relief=0.4,
            rim=0.3,
            shadow=0.15,
            weave=figure.weave if cloth is o.main else None,
        )


def _lap(canvas: Canvas, frame: Frame, figure: Figure, body: Body, gap: float) -> None:
    """Thighs coming forward when sitting in trousers."""
    o = figure.outfit
    cloth = o.second if o.coat in ("shirt", "jumper", "waistcoat", "gansey", "cardigan") else o.main
    if o.legs == "bare":
        cloth = figure.head.looks.skin
    for side in (-1, 1):
        thigh = [(side * 0.26, body.hip_y - 0.12), (side * gap, body.knee_y + 0.05)]
        canvas.fill(frame.all(tube(thigh, [body.limb * 1.7, body.limb * 1.6])), cloth, relief=0.5, rim=0.3, shadow=0.25)


def _tucked(canvas: Canvas, frame: Frame, figure: Figure, body: Body) -> None:
    """Legs crossed in front, sitting on the ground."""
    o, skin = figure.outfit, figure.head.looks.skin
    covered = o.legs in ("long", "flared") and not o.skirted
    cloth = o.second if o.coat in ("shirt", "jumper", "waistcoat", "gansey", "cardigan") else o.main
    for side in (-1, 1):
        path = [(side * 0.25, -0.3), (side * 0.85, -0.22), (side * -0.1, -0.1)]
        canvas.fill(frame.all(tube(path, [body.limb * 1.5, body.limb * 1.2, body.limb * 0.8])), cloth if covered else skin,
                    relief=0.4, rim=0.3, shadow=0.2)  # fmt: skip
        if o.legs != "bare":
            canvas.fill(oval(*frame.at(side * -0.2, -0.08), frame.unit * 0.2, frame.unit * 0.1), o.shoes, relief=0.5)


def _shoe(canvas: Canvas, frame: Frame, side: int, foot: Point, colour: Colour, body: Body) -> None:
    size = body.limb / 0.18
    canvas.fill(oval(*frame.at(foot[0] + side * 0.04, foot[1] + 0.03), frame.unit * 0.17 * size, frame.unit * 0.095 * size),
                colour, relief=0.7, rim=0.2, shadow=0.35)  # fmt: skip


def _neck(canvas: Canvas, frame: Frame, figure: Figure, body: Body) -> None:
    wide = 0.155 if figure.head.sex == "F" or figure.head.age < 14 else 0.2
    top = (figure.pose.tilt * 0.2, body.chin - 0.12)
    neck = tube([top, (0, body.shoulder_y + 0.1)], [wide, wide * 1.15])
    canvas.fill(frame.all(neck), mix(figure.head.looks.skin, (0.5, 0.3, 0.22), 0.18), relief=0.3, rim=0.4)


def _joints(body: Body, side: int, arm: str) -> tuple[Point, Point, Point]:
    """Shoulder, elbow and hand for what an arm does."""
    s, sy, wy, hy = body.shoulder, body.shoulder_y, body.waist_y, body.hip_y
    tip = (side * (s - 0.13), sy + 0.17)
    reach = hy - wy
    places = {
        "down": ((s + 0.06, wy - 0.1), (s + 0.05, hy + 0.12)),
        "back": ((s + 0.16, wy - 0.1), (0.25, wy + 0.1)),
        "lap": ((s + 0.12, wy - 0.02), (0.13, hy - 0.28)),
        "knees": ((s + 0.1, wy - 0.05), (0.4, body.knee_y - 0.14)),
        "clasp": ((s + 0.13, wy - 0.08), (0.1, wy + reach * 0.75)),
        "hip": ((s + 0.42, wy - 0.1), (body.waist + 0.1, wy + 0.18)),
        "rest": ((s + 0.2, wy - 0.1), (s + 0.42, wy + 0.12)),
        "pocket": ((s + 0.2, wy - 0.05), (body.hip * 0.92, hy - 0.12)),
        "hold": ((s + 0.12, wy - 0.05), (0.24, wy + 0.02)),
        "cradle": ((s + 0.14, wy - 0.12), (0.22, wy + 0.16)),
        "out": ((s + 0.28, sy + 0.62), (s + 0.62, sy + 0.45)),
        "wave": ((s + 0.36, sy + 0.25), (s + 0.42, sy - 0.65)),
        "chin": ((s + 0.05, wy - 0.1), (0.3, body.chin + 0.12)),
        "chest": ((s + 0.14, wy - 0.15), (0.1, wy - 0.5)),
        "pull": ((s + 0.1, sy + 0.75), (0.6, sy + 0.75)),
    }
    elbow, hand = places[arm]
    return tip, (side * elbow[0], elbow[1]), (side * hand[0], hand[1])


def _arm(canvas: Canvas, frame: Frame, figure: Figure, body: Body, side: int, arm: str) -> None:
    """One arm in its sleeve, and the hand."""
    joints = _joints(body, side, arm)
    if arm not in ("back", "pocket"):
        draw_hand(canvas, frame, joints[2], joints[1], figure.head.looks.skin, body.limb / 0.19)
    garments.draw_sleeve(canvas, frame, figure.outfit, body, joints, figure.head.looks.skin, figure.weave)


def draw_hand(canvas: Canvas, frame: Frame, hand: Point, elbow: Point, skin: Colour, size: float) -> None:
    """A hand at the end of a forearm: palm, thumb and the hint of fingers."""
    dx, dy = hand[0] - elbow[0], hand[1] - elbow[1]
    reach = max((dx * dx + dy * dy) ** 0.5, 1e-3)
    ux, uy = dx / reach, dy / reach
    tip = (hand[0] + ux * 0.19 * size, hand[1] + uy * 0.19 * size)
    canvas.fill(frame.all(tube([hand, tip], [0.105 * size, 0.09 * size])), skin, relief=0.35, rim=0.4, shadow=0.2)
    for across in (-0.3, 0.2):
        a = (
            hand[0] + ux * 0.12 * size - uy * 0.1 * across * size,
            hand[1] + uy * 0.12 * size + ux * 0.1 * across * size,
        )
        b = (a[0] + ux * 0.13 * size, a[1] + uy * 0.13 * size)
        canvas.stroke(frame.all([a, b]), (0.5, 0.3, 0.24), max(0.7, frame.unit * 0.012), alpha=0.45)


def _swaddled(canvas: Canvas, frame: Frame, figure: Figure) -> Box:
    """A baby in a long gown, carried: the frame's origin is the middle of the bundle, its head towards -y."""
    white = figure.outfit.main
    long = 2.9 if figure.outfit.hem < 0 else 1.9
    gown = [(0, -0.62), (0.42, -0.5), (0.5, 0.0), (0.56, 0.8), (0.62, long - 0.7), (0.4, long - 0.55), (0, long - 0.5),
            (-0.4, long - 0.55), (-0.6, long - 0.7), (-0.5, 0.7), (-0.46, 0.0), (-0.42, -0.5)]  # fmt: skip
    canvas.fill(smooth(frame.all(gown)), white, relief=0.4, rim=0.3, shadow=0.35)
    rng = np.random.default_rng(7)
    for x in rng.uniform(-0.4, 0.4, 7):
        fold = [(x * 0.5, 0.0), (x * 0.8, 0.8), (x, long - 0.62)]
        canvas.stroke(
            smooth(frame.all(fold), closed=False),
            mix(white, (0.45, 0.4, 0.36), 0.5),
            frame.unit * 0.03,
            alpha=0.3,
            taper=True,
        )
    for side in (-1, 1):
        arm = [(side * 0.38, -0.4), (side * 0.5, 0.0), (side * 0.16, 0.12)]
        canvas.fill(frame.all(tube(arm, [0.16, 0.16, 0.11])), white, relief=0.35, rim=0.3, shadow=0.2)
        canvas.fill(
            oval(*frame.at(side * 0.1, 0.15), frame.unit * 0.09, frame.unit * 0.08), figure.head.looks.skin, relief=0.3
        )
    return draw_head(canvas, frame.inside(0, -1.02), replace(figure.head, turn=0.0))

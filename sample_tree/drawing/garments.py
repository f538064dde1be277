"""Clothes on a body: skirts, bodices and coats, sleeves, collars and everything pinned to them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .canvas import Canvas, Colour, Frame, Pixels, Point, cloud, mix, oval, smooth
from .canvas import limb as tube
from .dress import WHITE, Outfit

if TYPE_CHECKING:
    from .figures import Body

DARK: Colour = (0.05, 0.04, 0.04)
Joints = tuple[Point, Point, Point]


def weave_for(outfit: Outfit, width: int, height: int, unit: float, rng: np.random.Generator) -> Pixels | None:
    """The pattern of a cloth over the whole picture, as a factor on its colour; None for plain cloth."""
    if not outfit.pattern:
        return None
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    x += cloud(width, height, unit, rng, 1) * unit * 0.04
    step = max(unit * 0.11, 4.0)
    if outfit.pattern == "stripe":
        factor = 1 - 0.22 * (np.mod(x, step) < step * 0.35)
    elif outfit.pattern == "check":
        factor = 1 - 0.16 * (np.mod(x, step * 1.5) < step * 0.7) - 0.16 * (np.mod(y, step * 1.5) < step * 0.7)
    elif outfit.pattern == "knit":
        factor = 1 - 0.1 * (np.mod(y + 0.5 * np.abs(np.mod(x, step * 0.5) - step * 0.25), step * 0.45) < step * 0.18)
    else:
        gap = step * {"dots": 1.5, "floral": 1.9, "bold": 4.2}[outfit.pattern]
        size = gap * {"dots": 0.2, "floral": 0.3, "bold": 0.32}[outfit.pattern]
        row = np.floor(y / gap)
        u, v = np.mod(x + (row % 2) * gap / 2, gap) - gap / 2, np.mod(y, gap) - gap / 2
        r = np.hypot(u, v) * (1 + (0.35 * np.cos(5 * np.arctan2(v, u)) if outfit.pattern == "floral" else 0))
        light = 1 if sum(outfit.main) < 1.6 else -1
        factor = 1 + light * 0.42 * (r < size)
    return np.asarray(factor, np.float32)[..., None]


def draw_skirt(canvas: Canvas, frame: Frame, o: Outfit, body: Body, weave: Pixels | None) -> None:
    """A skirt, standing or over the knees, with its folds."""
    hem = -o.hem * body.heads
    top = {"drop": body.hip_y - 0.1, "high": body.waist_y - 0.35, "loose": body.waist_y}.get(o.waist, body.waist_y)
    if body.sits:
        spread = max(o.flare * 0.92, 0.72)
        knee = body.knee_y + 0.06
        hem = min(hem, 0.4 if o.hem < 0 else -0.02) if o.hem <= 0.1 else max(hem, body.knee_y + 0.3)
        right = [
            (body.waist, top),
            (body.hip * 1.15, body.hip_y - 0.15),
            (spread * 0.9, knee - 0.12),
            (spread, knee + 0.3),
            (spread * 1.04, hem),
        ]
    else:
        right = [
            (body.waist, top),
            (body.hip * 1.04, (top + body.hip_y) / 2 + 0.05),
            ((body.hip + o.flare) / 2, (body.hip_y + hem) / 2),
            (o.flare, hem),
        ]
    outline = _mirrored(right, hem)
    if "bustle" in o.trims and not body.sits:
        back = [
            (0, top),
            (body.waist + 0.1, top + 0.02),
            (body.hip + 0.5, top + 0.35),
            (body.hip + 0.6, top + 0.9),
            (o.flare + 0.22, hem - 0.9),
            (o.flare + 0.25, hem - 0.04),
            (0, hem - 0.1),
        ]
        canvas.fill(smooth(frame.all(back), steps=5), mix(o.main, DARK, 0.2), relief=0.45, rim=0.3, weave=weave)
    canvas.fill(frame.all(outline), o.main, relief=0.42, rim=0.28, depth=frame.unit * 0.3, shadow=0.3, weave=weave)
    _folds(canvas, frame, o, right, hem)
    if "ruffles" in o.trims or "swags" in o.trims:
        _ruffles(canvas, frame, o, right[-1][0], hem, top)
    if "bands" in o.trims:
        for up in (0.25, 0.4):
            band = [
                (-right[-1][0] * (1 - up * 0.12), hem - up),
                (0, hem - up + 0.1),
                (right[-1][0] * (1 - up * 0.12), hem - up),
            ]
            canvas.stroke(
                smooth(frame.all(band), closed=False),
                mix(o.main, WHITE if sum(o.main) < 0.7 else DARK, 0.25),
                frame.unit * 0.06,
                alpha=0.8,
            )
    if body.sits and o.flare > 0.6:
        canvas.glow(*frame.at(0, body.knee_y + 0.1), frame.unit * 0.6, frame.unit * 0.16, mix(o.main, WHITE, 0.35), 0.3)


def _mirrored(right: list[Point], hem: float) -> list[Point]:
    """A closed outline from the right edge of a skirt, with a slightly rounded hem."""
    edge = smooth(right, closed=False)
    left = [(-x, y) for x, y in reversed(edge)]
    wide = edge[-1][0]
    return [*edge, (wide * 0.6, hem + 0.05), (0, hem + 0.07), (-wide * 0.6, hem + 0.05), *left]


def _folds(canvas: Canvas, frame: Frame, o: Outfit, right: list[Point], hem: float) -> None:
    """Lines of light and shade falling from waist to hem."""
    edge = smooth(right, closed=False)
    count = 9 if o.flare > 0.95 else 5
    for i in range(count):
        share = (i + 0.5) / count * 2 - 1
        path = [(x * share * 0.92, y) for x, y in edge[len(edge) // 4 :: max(1, len(edge) // 6)]]
        if len(path) < 3:
            continue
        dark = i % 2 == 0
        canvas.stroke(smooth(frame.all(path), closed=False), mix(o.main, DARK if dark else WHITE, 0.75 if dark else 0.5),
                      frame.unit * (0.05 if o.flare > 0.95 else 0.03), alpha=0.26 if dark else 0.15, taper=True)  # fmt: skip


def _ruffles(canvas: Canvas, frame: Frame, o: Outfit, wide: float, hem: float, top: float) -> None:
    """A frilled hem, and for a bustle dress the gathered drapery over the hips."""
    for i in range(13):
        x = (i / 12 * 2 - 1) * wide * 0.96
        canvas.fill(oval(*frame.at(x, hem - 0.1 + 0.05 * (1 - abs(x / wide))), frame.unit * wide * 0.1, frame.unit * 0.16),
                    mix(o.main, o.accent, 0.5), relief=0.35, rim=0.3)  # fmt: skip
    if "swags" in o.trims:
        for level, drop in ((0.1, 0.75), (0.3, 1.05)):
            y = top + level
            swag = [
                (-0.62, y + 0.1),
                (-0.35, y + drop * 0.7),
                (0.1, y + drop),
                (0.55, y + drop * 0.6),
                (0.68, y + 0.1),
                (0.3, y + 0.18),
                (-0.2, y + 0.16),
            ]
            canvas.fill(smooth(frame.all(swag)), mix(o.main, o.accent, 0.35), relief=0.5, rim=0.35, shadow=0.25)


def draw_torso(canvas: Canvas, frame: Frame, o: Outfit, body: Body, weave: Pixels | None) -> None:
    """Bodice, blouse, shirt or coat."""
    s, sy, wy, hy = body.shoulder, body.shoulder_y, body.waist_y, body.hip_y
    main = o.second if o.coat == "blouse" and o.skirted else o.main
    low_waist = {"drop": hy - 0.02, "high": wy - 0.3}.get(o.waist, wy + 0.05)
    bottom = low_waist if o.skirted else hy + 0.1
    low = body.waist if o.skirted and o.waist == "natural" else body.hip if bottom > wy + 0.1 else body.waist * 1.05
    chest = s * 0.86 if not o.skirted else max(body.waist * 1.14, s * 0.8)
    if o.coat == "frock" and not body.sits:
        bottom, low = body.knee_y - 0.35, body.hip * 1.35
    elif o.coat in ("sack", "double", "norfolk", "tunic", "cardigan"):
        bottom, low = min(hy + 0.35, -0.2), max(body.hip * 1.1, body.waist * 1.1)
        bottom = hy + 0.02 if body.sits else bottom
    right = [
        (0.17, sy - 0.1),
        (s * 0.62, sy - 0.02),
        (s * 0.98, sy + 0.12),
        (s * 0.94, sy + 0.4),
        (chest, sy + 0.6),
        (body.waist * 1.02, wy),
        (low, bottom),
    ]
    if o.waist in ("drop", "loose", "high") or not o.skirted:
        right[5] = (max(body.waist * 1.08, chest * 0.92), min(wy, bottom - 0.1))
    ring = [*right, (0, bottom + 0.05), *[(-x, y) for x, y in reversed(right)]]
    canvas.fill(smooth(frame.all(ring)), main, relief=0.38, rim=0.28, depth=frame.unit * 0.2, shadow=0.28, weave=weave)
    bust = 0.3 if o.skirted and body.heads > 6 else 0
    for side in (-1, 1):
        if bust:
            canvas.glow(
                *frame.at(side * 0.24 - 0.04, sy + 0.55),
                frame.unit * 0.16,
                frame.unit * 0.15,
                mix(main, WHITE, 0.5),
                bust,
            )
            canvas.glow(*frame.at(side * 0.24 + 0.05, sy + 0.78), frame.unit * 0.17, frame.unit * 0.07, DARK, 0.18)
    _front(canvas, frame, o, body, bottom)


def _front(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """What shows down the front: shirt and lapels, buttons, seams, braces, smocking."""
    s, sy, wy = body.shoulder, body.shoulder_y, body.waist_y
    dark = mix(o.main, DARK, 0.6)
    if o.coat in ("frock", "sack", "double", "cardigan"):
        deep = wy - (0.1 if o.coat != "frock" else 0.35)
        canvas.fill(
            frame.all([(-0.2, sy - 0.12), (0.2, sy - 0.12), (0.03, deep), (-0.03, deep)]), WHITE, relief=0, rim=0.1
        )
        if o.coat in ("frock", "sack", "cardigan") and o.neck != "tie":
            vest = mix(o.main, WHITE, 0.12)
            canvas.fill(
                frame.all(
                    [(-0.16, sy + 0.3), (0, sy + 0.55), (0.16, sy + 0.3), (0.06, deep + 0.1), (-0.06, deep + 0.1)]
                ),
                vest,
                relief=0.1,
            )
        for side in (-1, 1):
            lapel = [
                (side * 0.17, sy - 0.12),
                (side * s * 0.42, sy + 0.06),
                (side * s * 0.5, sy + 0.34),
                (side * s * 0.38, sy + 0.4),
                (side * 0.02, deep + 0.06),
            ]
            if o.coat != "cardigan":
                canvas.fill(frame.all(lapel), mix(o.main, WHITE, 0.06), relief=0.3, rim=0.35, shadow=0.2)
        canvas.stroke(frame.all([(0.03, deep), (0.05, bottom)]), dark, frame.unit * 0.025, alpha=0.7)
        columns = (-0.16, 0.2) if o.coat == "double" else (0.0,)
        for x in columns:
            for y in np.linspace(deep + 0.12, min(bottom - 0.2, wy + 0.5), 3):
                canvas.fill(
                    oval(*frame.at(x, float(y)), frame.unit * 0.035, frame.unit * 0.035),
                    mix(dark, WHITE, 0.15),
                    relief=0.6,
                )
    elif o.coat in ("norfolk", "tunic", "shirt", "waistcoat"):
        canvas.stroke(frame.all([(0, sy), (0, bottom)]), dark, frame.unit * 0.02, alpha=0.6)
        for y in np.linspace(sy + 0.25, bottom - 0.15, 5):
            canvas.fill(
                oval(*frame.at(0, float(y)), frame.unit * 0.03, frame.unit * 0.03),
                (0.75, 0.65, 0.4) if o.coat == "tunic" else dark,
                relief=0.6,
            )
        if o.coat == "waistcoat":
            for side in (-1, 1):
                half = [
                    (side * 0.3, sy),
                    (side * s * 0.62, sy + 0.05),
                    (side * s * 0.66, sy + 0.5),
                    (side * body.waist * 1.1, wy),
                    (side * 0.1, bottom),
                    (side * 0.02, sy + 0.75),
                ]
                canvas.fill(frame.all(half), o.accent, relief=0.3, rim=0.3, shadow=0.2)
        if o.coat == "norfolk":
            for x in (-0.3, 0.3):
                canvas.stroke(frame.all([(x, sy + 0.1), (x, bottom)]), dark, frame.unit * 0.07, alpha=0.35)
            canvas.stroke(frame.all([(-body.waist, wy), (body.waist, wy)]), dark, frame.unit * 0.1, alpha=0.7)
        if o.coat == "tunic":
            for x in (-0.36, 0.36):
                pocket = [(x - 0.15, sy + 0.5), (x + 0.15, sy + 0.5), (x + 0.15, sy + 0.8), (x - 0.15, sy + 0.8)]
                canvas.fill(frame.all(pocket), mix(o.main, WHITE, 0.06), relief=0.2, rim=0.35)
            canvas.stroke(
                frame.all([(-body.waist * 1.12, wy), (body.waist * 1.12, wy)]), (0.25, 0.17, 0.11), frame.unit * 0.15
            )
            canvas.fill(
                frame.all([(-0.1, wy - 0.08), (0.1, wy - 0.08), (0.1, wy + 0.08), (-0.1, wy + 0.08)]),
                (0.75, 0.65, 0.4),
                relief=0.5,
            )
    elif o.coat in ("gansey", "jumper", "blouse") and not o.skirted:
        canvas.stroke(
            frame.all([(-body.hip * 0.95, bottom - 0.06), (body.hip * 0.95, bottom - 0.06)]),
            dark,
            frame.unit * 0.1,
            alpha=0.35,
        )
    if "buttons" in o.trims and o.skirted:
        for y in np.linspace(sy + 0.2, wy - 0.08, 6):
            canvas.fill(
                oval(*frame.at(0, float(y)), frame.unit * 0.028, frame.unit * 0.028),
                mix(o.accent, WHITE, 0.3),
                relief=0.7,
            )
    if "smock" in o.trims:
        for y in (0.2, 0.28, 0.36):
            canvas.stroke(
                frame.all([(-s * 0.6, sy + y), (s * 0.6, sy + y)]), mix(o.main, DARK, 0.4), frame.unit * 0.02, alpha=0.6
            )
    if "braces" in o.trims:
        for x in (-0.32, 0.32):
            canvas.stroke(
                frame.all([(x * 0.9, sy - 0.02), (x, wy + 0.25)]), mix(o.second, DARK, 0.4), frame.unit * 0.07
            )


def cardigan_of(o: Outfit) -> Colour:
    """The colour of a cardigan that goes with a dress."""
    return mix((0.50, 0.42, 0.40), o.main, 0.35)


def draw_sleeve(
    canvas: Canvas, frame: Frame, o: Outfit, body: Body, joints: Joints, skin: Colour, weave: Pixels | None
) -> None:
    """One sleeve along the arm; bare arm where it ends."""
    tip, elbow, hand = joints
    w = body.limb
    cloth = o.second if o.coat == "blouse" and o.skirted else o.main
    if "cardigan" in o.trims:
        cloth, weave = cardigan_of(o), None
    widths = {
        "tight": (1.0, 0.86, 0.62), "bell": (0.95, 1.0, 1.5), "gigot": (1.85, 1.5, 0.6), "bishop": (1.0, 1.15, 1.0), "coat": (1.0, 0.95, 0.76),
        "shirt": (0.98, 0.92, 0.74), "rolled": (1.05, 0.95, 0.6), "short": (0.95, 0.78, 0.55), "puff": (0.95, 0.78, 0.55), "none": (0.9, 0.75, 0.52),
    }[o.sleeve]  # fmt: skip
    bare = o.sleeve in ("short", "puff", "none", "rolled")
    path, halves = [tip, elbow, hand], [x * w for x in widths]
    if bare:
        canvas.fill(frame.all(tube(path, halves)), skin, relief=0.4, rim=0.35, shadow=0.25)
    if o.sleeve == "none":
        return
    part = {"short": 0.55, "puff": 0.3, "rolled": 1.0}.get(o.sleeve)
    if part is not None:
        end = (tip[0] + (elbow[0] - tip[0]) * part, tip[1] + (elbow[1] - tip[1]) * part)
        big = 1.6 if o.sleeve == "puff" else 1.2
        canvas.fill(
            frame.all(tube([tip, end], [big * w, big * w])), cloth, relief=0.45, rim=0.3, shadow=0.2, weave=weave
        )
        return
    canvas.fill(frame.all(tube(path, halves)), cloth, relief=0.45, rim=0.32, shadow=0.28, weave=weave)
    crease = [(elbow[0] * 0.98, elbow[1] - 0.1), (elbow[0] * 0.93, elbow[1] + 0.02)]
    canvas.stroke(frame.all(crease), mix(cloth, DARK, 0.7), frame.unit * 0.03, alpha=0.4, taper=True)
    cuff = WHITE if o.sleeve in ("coat", "bishop") or "lace" in o.trims else mix(cloth, DARK, 0.4)
    dx, dy = hand[0] - elbow[0], hand[1] - elbow[1]
    reach = max((dx * dx + dy * dy) ** 0.5, 1e-3)
    half = halves[2] * 0.95
    ax, ay, px, py = dx / reach, dy / reach, -dy / reach * half, dx / reach * half
    deep = half + (0.06 if o.sleeve == "coat" else 0.03)
    band = [
        (hand[0] + ax * k + px * w, hand[1] + ay * k + py * w)
        for k, w in ((half - 0.02, 0.8), (deep, 0.8), (deep, -0.8), (half - 0.02, -0.8))
    ]
    canvas.fill(frame.all(band), cuff, relief=0.2, rim=0.25)


def draw_neckline(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """Collar and tie, by the fashion."""
    NECKS.get(o.neck, _round)(canvas, frame, o, body.shoulder_y)


def _round(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    edge = [(-0.22, y - 0.1), (0, y + 0.1), (0.22, y - 0.1)]
    canvas.stroke(smooth(frame.all(edge), closed=False), mix(o.main, DARK, 0.35), frame.unit * 0.05, alpha=0.8)


def _flat_collar(canvas: Canvas, frame: Frame, o: Outfit, y: float, size: float = 1.0) -> None:
    tone = o.second if o.coat in ("shirt",) and o.skirted else WHITE if o.coat != "shirt" else mix(o.main, WHITE, 0.25)
    for side in (-1, 1):
        wing = [
            (side * 0.03, y + 0.06),
            (side * 0.18, y - 0.14),
            (side * 0.3 * size, y - 0.04),
            (side * 0.27 * size, y + 0.16 * size),
            (side * 0.12, y + 0.18 * size),
        ]
        canvas.fill(smooth(frame.all(wing), steps=4), tone, relief=0.25, rim=0.3, shadow=0.25)


def _wide_collar(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    for side in (-1, 1):
        wing = [(side * 0.02, y + 0.2), (side * 0.16, y - 0.16), (side * 0.34, y - 0.05), (side * 0.46, y + 0.26)]
        canvas.fill(frame.all(wing), mix(o.main, WHITE, 0.25), relief=0.25, rim=0.3, shadow=0.25)


def _high(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    tone = o.second if o.coat == "blouse" else mix(o.main, WHITE, 0.08)
    band = [(-0.19, y - 0.3), (0, y - 0.25), (0.19, y - 0.3), (0.22, y - 0.04), (0, y + 0.06), (-0.22, y - 0.04)]
    canvas.fill(smooth(frame.all(band), steps=4), tone, relief=0.35, rim=0.3, shadow=0.15)
    canvas.stroke(smooth(frame.all(band[:3]), closed=False), WHITE, frame.unit * 0.04)


def _vee(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    canvas.fill(frame.all([(-0.2, y - 0.14), (0.2, y - 0.14), (0, y + 0.42)]), (0.88, 0.70, 0.58), relief=0.1, rim=0.2)
    for side in (-1, 1):
        canvas.fill(
            frame.all([(side * 0.2, y - 0.16), (side * 0.36, y + 0.0), (side * 0.05, y + 0.52), (0, y + 0.4)]),
            mix(o.accent, WHITE, 0.55),
            relief=0.2,
            rim=0.3,
        )


def _square(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    canvas.fill(
        frame.all([(-0.28, y - 0.12), (0.28, y - 0.12), (0.24, y + 0.24), (-0.24, y + 0.24)]),
        (0.90, 0.73, 0.61),
        relief=0.1,
        rim=0.2,
    )
    canvas.stroke(
        frame.all([(-0.29, y - 0.1), (-0.25, y + 0.25), (0.25, y + 0.25), (0.29, y - 0.1)]), WHITE, frame.unit * 0.05
    )


def _lace(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    for i in range(9):
        x = (i / 8 * 2 - 1) * 0.36
        canvas.fill(
            oval(*frame.at(x, y + 0.14 - 0.6 * x * x), frame.unit * 0.07, frame.unit * 0.1), WHITE, relief=0.35, rim=0.4
        )


def _tie(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    _flat_collar(canvas, frame, o, y - 0.02, 0.75)
    tie = [
        (-0.05, y + 0.02),
        (0.05, y + 0.02),
        (0.04, y + 0.12),
        (0.075, y + 0.6),
        (0, y + 0.72),
        (-0.075, y + 0.6),
        (-0.04, y + 0.12),
    ]
    canvas.fill(frame.all(tie), o.accent, relief=0.3, rim=0.25, shadow=0.15)


def _stiff_tie(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    canvas.fill(
        frame.all([(-0.2, y - 0.3), (0.2, y - 0.3), (0.2, y + 0.02), (0, y + 0.06), (-0.2, y + 0.02)]),
        WHITE,
        relief=0.3,
        rim=0.25,
    )
    tie = [(-0.07, y - 0.06), (0.07, y - 0.06), (0.05, y + 0.06), (0.09, y + 0.4), (-0.09, y + 0.4), (-0.05, y + 0.06)]
    canvas.fill(frame.all(tie), o.accent, relief=0.35, rim=0.25)


def _bow(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    _flat_collar(canvas, frame, o, y - 0.06, 0.8)
    for side in (-1, 1):
        canvas.fill(
            smooth(frame.all([(0, y), (side * 0.2, y - 0.09), (side * 0.2, y + 0.09)]), steps=4), o.accent, relief=0.4
        )


def _cravat(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    canvas.fill(frame.all([(-0.2, y - 0.24), (0.2, y - 0.24), (0.21, y), (-0.21, y)]), WHITE, relief=0.3, rim=0.25)
    canvas.fill(
        smooth(
            frame.all(
                [
                    (-0.2, y - 0.1),
                    (0.2, y - 0.1),
                    (0.13, y + 0.16),
                    (0.1, y + 0.34),
                    (-0.1, y + 0.34),
                    (-0.13, y + 0.16),
                ]
            ),
            steps=4,
        ),
        o.accent,
        relief=0.4,
    )
    canvas.fill(oval(*frame.at(0, y + 0.16), frame.unit * 0.025, frame.unit * 0.025), WHITE, relief=0.5)


def _eton(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    _flat_collar(canvas, frame, o, y, 1.25)
    for side in (-1, 1):
        canvas.fill(
            smooth(frame.all([(0, y + 0.08), (side * 0.13, y + 0.02), (side * 0.14, y + 0.17)]), steps=4),
            DARK,
            relief=0.3,
        )


def _sailor(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    for side in (-1, 1):
        flap = [(side * 0.14, y - 0.14), (side * 0.55, y + 0.04), (side * 0.5, y + 0.3), (0, y + 0.55)]
        canvas.fill(frame.all(flap), mix(o.accent, WHITE, 0.3), relief=0.25, rim=0.3, shadow=0.2)
        canvas.stroke(
            frame.all([(side * 0.47, y + 0.22), (side * 0.04, y + 0.46)]), o.main, frame.unit * 0.025, alpha=0.9
        )
        canvas.fill(
            smooth(frame.all([(0, y + 0.5), (side * 0.12, y + 0.62), (side * 0.07, y + 0.8)]), steps=4),
            DARK,
            relief=0.3,
        )


def _scarf(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    canvas.fill(
        smooth(
            frame.all(
                [
                    (-0.22, y - 0.16),
                    (0, y - 0.08),
                    (0.22, y - 0.16),
                    (0.2, y + 0.04),
                    (0.04, y + 0.12),
                    (0.08, y + 0.32),
                    (-0.06, y + 0.3),
                    (-0.2, y + 0.04),
                ]
            ),
            steps=5,
        ),
        (0.62, 0.26, 0.22),
        relief=0.45,
        rim=0.3,
        shadow=0.2,
    )


def _knit(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    band = [(-0.22, y - 0.22), (0, y - 0.16), (0.22, y - 0.22), (0.26, y + 0.0), (0, y + 0.1), (-0.26, y + 0.0)]
    canvas.fill(smooth(frame.all(band), steps=5), mix(o.main, WHITE, 0.08), relief=0.4, rim=0.3, shadow=0.15)


def _tunic(canvas: Canvas, frame: Frame, o: Outfit, y: float) -> None:
    _knit(canvas, frame, o, y)
    for side in (-1, 1):
        canvas.fill(
            oval(*frame.at(side * 0.13, y - 0.08), frame.unit * 0.03, frame.unit * 0.03), (0.75, 0.65, 0.4), relief=0.5
        )


NECKS = {
    "collar": _flat_collar, "peter pan": _flat_collar, "open": _flat_collar, "wide collar": _wide_collar, "high": _high, "v": _vee, "square": _square,
    "lace": _lace, "tie": _tie, "stiff tie": _stiff_tie, "bow": _bow, "cravat": _cravat, "eton": _eton, "sailor": _sailor, "scarf": _scarf, "knit": _knit,
    "tunic": _tunic, "round": _round,
}  # fmt: skip


def draw_trims(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """Brooches, beads, watch chains, sashes, aprons, flowers and shawls."""
    s, sy, wy, u = body.shoulder, body.shoulder_y, body.waist_y, frame.unit
    at = {"drop": body.hip_y - 0.12, "high": wy - 0.33}.get(o.waist, wy)
    if "apron" in o.trims or "pinafore" in o.trims:
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
    if "sash" in o.trims:
        canvas.stroke(frame.all([(-body.waist * 1.1, at), (body.waist * 1.1, at)]), o.accent, u * 0.15)
        canvas.fill(
            smooth(frame.all([(0.3, at), (0.5, at + 0.12), (0.52, at + 0.55), (0.36, at + 0.5)]), steps=4),
            o.accent,
            relief=0.4,
        )
    if "belt" in o.trims:
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
    if "cardigan" in o.trims:
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
    if "shawl" in o.trims:
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
    if "brooch" in o.trims:
        canvas.fill(oval(*frame.at(0, sy + 0.04), u * 0.065, u * 0.055), (0.86, 0.78, 0.6), relief=0.7, rim=0.4)
    if "beads" in o.trims or "pearls" in o.trims:
        deep = 0.75 if "beads" in o.trims else 0.28
        for i in range(17):
            x = (i / 16 * 2 - 1) * 0.24
            y = sy - 0.1 + deep * (1 - (x / 0.24) ** 2) ** 0.6
            canvas.fill(oval(*frame.at(x, y), u * 0.028, u * 0.028), (0.9, 0.88, 0.84), relief=0.6, rim=0.3)
    if "watch" in o.trims:
        canvas.stroke(
            smooth(frame.all([(-0.3, wy - 0.14), (-0.1, wy - 0.02), (0.05, wy - 0.14)]), closed=False),
            (0.85, 0.76, 0.5),
            u * 0.025,
        )
    if "flower" in o.trims:
        canvas.fill(oval(*frame.at(s * 0.45, sy + 0.3), u * 0.07, u * 0.07), WHITE, relief=0.5, rim=0.4)
    if "strap" in o.trims:
        canvas.stroke(frame.all([(s * 0.6, sy), (-body.waist, wy)]), (0.25, 0.17, 0.11), u * 0.08)
    if "fur" in o.trims:
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
    if "bouquet" in o.trims:
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

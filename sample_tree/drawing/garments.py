"""Clothes on a body: skirts, bodices and coats, sleeves, collars and everything pinned to them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .canvas import Canvas, Colour, Frame, Pixels, Point, cloud, mix, oval, smooth
from .canvas import limb as tube
from .dress import WHITE, Outfit

if TYPE_CHECKING:
    from .body import Body

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
    if o.coat in ("frock", "sack", "double", "cardigan"):
        _lapels(canvas, frame, o, body, bottom)
    elif o.coat in ("norfolk", "tunic", "shirt", "waistcoat"):
        _buttoned(canvas, frame, o, body, bottom)
    elif o.coat in ("gansey", "jumper", "blouse") and not o.skirted:
        dark, y = mix(o.main, DARK, 0.6), bottom - 0.06
        canvas.stroke(frame.all([(-body.hip * 0.95, y), (body.hip * 0.95, y)]), dark, frame.unit * 0.1, alpha=0.35)
    _sewn_on(canvas, frame, o, body)


def _lapels(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """A coat open over a shirt front."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    dark = mix(o.main, DARK, 0.6)
    deep = wy - (0.1 if o.coat != "frock" else 0.35)
    canvas.fill(frame.all([(-0.2, sy - 0.12), (0.2, sy - 0.12), (0.03, deep), (-0.03, deep)]), WHITE, relief=0, rim=0.1)
    if o.coat in ("frock", "sack", "cardigan") and o.neck != "tie":
        vest = mix(o.main, WHITE, 0.12)
        canvas.fill(
            frame.all([(-0.16, sy + 0.3), (0, sy + 0.55), (0.16, sy + 0.3), (0.06, deep + 0.1), (-0.06, deep + 0.1)]),
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


def _buttoned(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """A front that is buttoned up: tunic, norfolk jacket, shirt, waistcoat."""
    sy = body.shoulder_y
    dark = mix(o.main, DARK, 0.6)
    canvas.stroke(frame.all([(0, sy), (0, bottom)]), dark, frame.unit * 0.02, alpha=0.6)
    for y in np.linspace(sy + 0.25, bottom - 0.15, 5):
        canvas.fill(
            oval(*frame.at(0, float(y)), frame.unit * 0.03, frame.unit * 0.03),
            (0.75, 0.65, 0.4) if o.coat == "tunic" else dark,
            relief=0.6,
        )
    more = {"waistcoat": _waistcoat, "norfolk": _norfolk, "tunic": _soldier}.get(o.coat)
    if more:
        more(canvas, frame, o, body, bottom)


def _waistcoat(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """A waistcoat over shirt sleeves, and the top of the trousers that the shirt is tucked into."""
    s = body.shoulder
    sy = body.shoulder_y
    wy = body.waist_y
    top = [(-body.waist * 1.12, wy - 0.05), (body.waist * 1.12, wy - 0.05), (body.hip * 1.02, bottom + 0.1)]
    canvas.fill(frame.all([*top, (0, bottom + 0.2), (-top[2][0], top[2][1])]), o.second, relief=0.3, rim=0.25)
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


def _norfolk(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """The pleats and belt of a norfolk jacket."""
    sy = body.shoulder_y
    wy = body.waist_y
    dark = mix(o.main, DARK, 0.6)
    for x in (-0.3, 0.3):
        canvas.stroke(frame.all([(x, sy + 0.1), (x, bottom)]), dark, frame.unit * 0.07, alpha=0.35)
    canvas.stroke(frame.all([(-body.waist, wy), (body.waist, wy)]), dark, frame.unit * 0.1, alpha=0.7)


def _soldier(canvas: Canvas, frame: Frame, o: Outfit, body: Body, bottom: float) -> None:
    """A tunic's pockets, belt and buckle."""
    sy = body.shoulder_y
    wy = body.waist_y
    for x in (-0.36, 0.36):
        pocket = [(x - 0.15, sy + 0.5), (x + 0.15, sy + 0.5), (x + 0.15, sy + 0.8), (x - 0.15, sy + 0.8)]
        canvas.fill(frame.all(pocket), mix(o.main, WHITE, 0.06), relief=0.2, rim=0.35)
    canvas.stroke(frame.all([(-body.waist * 1.12, wy), (body.waist * 1.12, wy)]), (0.25, 0.17, 0.11), frame.unit * 0.15)
    canvas.fill(
        frame.all([(-0.1, wy - 0.08), (0.1, wy - 0.08), (0.1, wy + 0.08), (-0.1, wy + 0.08)]),
        (0.75, 0.65, 0.4),
        relief=0.5,
    )


def _sewn_on(canvas: Canvas, frame: Frame, o: Outfit, body: Body) -> None:
    """Buttons of a bodice, smocking, braces."""
    s, sy, wy = body.shoulder, body.shoulder_y, body.waist_y
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

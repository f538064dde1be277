"""Collars and ties, from the cravat of the sixties to the wide collar a hundred years later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .canvas import Canvas, Frame, mix, oval, smooth
from .dress import WHITE, Outfit
from .garments import DARK

if TYPE_CHECKING:
    from .body import Body


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
    for side in (-1, 1):
        wing = [(side * 0.02, y + 0.03), (side * 0.15, y - 0.2), (side * 0.21, y - 0.04), (side * 0.11, y + 0.13)]
        canvas.fill(frame.all(wing), WHITE, relief=0.2, rim=0.3, shadow=0.2)
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

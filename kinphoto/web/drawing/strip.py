"""The evidence strip: each clue to a photograph's date as a ruled line on one axis of years, the impossible days
hatched, and below them the estimate as a wash of ink, darker where it is likelier.

Each clue has words, which wrap as any others, and a small drawing of its own; all drawings share the axis, `LEFT` to
`RIGHT`, however wide they are shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kinphoto.archive.dates.bars import ASIDE, OFF, Bar
from kinphoto.archive.dates.strip import Strip
from kinphoto.reason.model.span import year_of
from kinphoto.web.drawing.axis import FLAT, Axis, Tick, path

LEFT, RIGHT = 0.0, 1000.0
GROUND = 26.0
"""At which height of its drawing, 40 high, a line is ruled."""
CURVE = 22.0
"""The most a curve rises above its line."""


@dataclass(frozen=True, slots=True)
class StripLine:
    """A bar as it is drawn: from `x1` to `x2`, with an arrow where it is open. `curve` is a path."""

    bar: Bar
    x1: float
    x2: float
    open1: bool
    open2: bool
    curve: str

    @property
    def css(self) -> str:
        """Its classes: what it is and in which state."""
        classes = ["bar", self.bar.state]
        classes += ["soft"] if self.bar.soft else []
        classes += ["hesitant"] if self.bar.hesitant else []
        return " ".join(classes)

    @property
    def off(self) -> bool:
        """Whether it is switched off."""
        return self.bar.state == OFF

    @property
    def doubted(self) -> bool:
        """Whether it is set aside: it does not fit with the rest."""
        return self.bar.state == ASIDE


@dataclass(frozen=True, slots=True)
class WashStop:
    """One stop of the wash: how far along it, 0 to 1, and how dark."""

    offset: float
    darkness: float


@dataclass(frozen=True, slots=True)
class StripDrawing:
    """Everything to draw, in units of the axis: the clues and, below them, the result, which stays in view. `before`
    and `after` are the widths that are hatched at the left and the right, `bracket` is the likely range, and `ghost`
    what it would be with nothing switched off (None where nothing is)."""

    left: float
    right: float
    ticks: tuple[Tick, ...]
    lines: tuple[StripLine, ...]
    before: float
    after: float
    washed: tuple[float, float] | None
    wash: tuple[WashStop, ...]
    bracket: tuple[float, float] | None
    ghost: tuple[float, float] | None


def strip(shown: Strip, whole: Strip | None = None) -> StripDrawing:
    """The drawing of an evidence strip; `whole` is the same one with everything switched on."""
    every = [shown.axis, *([whole.axis] if whole else [])]
    axis = Axis(min(one.first for one in every), max(one.last for one in every), LEFT, RIGHT)
    e = shown.estimate
    dark = [(day, height) for day, height in shown.curve if height > 0.002]
    washed = (axis.x(dark[0][0]), axis.x(dark[-1][0] + 1)) if dark else None
    return StripDrawing(
        LEFT, RIGHT, tuple(_ticks(axis)), tuple(_line(bar, axis) for bar in shown.bars),
        round(axis.x(e.earliest) - LEFT, 1), round(RIGHT - axis.x(e.latest), 1),
        washed, tuple(_wash(dark)), _bracket(shown, axis), _bracket(whole, axis) if whole else None,
    )  # fmt: skip


def _ticks(axis: Axis) -> list[Tick]:
    """Round years; on an axis of a few years every one of them."""
    return axis.ticks(3 if year_of(axis.last) - year_of(axis.first) < 4 else 10)


def _bracket(shown: Strip, axis: Axis) -> tuple[float, float] | None:
    e = shown.estimate
    if e.likely_from is None or e.likely_to is None:
        return None
    left, right = axis.x(e.likely_from), axis.x(e.likely_to + 1)
    return (left, right) if right - left >= 6 else (left - 3, right + 3)


def _line(bar: Bar, axis: Axis) -> StripLine:
    open1 = not axis.contains(bar.first)
    open2 = not axis.contains(bar.last)
    x1 = axis.x(bar.first)
    x2 = axis.x(None if bar.last is None else bar.last + 1, axis.right)
    return StripLine(bar, x1, max(x2, x1 + 3), open1, open2, _curve(bar.curve, axis))


def _curve(curve: Sequence[tuple[int, float]], axis: Axis) -> str:
    """A curve over its line; without the parts outside the drawing or flat on the line."""
    points = [(axis.x(day), GROUND - CURVE * height) for day, height in curve if axis.contains(day) and height > FLAT]
    return path(points) if len(points) > 1 else ""


def _wash(dark: Sequence[tuple[int, float]]) -> list[WashStop]:
    if not dark:
        return []
    first, last = dark[0][0], dark[-1][0] + 1
    return [WashStop(round((day - first) / (last - first), 4), round(0.05 + 0.8 * height, 3)) for day, height in dark]

"""The life line: a life from birth to death with every picture at its likely date, wide where that is uncertain,
between the lives of parents above and children below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kinphoto.archive.catalogue.lives import LONGEST, Life
from kinphoto.archive.people.lifeline import IdentityDoubt, InPicture, Lifeline, Relative
from kinphoto.archive.words.dates import Vital
from kinphoto.web.drawing.axis import Axis, Tick, axis_around

WIDTH = 1200.0
LEFT = 190.0
ROW = 26.0
LANE = 92.0
"""Height of a row of pictures."""
PICTURE = 78.0
"""The most a picture is wide and high."""
MOST_PICTURES = 28
"""Pictures drawn. If there are more, one in two, three and so on is drawn, and all have their mark on the line."""
DAYS = 365.2425


@dataclass(frozen=True, slots=True)
class LifeBar:
    """A life as a line between two ends, each sharp, open (not known) or wide (roughly known)."""

    id: str
    name: str
    y: float
    x1: float
    x2: float
    open1: bool
    open2: bool
    wide1: tuple[float, float] | None
    wide2: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class PlacedPicture:
    """A picture where it is drawn: its frame, and the point of the line that it belongs to."""

    picture: InPicture
    x: float
    y: float
    width: float
    height: float
    at: float
    above: bool
    disputed: bool


@dataclass(frozen=True, slots=True)
class RangeMark:
    """The likely range of a picture on the line itself."""

    from_: float
    to: float
    disputed: bool


@dataclass(frozen=True, slots=True)
class LifelineDrawing:
    """Everything to draw, in units of the view box (`width` by `height`)."""

    width: float
    height: float
    ticks: tuple[Tick, ...]
    line: LifeBar
    above: tuple[LifeBar, ...]
    below: tuple[LifeBar, ...]
    placed: tuple[PlacedPicture, ...]
    marks: tuple[RangeMark, ...]
    left_out: int
    undated: int


def lifeline(shown: Lifeline) -> LifelineDrawing | None:
    """The drawing of a life; None when it is not known at all when it was."""
    dated = [one for one in shown.pictures if _likely(one) is not None]
    parents = [one for one in shown.family if one.generation == 1]
    children = [one for one in shown.family if one.generation == -1]
    days = [*_days(shown.life), *(day for one in dated for day in _likely(one) or ())]
    if not days:
        return None
    axis = axis_around(days, 2, LEFT, WIDTH - 24)
    drawn = dated if len(dated) <= MOST_PICTURES else dated[:: -(-len(dated) // MOST_PICTURES)]
    up, down = _lanes(drawn, axis)
    top = 34 + ROW * len(parents)
    middle = top + LANE * len(up) + 22
    foot = middle + 22 + LANE * len(down)
    return LifelineDrawing(
        WIDTH, foot + ROW * len(children) + 20, tuple(axis.ticks()),
        _bar(shown.id, shown.name, shown.life, middle, axis),
        _bars(parents, 34 + ROW / 2, axis), _bars(children, foot + ROW / 2, axis),
        (*_placed(up, middle, axis, True), *_placed(down, middle, axis, False)),
        tuple(_mark(one, axis) for one in dated), len(dated) - len(drawn), len(shown.pictures) - len(dated),
    )  # fmt: skip


def _days(life: Life) -> list[int]:
    found = [day for end in (life.begin, life.end) if end for day in (end.date.span.first, end.date.span.last) if day]
    if life.begin and not life.end and found:  # of unknown length: up to the present, at most a long life
        found.append(min(max(found) + int(LONGEST * 0.7 * DAYS), date.today().toordinal()))
    return found


def _likely(one: InPicture) -> tuple[int, int, int] | None:
    """Likely from, best, likely to; None when nothing is likely."""
    e = one.photograph.estimate
    if e is None or e.best is None or e.likely_from is None or e.likely_to is None:
        return None
    return e.likely_from, e.best, e.likely_to


def _lanes(drawn: Sequence[InPicture], axis: Axis) -> tuple[list[list[InPicture]], list[list[InPicture]]]:
    """The pictures in rows above and below the line, each in the row nearest to it that has room."""
    up: list[list[InPicture]] = []
    down: list[list[InPicture]] = []
    for number, one in enumerate(drawn):
        sides = (up, down) if number % 2 == 0 else (down, up)
        x = _at(one, axis)
        free = [
            (depth, side, row)
            for side in sides
            for depth, row in enumerate(side)
            if x - _at(row[-1], axis) > PICTURE + 8
        ]
        if free:
            min(free, key=lambda found: found[0])[2].append(one)
        else:
            min(sides, key=len).append([one])
    return up, down


def _at(one: InPicture, axis: Axis) -> float:
    """Where its middle is drawn: at its best date, but not outside the drawing."""
    likely = _likely(one)
    return min(max(axis.x(likely[1] if likely else None), axis.left + PICTURE / 2), axis.right - PICTURE / 2)


def _placed(rows: list[list[InPicture]], middle: float, axis: Axis, above: bool) -> list[PlacedPicture]:
    found = []
    for depth, row in enumerate(rows):
        for one in row:
            likely = _likely(one) or (0, 0, 0)
            width, height = _size(one)
            far = 30 + LANE * depth
            y = middle - far - height if above else middle + far
            found.append(
                PlacedPicture(
                    one, round(_at(one, axis) - width / 2, 1), round(y, 1), width, height, axis.x(likely[1]), above,
                    _disputed(one),
                )
            )  # fmt: skip
    return found


def _size(one: InPicture) -> tuple[float, float]:
    recto = one.photograph.recto
    across, down = (recto.width, recto.height) if recto else (4, 3)
    scale = min(PICTURE / across, (LANE - 26) / down)
    return round(across * scale, 1), round(down * scale, 1)


def _mark(one: InPicture, axis: Axis) -> RangeMark:
    likely = _likely(one) or (0, 0, 0)
    start, end = axis.x(likely[0]), axis.x(likely[2])
    return RangeMark(start, max(end, start + 2), _disputed(one))


def _disputed(one: InPicture) -> bool:
    return IdentityDoubt.ASIDE in one.doubts or one.photograph.disputed


def _bars(people: Sequence[Relative], y: float, axis: Axis) -> tuple[LifeBar, ...]:
    return tuple(_bar(one.id, one.name, one.life, y + ROW * n, axis) for n, one in enumerate(people))


def _bar(id_: str, name: str, life: Life, y: float, axis: Axis) -> LifeBar:
    begin, end = _span(life.begin), _span(life.end)
    x1 = axis.x(begin[0] if begin[0] is not None else begin[1])
    x2 = axis.x(end[1] if end[1] is not None else end[0], axis.right)
    return LifeBar(
        id_, name, round(y, 1), x1, max(x2, x1), not axis.contains(begin[0]), not axis.contains(end[1]),
        _wide(begin, axis), _wide(end, axis),
    )  # fmt: skip


def _span(end: Vital | None) -> tuple[int | None, int | None]:
    return (None, None) if end is None else (end.date.span.first, end.date.span.last)


def _wide(span: tuple[int | None, int | None], axis: Axis) -> tuple[float, float] | None:
    """Between which points an end of a life may be, when that is more than a year."""
    first, last = span
    if first is None or last is None or last - first < 366:
        return None
    return axis.x(first), axis.x(last)

"""Two ranges of one date on one axis: as it was, and as it is now; the page draws the one becoming the other."""

from __future__ import annotations

from dataclasses import dataclass

from kinphoto.reason.model.span import year_of

WIDTH = 1000.0
FREE, THINNEST = 0.04, 6.0
"""The share of the axis left free at each end, and the width of a range of a single day."""


@dataclass(frozen=True, slots=True)
class RangesDrawing:
    """Both as left end and width, of `WIDTH`, and the years at the ends of the axis."""

    was: tuple[float, float]
    now: tuple[float, float]
    first: int
    last: int


def ranges(was: tuple[int, int], now: tuple[int, int]) -> RangesDrawing:
    """The drawing of two ranges in days, on an axis that holds both."""
    first, last = min(was[0], now[0]), max(was[1], now[1]) + 1
    free = (last - first) * FREE
    scale = WIDTH / (last - first + 2 * free)

    def drawn(span: tuple[int, int]) -> tuple[float, float]:
        width = max((span[1] + 1 - span[0]) * scale, THINNEST)
        return round((span[0] - first + free) * scale, 1), round(width, 1)

    return RangesDrawing(drawn(was), drawn(now), year_of(int(first)), year_of(int(last - 1)))

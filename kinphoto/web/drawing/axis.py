"""The axis of years under every drawing: where a day is drawn, and which years are named."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from kinphoto.reason.model.span import year_of

FLAT = 0.02
"""Part of the height of a curve: what is lower is not worth showing."""
STEPS = (1, 2, 5, 10, 20, 25, 50, 100)


@dataclass(frozen=True, slots=True)
class Tick:
    """A year's line; `label` is "" where it has none."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Axis:
    """Days `first` to `last` (ordinals) drawn from `left` to `right`, in units of the drawing."""

    first: int
    last: int
    left: float
    right: float

    def x(self, day: float | None, otherwise: float | None = None) -> float:
        """Where a day is drawn, kept inside the drawing; for None `otherwise`."""
        if day is None:
            return self.left if otherwise is None else otherwise
        share = (day - self.first) / max(self.last - self.first, 1)
        return round(self.left + min(max(share, 0.0), 1.0) * (self.right - self.left), 1)

    def contains(self, day: int | None) -> bool:
        """Whether a day is inside the drawing."""
        return day is not None and self.first <= day <= self.last

    def ticks(self, most: int = 12) -> list[Tick]:
        """A line for every round year, at most `most` of them with a label."""
        first, last = year_of(self.first), year_of(self.last)
        step = next((s for s in STEPS if (last - first) / s <= most), STEPS[-1])
        years = range(-(-first // step) * step, last + 1, step)
        return [Tick(self.x(date(year, 1, 1).toordinal()), str(year)) for year in years if year > 0]


def path(points: Iterable[tuple[float, float]]) -> str:
    """The path of an SVG along these points, their heights to a tenth of a unit."""
    return "M" + " L".join(f"{x} {y:.1f}" for x, y in points)


def axis_around(days: list[int], margin_years: float, left: float, right: float) -> Axis:
    """The axis that shows all these days with a margin of years on either side, from and to whole years."""
    margin = int(margin_years * 365.25)
    first, last = year_of(min(days) - margin), year_of(max(days) + margin) + 1
    return Axis(date(max(first, 1), 1, 1).toordinal(), date(min(last, 9999), 1, 1).toordinal(), left, right)

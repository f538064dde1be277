"""What a check is given, a scan with all that was measured, and what it gives: a finding."""

from __future__ import annotations

from dataclasses import dataclass

from kinphoto.scans.checks import resolution
from kinphoto.scans.checks.limits import BY_KIND, CAPTURE_MM, FLOOR_OF, Weight
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.checks.originals import Original, kind_of_original


@dataclass(frozen=True, slots=True)
class Found:
    """A finding: its kind (a key of `limits.BY_KIND`), what was measured, and the limit it is beyond, in words."""

    kind: str
    measured: str
    limit: str
    value: float
    weight: Weight
    source: str
    remedy: str


def finding(kind: str, measured: str, value: float, limit: str, remedy: str = "", source: str = "") -> Found:
    """A finding of this kind: what was measured, in words and as a number, and the limit; with the remedy and the
    source of its row unless others are given."""
    row = BY_KIND[kind]
    return Found(kind, measured, limit, round(value, 4), row.weight, source or row.source, remedy or row.remedy)


@dataclass(frozen=True, slots=True)
class MeasuredScan:
    """A scan of `width` by `height` pixels with what was measured and what is known of its original. `marks` are the
    specks and hairs that other scans have at the same places (`glass.py`)."""

    width: int
    height: int
    m: Measures
    original: Original
    back: bool
    marks: int

    @property
    def ppi(self) -> float | None:
        """The resolution, where the file says one that can be believed."""
        ppi = self.m.ppi
        return None if ppi is None or self.m.camera or resolution.is_default(ppi) else ppi

    @property
    def floor(self) -> str:
        """The kind of original whose floor counts."""
        if self.back:
            return "back"
        if self.original.kind and self.original.kind != "print":
            return self.original.kind
        return kind_of_original(self.size) if self.ppi else "print"

    @property
    def size(self) -> tuple[float, float]:
        """Millimetres of what was scanned: the print, where its outline was found."""
        left, top, right, lower = self.m.box or (0.0, 0.0, 1.0, 1.0)
        across, down = resolution.size_mm(self.width, self.height, self.ppi or 1.0)
        return across * (right - left), down * (lower - top)

    @property
    def least_ppi(self) -> float:
        """That floor, as the user or kinphoto has set it."""
        return self.original.floors.get(self.floor, FLOOR_OF[self.floor].ppi)

    @property
    def least_along(self) -> float:
        """The least pixels along the longer side of a photographed print."""
        own = self.original.floors.get("print")
        return BY_KIND["capture-pixels"].limit if own is None else round(own * CAPTURE_MM / resolution.MM_PER_INCH, -1)

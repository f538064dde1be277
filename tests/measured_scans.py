"""Scans that need not be drawn: what would be measured of them, and what is found on them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from scanned_prints import Print, photograph, scanned

from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.measures import Measures, of_picture
from kinphoto.scans.checks.originals import Original

A4 = (2480, 3508)


@cache
def good() -> Measures:
    """What is measured of a good scan."""
    return of_picture(scanned(photograph("astronaut"), Print(size=(1200, 900), margin=50, border=30), 4))


def kinds(
    measured: Measures, original: Original = Original(), size: tuple[int, int] = A4, *, back: bool = False
) -> set[str]:
    """The kinds of what is found on a scan of this size."""
    return {each.kind for each in findings(*size, measured, original, back=back)}


def at(ppi: float | None, **other: object) -> Measures:
    """A good scan at this resolution, measured otherwise in these respects."""
    return replace(good(), ppi=ppi, box=(), **other)  # type: ignore[arg-type]

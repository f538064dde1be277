"""How large the object was, what its resolution is good for, and whether a stated resolution can be true."""

from __future__ import annotations

MM_PER_INCH = 25.4
PRINT_PPI = 300
"""Pixels per inch of a good print, seen from as far away as one holds it (common practice)."""
DEFAULTS = (72, 96)
"""Pixels per inch that programs write when they know none: EXIF 3.0 names 72 as the default of XResolution; 96 is
that of screens (CSS: 96 pixels are an inch)."""
LARGEST_BED = (310.0, 437.0)
"""Millimetres of the largest bed of a scanner for the home, which takes A3 paper (ISO 216: 297 by 420 mm) and a little
more (12.2 by 17.2 inches, from memory)."""


def size_mm(width: int, height: int, ppi: float) -> tuple[float, float]:
    """Width and height in millimetres of what `width` by `height` pixels at `ppi` pixels per inch show."""
    return width / ppi * MM_PER_INCH, height / ppi * MM_PER_INCH


def is_default(ppi: float) -> bool:
    """Whether a resolution is one that stands for "not known"."""
    return round(ppi) in DEFAULTS


def larger_than_bed(size: tuple[float, float]) -> float:
    """How many times larger than the largest bed an object of this size (millimetres, either way round) is; at most 1
    for one that fits."""
    short, long = sorted(size)
    return max(short / LARGEST_BED[0], long / LARGEST_BED[1])


def largest_print(width: int, height: int) -> tuple[float, float]:
    """Centimetres, width and height, of the largest good print at PRINT_PPI."""
    across, down = size_mm(width, height, PRINT_PPI)
    return round(across / 10, 1), round(down / 10, 1)

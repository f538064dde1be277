"""Files that came back without any order, as from a scanning service, in groups that were probably kept together: those
of one folder, day, size and paper, and in each what is alike next to each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import hypot
from pathlib import Path

from sqlalchemy import Connection, RowMapping

from kinphoto.archive.collection.kept_measures import kept_measures
from kinphoto.gedcom import wording
from kinphoto.scans.checks.measures import Measures, is_grey
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.checks.tones import COLOURED
from kinphoto.scans.likeness import bits_apart
from kinphoto.scans.numbering import natural_key

_ONE_SIZE = 5.0
"""Millimetres by which prints of one size differ at most: trimmed by hand, or outlined on the glass (set by hand)."""
_ONE_SHAPE = 0.06  # the same as a share of the longer side, where the resolution is not known
_TONED = 8.0  # mean chroma (CIELAB) of a picture of one ink from which on it is toned and not grey (set by hand)


@dataclass
class ScanGroup:
    """Files that were probably kept together, in the order of their likeness; `words` say what is alike."""

    folder: str
    day: str
    paper: str
    size: tuple[float, float]
    in_mm: bool
    paths: list[str] = field(default_factory=list)

    @property
    def words(self) -> str:
        """ "4 May 2019, 10.2 × 7.3 cm, black and white"."""
        short, long = self.size
        size = f"{long / 10:.1f} × {short / 10:.1f} cm" if self.in_mm else f"sides as {long / short:.2f} to 1"
        return ", ".join(filter(None, (_day(self.day), size, self.paper)))


def grouped(connection: Connection, scans: Mapping[str, RowMapping]) -> list[ScanGroup]:
    """Files (by path) in groups, by folder, day, size and paper. How large the print on the glass is, and whether it is
    in colour, is known as far as the scans were checked; otherwise the whole file counts."""
    checks = kept_measures(connection, [scan["sha256"] for scan in scans.values()])
    groups: list[ScanGroup] = []
    for path in sorted(scans, key=natural_key):
        scan = scans[path]
        measured = checks.get(scan["sha256"])
        size, in_mm = _size(scan, measured)
        key = str(Path(path).parent), (scan["exif_digitized"] or "")[:10], _paper(scan, measured), in_mm
        near = _ONE_SIZE if in_mm else _ONE_SHAPE
        for group in groups:
            apart = max(abs(one - other) for one, other in zip(size, group.size, strict=True))
            if (group.folder, group.day, group.paper, group.in_mm) == key and apart <= near:
                group.paths.append(path)
                break
        else:
            groups.append(ScanGroup(key[0], key[1], key[2], size, in_mm, [path]))
    groups.sort(key=lambda group: (natural_key(group.folder), group.day, group.in_mm, group.size, group.paper))
    for group in groups:
        group.paths = list(_alike(group.paths, scans))
    return groups


def _alike(paths: list[str], scans: Mapping[str, RowMapping]) -> Iterator[str]:
    """Each followed by the one that looks most like it."""
    left, last = list(paths), None
    while left:
        nearest = min(left, key=lambda path: bits_apart(last, scans[path]["phash"])) if last else left[0]
        left.remove(nearest)
        last = scans[nearest]["phash"]
        yield nearest


def _size(scan: RowMapping, measured: Measures | None) -> tuple[tuple[float, float], bool]:
    """The shorter and the longer side, in millimetres or as shares of the longer one."""
    box = measured.box if measured is not None else ()  # shares of the picture
    left, top, right, lower = box or (0.0, 0.0, 1.0, 1.0)
    sides = sorted(max(1.0, part * scan[side]) for part, side in ((right - left, "width"), (lower - top, "height")))
    scale = MM_PER_INCH / scan["ppi"] if scan["ppi"] else 1 / sides[1]
    return (sides[0] * scale, sides[1] * scale), bool(scan["ppi"])


def _paper(scan: RowMapping, measured: Measures | None) -> str:
    """What the paper shows, in a word or two; "" where it is not known."""
    if is_grey(scan["mode"]):
        return "black and white"
    if measured is None:
        return ""
    if measured.hues >= COLOURED:
        return "in colour"
    return "toned" if hypot(measured.cast_a, measured.cast_b) >= _TONED else "black and white"


def _day(text: str) -> str:
    """A day as EXIF has it, in words; "" for none that can be."""
    try:
        return wording.day(date.fromisoformat(text.replace(":", "-")).toordinal())
    except ValueError:
        return ""

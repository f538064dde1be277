"""What was scanned, as far as the limits depend on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kinphoto.scans.checks.limits import FILM_35MM, SMALL_MM

_FILM_MARGIN = 0.2  # by which a scan of 35 mm film may be larger or smaller than its frame


@dataclass(frozen=True, slots=True)
class Captured:
    """A print that was photographed instead of scanned: pixels along its longer side, by how many degrees the camera
    did not look straight at it, and how many times as long its nearer side is as the one opposite."""

    along: float
    angle: float = 0.0
    uneven: float = 1.0


@dataclass(frozen=True, slots=True)
class Original:
    """What was scanned: its `kind` is a key of `limits.FLOOR_OF`, "" to go by its size; `coloured` when it is known
    to be toned or in colours; `capture` when it was photographed."""

    kind: str = ""
    coloured: bool = False
    floors: Mapping[str, float] = field(default_factory=dict)
    capture: Captured | None = None


def kind_of_original(size: tuple[float, float]) -> str:
    """What an object of this size (millimetres) is judged as when nobody said what it is: as a print, a small one,
    or 35 mm film."""
    short, long = sorted(size)
    frame = zip((short, long), FILM_35MM, strict=True)
    if all(abs(edge - of_film) <= _FILM_MARGIN * of_film for edge, of_film in frame):
        return "film-35mm"
    return "small-print" if short < SMALL_MM[0] and long < SMALL_MM[1] else "print"

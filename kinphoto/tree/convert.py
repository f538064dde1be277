"""A tree in the other version of GEDCOM."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from kinphoto.errors import InvalidValueError
from kinphoto.tree import decode


@dataclass(frozen=True, slots=True)
class Converted:
    """The tree to go on with."""

    source: decode.Source
    warnings: tuple[str, ...] = ()


def converted(source: decode.Source, seven: bool, was_seven: bool, into: Path) -> Converted:
    """The tree in the version asked for."""
    if seven == was_seven:
        return Converted(source)
    now, then = ("7.0", "5.5.1") if seven else ("5.5.1", "7.0")
    raise InvalidValueError(
        f"the tree is GEDCOM {then} and is written as such; what it says has not always a place in {now}",
        remedy="Export it from your program in the version you want, and import that.",
    )

"""What statements are about: people, photographs and the containers that hold these, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the tree or outside it. `sex` is "M", "F" or "U" (unknown)."""

    id: str
    name: str
    sex: str = "U"


@dataclass(frozen=True, slots=True)
class Photograph:
    """One picture as an object.

    `indexed` is the day its first scan was indexed, the latest it can have been taken. `printed` is True when the
    object is a print, whose making may be later than the exposure; False for a camera original (slide, negative,
    daguerreotype, tintype ...). `page` marks an album page, which has no date of its own. `container` is the id of the
    innermost container that it is in (None: loose), or a `Theme` that is one, and `position` its place among the
    photographs there. `theme` is what the name of its scan begins with ("harbour 0012"; empty: it has no such name),
    `number` the number that it has otherwise than by its place.
    """

    id: str
    indexed: int
    printed: bool = True
    page: bool = False
    container: str | Theme | None = None
    position: int = 0
    theme: str = ""
    number: Number | None = None


class Theme(NamedTuple):
    """The id of a container that a theme of names is in its `box` (`themes.with_themes`)."""

    box: str
    name: str


@dataclass(frozen=True, slots=True)
class Number:
    """A number on a photograph's back or in a file name; numbers of one `series` were given one after the other. By its
    `id` it is left out alone (`Evidence.without`)."""

    series: str
    value: int
    id: str = field(default="", compare=False)


class Arrangement(StrEnum):
    """What somebody said about the order of photographs in a container."""

    IN_ORDER = "in-order"
    """The earliest first."""
    BACKWARDS = "backwards"
    """The earliest last."""
    NOT_IN_ORDER = "not-in-order"


@dataclass(frozen=True, slots=True)
class Container:
    """An album, a tin, an envelope: photographs that are kept together. `parent` is the container that it is in,
    `arrangement` what was said about the order in it (None: nothing)."""

    id: str | Theme
    parent: str | None = None
    arrangement: Arrangement | None = None

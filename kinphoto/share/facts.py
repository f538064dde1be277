"""What is written about a picture into a file that is given away, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

Region = tuple[float, float, float, float]
"""Left, top, width and height as parts of the picture, 0 to 1."""


@dataclass(frozen=True, slots=True)
class PersonFact:
    """Somebody in the picture; the region is None where nobody framed them."""

    name: str
    region: Region | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFacts:
    """Everything to write about one picture. Regions are of the pixels as they are stored, whose size is `size`;
    `orientation` is how these have to be turned (EXIF 1 to 8). "" is for what is not known or stays at home.

    `taken` is a whole day of exposure that somebody stated and nobody disputes, "1931-06-12". `created` is the same as
    exact as it was stated, "1931-06" or "1931" too. `edtf` is the date or range with its doubts, in EDTF. `digitized`
    is the moment of scanning as EXIF writes it, "2019:03:02 10:00:00".
    """

    identifier: str
    size: tuple[int, int]
    orientation: int = 1
    title: str = ""
    description: str = ""
    people: tuple[PersonFact, ...] = ()
    nameless: tuple[Region, ...] = ()
    place: str = ""
    maker: str = ""
    rights: str = ""
    source: str = ""
    taken: str = ""
    created: str = ""
    edtf: str = ""
    digitized: str = ""

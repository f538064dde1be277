"""Words and dates that other programs wrote into a picture's file or a sidecar: XMP (`dc:title`, `dc:description`,
`photoshop:Headline`, `photoshop:DateCreated`), EXIF (`ImageDescription`, `UserComment`, `DateTimeOriginal`) and IPTC
IIM (2:05, 2:105, 2:120, 2:55), as the Guidelines for Handling Image Metadata 2.0 of the Metadata Working Group pair
them.

The day of scanning is never taken for the day of exposure. Scanners write it into the fields for the exposure, and
nothing in a file shows for certain who wrote what. So a whole day is left out when the file names it as the day it was
made, scanned or changed, when a scanner wrote it, or when it is of a time in which people scan and the file does not
give another day for the scanning. A year or a month alone is written by people.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from mmap import mmap
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree as ET

from kinphoto.share.reading import packets
from kinphoto.share.xmp import name

SINCE_SCANNERS = 1985
"""The first year in which a day in a file may be that of its scanning: the first desktop scanners (from memory)."""
_CLOCKS_NEVER_SET = frozenset(("1904-01-01", "1970-01-01", "1980-01-01", "2000-01-01"))
"""Days that the clocks of devices and programs begin with."""
LONGEST = 20_000
_TEXTS = ("dc:title", "photoshop:Headline", "dc:description")
_MADE = ("xmp:CreateDate", "xmp:ModifyDate", "xmp:MetadataDate", "exif:DateTimeDigitized")
_DEVICES = re.compile(
    r"digital camera|\bdsc\b|\bdcim\b|^(default|untitled|scan(ned)?( image)?|image|picture|photo)\W*\d*$",
    re.IGNORECASE,
)
_CUT_OUT = re.compile(r"Cut from .+ \(SHA-256 [0-9a-f]{64}\): ")
"""How a part that kinphoto cut out of a scan says where it was there: words of ours, and not of the family."""
_SCANNER = re.compile(r"scan|\bmf[pc]\b", re.IGNORECASE)
_DAY = re.compile(r"(\d{4})(?:[-:]?(\d{2})(?:[-:]?(\d{2}))?)?(?![\d])")


class Said(NamedTuple):
    """What a file says of its picture: words, each once, and when it was taken (`1931`, `1931-06`, `1931-06-12`)."""

    texts: tuple[str, ...]
    date: str


def said_inside(path: Path, data: Iterable[bytes | mmap]) -> Said:
    """What a file and its sidecars say; `data` is what they hold."""
    found = _Found()
    for one in data:
        for packet in packets(one):
            if b"<!DOCTYPE" not in packet and b"<!ENTITY" not in packet:
                with suppress(ET.ParseError):
                    found.read_xmp(ET.fromstring(packet))
    with suppress(Exception):  # whatever is wrong with what another program wrote, the picture is the keeper's
        found.read_tags(path)
    return Said(found.words(), found.date())


class _Found:
    """What was read: words, days on which a person may have said it was taken, and days that are none of these."""

    def __init__(self) -> None:
        self._texts: dict[str, None] = {}
        self._original: list[str] = []
        self._created: list[str] = []
        self._made: set[str] = set()
        self._digitized: set[str] = set()
        self._devices: set[str] = set()
        self._scanned = False

    def words(self) -> tuple[str, ...]:
        """Words of people: not what devices fill in, nor one that another contains."""
        texts = [text for text in self._texts if not _DEVICES.search(text) and text.casefold() not in self._devices]
        return tuple(text for text in texts if not any(text != other and text in other for other in texts))

    def date(self) -> str:
        """When it was taken, as exactly as a person said; "" for nothing that can be relied on."""
        scanner = self._scanned or any(_SCANNER.search(device) for device in self._devices)
        of_scanner = {day for day in self._original if scanner and int(day[:4]) >= SINCE_SCANNERS}
        not_taken = self._made | self._digitized | of_scanner | _CLOCKS_NEVER_SET
        said = (*self._created, *self._original)
        return next((day for day in said if self._is_of_exposure(day, not_taken)), "")

    def _is_of_exposure(self, day: str, not_taken: set[str]) -> bool:
        if len(day) < len("1931-06-12"):
            return True
        return day not in not_taken and (int(day[:4]) < SINCE_SCANNERS or bool(self._digitized))

    def read_xmp(self, root: ET.Element) -> None:
        """One packet: properties as attributes or elements (ISO 16684-1, 7.9)."""
        for about in root.iter(name("rdf:Description")):
            for key in _TEXTS:
                self._text(_first(about, key))
            self._created += _days(_first(about, "photoshop:DateCreated"))
            self._original += _days(_first(about, "exif:DateTimeOriginal"))
            for key in _MADE:
                (self._digitized if key.startswith("exif") else self._made).update(_days(_first(about, key)))
            self._devices |= {
                text.casefold()
                for key in ("xmp:CreatorTool", "tiff:Make", "tiff:Model")
                if (text := _first(about, key))
            }

    def read_tags(self, path: Path) -> None:
        """EXIF and IPTC IIM, which stand in the file itself."""
        from PIL import IptcImagePlugin

        from kinphoto.scans.picture import opened  # Pillow's own limit would leave out the words of large scans

        with path.open("rb") as file, opened(file, str(path)) as (_, image):
            exif = image.getexif()
            inside = exif.get_ifd(0x8769)
            iptc: dict[Any, Any] = IptcImagePlugin.getiptcinfo(image) or {} if image.format in ("JPEG", "TIFF") else {}
        self._devices |= {_plain(exif.get(tag)).casefold() for tag in (0x010F, 0x0110, 0x0131)} - {""}
        self._scanned |= inside.get(0xA300) in (b"\1", b"\2", 1, 2)  # FileSource: a scanner of film, of prints
        self._text(_plain(exif.get(0x010E)))
        self._text(_comment(inside.get(0x9286)))
        self._original += _days(_plain(inside.get(0x9003)))
        self._digitized.update(_days(_plain(inside.get(0x9004))), _days(_of(iptc, 62)))
        self._made.update(_days(_plain(exif.get(0x0132))))
        for number in (5, 105, 120):
            self._text(_of(iptc, number))
        self._created += _days(_of(iptc, 55))

    def _text(self, text: str) -> None:
        plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "").strip()
        if plain and not _CUT_OUT.match(plain):
            self._texts[plain[:LONGEST]] = None


def _first(about: ET.Element, key: str) -> str:
    """A simple property, or the first of an alternative."""
    if (plain := about.get(name(key))) is not None:
        return plain
    found = about.find(name(key))
    if found is None:
        return ""
    return (next(found.iter(name("rdf:li")), found).text or "").strip()


def _days(text: str) -> Iterator[str]:
    """The date at the beginning of a text of any of these standards, with what is left open as zeros left out."""
    match = _DAY.match(text.strip())
    if match is None or match[1] == "0000":
        return
    parts = [match[1]]
    for part in (match[2], match[3]):
        if not part or part == "00":
            break
        parts.append(part)
    yield "-".join(parts)


def _of(iptc: dict[Any, Any], number: int) -> str:
    """A data set of the second record; the first where it is repeated."""
    found = iptc.get((2, number), b"")
    return _plain(found[0] if isinstance(found, list) else found)


def _plain(value: Any) -> str:
    if isinstance(value, bytes):
        try:
            return value.decode("utf-8").strip("\0 ")
        except UnicodeDecodeError:
            return value.decode("latin-1").strip("\0 ")
    if not isinstance(value, str):
        return ""
    try:  # EXIF text is ASCII by the standard and often UTF-8 in fact; Pillow reads it as Latin-1
        return value.encode("latin-1").decode("utf-8").strip("\0 ")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return value.strip("\0 ")


def _comment(value: Any) -> str:
    """A comment, after the eight bytes that name its letters (EXIF 2.32, 4.6.5)."""
    if not isinstance(value, bytes):
        return _plain(value)
    if value.startswith(b"UNICODE"):
        body = value[8:]
        return body.decode("utf-16-be" if body[:1] == b"\0" else "utf-16-le", "ignore").strip("\0 ")
    return _plain(value[8:] if value[:8] in (b"ASCII\0\0\0", b"JIS\0\0\0\0\0", bytes(8)) else value)

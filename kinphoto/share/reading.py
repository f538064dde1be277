"""Names that other programs wrote into files: MWG and IPTC regions, and IPTC `PersonInImage`, out of an XMP packet
wherever it is in a file, or in a sidecar.

XMP may write the same in several ways (ISO 16684-1, 7.9): a property as an attribute or an element, a structure with
`rdf:parseType="Resource"` or an `rdf:Description` inside. All of them are read; what is not understood is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from mmap import mmap
from xml.etree import ElementTree as ET

from kinphoto.share.facts import PersonFact, Region
from kinphoto.share.xmp import name

_START, _END = b"<x:xmpmeta", b"</x:xmpmeta>"
_LONGEST = 4_000_000  # bytes of a packet


def packets(data: bytes | mmap) -> Iterator[bytes]:
    """The XMP packets in a file."""
    at = data.find(_START)
    while at >= 0:
        end = data.find(_END, at)
        if end < 0 or end - at > _LONGEST:
            return
        yield bytes(data[at : end + len(_END)])
        at = data.find(_START, end)


def people(data: bytes | mmap) -> tuple[PersonFact, ...]:
    """Who is named in a file, each once, with where they are on the stored pixels if that is known."""
    found: dict[str, Region | None] = {}
    for packet in packets(data):
        if b"<!DOCTYPE" in packet or b"<!ENTITY" in packet:  # no XMP has one, and one can be made to exhaust the memory
            continue
        with suppress(ET.ParseError):
            for who, region in _people(ET.fromstring(packet)):
                if found.get(who) is None:
                    found[who] = region
    return tuple(PersonFact(who, region) for who, region in found.items())


def _people(root: ET.Element) -> Iterator[tuple[str, Region | None]]:
    for region in _items(root, "mwg-rs:RegionList"):
        who = _text(region, "mwg-rs:Name")
        if who and (_text(region, "mwg-rs:Type") or "Face") == "Face":
            yield who, _centred(_structure(region, "mwg-rs:Area"))
    for region in _items(root, "Iptc4xmpExt:ImageRegion"):
        for who in _texts(region, "Iptc4xmpExt:PersonInImage") or filter(None, [_text(region, "Iptc4xmpExt:Name")]):
            yield who, _cornered(_structure(region, "Iptc4xmpExt:RegionBoundary"))
    for description in root.iter(name("rdf:Description")):
        for who in _texts(description, "Iptc4xmpExt:PersonInImage"):
            yield who, None


def _items(root: ET.Element, qualified: str) -> Iterator[ET.Element]:
    for whole in root.iter(name(qualified)):
        for item in whole.iter(name("rdf:li")):
            inside = item.find(name("rdf:Description"))
            yield item if inside is None else inside


def _structure(parent: ET.Element, qualified: str) -> ET.Element | None:
    found = parent.find(name(qualified))
    if found is None:
        return None
    inside = found.find(name("rdf:Description"))
    return found if inside is None else inside


def _text(parent: ET.Element | None, qualified: str) -> str:
    """A simple property, or the first of an alternative or array."""
    if parent is None:
        return ""
    if (plain := parent.get(name(qualified))) is not None:
        return " ".join(plain.split())
    found = parent.find(name(qualified))
    if found is None:
        return ""
    item = next(found.iter(name("rdf:li")), found)
    return " ".join((item.text or "").split())


def _texts(parent: ET.Element, qualified: str) -> list[str]:
    found = parent.find(name(qualified))
    items = [] if found is None else found.iter(name("rdf:li"))
    return [text for item in items if (text := " ".join((item.text or "").split()))]


def _centred(area: ET.Element | None) -> Region | None:
    """An area of the Metadata Working Group: x and y are its centre."""
    numbers = [_number(area, f"stArea:{key}") for key in "xywh"]
    if None in numbers or (_text(area, "stArea:unit") or "normalized") != "normalized":
        return None
    x, y, width, height = (number or 0.0 for number in numbers)
    return _inside((x - width / 2, y - height / 2, width, height))


def _cornered(boundary: ET.Element | None) -> Region | None:
    """A rectangle of IPTC: x and y are its top left corner."""
    numbers = [_number(boundary, f"Iptc4xmpExt:{key}") for key in ("rbX", "rbY", "rbW", "rbH")]
    shape, unit = _text(boundary, "Iptc4xmpExt:rbShape"), _text(boundary, "Iptc4xmpExt:rbUnit")
    if None in numbers or shape != "rectangle" or unit != "relative":
        return None
    left, top, width, height = (number or 0.0 for number in numbers)
    return _inside((left, top, width, height))


def _number(parent: ET.Element | None, qualified: str) -> float | None:
    try:
        return float(_text(parent, qualified))
    except ValueError:
        return None


def _inside(region: Region) -> Region | None:
    """The part of a region that is on the picture; None for none."""
    left, top = max(region[0], 0.0), max(region[1], 0.0)
    width, height = min(region[0] + region[2], 1.0) - left, min(region[1] + region[3], 1.0) - top
    return (left, top, width, height) if width > 0.001 and height > 0.001 else None

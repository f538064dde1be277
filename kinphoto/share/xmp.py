"""Names, regions, dates and words about a picture as an XMP packet (ISO 16684-1), alone as a sidecar or inside a file.

Regions are written twice, because readers know one or the other: as the Metadata Working Group has them (Guidelines for
Handling Image Metadata 2.0, 2010: `mwg-rs`, a rectangle by its centre) and as IPTC has them (Photo Metadata Standard
2019.1: `ImageRegion`, a rectangle by its top left corner). Both are relative to the pixels as they are stored, whatever
the orientation says. A date that is not a whole stated one has no place in the fields for dates: its range stands in
`dcterms:created` as EDTF and in the description in words.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.etree import ElementTree as ET

from kinphoto.share.facts import PictureFacts, Region

NAMESPACES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "dcterms": "http://purl.org/dc/terms/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "tiff": "http://ns.adobe.com/tiff/1.0/",
    "exif": "http://ns.adobe.com/exif/1.0/",
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    "Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",
    "mwg-rs": "http://www.metadataworkinggroup.com/schemas/regions/",
    "stArea": "http://ns.adobe.com/xmp/sType/Area#",
    "stDim": "http://ns.adobe.com/xap/1.0/sType/Dimensions#",
    "x": "adobe:ns:meta/",
}
_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
_HUMAN = "http://cv.iptc.org/newscodes/imageregiontype/human"
for _prefix, _uri in NAMESPACES.items():
    ET.register_namespace(_prefix, _uri)


def name(qualified: str) -> str:
    """`dc:title` as ElementTree spells it."""
    prefix, _, local = qualified.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"


def packet(facts: PictureFacts, *, wrapped: bool = True) -> bytes:
    """The packet; `wrapped` in the processing instructions by which readers find it inside a file."""
    meta = ET.Element(name("x:xmpmeta"))
    about = ET.SubElement(ET.SubElement(meta, name("rdf:RDF")), name("rdf:Description"), {name("rdf:about"): ""})
    if facts.orientation != 1:
        _simple(about, "tiff:Orientation", str(facts.orientation))
    _words(about, facts)
    _dates(about, facts)
    if names := list(dict.fromkeys(one.name for one in facts.people)):
        _array(about, "Iptc4xmpExt:PersonInImage", "Bag", names)
    framed = [(one.region, one.name) for one in facts.people if one.region is not None]
    regions = [*framed, *((region, "") for region in facts.nameless)]
    if regions:
        _mwg(about, regions, facts.size)
        _iptc(about, regions)
    body: bytes = ET.tostring(meta, encoding="utf-8")
    if not wrapped:
        return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body + b"\n"
    return b'<?xpacket begin="\xef\xbb\xbf" id="W5M0MpCehiHzreSzNTczkc9d"?>\n' + body + b'\n<?xpacket end="r"?>'


def _words(about: ET.Element, facts: PictureFacts) -> None:
    for qualified, text in (
        ("dc:title", facts.title),
        ("dc:description", facts.description),
        ("dc:rights", facts.rights),
    ):
        if text:
            _alternative(about, qualified, text)
    if facts.maker:
        _array(about, "dc:creator", "Seq", [facts.maker])
    for qualified, text in (("dc:identifier", facts.identifier), ("dc:source", facts.source)):
        _simple(about, qualified, text)
    if facts.place:
        bag = ET.SubElement(ET.SubElement(about, name("Iptc4xmpExt:LocationCreated")), name("rdf:Bag"))
        _alternative(_structure(bag, "rdf:li"), "Iptc4xmpExt:LocationName", facts.place)


def _dates(about: ET.Element, facts: PictureFacts) -> None:
    _simple(about, "exif:DateTimeOriginal", facts.taken)
    _simple(about, "photoshop:DateCreated", facts.created)
    _simple(about, "dcterms:created", facts.edtf)
    digitized = facts.digitized.strip()
    if digitized:
        day, _, time = digitized.partition(" ")
        stamp = "T".join(filter(None, (day.replace(":", "-"), time)))
        _simple(about, "exif:DateTimeDigitized", stamp)
        _simple(about, "xmp:CreateDate", stamp)


def _mwg(about: ET.Element, regions: Iterable[tuple[Region, str]], size: tuple[int, int]) -> None:
    whole = _structure(about, "mwg-rs:Regions")
    applied = _structure(whole, "mwg-rs:AppliedToDimensions")
    for key, value in (("w", str(size[0])), ("h", str(size[1])), ("unit", "pixel")):
        _simple(applied, f"stDim:{key}", value)
    bag = ET.SubElement(ET.SubElement(whole, name("mwg-rs:RegionList")), name("rdf:Bag"))
    for (left, top, width, height), who in regions:
        region = _structure(bag, "rdf:li")
        area = _structure(region, "mwg-rs:Area")
        centre = {"x": left + width / 2, "y": top + height / 2, "w": width, "h": height}
        for key, part in centre.items():
            _simple(area, f"stArea:{key}", _number(part))
        _simple(area, "stArea:unit", "normalized")
        _simple(region, "mwg-rs:Type", "Face")
        _simple(region, "mwg-rs:Name", who)


def _iptc(about: ET.Element, regions: Iterable[tuple[Region, str]]) -> None:
    bag = ET.SubElement(ET.SubElement(about, name("Iptc4xmpExt:ImageRegion")), name("rdf:Bag"))
    for (left, top, width, height), who in regions:
        region = _structure(bag, "rdf:li")
        boundary = _structure(region, "Iptc4xmpExt:RegionBoundary")
        _simple(boundary, "Iptc4xmpExt:rbShape", "rectangle")
        _simple(boundary, "Iptc4xmpExt:rbUnit", "relative")
        for key, part in (("rbX", left), ("rbY", top), ("rbW", width), ("rbH", height)):
            _simple(boundary, f"Iptc4xmpExt:{key}", _number(part))
        kind = ET.SubElement(ET.SubElement(region, name("Iptc4xmpExt:rCtype")), name("rdf:Bag"))
        _array(_structure(kind, "rdf:li"), "xmp:Identifier", "Bag", [_HUMAN])
        if who:
            _alternative(region, "Iptc4xmpExt:Name", who)
            _array(region, "Iptc4xmpExt:PersonInImage", "Bag", [who])


def _simple(parent: ET.Element, qualified: str, text: str) -> None:
    if text:
        ET.SubElement(parent, name(qualified)).text = legible(text)


def _structure(parent: ET.Element, qualified: str) -> ET.Element:
    return ET.SubElement(parent, name(qualified), {name("rdf:parseType"): "Resource"})


def _alternative(parent: ET.Element, qualified: str, text: str) -> None:
    whole = ET.SubElement(ET.SubElement(parent, name(qualified)), name("rdf:Alt"))
    ET.SubElement(whole, name("rdf:li"), {_LANG: "x-default"}).text = legible(text)


def _array(parent: ET.Element, qualified: str, kind: str, texts: Iterable[str]) -> None:
    whole = ET.SubElement(ET.SubElement(parent, name(qualified)), name(f"rdf:{kind}"))
    for text in texts:
        ET.SubElement(whole, name("rdf:li")).text = legible(text)


def legible(text: str) -> str:
    """The text without what XML 1.0 cannot hold: control characters and halves of a character."""
    return "".join(
        letter
        for letter in text
        if letter in "\t\n\r" or "\x20" <= letter <= "\ud7ff" or "\ue000" <= letter <= "\ufffd" or letter > "\uffff"
    )


def _number(part: float) -> str:
    return f"{min(max(part, 0.0), 1.0):.6f}".rstrip("0").rstrip(".") or "0"

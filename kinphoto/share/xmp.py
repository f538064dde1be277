"""Names, regions, dates and words about a picture as an XMP packet (ISO 16684-1), alone as a sidecar or inside a file.

Regions are written twice, because readers know one or the other: as the Metadata Working Group has them (Guidelines for
Handling Image Metadata 2.0, 2010: `mwg-rs`, a rectangle by its centre) and as IPTC has them (Photo Metadata Standard
2019.1: `ImageRegion`, a rectangle by its top left corner). Both are relative to the pixels as they are stored, whatever
the orientation says. A date that is not a whole stated one has no place in the fields for dates: its range goes into
`dcterms:created` as EDTF and in the description in words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from xml.sax.saxutils import escape

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
_HUMAN = "http://cv.iptc.org/newscodes/imageregiontype/human"


def name(qualified: str) -> str:
    """`dc:title` as ElementTree spells it."""
    prefix, _, local = qualified.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"


def packet_within(facts: PictureFacts, most: int) -> tuple[bytes, bool]:
    """The packet with at most `most` bytes, and whether something had to be left out for that: first the second way of
    writing faces, then the end of the description, then the faces."""
    whole = packet(facts)
    if len(whole) <= most:
        return whole, False
    for less in (facts, replace(facts, description=""), replace(facts, description="", people=(), nameless=())):
        found = packet(less, twice=False)
        room = most - len(found) - 200
        if room > 0 and less.description != facts.description:
            cut = facts.description.encode()[: room // 6].decode("utf-8", "ignore")  # a letter takes 5 bytes at most
            found = packet(replace(less, description=f"{cut} …"), twice=False)
        if len(found) <= most:
            return found, True
    return packet(PictureFacts(identifier=facts.identifier, size=facts.size, orientation=facts.orientation)), True


def packet(facts: PictureFacts, *, wrapped: bool = True, twice: bool = True) -> bytes:
    """The packet; `wrapped` in the processing instructions by which readers find it inside a file. Regions are written
    the way of IPTC too, if `twice`."""
    names = list(dict.fromkeys(one.name for one in facts.people))
    framed = [(one.region, one.name) for one in facts.people if one.region is not None]
    regions = [*framed, *((region, "") for region in facts.nameless)]
    said = "".join((
        _simple("tiff:Orientation", str(facts.orientation)) if facts.orientation != 1 else "",
        _words(facts),
        _dates(facts),
        _array("Iptc4xmpExt:PersonInImage", "Bag", names) if names else "",
        _mwg(regions, facts.size) + (_iptc(regions) if twice else "") if regions else "",
    ))  # fmt: skip
    used = "".join(f' xmlns:{prefix}="{uri}"' for prefix, uri in NAMESPACES.items() if f"<{prefix}:" in said)
    body = (
        f'<x:xmpmeta xmlns:x="{NAMESPACES["x"]}"><rdf:RDF xmlns:rdf="{NAMESPACES["rdf"]}">'
        f'<rdf:Description rdf:about=""{used}>{said}</rdf:Description></rdf:RDF></x:xmpmeta>'
    ).encode()
    if not wrapped:
        return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body + b"\n"
    return b'<?xpacket begin="\xef\xbb\xbf" id="W5M0MpCehiHzreSzNTczkc9d"?>\n' + body + b'\n<?xpacket end="r"?>'


def _words(facts: PictureFacts) -> str:
    place = ""
    if facts.place:
        where = _alternative("Iptc4xmpExt:LocationName", facts.place)
        place = _element("Iptc4xmpExt:LocationCreated", _element("rdf:Bag", _structure("rdf:li", where)))
    told = (("dc:title", facts.title), ("dc:description", facts.description), ("dc:rights", facts.rights))
    return "".join((
        *(_alternative(qualified, text) for qualified, text in told if text),
        _array("dc:creator", "Seq", [facts.maker]) if facts.maker else "",
        _simple("dc:identifier", facts.identifier),
        _simple("dc:source", facts.source),
        place,
    ))  # fmt: skip


def _dates(facts: PictureFacts) -> str:
    said = _simple("exif:DateTimeOriginal", facts.taken) + _simple("photoshop:DateCreated", facts.created)
    said += _simple("dcterms:created", facts.edtf)
    digitized = facts.digitized.strip()
    if digitized:
        day, _, time = digitized.partition(" ")
        stamp = "T".join(filter(None, (day.replace(":", "-"), time)))
        said += _simple("exif:DateTimeDigitized", stamp) + _simple("xmp:CreateDate", stamp)
    return said


def _mwg(regions: Iterable[tuple[Region, str]], size: tuple[int, int]) -> str:
    found = []
    for (left, top, width, height), who in regions:
        centre = {"x": left + width / 2, "y": top + height / 2, "w": width, "h": height}
        area = "".join(_simple(f"stArea:{key}", _number(part)) for key, part in centre.items())
        area = _structure("mwg-rs:Area", area + _simple("stArea:unit", "normalized"))
        found.append(_structure("rdf:li", area + _simple("mwg-rs:Type", "Face") + _simple("mwg-rs:Name", who)))
    applied = (("w", str(size[0])), ("h", str(size[1])), ("unit", "pixel"))
    whole = _structure("mwg-rs:AppliedToDimensions", "".join(_simple(f"stDim:{key}", value) for key, value in applied))
    return _structure("mwg-rs:Regions", whole + _element("mwg-rs:RegionList", _element("rdf:Bag", "".join(found))))


def _iptc(regions: Iterable[tuple[Region, str]]) -> str:
    kind = _structure("rdf:li", _array("xmp:Identifier", "Bag", [_HUMAN]))
    kind = _element("Iptc4xmpExt:rCtype", _element("rdf:Bag", kind))
    found = []
    for (left, top, width, height), who in regions:
        corner = (("rbX", left), ("rbY", top), ("rbW", width), ("rbH", height))
        boundary = _simple("Iptc4xmpExt:rbShape", "rectangle") + _simple("Iptc4xmpExt:rbUnit", "relative")
        boundary += "".join(_simple(f"Iptc4xmpExt:{key}", _number(part)) for key, part in corner)
        inside = _structure("Iptc4xmpExt:RegionBoundary", boundary) + kind
        if who:
            inside += _alternative("Iptc4xmpExt:Name", who) + _array("Iptc4xmpExt:PersonInImage", "Bag", [who])
        found.append(_structure("rdf:li", inside))
    return _element("Iptc4xmpExt:ImageRegion", _element("rdf:Bag", "".join(found)))


def _element(qualified: str, inside: str) -> str:
    return f"<{qualified}>{inside}</{qualified}>"


def _simple(qualified: str, text: str) -> str:
    return _element(qualified, escape(legible(text))) if text else ""


def _structure(qualified: str, inside: str) -> str:
    return f'<{qualified} rdf:parseType="Resource">{inside}</{qualified}>'


def _alternative(qualified: str, text: str) -> str:
    item = f'<rdf:li xml:lang="x-default">{escape(legible(text))}</rdf:li>'
    return _element(qualified, _element("rdf:Alt", item))


def _array(qualified: str, kind: str, texts: Iterable[str]) -> str:
    items = "".join(_element("rdf:li", escape(legible(text))) for text in texts)
    return _element(qualified, _element(f"rdf:{kind}", items))


_ILLEGIBLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def legible(text: str) -> str:
    """The text without what XML 1.0 cannot hold: control characters and halves of a character."""
    return _ILLEGIBLE.sub("", text)


def _number(part: float) -> str:
    return f"{min(max(part, 0.0), 1.0):.6f}".rstrip("0").rstrip(".") or "0"

"""Copies of JPEG and TIFF files with our metadata inside in place of whatever was there, and not a pixel touched.

A copy is built from what a picture needs to be shown (its compressed data, tables, colour profile, resolution) and our
own XMP and EXIF. Everything else stays behind, whether it is known or not: the position, serial numbers and owners'
names of cameras, edit histories, embedded thumbnails, comments, second pictures after the end of the first. Single EXIF
fields can be kept by name.
"""

from __future__ import annotations

import struct
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from mmap import mmap

from kinphoto.scans.jpeg import END, BrokenJpegError, is_about, segments
from kinphoto.share.ifd import BYTE, UNDEFINED, BrokenError, Layout, Tag, ascii_

XMP_NAME = b"http://ns.adobe.com/xap/1.0/\0"
_EXIF_NAME = b"Exif\0\0"
_LARGEST = 65_533  # bytes that fit into a segment of a JPEG

ORIENTATION, X_RESOLUTION, Y_RESOLUTION, UNIT, XMP, EXIF, ICC = 274, 282, 283, 296, 700, 34665, 34675
VERSION, TAKEN, DIGITIZED, GPS = 36864, 36867, 36868, 34853
_PICTURE_TAGS = frozenset(
    (254, 255, 256, 257, 258, 259, 262, 263, 264, 265, 266, 273, 277, 278, 279, 280, 281, 284, 290, 291, 292, 293,
     X_RESOLUTION, Y_RESOLUTION, UNIT, 301, 317, 318, 319, 320, 321, 322, 323, 324, 325, 332, 334, 336, 338, 339, 340,
     341, 342, 347, 529, 530, 531, 532, ICC)
)  # fmt: skip
"""The tags of TIFF 6.0 and its technical notes by which a picture is decoded and shown."""
_DATA = {273: 279, 324: 325}
"""Where the strips or tiles are, and the tag that says how long each is."""
_NOT_ALONE = frozenset((513, 514, 519, 520, 521))
"""Tags of the old way of JPEG in TIFF, whose data are spread over the file."""


class CannotEmbedError(Exception):
    """Nothing can be written into this file without touching its picture; its words say why."""


@dataclass(frozen=True, slots=True)
class EmbeddedMetadata:
    """What to write into a copy: the XMP packet (b"" for none), how the pixels have to be turned (EXIF orientation),
    the resolution, the day of exposure and the moment of scanning, and the numbers of the EXIF tags to keep."""

    xmp: bytes
    orientation: int = 1
    ppi: float | None = None
    taken: str = ""
    digitized: str = ""
    keep: Collection[int] = ()


Data = bytes | mmap
"""A file that is read: its bytes, or the file itself as memory, which spares copying it."""
Piece = bytes | range
"""A piece of a copy: new bytes, or those from one place to another of the file that is copied."""


_SMALL = 65_536  # bytes that are quicker copied here than by asking the system
_PAGE = 4096


MOST_XMP = _LARGEST - len(XMP_NAME)
"""Bytes of a packet that a JPEG can hold in one segment."""


def _piece(data: Data, start: int, stop: int) -> Piece:
    return data[start:stop] if stop - start < _SMALL else range(start, stop)


def joined(data: Data, pieces: Iterable[Piece]) -> bytes:
    """The whole copy, in memory."""
    return b"".join(data[each.start : each.stop] if isinstance(each, range) else each for each in pieces)


def jpeg(data: Data, inside: EmbeddedMetadata, end: int = 0) -> list[Piece]:
    """A JPEG with this inside, in pieces. Where its picture ends is looked for, unless it is known.

    Raises CannotEmbedError for one that is broken, or when it is too much for a segment.
    """
    if len(inside.xmp) + len(XMP_NAME) > _LARGEST:
        raise CannotEmbedError("there is more to say than a JPEG can hold in one segment")
    try:
        pieces, kept = _parts_of_jpeg(data, end)
    except BrokenJpegError as problem:
        raise CannotEmbedError(str(problem)) from problem
    layout, first, exif = _kept_block(kept, inside)
    block = _exif_block(layout, first, exif, inside)
    second = pieces[1] if len(pieces) > 1 else b""
    at = 1 if isinstance(second, bytes) and second[:2] == b"\xff\xe0" else 0  # after the JFIF header, which comes first
    made = [*pieces[: at + 1], _segment(0xE1, _EXIF_NAME + block), *pieces[at + 1 :]]
    if inside.xmp:
        blank = 0 if isinstance(data, bytes) else _blank(made, len(XMP_NAME) + len(inside.xmp) + 4)
        made.insert(at + 2, _segment(0xE1, XMP_NAME + _padded(inside.xmp, blank)))
    return made


def _blank(pieces: Iterable[Piece], more: int) -> int:
    """How many blanks in the packet let the picture begin as far into a page of the disk as it did: then the system
    copies whole pages, or shares them. `more` bytes are added before it."""
    for each in pieces:
        if isinstance(each, range):
            blank = (each.start - more) % _PAGE
            return blank if more + blank <= _LARGEST else 0
        more += len(each)
    return 0


def _padded(packet: bytes, blank: int) -> bytes:
    """The packet with blanks before its last line, where they are usual (ISO 16684-1, 7.3.2)."""
    text, mark, last = packet.rpartition(b"<?xpacket end=")
    return text + b" " * blank + mark + last if mark else packet


def _parts_of_jpeg(data: Data, known: int) -> tuple[list[Piece], bytes]:
    """The pieces of a JPEG that a picture needs, the start of it first, and the block of EXIF that was there."""
    exif = b""
    pieces: list[Piece] = [b"\xff\xd8"]
    for marker, at, end in segments(data, known):
        body = data[at + 4 : end] if is_about(marker) else b""
        if marker == 0xE1 and body.startswith(_EXIF_NAME) and not exif:
            exif = body[len(_EXIF_NAME) :]
        if marker == 0xE0 and body.startswith(b"JFIF\0"):
            pieces.append(_segment(0xE0, body[:12] + b"\0\0"))  # without its thumbnail
        elif marker != END and _is_needed(marker, body):
            pieces.append(_piece(data, at, end))
    pieces.append(b"\xff\xd9")
    return pieces, exif


def _is_needed(marker: int, body: bytes) -> bool:
    """Whether a segment bears on the pixels: all but comments and application data, among which the colour profile and
    the mark of how colours are stored do bear on them."""
    of_colour = (marker == 0xE2 and body.startswith(b"ICC_PROFILE\0")) or (marker == 0xEE and body.startswith(b"Adobe"))
    return of_colour or not is_about(marker)


def _segment(marker: int, body: bytes) -> bytes:
    if len(body) > _LARGEST:
        raise CannotEmbedError("there is more to keep than a JPEG can hold in one segment")
    return bytes((0xFF, marker)) + struct.pack(">H", len(body) + 2) + body


def _kept_block(block: bytes, inside: EmbeddedMetadata) -> tuple[Layout, dict[int, Tag], dict[int, Tag]]:
    """For a block of EXIF its byte order, and the fields to be kept: of the picture, and of the exposure."""
    try:
        layout, at = Layout.of(block)
        first, _ = layout.read(block, at)
        exif = layout.read(block, layout.numbers(first[EXIF])[0])[0] if EXIF in first else {}
    except (BrokenError, KeyError):
        return Layout("<"), {}, {}
    kept = {
        tag: value for tag, value in first.items() if tag in inside.keep or tag in (X_RESOLUTION, Y_RESOLUTION, UNIT)
    }
    return layout, kept, {tag: value for tag, value in exif.items() if tag in inside.keep}


def _exif_block(layout: Layout, first: dict[int, Tag], exif: dict[int, Tag], inside: EmbeddedMetadata) -> bytes:
    first = {**first, ORIENTATION: layout.shorts(inside.orientation)}
    if inside.ppi and X_RESOLUTION not in first:
        first |= {X_RESOLUTION: layout.rational(inside.ppi), Y_RESOLUTION: layout.rational(inside.ppi)}
        first |= {UNIT: layout.shorts(2)}
    exif = _with_dates(exif, inside)
    first[EXIF] = layout.longs(0)
    place = 8 + len(layout.write(first, 8))
    first[EXIF] = layout.longs(place)
    return layout.header(8) + layout.write(first, 8) + layout.write(exif, place)


def _with_dates(exif: dict[int, Tag], inside: EmbeddedMetadata) -> dict[int, Tag]:
    dates = {tag: text for tag, text in ((TAKEN, _moment(inside.taken)), (DIGITIZED, inside.digitized)) if text}
    return {**exif, VERSION: Tag(UNDEFINED, 4, b"0232"), **{tag: ascii_(text) for tag, text in dates.items()}}


def _moment(day: str) -> str:
    """A day as EXIF writes a moment whose hour nobody knows: with blanks for what is unknown (EXIF 2.32, 4.6.5)."""
    return f"{day.replace('-', ':')}   :  :  " if day else ""


def tiff(data: Data, inside: EmbeddedMetadata, page: int = 0) -> list[Piece]:
    """A TIFF of one page of this one (counted from 1; 0 is the first) with this inside, in pieces.

    Raises CannotEmbedError for one that is broken, or whose pixels are stored in a way that cannot be copied.
    """
    try:
        return list(_tiff(data, inside, max(page - 1, 0)))
    except (BrokenError, KeyError, struct.error) as problem:
        raise CannotEmbedError("the TIFF is damaged, or stored in a way that is not known") from problem


def _tiff(data: Data, inside: EmbeddedMetadata, number: int) -> Iterator[Piece]:
    layout, at = Layout.of(data[:16])
    for _ in range(number):
        _, at = layout.read(data, at)
    found, _ = layout.read(data, at)
    if _NOT_ALONE & found.keys():
        raise CannotEmbedError("its JPEG is stored in an old way and cannot be copied separately")
    exif: dict[int, Tag] = {}
    if EXIF in found:
        try:
            exif = layout.read(data, layout.numbers(found[EXIF])[0])[0]
        except (BrokenError, KeyError):
            exif = {}
    tags = {tag: value for tag, value in found.items() if tag in _PICTURE_TAGS or tag in inside.keep}
    where = next(tag for tag in _DATA if tag in tags)
    starts, sizes = layout.numbers(tags[where]), layout.numbers(tags[_DATA[where]])
    if len(starts) != len(sizes) or any(start + size > len(data) for start, size in zip(starts, sizes, strict=True)):
        raise CannotEmbedError("the TIFF is cut off")
    place, offsets = 16, []
    chunks: list[Piece] = []
    for start, size in zip(starts, sizes, strict=True):
        offsets.append(place)
        chunks += [_piece(data, start, start + size), b"\0" * (size % 2)]
        place += size + size % 2
    tags |= {where: layout.longs(*offsets), ORIENTATION: layout.shorts(inside.orientation)}
    if inside.xmp:
        tags[XMP] = Tag(BYTE, len(inside.xmp), inside.xmp)
    if inside.ppi and X_RESOLUTION not in tags:
        tags |= {X_RESOLUTION: layout.rational(inside.ppi), Y_RESOLUTION: layout.rational(inside.ppi)}
        tags |= {UNIT: layout.shorts(2)}
    kept = {tag: value for tag, value in exif.items() if tag in inside.keep}
    last = layout.write(_with_dates(kept, inside), place)
    tags[EXIF] = layout.longs(place)
    directory = place + len(last)
    yield layout.header(directory).ljust(16, b"\0")
    yield from chunks
    yield last
    yield layout.write(tags, directory)


def png(data: Data) -> bytes:
    """A PNG of nothing but its picture: the chunks by which it is decoded and shown (PNG 1.2, 4.2)."""
    if data[:8] != b"\x89PNG\r\n\x1a\n":
        raise CannotEmbedError("it is not a PNG")
    needed = b"IHDR PLTE IDAT IEND tRNS gAMA cHRM sRGB iCCP sBIT bKGD pHYs cICP".split()
    kept, at = [data[:8]], 8
    while at + 12 <= len(data):
        end = at + 12 + struct.unpack_from(">I", data, at)[0]
        if data[at + 4 : at + 8] in needed:
            kept.append(data[at:end])
        if data[at + 4 : at + 8] == b"IEND":
            return b"".join(kept)
        at = end
    raise CannotEmbedError("the PNG is cut off")


def webp(data: Data) -> bytes:
    """A WebP of nothing but its picture, without the chunks of EXIF and XMP (WebP container specification)."""
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP":
        raise CannotEmbedError("it is not a WebP")
    end, at = min(len(data), 8 + struct.unpack_from("<I", data, 4)[0]), 12
    kept = []
    while at + 8 <= end:
        size = struct.unpack_from("<I", data, at + 4)[0]
        stop = at + 8 + size + size % 2
        kind, chunk = data[at : at + 4], bytearray(data[at:stop])
        if kind == b"VP8X":
            chunk[8] &= ~0x0C  # neither EXIF nor XMP
        if kind in (b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ICCP", b"ANIM", b"ANMF"):
            kept.append(bytes(chunk))
        at = stop
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def field_numbers(names: Collection[str]) -> dict[int, str]:
    """The EXIF tags of these names (`Make`, `Model`), whatever their case. Raises KeyError with one that is unknown, or
    that leads to a block of fields of its own."""
    from PIL.ExifTags import TAGS

    known = {called.casefold(): number for number, called in TAGS.items()}
    found = {}
    for each in names:
        number = known.get(each.casefold(), GPS)
        if number in (EXIF, GPS, 40965, 330, 37500, XMP, ORIENTATION, TAKEN, DIGITIZED) or number in _DATA:
            raise KeyError(each)
        found[number] = TAGS[number]
    return found

"""Which files are pictures, judged by their names and first bytes without decoding anything.

A scan is a JPEG, TIFF, PNG, WebP, HEIC or PDF file. Pictures of other kinds (a camera's raw files, GIF, PSD
...) are recognised too, so that they can be reported instead of being ignored.
"""

from __future__ import annotations

from enum import StrEnum

READ = "JPEG, TIFF, PNG, WebP, HEIC and PDF"
"""The kinds of picture that are read, in words."""

HEAD = 32
"""How many of a file's first bytes are needed to know its kind."""


class FileType(StrEnum):
    """The kinds of picture that are read; the values are stored in the table of scans."""

    JPEG = "JPEG"
    TIFF = "TIFF"
    PNG = "PNG"
    WEBP = "WEBP"
    HEIF = "HEIF"
    PDF = "PDF"


SUFFIXES = frozenset(
    (".jpg", ".jpeg", ".jpe", ".jfif", ".tif", ".tiff", ".png", ".webp", ".heic", ".heif", ".hif", ".pdf")
)
"""Suffixes of pictures that are read, in lower case."""

_RAW = "3fr arw cr2 cr3 crw dcr dng erf iiq kdc mos mrw nef nrw orf pef raf rw2 sr2 srf srw"
OTHER_SUFFIXES = {
    **{f".{name}": "a camera's raw picture" for name in _RAW.split()},
    **dict.fromkeys((".jp2", ".j2k", ".jpf", ".jpx"), "a JPEG 2000 picture"),
    **dict.fromkeys((".psd", ".psb"), "a PSD picture"),
    ".gif": "a GIF picture",
    ".bmp": "a BMP picture",
    ".avif": "an AVIF picture",
    ".jxl": "a JPEG XL picture",
}
"""Suffixes of pictures that are not read, with their names."""

NO_PICTURE = "not a picture file"
SAVE_A_COPY = "save a copy of it as TIFF or PNG, and add that"
"""What to do with a picture that is not read."""

_STARTS: tuple[tuple[bytes, FileType], ...] = (
    (b"\xff\xd8\xff", FileType.JPEG),
    (b"\x89PNG\r\n\x1a\n", FileType.PNG),
    (b"II*\0", FileType.TIFF),
    (b"MM\0*", FileType.TIFF),
    (b"II+\0", FileType.TIFF),
    (b"MM\0+", FileType.TIFF),
    (b"%PDF-", FileType.PDF),
)
_HEIC_BRANDS = frozenset((b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"))
_OTHER_STARTS: tuple[tuple[bytes, str], ...] = (
    (b"GIF8", OTHER_SUFFIXES[".gif"]),
    (b"BM", OTHER_SUFFIXES[".bmp"]),
    (b"8BPS", OTHER_SUFFIXES[".psd"]),
    (b"\0\0\0\x0cjP  ", OTHER_SUFFIXES[".jp2"]),
)


def suffix(name: str) -> str:
    """The suffix of a file name in lower case, with its dot."""
    stem, dot, ending = name.rpartition(".")
    return f".{ending.lower()}" if dot and stem else ""


def type_of(head: bytes) -> FileType | None:
    """The kind of picture that begins with these bytes (`HEAD` of them), None when it is not one that is read."""
    for start, kind in _STARTS:
        if head.startswith(start):
            return kind
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return FileType.WEBP
    if head[4:8] == b"ftyp" and head[8:12] in _HEIC_BRANDS and b"avif" not in head[8:]:
        return FileType.HEIF
    return None


def other_kind(head: bytes) -> str:
    """What a file that is not read seems to be, in words."""
    if head[4:12] == b"ftypavif":
        return OTHER_SUFFIXES[".avif"]
    for start, words in _OTHER_STARTS:
        if head.startswith(start):
            return words
    return NO_PICTURE

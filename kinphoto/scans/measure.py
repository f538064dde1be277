"""What is stored about one image file: its bytes, its pixels and its metadata, as one plain value.

The file is opened for reading only, and once; one that changes meanwhile (a scanner is still writing it) is refused.
"""

from __future__ import annotations

import hashlib
import math
import os
import re
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kinphoto.errors import UnreadableFileError
from kinphoto.scans.captures.straight import believed
from kinphoto.scans.fixity import reading_bytes, sha256_of
from kinphoto.scans.jpeg import picture_end
from kinphoto.scans.kinds import FileType
from kinphoto.scans.pages import page_path
from kinphoto.scans.picture import (
    THUMBNAIL_EDGE,
    as_stored,
    decode,
    eight_bits,
    opened,
    orientation,
    pages_of,
    refuse_too_many_pixels,
    size_as_stored,
    unreadable_if_damaged,
    upright,
    write_thumbnail,
)
from kinphoto.scans.thumbnails import thumbnail_path
from kinphoto.scans.upright import POSITIVE

if TYPE_CHECKING:
    from PIL import Image
    from PIL.ImageFile import ImageFile

    from kinphoto.scans.checks.measures import Measures

# EXIF and TIFF tags
_MAKE, _MODEL, _X_RESOLUTION, _Y_RESOLUTION, _RESOLUTION_UNIT = 0x010F, 0x0110, 0x011A, 0x011B, 0x0128
_EXIF, _ORIGINAL, _DIGITIZED = 0x8769, 0x9003, 0x9004
_EXPOSURE_TIME, _F_NUMBER, _FILE_SOURCE = 0x829A, 0x829D, 0xA300
_FOCAL_LENGTH, _AS_ON_FILM, _LENS = 0x920A, 0xA405, 0xA434
_OF_A_CAMERA = (_EXPOSURE_TIME, _F_NUMBER, _FOCAL_LENGTH, _AS_ON_FILM, _LENS)
_BITS_PER_SAMPLE = 0x0102
_FOR_FILM = 800
"""Pixels of the longer edge from which film is known by its mask and its perforations."""
_BAND = 256
"""Rows of a picture that are hashed at once."""
_CM_PER_INCH = 2.54
_UNKNOWN_PPI = 72
"""What the EXIF standard has programs write when they do not know the resolution."""
_SCANNERS = (1, 2)
"""EXIF FileSource: a scanner for film, a scanner for prints (3 is a camera)."""


@dataclass(frozen=True, slots=True)
class Measurement:
    """One scan: a picture file, or one page of it.

    `path` names it (`pages.page_path`), `page` counts from 1 and is 0 for a file with one picture. `sha256` is that of
    the file's bytes, or for a page that of its pixels, so that a page stays the same when others are added to the file;
    `file_sha256` is that of the file of such a page.

    `width` and `height` are pixels as stored, before the turning that `orientation` (EXIF, 1 to 8) asks for. `ppi` is
    None when unknown. `bits` are per channel, `mode` is Pillow's name for how the pixels are kept. `exif_original` and
    `exif_digitized` are EXIF's DateTimeOriginal and DateTimeDigitized as written, usually the day of scanning.
    `phash` is the perceptual hash of 64 bits as 16 hexadecimal digits, `look` the numbers of `look.py`. `turn` says
    that a negative is shown as a positive at first (`upright.POSITIVE`). `picture_end` is how many bytes of a JPEG are
    its picture, 0 where that is not known.
    """

    path: str
    sha256: str
    size: int
    mtime_ns: int
    file_type: str
    width: int
    height: int
    ppi: float | None
    bits: int | None
    mode: str
    pages: int
    orientation: int
    phash: str
    look: str
    exif_original: str | None
    exif_digitized: str | None
    device: str | None
    page: int = 0
    file_sha256: str = ""
    turn: int = 0
    picture_end: int = 0


@dataclass(frozen=True, slots=True)
class Measured:
    """One file: a measurement of each of its pictures, why some pages cannot be read, and where they were checked
    along with it what each scan is judged by."""

    scans: tuple[Measurement, ...]
    unread: tuple[UnreadableFileError, ...] = ()
    checks: tuple[Measures, ...] = ()


def measure(
    path: str, thumbs: Path | None = None, *, sha256: str | None = None, memory: int | None = None, check: bool = False
) -> Measured:
    """Measure the image file at `path`, all its pages, and store their thumbnails under the folder `thumbs`.

    `sha256` is given where it is known already, which saves reading the bytes. With `check` it is also measured by how
    good a scan it is, which decodes it once for both. Raises UnreadableFileError when nothing can be read, and
    NeedsMemoryError when decoding takes more than `memory` bytes.
    """
    with reading_bytes(path) as file:
        before = os.fstat(file.fileno())
        digest = sha256 or sha256_of(file, path)
        with opened(file, path) as (kind, image):
            pages = pages_of(image, path)
            found = _File(file, path, digest, before, kind, image, pages)
            if pages == [0]:
                one, checks = _measured(found, 0, thumbs, memory, check)
                measured = Measured((one,), checks=checks)
            else:
                measured = _paged(found, thumbs, memory, check)
        after = os.fstat(file.fileno())
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise UnreadableFileError(
            "it was being written while it was read", where=path, remedy="Add it again when it is finished."
        )
    return measured


def measure_quality(path: str, page: int = 0, memory: int | None = None) -> Measures:
    """How good the scan at `path` is (`page` counts from 1; 0 is the only one), and nothing else of it. Raises the
    same."""
    with reading_bytes(path) as file, opened(file, path, page) as (kind, image):
        return _quality(file, image, kind, memory)[0]


@dataclass(frozen=True, slots=True)
class _File:
    """An open file with what is known of it."""

    file: BufferedReader
    path: str
    sha256: str
    stat: os.stat_result
    kind: FileType
    image: ImageFile
    pages: list[int]


def _paged(found: _File, thumbs: Path | None, memory: int | None, check: bool) -> Measured:
    """Each page by itself: a damaged one does not keep the others from being read."""
    scans: list[Measurement] = []
    checks: list[Measures] = []
    unread: list[UnreadableFileError] = []
    for page in found.pages:
        where = page_path(found.path, page)
        try:
            with unreadable_if_damaged(where):
                found.image.seek(page - 1)
                refuse_too_many_pixels(found.image.size, where)
                scan, quality = _measured(found, page, thumbs, memory, check)
                scans.append(scan)
                checks += quality
        except UnreadableFileError as problem:
            unread.append(problem)
    if not scans:
        raise unread[0]
    return Measured(tuple(scans), tuple(unread), tuple(checks))


def perceptual_hash(picture: Image.Image) -> str:
    """The 64-bit perceptual hash (discrete cosine transform, imagehash's `phash`) in hexadecimal."""
    import imagehash

    return str(imagehash.phash(picture))


def _measured(
    found: _File, page: int, thumbs: Path | None, memory: int | None, check: bool
) -> tuple[Measurement, tuple[Measures, ...]]:
    """The picture that is open; and how good it is, where that was to be checked."""
    kind, image = found.kind, found.image
    width, height = size_as_stored(image)
    mode, bits = image.mode, _bits(found.file, image, kind)
    turned = 1 if kind is FileType.PNG else orientation(image)
    checks: tuple[Measures, ...] = ()
    if check:
        quality, picture = _quality(found.file, image, kind, memory)
        checks = (quality,)
    else:
        decode(image, memory, THUMBNAIL_EDGE)
        picture = image
    # Only now, because asking a PNG for its EXIF decodes it whole.
    turned = orientation(image) if kind is FileType.PNG else turned
    picture = eight_bits(upright(picture, 1 if kind is FileType.TIFF else turned))
    exif, detail = _exif(image)
    sha256 = pixels_sha256(image) if page else found.sha256
    measurement = Measurement(
        path=page_path(found.path, page),
        sha256=sha256,
        size=found.stat.st_size,
        mtime_ns=found.stat.st_mtime_ns,
        file_type=kind.value,
        width=width,
        height=height,
        ppi=_ppi(image, exif, detail),
        bits=bits,
        mode=mode,
        pages=len(found.pages),
        orientation=turned,
        phash=perceptual_hash(picture),
        look=_look(picture),
        exif_original=_moment(detail.get(_ORIGINAL)),
        exif_digitized=_moment(detail.get(_DIGITIZED)),
        device=_device(exif),
        page=page,
        file_sha256=found.sha256 if page else "",
        turn=POSITIVE if _is_negative(picture, *checks) else 0,
        picture_end=picture_end(found.path) if kind is FileType.JPEG and not page else 0,
    )
    if thumbs is not None:
        profile = image.info.get("icc_profile") if image.mode == picture.mode else None
        write_thumbnail(picture, thumbnail_path(thumbs, sha256), profile)
    return measurement, checks


def _quality(
    file: BufferedReader, image: ImageFile, kind: FileType, memory: int | None
) -> tuple[Measures, Image.Image]:
    """How good the open picture is; and the picture, as stored, as small as a thumbnail needs it at least."""
    from kinphoto.scans.checks.measures import Stated, is_grey, of_source
    from kinphoto.scans.checks.sources import REDUCED_EDGE, SMALL, InMemory, JpegFile

    size, turned = image.size, orientation(image) if kind is FileType.TIFF else 1
    ppi, camera, bits = stated_ppi(file, image, kind)
    lens = stated_lens(image) if camera else None
    tables = getattr(image, "quantization", None) if kind is FileType.JPEG else None
    decode(image, memory, max(size) if max(size) <= SMALL else REDUCED_EDGE)
    stored = as_stored(image, turned)
    source = InMemory(stored) if image.size == size or kind is not FileType.JPEG else JpegFile(file, size, stored)
    stated = Stated(ppi, camera, bits, tables, image.info.get("icc_profile"), lens)
    measures = of_source(source, is_grey(image.mode), stated)
    shrink = max(image.size) // THUMBNAIL_EDGE if kind is FileType.JPEG else 1
    smaller = image if shrink < 2 or image.mode not in ("L", "RGB") else image.reduce(shrink)
    return measures, smaller


def _look(picture: Image.Image) -> str:
    from kinphoto.scans.look import look

    return look(picture.convert("L").reduce(max(1, max(picture.size) // (2 * THUMBNAIL_EDGE))))


def _is_negative(picture: Image.Image, seen: Measures | None = None) -> bool:
    """Whether a picture is sure to be a negative, as was `seen` where it was checked."""
    from kinphoto.scans.checks.film import seen_as_film, surely_negative

    if seen is not None:
        return surely_negative(seen.perforated, seen.clear_edges, seen.orange)
    import numpy as np

    shrink = max(picture.size) // _FOR_FILM
    small = picture.reduce(shrink) if shrink > 1 else picture
    film = seen_as_film(np.asarray(small), np.asarray(small.convert("L")), None)
    return surely_negative(film.perforated, film.clear, film.orange)


def pixels_sha256(image: Image.Image) -> str:
    """The SHA-256 of a decoded picture: its mode, its size and its pixels, some rows at a time."""
    digest = hashlib.sha256(f"{image.mode} {image.width} {image.height}\n".encode())
    for top in range(0, image.height, _BAND):
        digest.update(image.crop((0, top, image.width, min(top + _BAND, image.height))).tobytes())
    return digest.hexdigest()


def _bits(file: BufferedReader, image: Any, kind: FileType) -> int | None:
    """Bits per channel as stored. Pillow's mode is not enough: it reads colour of 16 bits as 8."""
    if kind is FileType.TIFF:
        return int(image.tag_v2.get(_BITS_PER_SAMPLE, (1,))[0])
    if kind is FileType.PNG:
        # The depth is the ninth byte of the IHDR chunk's data, which begins at byte 16 (PNG specification, 11.2.2).
        file.seek(24)
        return file.read(1)[0]
    if kind is FileType.HEIF:
        return int(image.info.get("bit_depth", 8))
    return 8


def _exif(image: Image.Image) -> tuple[dict[int, Any], dict[int, Any]]:
    """The tags of the picture and those of how it was taken, by number; empty where there are none.

    A TIFF is one block of tags itself, which Pillow has read; of a block that piexif finds broken, Pillow salvages
    what it can.
    """
    import piexif

    block = image.info.get("exif")
    if block and image.format != "TIFF":
        try:
            found = piexif.load(block)
        except Exception:  # piexif raises whatever a broken block made it stumble over
            pass
        else:
            return found["0th"], found["Exif"]
    tags = image.getexif()
    return dict(tags), tags.get_ifd(_EXIF)


def _ppi(image: Image.Image, exif: dict[int, Any], detail: dict[int, Any]) -> float | None:
    """Pixels per inch of the object, None where the file says nothing credible.

    A camera writes a number too, but it does not know how far away the print was.
    """
    if _by_camera(detail):
        return None
    return _credible(_header_resolution(image)) or _credible(_exif_resolution(exif))


def stated_ppi(file: BufferedReader, image: ImageFile, kind: FileType) -> tuple[float | None, bool, int | None]:
    """What a file says of its pixels, before it is decoded: pixels per inch (also a default such as 72, None for
    nothing), whether a camera took it, and bits per channel."""
    bits = _bits(file, image, kind)
    exif, detail = _exif(image) if kind is not FileType.PNG else ({}, {})  # asking a PNG for its EXIF decodes it whole
    stated = _plausible(_header_resolution(image)) or _plausible(_exif_resolution(exif))
    return stated, _by_camera(detail), bits


def stated_lens(image: Image.Image) -> float | None:
    """The focal length that a file names, in millimetres as on 35 mm film (EXIF 3.0, FocalLengthIn35mmFilm; 0 stands
    for not known)."""
    return believed(_number(_exif(image)[1].get(_AS_ON_FILM)))


def _header_resolution(image: Image.Image) -> tuple[Any, Any]:
    """Across and up, as the header of a JPEG (JFIF) or PNG has it. Pillow makes up 72 where JFIF names no unit."""
    if image.format in ("PNG", "PDF") or image.info.get("jfif_unit") in (1, 2):
        across, up = image.info.get("dpi", (None, None))
        return across, up
    return None, None


def _exif_resolution(exif: dict[int, Any]) -> tuple[Any, Any]:
    """Across and up, as EXIF or a TIFF's tags have it. Unit 1 means none, 2 (the default) inches, 3 centimetres."""
    across = exif.get(_X_RESOLUTION)
    up = exif.get(_Y_RESOLUTION, across)
    unit = exif.get(_RESOLUTION_UNIT, 2)
    if across is None or up is None or unit not in (2, 3):
        return None, None
    per_inch = _CM_PER_INCH if unit == 3 else 1
    return _number(across) * per_inch, _number(up) * per_inch


def _number(value: Any) -> float:
    """A number that EXIF stores as a fraction; NaN where the denominator is 0 or the value is something else."""
    try:
        return value[0] / value[1] if isinstance(value, tuple) else float(value)
    except (TypeError, ValueError, ZeroDivisionError, IndexError):
        return math.nan


def _credible(resolution: tuple[Any, Any]) -> float | None:
    """The resolution, unless it is missing, absurd, different across and up, or the 72 that stands for unknown."""
    found = _plausible(resolution)
    return None if found is None or round(found) == _UNKNOWN_PPI else found


def _plausible(resolution: tuple[Any, Any]) -> float | None:
    """The resolution, unless it is missing, absurd, or different across and up."""
    try:
        across, up = float(resolution[0]), float(resolution[1])
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not (math.isfinite(across) and 10 <= across <= 50_000) or abs(across - up) > 0.01 * across:
        return None
    return round(across, 2)


def _by_camera(detail: dict[int, Any]) -> bool:
    """Whether a camera took it: the file names an exposure, a lens, or a camera as its source, and not a scanner."""
    source = detail.get(_FILE_SOURCE)
    number = source[0] if isinstance(source, bytes) and source else source
    if number in _SCANNERS:
        return False
    return number == 3 or any(tag in detail for tag in _OF_A_CAMERA)


def _moment(value: Any) -> str | None:
    """An EXIF date as written, None when it is blank or all zeros, which in EXIF means unknown."""
    words = _text(value)
    return words if words and re.search("[1-9]", words) else None


def _device(exif: dict[int, Any]) -> str | None:
    """Make and model, without repeating the make."""
    make, model = _text(exif.get(_MAKE)), _text(exif.get(_MODEL))
    if make and model.casefold().startswith(make.casefold()):
        make = ""
    return f"{make} {model}".strip() or None


def _text(value: Any) -> str:
    """EXIF text without padding and unprintable characters."""
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if not isinstance(value, str):
        return ""
    return "".join(letter for letter in value.split("\0")[0] if letter.isprintable()).strip()

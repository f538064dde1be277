"""Opening a scan and turning it into something to look at: upright, eight bits, grey or RGB.

Scans come in every depth and colour model a scanner can write; the perceptual hash, thumbnails and faces need one. Any
exception a damaged file causes in a decoder becomes an UnreadableFileError in words a family member understands.
Nothing here writes to a scan.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from PIL import Image, ImageOps, UnidentifiedImageError

from kinphoto.errors import KinphotoError, UnreadableFileError
from kinphoto.phrases import opening
from kinphoto.scans.colour import Colours
from kinphoto.scans.derived import REMEDY
from kinphoto.scans.kinds import HEAD, NO_PICTURE, READ, SAVE_A_COPY, FileType, other_kind, type_of
from kinphoto.scans.pages import MOST_PAGES
from kinphoto.store.atomic import atomic_write

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

MAX_PIXELS = 1_000_000_000
"""The most pixels of a picture that is opened. A glass plate of 24 by 30 cm at 2400 ppi has 640 million, a panorama of
25 by 100 cm at 1200 ppi 560 million; a larger one is far more likely a file made to exhaust the memory."""

THUMBNAIL_EDGE = 512
"""The long edge of a thumbnail in pixels."""

TRANSPOSED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""What turns a stored picture of each orientation upright (EXIF 3.0, tag 274)."""

_ORIENTATION = 0x0112
_SUBFILE_TYPE = 0x00FE
_FORMATS = {FileType.JPEG: ("JPEG", "MPO"), FileType.HEIF: ("HEIF",)}


class NeedsMemoryError(Exception):
    """Decoding needs more memory than was allowed; `needed` is in bytes."""

    def __init__(self, needed: int) -> None:
        super().__init__(needed)
        self.needed = needed


@contextmanager
def opened(file: BinaryIO, where: str, page: int = 0) -> Iterator[tuple[FileType, ImageFile]]:
    """The kind of a file and its picture, not decoded yet; `page` counts from 1, 0 is the only or first one.

    Errors inside the block are raised as UnreadableFileError too, except NeedsMemoryError and ImportError: an
    incomplete installation does not mean that a scan is damaged.
    """
    file.seek(0)
    kind = _kind(file.read(HEAD), where)
    file.seek(0)
    with unreadable_if_damaged(where), _open(file, kind) as image:
        if page:
            image.seek(page - 1)
        refuse_too_many_pixels(image.size, where)
        yield kind, image


@contextmanager
def unreadable_if_damaged(where: str) -> Iterator[None]:
    """Raise any exception that a damaged file causes in a decoder as UnreadableFileError, except NeedsMemoryError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except (KinphotoError, NeedsMemoryError, ImportError):
        raise
    except MemoryError as problem:
        raise NeedsMemoryError(0) from problem
    except Exception as problem:  # a damaged file can make a decoder raise anything at all
        remedy = (
            "Save a copy without a password." if _is_locked(problem) else "Scan it again, or restore it from a copy."
        )
        raise UnreadableFileError(_reason(problem), where=where, remedy=remedy) from problem


def pages_of(image: ImageFile, where: str) -> list[int]:
    """The pages of a file that are pictures, counted from 1; [0] for a file with a single picture.

    Reduced copies that some programs store in a TIFF do not count, nor previews and depth maps in the JPEG of a
    telephone, nor a page of a PDF with text only. Raises UnreadableFileError when there is none, and for too many.
    """
    count = getattr(image, "n_frames", 1) if image.format not in ("JPEG", "MPO") else 1
    if count > MOST_PAGES:
        raise UnreadableFileError(
            f"it has {count:,} pages; kinphoto reads at most {MOST_PAGES:,}",
            where=where,
            remedy="Save it as several files.",
        )
    if image.format == "PDF":
        pages = [number + 1 for number in image.pictures()]  # type: ignore[attr-defined]
        if not pages:
            raise UnreadableFileError(
                "none of its pages holds a picture, only text or drawings",
                where=where,
                remedy="Add your scans instead.",
            )
    elif image.format == "TIFF":
        pages = [number + 1 for number in range(count) if not _is_reduced_copy(image, number)] or [1]
        image.seek(0)
    else:
        pages = list(range(1, count + 1))
    return [0] if pages == [1] else pages


def _is_reduced_copy(image: ImageFile, number: int) -> bool:
    """Bit 0 of NewSubfileType (TIFF 6.0, tag 254)."""
    image.seek(number)
    return bool(int(image.tag_v2.get(_SUBFILE_TYPE, 0)) & 1)  # type: ignore[attr-defined]


def size_as_stored(image: Image.Image) -> tuple[int, int]:
    """Width and height in pixels before any turning (Pillow turns the size of a TIFF by itself)."""
    if image.format == "TIFF":
        tags = image.tag_v2  # type: ignore[attr-defined]
        return int(tags[256]), int(tags[257])
    return image.size


def orientation(image: Image.Image) -> int:
    """The EXIF orientation, 1 to 8; 1 when there is none or a value outside the standard."""
    found = image.getexif().get(_ORIENTATION, 1)
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def decoded(image: ImageFile, memory: int | None = None, least_edge: int = THUMBNAIL_EDGE) -> Image.Image:
    """The picture upright, in eight bits, mode L or RGB, in full size.

    A JPEG comes at a half, a quarter or an eighth of its size as long as its long edge keeps `least_edge` pixels,
    because decoding without the finest detail takes a fraction of the time. Raises NeedsMemoryError when decoding would
    take more than `memory` bytes.
    """
    decode(image, memory, least_edge)
    return eight_bits(ImageOps.exif_transpose(image))


def decode(image: ImageFile, memory: int | None, least_edge: int) -> None:
    """The first half of it: `image` has its pixels then, as they are stored (a TIFF is turned upright by Pillow)."""
    shrink = least_edge / max(image.size)
    image.draft(None, (max(1, round(image.width * shrink)), max(1, round(image.height * shrink))))
    needed = _memory_for(image)
    if memory is not None and needed > memory:
        raise NeedsMemoryError(needed)
    image.load()


def upright(picture: Image.Image, orientation: int) -> Image.Image:
    """A stored picture turned as its orientation (1 to 8) asks for."""
    return picture.transpose(TRANSPOSED[orientation]) if orientation > 1 else picture


def as_stored(picture: Image.Image, orientation: int) -> Image.Image:
    """An upright picture turned back to how a file with this orientation stores it."""
    return upright(picture, {6: 8, 8: 6}.get(orientation, orientation))


def eight_bits(image: Image.Image) -> Image.Image:
    """The picture in mode L or RGB, transparent parts on white."""
    if image.mode in ("L", "RGB"):
        return image
    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        return _scaled(image)
    if image.mode in ("1", "LAB"):
        return image.getchannel("L") if image.mode == "LAB" else image.convert("L")
    if image.has_transparency_data:
        return _on_white(image)
    return image.convert("RGB")


def write_thumbnail(picture: Image.Image, path: Path, profile: bytes | None = None) -> None:
    """Store the picture, at most THUMBNAIL_EDGE pixels long, as a JPEG in sRGB, atomically.

    `path` comes from `thumbnail_path`, `profile` is the ICC profile its colours are in. Raises ArchiveError.
    """
    small = picture.copy() if max(picture.size) <= THUMBNAIL_EDGE else picture
    # Hamming: about as good as bicubic for making smaller, in half the time.
    small.thumbnail((THUMBNAIL_EDGE, THUMBNAIL_EDGE), Image.Resampling.HAMMING, reducing_gap=2.0)
    small = Colours(profile).converted(small)
    with atomic_write(path, "a thumbnail cannot be stored", REMEDY, within=path.parents[1], durable=False) as part:
        small.save(part, "JPEG", quality=85, comment=b"")


def _kind(head: bytes, where: str) -> FileType:
    if not head:
        raise UnreadableFileError(
            "the file is empty (0 bytes)", where=where, remedy="Scan it again, or restore it from a copy."
        )
    kind = type_of(head)
    if kind is None:
        other = other_kind(head)
        remedy = "" if other == NO_PICTURE else f"{opening(SAVE_A_COPY)}."
        raise UnreadableFileError(f"it is {other}; kinphoto reads {READ}", where=where, remedy=remedy)
    return kind


def _open(file: BinaryIO, kind: FileType) -> ImageFile:
    # MAX_PIXELS replaces Pillow's own limit, which warns at a tenth of it.
    Image.MAX_IMAGE_PIXELS = None
    if kind is FileType.HEIF:
        import pillow_heif  # a quarter of a second, so only for those who have such files

        pillow_heif.register_heif_opener()
    if kind is FileType.PDF:
        from kinphoto.scans.pdf import PdfImageFile  # likewise

        return PdfImageFile(file)
    return Image.open(file, formats=_FORMATS.get(kind, (kind.value,)))


def refuse_too_many_pixels(size: tuple[int, int], where: str) -> None:
    """Raise UnreadableFileError for a picture of more than MAX_PIXELS."""
    width, height = size
    if width * height > MAX_PIXELS:
        raise UnreadableFileError(
            f"{width} × {height} pixels are more than kinphoto opens ({MAX_PIXELS // 1_000_000} million)",
            where=where,
            remedy="If it is a real scan, save a smaller copy, or save it in parts.",
        )


def _memory_for(image: Image.Image) -> int:
    """Bytes that decoding and turning will take: Pillow keeps 1 byte per grey pixel, 2 at 16 bits, 4 for colour."""
    per_pixel = 1 if image.mode in ("1", "L", "P") else 2 if image.mode.startswith("I;16") else 4
    return 2 * per_pixel * image.width * image.height


def _scaled(image: Image.Image) -> Image.Image:
    """Grey of 16 bits by its upper byte; grey of 32 bits or real numbers from its darkest to its lightest."""
    import numpy as np

    grey = np.asarray(image)
    if grey.dtype.itemsize == 2 or 255 < grey.max() <= 65535:
        return Image.fromarray((grey.astype(np.uint16) >> 8).astype(np.uint8))
    grey = np.nan_to_num(grey.astype(np.float32))
    low, high = float(grey.min()), float(grey.max())
    return Image.fromarray(((grey - low) * (255 / max(high - low, 1e-9))).astype(np.uint8))


def _on_white(image: Image.Image) -> Image.Image:
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("RGB")


def _reason(problem: Exception) -> str:
    """Why a decoder gave up, in plain words."""
    words = str(problem).lower()
    if _is_locked(problem):
        return "it is locked with a password"
    if isinstance(problem, UnidentifiedImageError):
        return "the beginning of the file is damaged or cut off"
    if isinstance(problem, EOFError) or "truncated" in words or "end of file" in words:
        return "the picture is cut off: the end of the file is missing"
    if isinstance(problem, OSError) and problem.errno is not None:
        return f"the disk could not read it ({problem.strerror})"
    return "the picture is damaged or cut off"


def _is_locked(problem: Exception) -> bool:
    return "password" in str(problem).lower()

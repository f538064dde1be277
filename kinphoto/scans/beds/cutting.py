"""A bed with several prints cut apart: one straight image each, in the bed's depth, by one resampling.

A bed is read as its file has it (16 bits stay 16 bits) and turned upright without loss. What a part shows is
interpolated once, by cubic splines; a straight print is copied pixel by pixel. The bed's file is only read.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from kinphoto.errors import UnreadableFileError
from kinphoto.scans import upright
from kinphoto.scans.beds.outlines import PER_MM, Bed, Left, Outline, prints_on
from kinphoto.scans.beds.places import Place, normal
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.fixity import reading_bytes, sha256_of
from kinphoto.scans.kinds import FileType
from kinphoto.scans.measure import stated_ppi
from kinphoto.scans.memory import BUDGET
from kinphoto.scans.picture import eight_bits, opened, orientation
from kinphoto.scans.upright import ScanFile
from kinphoto.store.atomic import atomic_write

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

MARGIN = 2.0
"""Millimetres of bed that stay around a print."""
LEAST_MARGIN = 1.0
"""What is left of that where another print or the edge of the picture is near."""
GLASS = 297.0
"""The longer side of the glass, in millimetres, where a file does not state its resolution: that of A4."""
_STRAIGHT = 0.02
"""Degrees up to which a print counts as straight: over 30 cm a tenth of a millimetre."""
_MAKE, _MODEL, _DATE_TIME = 271, 272, 306

Pixels = NDArray[Any]
"""Grey or RGB, of 8 or 16 bits."""


@dataclass(frozen=True)
class WholeBed:
    """A bed in memory: upright, in its own depth. `stated` is False where the resolution is only guessed."""

    pixels: Pixels
    ppi: float
    stated: bool
    profile: bytes | None
    tags: dict[int, str]

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.pixels.shape[1], self.pixels.shape[0]

    @property
    def per_mm(self) -> float:
        """Pixels in a millimetre."""
        return self.ppi / MM_PER_INCH


def read_bed(scan: ScanFile) -> WholeBed:
    """A bed as it is shown, in full. Raises UnreadableFileError, also when its bytes have changed since it was
    added."""
    with reading_bytes(scan.path) as file:
        if sha256_of(file, scan.path) != (scan.file_sha256 or scan.sha256):
            raise UnreadableFileError(
                "the file has changed since it was added", where=scan.path, remedy="Add it again: kinphoto scans add."
            )
        with opened(file, scan.path, scan.page) as (kind, image):
            ppi, camera, bits = stated_ppi(file, image, kind)
            _refuse_too_large(image, scan.path)
            profile, tags = image.info.get("icc_profile"), _tags(image)
            with BUDGET.reserved(image.width * image.height * 8):
                pixels = _pixels(file, image, kind, bits, scan)
                way = upright.turned(orientation(image), scan.turn)
    pixels = np.ascontiguousarray(_turned(pixels, way))
    stated = ppi is not None and not camera and ppi >= 100
    return WholeBed(
        pixels, ppi if stated and ppi else max(pixels.shape[:2]) / GLASS * MM_PER_INCH, stated, profile, tags
    )  # fmt: skip


def prints_of(bed: WholeBed) -> Bed:
    """The places of the prints on a bed, in its own pixels."""
    return looked_at(Image.fromarray(_in_eight_bits(bed.pixels)), bed.ppi)


def looked_at(picture: Image.Image, ppi: float) -> Bed:
    """The same for a picture of eight bits."""
    factor = max(1.0, ppi / MM_PER_INCH / PER_MM)
    size = round(picture.width / factor), round(picture.height / factor)
    small = eight_bits(picture).resize(size, Image.Resampling.BOX)
    found = prints_on(np.asarray(small), ppi / MM_PER_INCH / factor)
    return Bed(
        tuple(Outline(one.place.scaled(factor), one.doubts) for one in found.outlines),
        tuple(Left(_box(one, factor), one.area) for one in found.left),
        found.bed_seen,
        found.level,
    )


def margins(places: list[Place], per_mm: float) -> list[float]:
    """For each print how many pixels of bed stay around it: less where another is near, and never less than a
    millimetre, so that nothing of the paper is lost."""
    found = []
    for k, place in enumerate(places):
        nearest = min((place.apart(other) for n, other in enumerate(places) if n != k), default=np.inf)
        found.append(max(LEAST_MARGIN * per_mm, min(MARGIN * per_mm, nearest / 2)))
    return found


def part(bed: WholeBed, place: Place, margin: float) -> Pixels:
    """One print, straight, with `margin` pixels of bed around it. Where that reaches out
    of the picture, its rim goes on."""
    whole = place.grown(margin)
    quarters = round(whole.turn / 90) % 4
    straight = abs(normal(whole.turn - 90 * quarters)) <= _STRAIGHT
    return _copied(bed.pixels, whole, quarters) if straight else _resampled(bed.pixels, whole)


def write_part(path: Path, pixels: Pixels, bed: WholeBed, description: str) -> None:
    """Write a part as a TIFF without loss (Deflate), with the bed's resolution, profile and scanner. Raises
    ArchiveError."""
    import tifffile  # only where something is cut

    ppi = (bed.ppi, bed.ppi) if bed.stated else None
    extra = [(tag, 2, 0, text.encode("ascii", "replace").decode(), True) for tag, text in bed.tags.items()]
    with atomic_write(path, "the part cannot be written") as whole:
        tifffile.imwrite(
            whole, pixels, photometric="rgb" if pixels.ndim == 3 else "minisblack", compression="zlib", predictor=True,
            resolution=ppi, resolutionunit="INCH" if ppi else None, iccprofile=bed.profile, software="kinphoto",
            description=description.encode(), metadata=None, extratags=extra, rowsperstrip=64,
        )  # fmt: skip


def _box(left: Left, factor: float) -> tuple[int, int, int, int]:
    x0, y0, x1, y1 = (round(edge * factor) for edge in left.box)
    return x0, y0, x1, y1


def _refuse_too_large(image: ImageFile, where: str) -> None:
    needed = image.width * image.height * 8
    if needed > BUDGET.memory:
        raise UnreadableFileError(
            f"cutting it takes {needed / 1e9:.1f} GB of memory, more than this computer can spare",
            where=where,
            remedy="Scan fewer prints at once, or with fewer ppi.",
        )


def _pixels(file: BinaryIO, image: ImageFile, kind: FileType, bits: int | None, scan: ScanFile) -> Pixels:
    """Grey or RGB in the depth of the file. Pillow reads colour of 16 bits as 8."""
    if (bits or 8) > 8 and kind in (FileType.TIFF, FileType.PNG):
        deep = _deep(file, kind, scan.page)
        if deep is not None:
            return deep
    image.load()
    if (bits or 8) > 8 and kind is not FileType.PNG:
        raise UnreadableFileError(
            f"it has {bits} bits a channel in a form that would lose some of them",
            where=scan.path,
            remedy="Save it as a TIFF or PNG of 16 bits, grey or RGB.",
        )
    found: NDArray[np.uint8] = np.asarray(eight_bits(image))
    return found


def _deep(file: BinaryIO, kind: FileType, page: int) -> NDArray[np.uint16] | None:
    """The pixels of a TIFF or PNG of 16 bits a channel, grey or RGB; None for any other."""
    file.seek(0)
    if kind is FileType.PNG:
        import imagecodecs

        found = imagecodecs.png_decode(file.read())
    else:
        import tifffile

        with tifffile.TiffFile(file) as tiff:
            one = tiff.pages[max(page - 1, 0)]
            found = one.asarray()
            if one.axes == "SYX":
                found = np.moveaxis(found, 0, -1)
            if getattr(one, "photometric", None) == 0:  # white is zero
                found = np.iinfo(found.dtype).max - found
    if found.dtype != np.uint16 or found.ndim not in (2, 3):
        return None
    if found.ndim == 3 and found.shape[2] in (1, 2):
        return found[..., 0]
    return found[..., :3] if found.ndim == 3 else found


def _tags(image: ImageFile) -> dict[int, str]:
    """The scanner and the time, as the file says."""
    exif = image.getexif() if image.format != "PNG" else {}
    return {tag: text for tag in (_MAKE, _MODEL, _DATE_TIME) if isinstance(text := exif.get(tag), str) and text.strip()}


def _turned(pixels: Any, way: int) -> Any:
    """The picture upright, from one of the orientations of EXIF."""
    if way >= 5:
        pixels = np.swapaxes(pixels, 0, 1)
    if way in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    return pixels[::-1] if way in (3, 4, 7, 8) else pixels


def _in_eight_bits(pixels: Pixels) -> NDArray[np.uint8]:
    return pixels.astype(np.uint8) if pixels.dtype == np.uint8 else (pixels >> 8).astype(np.uint8)


def _copied(pixels: Pixels, whole: Place, quarters: int) -> Pixels:
    """A straight part: the pixels themselves."""
    across, down = (whole.height, whole.width) if quarters % 2 else (whole.width, whole.height)
    rows, columns = pixels.shape[:2]
    left, top = max(0, int(np.floor(whole.x - across / 2))), max(0, int(np.floor(whole.y - down / 2)))
    right = min(columns, int(np.ceil(whole.x + across / 2)))
    lower = min(rows, int(np.ceil(whole.y + down / 2)))
    found: Pixels = np.ascontiguousarray(np.rot90(pixels[top:lower, left:right], quarters))
    return found


def _resampled(pixels: Pixels, whole: Place) -> Pixels:
    """A part at an angle, channel by channel."""
    width, height = max(1, round(whole.width)), max(1, round(whole.height))
    corners = np.array(whole.corners)
    rows, columns = pixels.shape[:2]
    left, top = (max(0, int(edge) - 3) for edge in np.floor(corners.min(axis=0)))
    right, lower = (int(edge) + 3 for edge in np.ceil(corners.max(axis=0)))
    near = pixels[top : min(rows, lower), left : min(columns, right)]
    angle = np.radians(whole.turn)
    cos, sin = float(np.cos(angle)), float(np.sin(angle))
    # Row and column of the bed for those of the part; the middle of a pixel is half a pixel from its edges.
    turning = np.array(((cos, sin), (-sin, cos)))
    middle = np.array((height / 2 - 0.5, width / 2 - 0.5))
    offset = np.array((whole.y - top - 0.5, whole.x - left - 0.5)) - turning @ middle
    most = np.iinfo(pixels.dtype).max
    done = []
    for k in range(pixels.shape[2] if pixels.ndim == 3 else 1):
        channel = (near[..., k] if pixels.ndim == 3 else near).astype(np.float32)
        values = ndimage.affine_transform(channel, turning, offset, (height, width), order=3, mode="nearest")
        done.append(np.clip(np.rint(values), 0, most).astype(pixels.dtype))
    found: Pixels = np.stack(done, axis=-1) if pixels.ndim == 3 else done[0]
    return found

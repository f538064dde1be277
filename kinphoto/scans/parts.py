"""A scan opened for display: any part of it upright, in eight bits and sRGB.

The picture is decoded once and does not change; only the part asked for is turned, converted and shrunk. So showing a
scan takes the memory of one decoded picture instead of two, which for a glass plate of 640 million pixels is 2.6 GB
instead of 5 GB.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from PIL import Image

from kinphoto.errors import UnreadableFileError
from kinphoto.scans import upright
from kinphoto.scans.captures.straight import Straight
from kinphoto.scans.captures.view import straightened
from kinphoto.scans.colour import Colours
from kinphoto.scans.fixity import reading_bytes, sha256_of
from kinphoto.scans.kinds import FileType
from kinphoto.scans.memory import BUDGET
from kinphoto.scans.picture import TRANSPOSED, eight_bits, opened, orientation
from kinphoto.scans.positive import Table, positive_table
from kinphoto.scans.upright import POSITIVE, ScanFile

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

_GIGABYTE = 1_000_000_000
_FOR_LEVELS = 400
"""Pixels of the longer edge from which the tones of a negative are taken."""


class Upright:
    """A decoded picture; `size` is that of the upright picture in pixels."""

    def __init__(self, image: Image.Image, turn: int, straight: Straight | None = None) -> None:
        self._colours = Colours(image.info.get("icc_profile"))
        self._orientation = upright.turned(orientation(image) if straight is None else 1, turn)
        # Real numbers are scaled from the darkest to the lightest of the whole picture, so all of it is converted.
        self._image = eight_bits(image) if image.mode in ("I", "F") else image
        if straight is not None:
            self._image = straightened(self._image, orientation(image), straight)
        self.size = upright.upright_size(self._image.size, self._orientation)
        self._positive = self._table() if turn & POSITIVE else None

    def part(self, box: upright.Box, shrink: int = 1) -> Image.Image:
        """What the upright picture shows in `box`, `shrink` times smaller (rounded up), in mode L or RGB."""
        stored = upright.stored_box(box, self._image.size, self._orientation)
        if self._image.mode in ("L", "RGB", "CMYK"):
            piece = self._image.reduce(shrink, box=stored)
        else:
            piece = eight_bits(self._image.crop(stored)).reduce(shrink)
        piece = eight_bits(self._colours.converted(piece))
        if self._positive is not None:
            piece = piece.point(self._positive)
        transposed = TRANSPOSED.get(self._orientation)
        return piece if transposed is None else piece.transpose(transposed)

    def _table(self) -> Table:
        """What makes a positive of it, from the whole picture, so that all parts of it fit together."""
        shrink = max(1, max(self._image.size) // _FOR_LEVELS)
        small = self._image.reduce(shrink) if self._image.mode in ("L", "RGB", "CMYK") else eight_bits(self._image)
        return positive_table(eight_bits(self._colours.converted(small)))

    def fitted(self, box: upright.Box, edge: int) -> Image.Image:
        """The part in `box`, no longer than `edge` pixels."""
        longest = max(box[2] - box[0], box[3] - box[1])
        piece = self.part(box, max(1, longest // (2 * edge)))  # by averages as far as possible, which is quick
        piece.thumbnail((edge, edge), Image.Resampling.LANCZOS, reducing_gap=None)
        return piece

    @property
    def whole(self) -> upright.Box:
        """The box that holds all of it."""
        return 0, 0, *self.size


def full_size(_stored: upright.Size) -> float:
    """Leave no pixel out."""
    return 1.0


@contextmanager
def shown(scan: ScanFile, share: Callable[[upright.Size], float] = full_size) -> Iterator[Upright]:
    """The decoded picture of a scan whose bytes have not changed.

    `share` gives, from the size of what is shown, the share of it to which the picture may be shrunk while decoding; a
    JPEG then takes a fraction of the time. One that does not fit into memory is shrunk too. Raises UnreadableFileError.
    """
    with reading_bytes(scan.path) as file:
        if sha256_of(file, scan.path) != (scan.file_sha256 or scan.sha256):
            raise UnreadableFileError(
                "the file has changed since it was added", where=scan.path, remedy="Add it again: kinphoto scans add."
            )
        copies = 1 if scan.straightened is None else 2
        with (
            opened(file, scan.path, scan.page) as (kind, image),
            BUDGET.reserved(copies * _prepared(image, kind, share(_size_of(image, scan)), scan.path)),
        ):
            image.load()
            yield Upright(image, scan.turn, scan.straightened)


def _size_of(image: ImageFile, scan: ScanFile) -> upright.Size:
    """Width and height of what is shown of a picture as it is stored; of a print that is shown straight, its own."""
    straight = scan.straightened
    return image.size if straight is None else straight.size(upright.upright_size(image.size, orientation(image)))


def _prepared(image: ImageFile, kind: FileType, share: float, where: str) -> int:
    """Set how much a JPEG is shrunk while decoding (1, 2, 4 or 8 times); returns the bytes that decoding then takes."""
    shrink = 1
    if kind is FileType.JPEG:
        while shrink < 8 and (share * shrink * 2 <= 1 or _memory_for(image, kind, shrink) > BUDGET.memory):
            shrink *= 2
    needed = _memory_for(image, kind, shrink)
    if needed > BUDGET.memory:
        raise UnreadableFileError(
            f"showing it takes {needed / _GIGABYTE:.1f} GB of memory, more than this computer can spare",
            where=where,
            remedy="Save a smaller copy, or save it in parts.",
        )
    image.draft(None, (max(1, image.width // shrink), max(1, image.height // shrink)))
    return needed


def _memory_for(image: Image.Image, kind: FileType, shrink: int) -> int:
    """Bytes that decoding takes: Pillow keeps 1 byte per grey pixel, 2 at 16 bits, 4 for colour.

    A HEIC, WebP or PDF file is held twice more by its decoder; a TIFF that asks for turning, and what is converted as a
    whole, is in memory twice for a moment; a progressive JPEG also keeps up to 6 bytes per pixel of its full size.
    """
    pixels = image.width * image.height
    per_pixel = 1 if image.mode in ("1", "L", "P") else 2 if image.mode.startswith("I;16") else 4
    copies = 3 if kind in (FileType.HEIF, FileType.WEBP, FileType.PDF) else 1
    if kind is FileType.TIFF and orientation(image) > 1:  # asking a PNG would decode it
        copies += 1
    if image.mode not in ("L", "RGB", "CMYK"):
        copies += 1
    beside = 6 * pixels if "progressive" in image.info else 0
    return copies * per_pixel * pixels // shrink**2 + beside

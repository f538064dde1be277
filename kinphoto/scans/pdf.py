"""A PDF of scans as a picture with pages, so that it is read like a TIFF with several.

A page that holds one image and nothing else (but the invisible words of text recognition) gives the very image that was
scanned, turned as the page shows it, without rendering. Every other page is rendered at the resolution of the finest
image on it. A page without an image is text or a drawing, not a scan; `pictures` leaves it out.

PDFium may be used by one thread at a time only, hence the lock.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import Any, BinaryIO

import pypdfium2 as pdfium
import pypdfium2.raw as raw
from PIL import Image, ImageFile

POINTS_PER_INCH = 72
COARSEST, FINEST = 150, 1200
"""Pixels per inch of a rendered page: those of the finest image on it, within these limits."""
_LARGEST = 200_000_000
"""Pixels of a rendered page at most; a larger one is rendered more coarsely."""
_LOCK = threading.RLock()

_Vector = tuple[int, int]
_TURNS: dict[tuple[_Vector, _Vector], Image.Transpose | None] = {
    ((1, 0), (0, 1)): None,
    ((0, -1), (1, 0)): Image.Transpose.ROTATE_270,
    ((-1, 0), (0, -1)): Image.Transpose.ROTATE_180,
    ((0, 1), (-1, 0)): Image.Transpose.ROTATE_90,
    ((1, 0), (0, -1)): Image.Transpose.FLIP_TOP_BOTTOM,
    ((-1, 0), (0, 1)): Image.Transpose.FLIP_LEFT_RIGHT,
    ((0, 1), (1, 0)): Image.Transpose.TRANSVERSE,
    ((0, -1), (-1, 0)): Image.Transpose.TRANSPOSE,
}
"""How an image is turned to stand as on its page, by where its right and its upper side point there (ISO 32000-1, 8.3:
x to the right, y upwards)."""
_ON_THEIR_SIDE = (
    Image.Transpose.ROTATE_90, Image.Transpose.ROTATE_270, Image.Transpose.TRANSPOSE, Image.Transpose.TRANSVERSE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Plan:
    """How a page becomes a picture of `size` pixels: its only image, turned, or rendered at `ppi`."""

    size: tuple[int, int]
    ppi: float
    image: Any = None
    turn: Image.Transpose | None = None


class PdfImageFile(ImageFile.ImageFile):
    """One page at a time, chosen with `seek` (from 0) and decoded by `load`."""

    format = "PDF"
    format_description = "Portable Document Format"

    def __init__(self, file: BinaryIO) -> None:
        self._frame = -1
        self._loaded = False
        super().__init__(file)

    def _open(self) -> None:
        with _LOCK:
            self._document = pdfium.PdfDocument(self.fp)
            self.n_frames = len(self._document)
        self.is_animated = self.n_frames > 1
        if self.n_frames == 0:
            raise SyntaxError("a PDF without pages")
        self.seek(0)

    def seek(self, frame: int) -> None:
        """Go to a page. Raises EOFError beyond the last."""
        if frame == self._frame:
            return
        if not 0 <= frame < self.n_frames:
            raise EOFError("no more pages in this PDF")
        with _LOCK:
            self._page = self._document[frame]
            self._plan = _planned(self._page)
        self._frame, self._loaded = frame, False
        self._size = self._plan.size
        self._mode = "RGB"
        self.tile = []
        self.info = {"dpi": (self._plan.ppi, self._plan.ppi)}

    def tell(self) -> int:
        """The page that is open."""
        return self._frame

    def load(self) -> Any:
        """Decode the page that is open."""
        if not self._loaded:
            with _LOCK:
                picture = _decoded(self._page, self._plan)
            self.im = picture.im
            self._mode, self._size = picture.mode, picture.size
            self._loaded = True
        return Image.Image.load(self)

    def close(self) -> None:
        """Close the document; the file belongs to the caller and stays open."""
        with _LOCK:
            self._document.close()

    def __exit__(self, *_: object) -> None:
        self.close()

    def pictures(self) -> list[int]:
        """The pages (from 0) that hold an image."""
        with _LOCK:
            return [number for number in range(self.n_frames) if _images(self._document[number])]


def _images(page: Any) -> list[Any]:
    return list(page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE]))


def _planned(page: Any) -> _Plan:
    """How a page is to be decoded."""
    images = [(image, *_sides(image)) for image in _images(page)]
    width, height = page.get_size()
    if len(images) == 1 and _is_only_image(page, images[0][0]):
        image, right, up = images[0]
        pointing = _direction(right, page), _direction(up, page)
        across, down = image.get_px_size()
        if pointing in _TURNS and across and down:
            turn = _TURNS[pointing]
            inches = math.hypot(*right) / POINTS_PER_INCH
            size = (down, across) if turn in _ON_THEIR_SIDE else (across, down)
            return _Plan(size, across / inches if inches else COARSEST, image, turn)
    ppi = max((_ppi(image, right) for image, right, _ in images), default=COARSEST)
    ppi = min(max(ppi, COARSEST), FINEST)
    pixels = width * height * (ppi / POINTS_PER_INCH) ** 2
    ppi *= min(1.0, math.sqrt(_LARGEST / pixels)) if pixels else 1.0
    return _Plan((_pixels(width, ppi), _pixels(height, ppi)), ppi)


def _pixels(points: float, ppi: float) -> int:
    return max(1, math.ceil(points * ppi / POINTS_PER_INCH))


def _sides(image: Any) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the right and the upper side of an image point on the page, in points."""
    a, b, c, d, _, _ = image.get_matrix().get()
    return (a, b), (c, d)


def _direction(side: tuple[float, float], page: Any) -> _Vector:
    """Left, right, up or down, as the page is shown; (0, 0) for anything slanted."""
    x, y = side
    for _ in range(page.get_rotation() // 90 % 4):  # clockwise
        x, y = y, -x
    length = math.hypot(x, y)
    if not length or min(abs(x), abs(y)) > 0.02 * length:
        return 0, 0
    return (round(x / length), 0) if abs(x) > abs(y) else (0, round(y / length))


def _is_only_image(page: Any, image: Any) -> bool:
    """Whether the image is all there is to see: nothing else is on the page but invisible words."""
    if image.level or raw.FPDFPageObj_HasTransparency(image):
        return False
    return all(
        each.type == raw.FPDF_PAGEOBJ_IMAGE
        or (
            each.type == raw.FPDF_PAGEOBJ_TEXT
            and raw.FPDFTextObj_GetTextRenderMode(each) == raw.FPDF_TEXTRENDERMODE_INVISIBLE
        )
        for each in page.get_objects()
    )


def _ppi(image: Any, right: tuple[float, float]) -> float:
    inches = math.hypot(*right) / POINTS_PER_INCH
    return float(image.get_px_size()[0] / inches) if inches else 0.0


def _decoded(page: Any, plan: _Plan) -> Image.Image:
    bitmap = page.render(scale=plan.ppi / POINTS_PER_INCH) if plan.image is None else plan.image.get_bitmap()
    picture: Image.Image = bitmap.to_pil().copy()
    if picture.mode not in ("L", "RGB"):
        picture = picture.convert("RGB")
    return picture if plan.turn is None else picture.transpose(plan.turn)

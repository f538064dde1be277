"""What pages show of scans: small pictures, whole ones, faces, and tiles for looking closely.

Browsers struggle with a picture of 35 million pixels, let alone 640. A scan is cut into tiles, at full size, at half,
at a quarter ... until one tile holds all of it; whoever looks closer fetches the few in view. Everything is made when
it is first asked for, is kept in the archive's folder `tiles` under the SHA-256 of the scan and its turn, and can be
deleted. All of it is encoded anew: no byte of the scan's file is passed on.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

from PIL import Image

from kinphoto.errors import NotFoundError
from kinphoto.scans import thumbnails
from kinphoto.scans.derived import discard, make, save
from kinphoto.scans.memory import exclusively
from kinphoto.scans.parts import Upright, shown
from kinphoto.scans.picture import THUMBNAIL_EDGE
from kinphoto.scans.upright import Box, Region, ScanFile, Size, region_word
from kinphoto.scans.workers import cores

FOLDER = thumbnails.TILES
TILE = 512
"""Width and height of a tile in pixels; those at the right and lower edge are smaller."""
VIEW_EDGE = 1600
"""The long edge in pixels of what a page shows before zooming."""
TINY_EDGE, MIDDLE_EDGE, LARGE_EDGE = 192, 900, 2880
"""The same for a picture among many, for one in a row on a dense screen, and for one that fills a large screen."""
FACE_EDGE = 256
"""The most pixels of a face across and down."""
FACE_MARGIN = 0.3
"""The margin around a face on each side, as a share of its longer side: hair and collar help to recognise people."""

_FACTS = "pyramid.json"


@dataclass(frozen=True, slots=True)
class Pyramid:
    """The tiles of a scan whose upright picture has `width` by `height` pixels. Level 0 is the full size, each further
    level half the one before, rounded up, and the last a single tile."""

    width: int
    height: int

    @property
    def levels(self) -> int:
        """How many there are."""
        return (-(-max(self.width, self.height) // TILE) - 1).bit_length() + 1

    def grid(self, level: int) -> Size:
        """Columns and rows of tiles at a level."""
        across, down = -(-self.width >> level), -(-self.height >> level)
        return -(-across // TILE), -(-down // TILE)


def small_path(folder: Path, scan: ScanFile) -> Path:
    """The thumbnail (THUMBNAIL_EDGE pixels) of a scan in the archive at `folder`, made again if it is gone.

    Raises UnreadableFileError when it has to be made and the scan's file is gone or has changed; ArchiveError.
    """
    if scan.straightened is not None:
        return view_path(folder, scan, THUMBNAIL_EDGE)
    thumbs = folder / thumbnails.FOLDER
    as_filed = thumbnails.thumbnail_path(thumbs, scan.sha256)
    if scan.turn == 0:
        return _ensured(as_filed, thumbs, partial(_write_whole, scan, THUMBNAIL_EDGE))
    if as_filed.exists():
        return _ensured(
            _place(folder, scan, ".small.jpg"), folder / FOLDER, partial(_write_turned, as_filed, scan.turn)
        )
    return view_path(folder, scan, THUMBNAIL_EDGE)


def view_path(folder: Path, scan: ScanFile, edge: int = VIEW_EDGE) -> Path:
    """The whole scan in one JPEG of at most `edge` pixels. Raises UnreadableFileError, ArchiveError."""
    return _ensured(_place(folder, scan, f".{edge}.jpg"), folder / FOLDER, partial(_write_whole, scan, edge))


def tiny_path(folder: Path, scan: ScanFile) -> Path:
    """The thumbnail once more, smaller still. Raises UnreadableFileError, ArchiveError."""
    small = small_path(folder, scan)
    return _ensured(_place(folder, scan, f".{TINY_EDGE}.jpg"), folder / FOLDER, partial(_write_smaller, small))


def face_path(folder: Path, scan: ScanFile, region: Region) -> Path:
    """A face: the region with a margin, about square, FACE_EDGE pixels at most. Raises UnreadableFileError,
    ArchiveError."""
    return _ensured(_face_place(folder, scan, region, ""), folder / FOLDER, partial(_write_face, scan, region))


def face_in_small_path(folder: Path, scan: ScanFile, region: Region) -> Path:
    """The same from the thumbnail, for when the scan's file is not there. Raises UnreadableFileError, ArchiveError."""
    small = small_path(folder, scan)
    place = _face_place(folder, scan, region, "-small")
    return _ensured(place, folder / FOLDER, partial(_write_face_in_small, small, region))


def pyramid(folder: Path, scan: ScanFile) -> Pyramid:
    """The tiles of a scan, made if they are missing. Raises UnreadableFileError, ArchiveError."""
    place = _place(folder, scan)
    found = _stored_pyramid(place)
    if found is None:
        with exclusively(str(place)):
            found = _stored_pyramid(place) or _make_pyramid(place, folder / FOLDER, scan)
    return found


def tile_path(folder: Path, scan: ScanFile, level: int, column: int, row: int) -> Path:
    """One tile. Raises NotFoundError for a place outside the picture, UnreadableFileError, ArchiveError."""
    tiles = pyramid(folder, scan)
    columns, rows = tiles.grid(level) if 0 <= level < tiles.levels else (0, 0)
    if not (0 <= column < columns and 0 <= row < rows):
        raise NotFoundError("the picture has no such part", remedy="Reload the page.")
    path = _place(folder, scan) / str(level) / f"{column}-{row}.jpg"
    if not path.exists():  # somebody deleted part of the folder
        discard(_place(folder, scan), folder / FOLDER)
        pyramid(folder, scan)
    return path


def face_box(region: Region, size: Size) -> Box:
    """The square around a region of an upright picture of `size`, in pixels; moved inside at the edges, and narrower
    where the picture is."""
    (left, top, width, height), (across, down) = region, size
    side = max(width * across, height * down) * (1 + 2 * FACE_MARGIN)
    start, end = _within(left * across + width * across / 2, side, across)
    upper, lower = _within(top * down + height * down / 2, side, down)
    return start, upper, end, lower


def _within(middle: float, side: float, length: int) -> tuple[int, int]:
    """First and last pixel of a piece of `side` pixels around `middle`, within 0 to `length`."""
    whole = max(1, min(round(side), length))
    start = min(max(round(middle - side / 2), 0), length - whole)
    return start, start + whole


def _place(folder: Path, scan: ScanFile, ending: str = "") -> Path:
    return folder / FOLDER / scan.sha256[:2] / f"{scan.name}{ending}"


def _face_place(folder: Path, scan: ScanFile, region: Region, ending: str) -> Path:
    return _place(folder, scan, f".face-{region_word(region)}{ending}.jpg")


def _ensured(path: Path, root: Path, write: Callable[[Path], None]) -> Path:
    """The file at `path`, made if it is not there."""
    if not path.exists():
        with exclusively(str(path)):
            if not path.exists():
                make(path, root, write)
    return path


def _write_whole(scan: ScanFile, edge: int, part: Path) -> None:
    with shown(scan, lambda size: edge / max(size)) as picture:
        whole = picture.fitted(picture.whole, edge)
    save(whole, part)


def _write_smaller(thumbnail: Path, part: Path) -> None:
    with Image.open(thumbnail) as image:
        picture = Upright(image, 0)
        whole = picture.fitted(picture.whole, TINY_EDGE)
    save(whole, part)


def _write_turned(thumbnail: Path, turn: int, part: Path) -> None:
    with Image.open(thumbnail) as image:
        picture = Upright(image, turn)
        whole = picture.part(picture.whole)
    save(whole, part)


def _write_face(scan: ScanFile, region: Region, part: Path) -> None:
    longer = max(region[2:])
    with shown(scan, lambda size: FACE_EDGE / max(longer * min(size), 1)) as picture:
        face = picture.fitted(face_box(region, picture.size), FACE_EDGE)
    save(face, part)


def _write_face_in_small(small: Path, region: Region, part: Path) -> None:
    with Image.open(small) as image:
        picture = Upright(image, 0)
        face = picture.fitted(face_box(region, picture.size), FACE_EDGE)
    save(face, part)


def _stored_pyramid(place: Path) -> Pyramid | None:
    """The pyramid made earlier, if there is one."""
    try:
        return Pyramid(**json.loads((place / _FACTS).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def _make_pyramid(place: Path, root: Path, scan: ScanFile) -> Pyramid:
    """Make the pyramid of a scan, in place of what may be left of one."""
    if place.exists():
        discard(place, root)
    with shown(scan) as picture:
        made = Pyramid(*picture.size)
        make(place, root, partial(_write_pyramid, picture, made))
    return made


def _write_pyramid(picture: Upright, tiles: Pyramid, part: Path) -> None:
    """All levels in one pass over the rows of the picture.

    Each level takes the rows of the one before, a tile's height at a time, cuts them up and passes them on at half the
    size; so beside the picture only one band of rows of each level is in memory.
    """
    with ThreadPoolExecutor(cores()) as pool:
        bands = _bands(picture)
        for level in range(tiles.levels):
            bands = _level(bands, part / str(level), pool)
        for _ in bands:
            pass
    (part / _FACTS).write_text(json.dumps(asdict(tiles)), encoding="utf-8")


def _bands(picture: Upright) -> Iterator[Image.Image]:
    width, height = picture.size
    for top in range(0, height, TILE):
        yield picture.part((0, top, width, min(top + TILE, height)))


def _level(bands: Iterator[Image.Image], folder: Path, pool: ThreadPoolExecutor) -> Iterator[Image.Image]:
    """Write the tiles of each band; yield the bands of the next level."""
    folder.mkdir(parents=True)
    upper: Image.Image | None = None
    for row, band in enumerate(bands):
        list(pool.map(partial(_cut, band, folder, row), range(-(-band.width // TILE))))
        half = band.reduce(2)
        if upper is not None:
            yield _stacked(upper, half)
            upper = None
        else:
            upper = half
    if upper is not None:
        yield upper


def _cut(band: Image.Image, folder: Path, row: int, column: int) -> None:
    left = column * TILE
    tile = band.crop((left, 0, min(left + TILE, band.width), band.height))
    save(tile, folder / f"{column}-{row}.jpg")


def _stacked(upper: Image.Image, lower: Image.Image) -> Image.Image:
    both = Image.new(upper.mode, (upper.width, upper.height + lower.height))
    both.paste(upper, (0, 0))
    both.paste(lower, (0, upper.height))
    return both

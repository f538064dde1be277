"""A print that was photographed at an angle, shown straight: only arithmetic, no pixels.

A flat print and its picture are related by a homography, which its four corners determine (Heckbert, Fundamentals of
Texture Mapping and Image Warping, 1989, 2.2.3). Corners are shares of width and height of the picture as its file asks
to be turned, before anybody turned it, from the print's own top left one on, clockwise. What is shown is the rectangle
between them; a person's turn comes on top of that, so nothing else has to know of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

Point = tuple[float, float]
Corners = tuple[Point, Point, Point, Point]
Size = tuple[int, int]
Region = tuple[float, float, float, float]
"""Left, top, width and height as parts of a picture, 0 to 1."""
Row = tuple[float, float, float]
Homography = tuple[Row, Row, Row]

USUAL_LENS = 26.0
"""Millimetres, as on 35 mm film: the main camera of most phones (from memory: 24 to 28), where the file names none."""
LENSES = (10.0, 400.0)
"""Focal lengths that are believed."""
_FILM_DIAGONAL = math.hypot(36, 24)
_RATIOS = (0.1, 10.0)
_DIGITS = 6
_EXACT = 12
_LEAST_SIDE = 0.03
"""Of the picture's longer edge: the shortest side of a print that is shown."""


@dataclass(frozen=True, slots=True)
class Straight:
    """How a capture is shown straight: its corners, and how many times as wide as high the print is."""

    corners: Corners
    ratio: float

    def __str__(self) -> str:
        """As it is kept: "0.1,0.12 0.9,0.11 0.88,0.93 0.12,0.9 1.4"."""
        places = " ".join(f"{x:.{_DIGITS}g},{y:.{_DIGITS}g}" for x, y in self.corners)
        return f"{places} {self.ratio:.{_DIGITS}g}"

    def size(self, whole: Size) -> Size:
        """Width and height of the straight picture in pixels, from those of the whole one: as many along each side as
        the longer of the two opposite ones has, so that none is lost."""
        top, right, lower, left = side_lengths(self.corners, whole)
        width = max(top, lower, max(left, right) * self.ratio)
        return max(1, round(width)), max(1, round(width / self.ratio))

    @property
    def to_whole(self) -> Homography:
        """From shares of the straight picture to shares of the whole one."""
        return from_square(self.corners)

    def shown(self, region: Region) -> Region:
        """A region of the whole picture on the straight one."""
        return _moved(inverse(self.to_whole), region)

    def back(self, region: Region) -> Region:
        """A region of the straight picture on the whole one."""
        return _moved(self.to_whole, region)


def read(text: str) -> Straight | None:
    """What `str` of one wrote; None for nothing, and for "no"."""
    words = text.split()
    if len(words) != 5:
        return None
    points = [tuple(map(float, word.split(","))) for word in words[:4]]
    return Straight(tuple(points), float(words[4]))  # type: ignore[arg-type]


# Homographies --------------------------------------------------------------------------------------------------


def from_square(corners: Sequence[Point]) -> Homography:
    """What takes the corners of the unit square, (0, 0) (1, 0) (1, 1) (0, 1), to these."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    dx, dy = x0 - x1 + x2 - x3, y0 - y1 + y2 - y3
    ax, ay, bx, by = x1 - x2, y1 - y2, x3 - x2, y3 - y2
    area = ax * by - bx * ay
    g, h = ((dx * by - bx * dy) / area, (ax * dy - dx * ay) / area) if area else (0.0, 0.0)
    return (
        (x1 - x0 + g * x1, x3 - x0 + h * x3, x0),
        (y1 - y0 + g * y1, y3 - y0 + h * y3, y0),
        (g, h, 1.0),
    )


def inverse(matrix: Homography) -> Homography:
    """The other way round."""
    (a, b, c), (d, e, f), (g, h, i) = matrix
    return (
        (e * i - f * h, c * h - b * i, b * f - c * e),
        (f * g - d * i, a * i - c * g, c * d - a * f),
        (d * h - e * g, b * g - a * h, a * e - b * d),
    )


def moved_point(matrix: Homography, point: Point) -> Point:
    """Where a homography takes a point."""
    x, y = point
    across, down, depth = (row[0] * x + row[1] * y + row[2] for row in matrix)
    depth = depth or 1e-12
    return across / depth, down / depth


def _moved(matrix: Homography, region: Region) -> Region:
    """Where a homography takes a region: upright again, around the middles of its sides, which a face fills; within
    the picture."""
    left, top, width, height = region
    x, y = left + width / 2, top + height / 2
    sides = [moved_point(matrix, each) for each in ((left, y), (left + width, y), (x, top), (x, top + height))]
    across, down = sorted(point[0] for point in sides), sorted(point[1] for point in sides)
    x0, x1, y0, y1 = (min(max(each, 0.0), 1.0) for each in (across[0], across[-1], down[0], down[-1]))
    return round(x0, _EXACT), round(y0, _EXACT), round(x1 - x0, _EXACT), round(y1 - y0, _EXACT)


# Corners -------------------------------------------------------------------------------------------------------


def side_lengths(corners: Sequence[Point], size: Size) -> tuple[float, float, float, float]:
    """Pixels of the top, right, lower and left side."""
    lengths = [
        math.hypot((b[0] - a[0]) * size[0], (b[1] - a[1]) * size[1])
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    return lengths[0], lengths[1], lengths[2], lengths[3]


def is_convex(corners: Sequence[Point]) -> bool:
    """Whether the corners go round clockwise without a side that crosses another or a corner that points inwards."""
    around = [*corners, *corners[:2]]
    return all(
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0
        for a, b, c in zip(around, around[1:], around[2:], strict=False)
    )


def in_order(points: Sequence[Point]) -> Corners:
    """Four corners from the top left one on, clockwise, in whatever order they came."""
    x, y = (sum(point[k] for point in points) / len(points) for k in (0, 1))
    around = sorted(points, key=lambda point: math.atan2(point[1] - y, point[0] - x))
    first = min(range(4), key=lambda k: around[k][0] + around[k][1])
    one, two, three, four = (*around[first:], *around[:first])
    return one, two, three, four


def is_large_enough(corners: Sequence[Point], size: Size) -> bool:
    """Whether no side is too short for that of a print."""
    return min(side_lengths(corners, size)) >= _LEAST_SIDE * max(size)


# What the lens tells -------------------------------------------------------------------------------------------


class Seen(NamedTuple):
    """From where a print was photographed: how many times as wide as high it is, and by how many degrees the camera
    did not look straight at it."""

    ratio: float
    angle: float


def seen(corners: Sequence[Point], size: Size, lens: float | None) -> Seen:
    """Proportions and angle of a print from its corners in a picture of this size, and from the focal length in
    millimetres as on 35 mm film (by the diagonal); that of most phones where it is not known.

    The columns of K⁻¹H, where H takes a unit square to the corners and K has the focal length in pixels and the middle
    of the picture, are the two sides of the print in the camera's space, but for one factor: their lengths are as
    width to height (Zhang and He, Whiteboard scanning and image enhancement, Digital Signal Processing 17, 2007), and
    what stands upright on both is where the print looks.
    """
    width, height = size
    focal = (lens or USUAL_LENS) / _FILM_DIAGONAL * math.hypot(width, height)
    centred = [((x - 0.5) * width / focal, (y - 0.5) * height / focal) for x, y in corners]
    matrix = from_square(centred)
    across, down = ([row[k] for row in matrix] for k in (0, 1))
    long, high = math.hypot(*across), math.hypot(*down)
    upright = (
        across[1] * down[2] - across[2] * down[1],
        across[2] * down[0] - across[0] * down[2],
        across[0] * down[1] - across[1] * down[0],
    )
    angle = math.degrees(math.acos(min(1.0, abs(upright[2]) / (math.hypot(*upright) or 1.0))))
    return Seen(min(max(long / (high or 1e-9), _RATIOS[0]), _RATIOS[1]), angle)


def ratio_of_sides(corners: Sequence[Point], size: Size) -> float:
    """Width by height as the means of opposite sides are: all that is known where the middle of the lens is not."""
    top, right, lower, left = side_lengths(corners, size)
    return min(max((top + lower) / max(left + right, 1e-9), _RATIOS[0]), _RATIOS[1])


def believed(lens: float | None) -> float | None:
    """A focal length in millimetres, unless no lens has it."""
    return lens if lens is not None and LENSES[0] <= lens <= LENSES[1] else None


def as_shown(corners: Corners, turn: Callable[[Region], Region]) -> Corners:
    """These corners on the picture after a turn that `turn` makes of a region, from the one that is top left then."""
    return in_order([turn((x, y, 0.0, 0.0))[:2] for x, y in corners])

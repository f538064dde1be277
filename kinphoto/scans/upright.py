"""How a scan is shown: as its file says, and as a person turned it on top of that. Only arithmetic, no pixels.

Both are one of the eight orientations of EXIF (1 to 8: four quarter turns, and the same mirrored): a turn by a person
leads from one orientation to another, and nothing else has to know that there are two. The turn of a scan is one
number: the quarters clockwise (0 to 3), and 4 more where the picture was mirrored, left to right, before them, as film
is that was scanned from its wrong side. Another 8 mean that a negative is shown as a positive.

A print that was photographed at an angle can be shown straight (`captures/straight.py`): that comes between what the
file asks for and what a person turned. `shown_region` and `as_filed_region` lead through all of it.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace

from kinphoto.scans.captures.straight import Straight, read

Size = tuple[int, int]
"""Width and height in pixels."""
Box = tuple[int, int, int, int]
"""Left, top, right and lower edge in pixels."""
Region = tuple[float, float, float, float]
"""Left, top, width and height as parts of the upright picture, 0 to 1."""

_CLOCKWISE = {1: 6, 6: 3, 3: 8, 8: 1, 2: 7, 7: 4, 4: 5, 5: 2}
"""What an orientation (EXIF 3.0, tag 274) becomes after a further quarter turn clockwise."""

_MIRRORED = {1: 2, 2: 1, 3: 4, 4: 3, 5: 6, 6: 5, 7: 8, 8: 7}
"""What an orientation becomes when the upright picture is mirrored, left to right."""
MIRROR, POSITIVE = 4, 8
"""Parts of a turn: mirrored, and shown as a positive."""

_ALIKE = 0.03
"""How much the proportions of two scans of one picture may differ, relative to the wider one."""
_EXACT = 12  # digits after the point: four turns must not leave 0.1 as 0.09999999999999998


@dataclass(frozen=True, slots=True)
class ScanFile:
    """A scan for display: the file at `path`, its SHA-256 when it was added, and the turn that a person added to the
    file's own orientation. A page of a file (from 1) has a SHA-256 of its own beside that of
    the file."""

    path: str
    sha256: str
    turn: int = 0
    page: int = 0
    file_sha256: str = ""
    straight: str = ""

    @property
    def name(self) -> str:
        """The name of what is made from it: its bytes, its turn and its corners, so that it can never be out of
        date."""
        return "-".join([self.sha256, *([str(self.turn)] if self.turn else []), *self._corners])

    @property
    def version(self) -> str:
        """A short word for addresses, which changes whenever the display does."""
        return "-".join([self.sha256[:10], str(self.turn), *self._corners])

    @property
    def straightened(self) -> Straight | None:
        """The corners of a photographed print that is shown straight."""
        return read(self.straight)

    @property
    def as_filed(self) -> ScanFile:
        """The same as its file asks to be turned, whatever a person turned or straightened."""
        return replace(self, turn=0, straight="")

    @property
    def _corners(self) -> list[str]:
        return [] if self.straightened is None else [f"s{zlib.crc32(self.straight.encode()):08x}"]


def turned(orientation: int, turn: int) -> int:
    """The orientation (1 to 8) of a file after a person turned it so."""
    if turn & MIRROR:
        orientation = _MIRRORED[orientation]
    for _ in range(turn % 4):
        orientation = _CLOCKWISE[orientation]
    return orientation


def turned_on(turn: int, quarters: int) -> int:
    """A turn with more quarters clockwise on top of it."""
    return turn - turn % 4 + (turn + quarters) % 4


def mirrored_on(turn: int) -> int:
    """A turn with the picture as it is shown then mirrored, left to right: what was turned before the mirror turns the
    other way behind it."""
    return (turn ^ MIRROR) - turn % 4 + -turn % 4


def upright_size(stored: Size, orientation: int) -> Size:
    """The size of the upright picture from that of the stored one."""
    width, height = stored
    return (height, width) if orientation >= 5 else (width, height)


def shown_size(stored: Size, orientation: int, turn: int = 0, straight: str = "") -> Size:
    """The size of the picture as it is shown: straight between its corners, if it has any, and turned."""
    corners = read(straight)
    if corners is None:
        return upright_size(stored, turned(orientation, turn))
    return upright_size(corners.size(upright_size(stored, orientation)), turned(1, turn))


def shown_region(region: Region, turn: int, straight: str = "") -> Region:
    """A region of the picture as its file asks to be turned, on the picture as it is shown."""
    corners = read(straight)
    return turned_region(region if corners is None else corners.shown(region), turn)


def as_filed_region(region: Region, turn: int, straight: str = "") -> Region:
    """A region of the picture as it is shown, on the picture as its file asks to be turned."""
    corners, unturned = read(straight), turned_back_region(region, turn)
    return unturned if corners is None else corners.back(unturned)


def same_proportions(one: Size, other: Size) -> bool:
    """Whether two upright pictures have the same proportions, within what differs between scans of one object."""
    return abs(one[0] * other[1] - other[0] * one[1]) <= _ALIKE * max(one[0] * other[1], other[0] * one[1])


def stored_box(box: Box, stored: Size, orientation: int) -> Box:
    """The place in the stored picture, whose size is `stored`, of a box of the upright one."""
    left, top, right, lower = box
    if orientation >= 5:  # 5: mirrored along the diagonal; 6 to 8 are 5 with flips of the stored picture
        left, top, right, lower = top, left, lower, right
    width, height = stored
    if orientation in (2, 3, 7, 8):
        left, right = width - right, width - left
    if orientation in (3, 4, 6, 7):
        top, lower = height - lower, height - top
    return left, top, right, lower


def stored_region(region: Region, orientation: int) -> Region:
    """A region of the upright picture on the stored one, both in shares."""
    left, top, width, height = region
    (x0, y0), (x1, y1) = (stored_point(corner, orientation) for corner in ((left, top), (left + width, top + height)))
    return min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0)


def upright_region(region: Region, orientation: int) -> Region:
    """A region of the stored picture on the upright one, both in shares."""
    return stored_region(region, _BACK.get(orientation, orientation))


_BACK = {6: 8, 8: 6}
"""The orientation that leads back from one, where that is another one."""


def stored_point(point: tuple[float, float], orientation: int) -> tuple[float, float]:
    """The place in the stored picture of one in the upright picture, both in shares."""
    x, y = point
    if orientation >= 5:
        x, y = y, x
    if orientation in (2, 3, 7, 8):
        x = 1 - x
    if orientation in (3, 4, 6, 7):
        y = 1 - y
    return x, y


def upright_point(point: tuple[float, float], orientation: int) -> tuple[float, float]:
    """The place in the upright picture of one in the stored picture, both in shares."""
    return stored_point(point, _BACK.get(orientation, orientation))


def turned_region(region: Region, turn: int) -> Region:
    """The same face after the picture was turned so."""
    left, top, width, height = region
    if turn & MIRROR:
        left = max(1 - left - width, 0.0)
    for _ in range(turn % 4):
        left, top, width, height = max(1 - top - height, 0.0), left, height, width
    return round(left, _EXACT), round(top, _EXACT), round(width, _EXACT), round(height, _EXACT)


def turned_back_region(region: Region, turn: int) -> Region:
    """The same face before the picture was turned so."""
    unturned = turned_region(region, -turn % 4)
    return turned_region(unturned, MIRROR) if turn & MIRROR else unturned


def region_word(region: Region) -> str:
    """A region in a file's name or an address, to a hundred-thousandth."""
    return "-".join(str(round(side * 100_000)) for side in region)

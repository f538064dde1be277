"""Finding faces in a picture of any size, colour and age, whichever way up it is.

Old prints are faded, yellow and grainy, and a face is between a thumbnail of a group and half of the scan. So the
picture is made grey, its contrast is stretched, and it is looked at in several sizes: the network (YuNet) is trained on
faces of about 10 to 300 pixels. What it finds in several sizes is one face. It finds hardly any that are on their side,
so with `turns` all four are tried, and the picture counts as upright where the most is found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from kinphoto.faces.weights import DETECTOR, path_of, require

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Grey = NDArray[np.uint8]

Region = tuple[float, float, float, float]
"""Left, top, width, height as parts of the picture."""
Point = tuple[float, float]
Points = tuple[Point, Point, Point, Point, Point]
"""The eyes, the nose and the corners of the mouth, the one on the left of the upright picture first."""

LONG_EDGE = 1600
"""Pixels of the long edge in the largest size that is looked at: more only takes longer."""
ENLARGED = 2.0
"""How much a small picture is enlarged at most."""
_STEPS = (1.0, 0.5, 0.35, 0.2)
"""The sizes, as parts of the largest."""
LEAST_SCORE = 0.65
"""What the network has to say of a face, 0 to 1, for it to be offered: where it is not sure at once, on average over
three looks."""
_WEAK = 0.5  # what it has to say at first for a second look
LEAST_WIDTH = 14
"""Pixels that a face has to be wide in the picture as it was given: nobody can be recognised with fewer."""
_CANDIDATE = 0.3  # what it has to say to be counted at all
_SAME = 0.35  # intersection over union from which two frames are of one face
_INSIDE = 0.7  # the part of the smaller frame inside the larger one from which they are
_AROUND = 0.5  # how much of a frame's sides is looked at around it
_AVERAGE: Points = ((0.3, 0.34), (0.7, 0.34), (0.5, 0.55), (0.34, 0.72), (0.67, 0.72))
"""Where they are in a frame: the mean of the boxes that the authors of dlib's examples drew and of the network's."""
_FAINTEST, _BRIGHTEST = 0.5, 99.5  # percentiles that become black and white
_LYING = 0.6  # its score for many a face on its side: as good as nothing
_SURE = 0.9  # what it has to say of a face for no second look, and for the picture to be taken to stand upright
_MARGIN = 1.5  # of a weak find's sides, looked at around it in the second look
_SOFTER = 1.5  # standard deviation of the blur of one of them, in pixels
_CLEARLY = 1.25  # how many times more has to be found another way up for the picture to be turned


@dataclass(frozen=True, slots=True)
class FoundFace:
    """A face: its frame, how sure the network is (0 to 1), and the two eyes, the nose and the corners of the mouth, the
    one on the left of the upright picture first. All as parts of the picture as it was given."""

    region: Region
    score: float
    points: Points


@dataclass(frozen=True, slots=True)
class FacesFound:
    """The faces of a picture, from the left, and how many quarter turns to the right stand it upright: 0 unless faces
    show clearly that it is another way up."""

    faces: tuple[FoundFace, ...]
    turn: int = 0


class Finder:
    """The network that finds faces, loaded once. Raises FacesNotInstalledError."""

    def __init__(self, *, threads: int = 1) -> None:
        require()
        import cv2

        cv2.setNumThreads(threads)
        self._cv2 = cv2
        self._network = cv2.FaceDetectorYN.create(str(path_of(DETECTOR)), "", (320, 320), _CANDIDATE, 0.3, 5000)

    def find(self, picture: NDArray[Any], *, turns: bool = False) -> FacesFound:
        """The faces of a picture: rows of pixels, grey or RGB, eight bits."""
        grey = _without_grain(prepared(picture))
        best, turn = self._all_sizes(grey), 0
        if turns and not any(row[14] >= _SURE for row in best):
            tried = [best, *(self._all_sizes(np.rot90(grey, -quarters)) for quarters in (1, 2, 3))]
            weight = [sum(max(row[14] - _LYING, 0.0) for row in rows) for rows in tried]
            turn = int(np.argmax(weight))
            if weight[turn] < _CLEARLY * weight[0] or not any(row[14] >= LEAST_SCORE for row in tried[turn]):
                turn = 0
            best = tried[turn]
        upright = np.ascontiguousarray(np.rot90(grey, -turn)) if turn else grey
        best = [self._looked_at_again(upright, row) for row in best if row[14] >= _WEAK]
        size = upright.shape[::-1]
        made = [_face(row, size, turn) for row in best if row[14] >= LEAST_SCORE and row[2] >= LEAST_WIDTH]
        found = [face for face in made if min(face.region[2:]) > 0]  # not beside the picture
        return FacesFound(tuple(sorted(found, key=lambda face: face.region)), turn)

    def _looked_at_again(self, grey: Grey, row: NDArray[np.float32]) -> NDArray[np.float32]:
        """A find, with its score as the mean of three looks where the network is not sure: as it was, softer, and
        mirrored. A face is one in all of them; of a clock or leaves less is left."""
        if row[14] >= _SURE:
            return row
        height, width = grey.shape
        left, top = (max(round(float(at - _MARGIN * side)), 0) for at, side in ((row[0], row[2]), (row[1], row[3])))
        right = min(round(float(row[0] + (1 + _MARGIN) * row[2])), width)
        lower = min(round(float(row[1] + (1 + _MARGIN) * row[3])), height)
        cut = grey[top:lower, left:right]
        if min(cut.shape) < 2:
            return row
        frame = row[:4] - np.array([left, top, 0, 0], dtype=np.float32)
        mirrored = frame * np.array([-1, 1, 1, 1], dtype=np.float32)
        mirrored[0] += cut.shape[1] - frame[2]
        largest = min(LONG_EDGE / max(height, width), ENLARGED)
        looks = (
            (self._cv2.GaussianBlur(cut, (0, 0), _SOFTER), frame),
            (np.ascontiguousarray(cut[:, ::-1]), mirrored),
        )
        scores = [float(row[14])]
        for look, place in looks:
            found = [each[14] for each in self._all_sizes(look, largest) if _of_one_face(each, place)]
            scores.append(float(max(found, default=0.0)))
        again = row.copy()
        again[14] = np.mean(scores)
        return again

    def points_in(self, picture: NDArray[Any], frame: Region, turn: int = 0) -> Points:
        """Where eyes, nose and mouth are in a frame that a person drew around a face or a head, of a picture that needs
        `turn` quarter turns to the right: as the network sees them there, however unsure it is; else where they are in
        a frame on average."""
        grey = _without_grain(prepared(picture))
        height, width = grey.shape
        left, top, right, lower = (
            round((frame[0] - _AROUND * frame[2]) * width), round((frame[1] - _AROUND * frame[3]) * height),
            round((frame[0] + (1 + _AROUND) * frame[2]) * width), round((frame[1] + (1 + _AROUND) * frame[3]) * height),
        )  # fmt: skip
        left, top, right, lower = max(left, 0), max(top, 0), min(max(right, left + 2), width), min(lower, height)
        cut = np.ascontiguousarray(np.rot90(prepared(grey[top:lower, left:right]), -turn))
        size = cut.shape[::-1]

        def whole(point: Point) -> Point:
            return (left + point[0] * (right - left)) / width, (top + point[1] * (lower - top)) / height

        best = None
        for row in self._all_sizes(cut) if min(cut.shape) > 1 else []:
            face = _face(row, size, turn)
            x, y, across, down = face.region
            middle = whole((x + across / 2, y + down / 2))
            inside = all(
                start <= at <= start + side for at, start, side in zip(middle, frame[:2], frame[2:], strict=True)
            )
            if inside and (best is None or face.score > best.score):
                best = face
        if best is not None:
            one, two, three, four, five = map(whole, best.points)
            return one, two, three, four, five
        return _on_average(frame, turn)

    def _all_sizes(self, grey: Grey, largest: float | None = None) -> list[NDArray[np.float32]]:
        """What the network finds in all sizes (`largest`: the first), each face once, the surest first: rows as it
        gives them, in pixels of `grey`."""
        cv2, rows = self._cv2, []
        height, width = grey.shape
        largest = largest or min(LONG_EDGE / max(height, width), ENLARGED)
        for step in _STEPS:
            scale = largest * step
            size = max(round(width * scale), 1), max(round(height * scale), 1)
            if min(size) < 16:
                continue
            how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
            sized = cv2.cvtColor(cv2.resize(grey, size, interpolation=how), cv2.COLOR_GRAY2BGR)
            self._network.setInputSize(size)
            _, found = self._network.detect(sized)
            if found is not None:
                found = found[np.isfinite(found).all(axis=1)]  # where there is nothing, its sizes can overflow
                found[:, :14] /= scale
                rows.append(found)
        return _each_once(np.concatenate(rows)) if rows else []


def prepared(picture: NDArray[Any]) -> Grey:
    """Grey, with its contrast stretched: what is nearly the darkest becomes black, nearly the lightest white."""
    grey = picture if picture.ndim == 2 else picture[..., :3] @ np.array([0.299, 0.587, 0.114], dtype=np.float32)
    grey = np.ascontiguousarray(grey, dtype=np.uint8)
    step = max(1, min(grey.shape) // 400)
    dark, light = np.percentile(grey[::step, ::step], (_FAINTEST, _BRIGHTEST))
    levels = (np.arange(256) - dark) * (255 / max(light - dark, 1.0))
    stretched: Grey = np.clip(levels, 0, 255).astype(np.uint8)[grey]
    return stretched


def _without_grain(grey: Grey) -> Grey:
    """A little softer: grain looks like nothing on a face, and keeps faces from being found."""
    import cv2

    return np.asarray(cv2.GaussianBlur(grey, (3, 3), 0), dtype=np.uint8)


def _each_once(rows: NDArray[np.float32]) -> list[NDArray[np.float32]]:
    """The surest of the frames of one face."""
    kept: list[NDArray[np.float32]] = []
    for row in rows[np.argsort(-rows[:, 14], kind="stable")]:
        if not any(_of_one_face(row, other) for other in kept):
            kept.append(row)
    return kept


def _of_one_face(one: NDArray[np.float32], other: NDArray[np.float32]) -> bool:
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    shared = max(float(across), 0.0) * max(float(down), 0.0)
    areas = float(one[2] * one[3]), float(other[2] * other[3])
    return shared > _SAME * (sum(areas) - shared) or shared > _INSIDE * min(areas)


def _on_average(frame: Region, turn: int) -> Points:
    """The points of a face that fills its frame."""
    found = []
    for x, y in _AVERAGE:
        for _ in range(turn):  # a quarter turn to the left
            x, y = y, 1 - x
        found.append((frame[0] + x * frame[2], frame[1] + y * frame[3]))
    return found[0], found[1], found[2], found[3], found[4]


def _face(row: NDArray[np.float32], size: tuple[int, ...], turn: int) -> FoundFace:
    """A row of the network, in pixels of a picture of this size that was turned, as parts of the one that was given."""
    numbers = [float(each) for each in row]
    width, height = size

    def back(x: float, y: float) -> Point:
        x, y = x / width, y / height
        for _ in range(turn):  # a quarter turn to the left
            x, y = y, 1 - x
        return x, y

    corners = [back(numbers[0], numbers[1]), back(numbers[0] + numbers[2], numbers[1] + numbers[3])]
    left, right = sorted(min(max(x, 0.0), 1.0) for x, _ in corners)
    top, lower = sorted(min(max(y, 0.0), 1.0) for _, y in corners)
    points = [back(numbers[at], numbers[at + 1]) for at in range(4, 14, 2)]
    return FoundFace(
        (left, top, right - left, lower - top), numbers[14], (points[0], points[1], points[2], points[3], points[4])
    )

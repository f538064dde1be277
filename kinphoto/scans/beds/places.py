"""The place of a print on a picture: a rectangle that is turned. Only arithmetic, no pixels.

Lengths are pixels of the upright picture of the bed, its rows going down; angles are degrees clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Place:
    """A rectangle of `width` times `height` around `x`, `y`, turned by `turn` degrees clockwise."""

    x: float
    y: float
    width: float
    height: float
    turn: float = 0.0

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Its corners, from its own top left one on, clockwise."""
        angle = np.radians(self.turn)
        along = np.array((np.cos(angle), np.sin(angle)))
        down = np.array((-np.sin(angle), np.cos(angle)))
        centre = np.array((self.x, self.y))
        return tuple(
            (float(point[0]), float(point[1]))
            for across, below in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            for point in (centre + along * across * self.width / 2 + down * below * self.height / 2,)
        )

    @property
    def area(self) -> float:
        """In square pixels."""
        return self.width * self.height

    def scaled(self, factor: float) -> Place:
        """The same on a picture that is `factor` times as large."""
        return Place(self.x * factor, self.y * factor, self.width * factor, self.height * factor, self.turn)

    def grown(self, margin: float) -> Place:
        """With `margin` more on each side."""
        return replace(self, width=self.width + 2 * margin, height=self.height + 2 * margin)

    def quarter_turned(self, size: tuple[float, float], quarters: int) -> Place:
        """The same print after the picture, of this `size`, was turned by `quarters` clockwise."""
        place, (width, height) = self, size
        for _ in range(quarters % 4):
            place = replace(place, x=height - place.y, y=place.x, turn=normal(place.turn + 90))
            width, height = height, width
        return place

    def mirrored(self, width: float) -> Place:
        """The same print after the picture, `width` wide, was mirrored left to right."""
        return replace(self, x=width - self.x, turn=normal(-self.turn))

    def apart(self, other: Place) -> float:
        """How far two rectangles are from each other; negative where they overlap, by how much they would have to move.

        That two convex figures are apart exactly when a line parallel to a side of one of them lies between them is the
        separating axis theorem; at corners this is a little less than the distance itself.
        """
        one, two = np.array(self.corners), np.array(other.corners)
        gaps = []
        for turn in (self.turn, self.turn + 90, other.turn, other.turn + 90):
            axis = np.array((np.cos(np.radians(turn)), np.sin(np.radians(turn))))
            a, b = one @ axis, two @ axis
            gaps.append(max(b.min() - a.max(), a.min() - b.max()))
        return float(max(gaps))

    def covered(self, rows: NDArray[np.float32], columns: NDArray[np.float32]) -> NDArray[np.bool_]:
        """Which of these points are in it."""
        angle = np.radians(self.turn)
        x, y = columns - self.x, rows - self.y
        across, below = x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)
        inside: NDArray[np.bool_] = (np.abs(across) <= self.width / 2) & (np.abs(below) <= self.height / 2)
        return inside


def normal(turn: float) -> float:
    """An angle from -180 up to, and without, 180."""
    return (turn + 180.0) % 360.0 - 180.0


def upright(place: Place) -> Place:
    """The same rectangle with the side on top that is nearest to it: turned by less than 45 degrees."""
    quarters = round(place.turn / 90)
    width, height = (place.height, place.width) if quarters % 2 else (place.width, place.height)
    return Place(place.x, place.y, width, height, normal(place.turn - 90 * quarters))

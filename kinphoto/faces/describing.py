"""What a face is like, as numbers that are near each other for pictures of one person.

SFace takes a face of 112 by 112 pixels whose eyes, nose and mouth are at fixed places; the picture is turned, moved
and sized to fit, as well as five points can (least squares, OpenCV's `alignCrop`). Out come 128 numbers, here of
length one, so that the likeness of two faces is the cosine of the angle between them: 1 for the same picture, about 0
for strangers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from kinphoto.faces.finding import Point, prepared
from kinphoto.faces.weights import DESCRIBER, path_of, require

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Descriptor = NDArray[np.float32]

LENGTH = 128
"""Numbers in a descriptor."""


class Describer:
    """The network that describes faces, loaded once. Raises FacesNotInstalledError."""

    def __init__(self) -> None:
        require()
        import cv2

        self._network = cv2.FaceRecognizerSF.create(str(path_of(DESCRIBER)), "")

    def describe(self, picture: NDArray[Any], faces: Sequence[Sequence[Point]]) -> list[Descriptor]:
        """The faces whose eyes, nose and mouth are at these points, as parts of the picture (rows of pixels)."""
        grey = prepared(picture)
        colours = np.ascontiguousarray(np.repeat(grey[..., None], 3, axis=2))
        height, width = grey.shape
        return [self._described(colours, np.array(face, dtype=np.float32) * (width, height)) for face in faces]

    def _described(self, colours: NDArray[np.uint8], points: NDArray[Any]) -> Descriptor:
        row = np.zeros((1, 15), dtype=np.float32)
        row[0, 4:14] = points.ravel()
        numbers = self._network.feature(self._network.alignCrop(colours, row))[0].astype(np.float32)
        return np.asarray(numbers / np.linalg.norm(numbers), dtype=np.float32)

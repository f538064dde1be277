"""Faces are found in prints of every state, whichever way up. The picture is scikit-image's astronaut (a portrait by
NASA, in the public domain), with a box of her face drawn by eye; tests/bench/bench_faces.py measures on dlib's
examples, whose boxes their authors drew."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from skimage import data

from kinphoto.faces.describing import LENGTH, Describer
from kinphoto.faces.finding import FacesFound, Finder

HER_FACE = (172, 66, 98, 112)
"""Left, top, width, height in pixels of 512 by 512, from hairline to chin."""
Picture = NDArray[Any]


@pytest.fixture(scope="module")
def finder() -> Finder:
    return Finder()


def portrait() -> Image.Image:
    return Image.fromarray(data.astronaut())


def faded(image: Image.Image) -> Image.Image:
    return image.convert("L").point(lambda level: 150 + 0.3 * level)


def sepia(image: Image.Image) -> Image.Image:
    grey = np.asarray(image.convert("L"), dtype=np.float32)[..., None] / 255
    return Image.fromarray((np.array([60, 40, 25]) + grey * np.array([185, 188, 170])).astype(np.uint8))


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    shared = max(across, 0) * max(down, 0)
    return shared / (one[2] * one[3] + other[2] * other[3] - shared)


def on_her_face(found: FacesFound) -> float:
    """How well the only frame fits her face."""
    (face,) = found.faces
    return overlap(tuple(512 * side for side in face.region), HER_FACE)


@pytest.mark.parametrize(
    "print_of",
    [
        lambda image: image,
        lambda image: image.convert("L"),
        faded,
        sepia,
        lambda image: image.filter(ImageFilter.GaussianBlur(2)),
        lambda image: image.resize((128, 128)),
        lambda image: image.resize((2048, 2048)),
        lambda image: image.rotate(10, fillcolor=(120, 120, 120)),
    ],
    ids=["plain", "grey", "faded", "sepia", "blurred", "small", "large", "tilted"],
)
def test_one_face_is_found_in_a_print_of_any_state(
    finder: Finder, print_of: Callable[[Image.Image], Image.Image]
) -> None:
    """The frame is on her face, and there is no other, whatever happened to the print."""
    assert on_her_face(finder.find(np.asarray(print_of(portrait())))) > 0.5


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_a_turned_picture_is_found_to_be_turned(finder: Finder, quarters: int) -> None:
    """A scan that lies on its side, turned to the left, is found to need as many quarters to the right."""
    lying = np.rot90(np.asarray(portrait()), quarters)
    found = finder.find(np.ascontiguousarray(lying), turns=True)
    assert found.turn == quarters
    (face,) = found.faces
    left, top, width, height = face.region
    middle = np.zeros((512, 512))
    middle[round(512 * (top + height / 2)), round(512 * (left + width / 2))] = 1
    row, column = np.argwhere(np.rot90(middle, -quarters))[0]  # where that is when it stands upright
    assert HER_FACE[0] < column < HER_FACE[0] + HER_FACE[2]
    assert HER_FACE[1] < row < HER_FACE[1] + HER_FACE[3]


def test_her_eyes_are_above_her_mouth(finder: Finder) -> None:
    """The five points are eyes, nose, and corners of the mouth, from the left of the upright picture."""
    (face,) = finder.find(np.asarray(portrait())).faces
    (left_eye, right_eye, nose, left_corner, right_corner) = face.points
    assert left_eye[0] < nose[0] < right_eye[0]
    assert left_eye[1] < nose[1] < left_corner[1]
    assert left_corner[0] < right_corner[0]


def test_no_face_is_found_where_there_is_none(finder: Finder) -> None:
    """In scikit-image's brick wall, grass, gravel and coins."""
    pictures = data.brick(), data.grass(), data.gravel(), data.coins()
    assert [finder.find(picture, turns=True).faces for picture in pictures] == [()] * 4


def test_a_picture_too_small_for_anything_has_no_faces(finder: Finder) -> None:
    """One pixel, a line, and one of a single tone."""
    shapes = (1, 1), (1, 500), (300, 300)
    assert all(finder.find(np.full(shape, 120, np.uint8), turns=True) == FacesFound(()) for shape in shapes)


def test_a_gradient_has_no_faces(finder: Finder) -> None:
    """Of plain slopes the network's sizes overflow."""
    slopes = [np.asarray(Image.linear_gradient("L").rotate(17 * n).resize((60, 40))) for n in range(3, 12)]
    for slope in slopes:
        for face in finder.find(slope, turns=True).faces:
            assert all(0 <= side <= 1 for side in face.region)
            assert min(face.region[2:]) > 0


def test_a_face_is_like_itself_in_a_worse_print(finder: Finder) -> None:
    """Descriptors have length one, and that of the same face in a faded, brown, turned print lies near."""
    describer = Describer()
    (face,) = finder.find(np.asarray(portrait())).faces
    (plain,) = describer.describe(np.asarray(portrait()), [face.points])
    assert plain.shape == (LENGTH,)
    assert np.linalg.norm(plain) == pytest.approx(1, abs=1e-5)
    for changed in (faded(portrait()), sepia(portrait()), portrait().rotate(90)):
        picture = np.asarray(changed)
        (there,) = finder.find(picture, turns=True).faces
        (worse,) = describer.describe(picture, [there.points])
        assert plain @ worse > 0.6

"""Photographed prints shown straight, against pinhole cameras whose place is known (scikit-image's
ProjectiveTransform, and Pillow for turned pictures)."""

from __future__ import annotations

import math

import numpy as np
import pytest
import skimage.data
from PIL import Image
from skimage.transform import ProjectiveTransform, warp

from kinphoto.scans.captures.straight import (
    Straight,
    believed,
    from_square,
    in_order,
    inverse,
    is_convex,
    moved_point,
    ratio_of_sides,
    read,
    seen,
)
from kinphoto.scans.captures.view import straightened
from kinphoto.scans.upright import as_filed_region, shown_region, shown_size

SIZE = (4000, 3000)
LENS = 26.0
CORNERS = ((0.18, 0.2), (0.8, 0.14), (0.86, 0.82), (0.12, 0.9))


def photographed(
    width: float, height: float, tilt: float, towards: float, lens: float = LENS
) -> list[tuple[float, float]]:
    """The corners of a print in millimetres, seen by a camera that leans by `tilt` degrees: x = K [r1 r2 t] X."""
    focal = lens / math.hypot(36, 24) * math.hypot(*SIZE)
    axis, angle = math.radians(towards), math.radians(tilt)
    ux, uy, c, s = math.cos(axis), math.sin(axis), math.cos(angle), math.sin(angle)
    lean = np.array([
        [c + ux * ux * (1 - c), ux * uy * (1 - c), uy * s],
        [uy * ux * (1 - c), c + uy * uy * (1 - c), -ux * s],
        [-uy * s, ux * s, c],
    ])  # fmt: skip
    camera = np.array([[focal, 0, SIZE[0] / 2], [0, focal, SIZE[1] / 2], [0, 0, 1]])
    matrix = camera @ np.column_stack([lean[:, 0], lean[:, 1], [0, 0, 400.0]])
    print_ = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (width / 2, height / 2)
    return [(float(x / SIZE[0]), float(y / SIZE[1])) for x, y in ProjectiveTransform(matrix)(print_)]


@pytest.mark.parametrize(("width", "height"), [(150, 100), (100, 150), (90, 90), (63, 100)])
@pytest.mark.parametrize(("tilt", "towards"), [(0, 0), (12, 30), (25, 90), (38, 200)])
def test_the_lens_tells_the_proportions(width: float, height: float, tilt: float, towards: float) -> None:
    """Exactly, after Zhang and He 2007, and the angle too; the means of opposite sides are off by more the more the
    camera leans."""
    corners = photographed(width, height, tilt, towards)
    found = seen(corners, SIZE, LENS)
    assert found.ratio == pytest.approx(width / height, rel=1e-6)
    assert found.angle == pytest.approx(tilt, abs=1e-4)
    assert ratio_of_sides(corners, SIZE) == pytest.approx(width / height, rel=0.001 + (tilt / 60) ** 2)


def test_an_assumed_lens_is_nearer_than_the_sides() -> None:
    """A file that names no lens: 26 mm is assumed, which is off by less than opposite sides are, also where it was a
    longer one."""
    for lens in (26, 28, 35, 50):
        corners = photographed(150, 100, 30, 90, lens)
        by_sides = abs(ratio_of_sides(corners, SIZE) / 1.5 - 1)
        assert by_sides > 0.08
        assert abs(seen(corners, SIZE, None).ratio / 1.5 - 1) < (1e-6 if lens == 26 else 0.8 * by_sides)


def test_a_homography_is_that_of_scikit_image() -> None:
    """From the unit square to four corners, and back."""
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    transform = ProjectiveTransform.from_estimate(square, np.array(CORNERS))
    for point in [(0.3, 0.7), (0.9, 0.1), (0.5, 0.5)]:
        there = moved_point(from_square(CORNERS), point)
        assert there == pytest.approx(tuple(transform(point)[0]))
        assert moved_point(inverse(from_square(CORNERS)), there) == pytest.approx(point)


def test_what_is_shown_is_what_scikit_image_warps() -> None:
    """Scikit-image's astronaut between four corners, whatever way up the file stores it."""
    picture = Image.fromarray(skimage.data.astronaut())
    straight = Straight(CORNERS, 1.25)
    shown = straightened(picture, 1, straight)
    assert shown.size == straight.size(picture.size) == shown_size(picture.size, 1, 0, str(straight))
    assert shown.width / shown.height == pytest.approx(1.25, abs=0.005)
    to_whole = ProjectiveTransform.from_estimate(
        np.array([(0, 0), (shown.width, 0), shown.size, (0, shown.height)], dtype=float) - 0.5,
        np.array(CORNERS) * picture.size - 0.5,
    )
    wanted = warp(np.asarray(picture), to_whole, output_shape=shown.size[::-1], order=3, preserve_range=True)
    assert np.abs(np.asarray(shown, dtype=float) - wanted)[2:-2, 2:-2].mean() < 1.5
    stored = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}
    for orientation, turn in stored.items():
        again = straightened(picture.transpose(turn), orientation, straight)
        assert np.abs(np.asarray(again, dtype=float) - np.asarray(shown)).mean() < 0.01


@pytest.mark.parametrize("turn", [0, 1, 2, 3, 4, 7])
def test_regions_lie_where_they_lay(turn: int) -> None:
    """Through the corners and a turn and back: the middle of a face is where it was within a thousandth."""
    text = str(Straight(CORNERS, 1.4))
    face = (0.4, 0.45, 0.08, 0.1)
    shown = shown_region(face, turn, text)
    back = as_filed_region(shown, turn, text)
    for at, length in ((0, 2), (1, 3)):
        assert back[at] + back[length] / 2 == pytest.approx(face[at] + face[length] / 2, abs=0.002)
        assert 0.9 * face[length] < back[length] < 1.15 * face[length]
    assert shown_region(face, turn) != shown


def test_corners_are_kept_as_text() -> None:
    """Written and read again; nothing, and a refusal, are no corners."""
    straight = Straight(CORNERS, 1.4142)
    assert read(str(straight)) == straight
    assert read("") is None
    assert read("no") is None


def test_corners_in_any_order_and_wrong_ones() -> None:
    """The top left one first, clockwise; sides that cross are no print; a lens of 3 mm is not believed."""
    assert in_order([CORNERS[k] for k in (2, 0, 3, 1)]) == CORNERS
    assert is_convex(CORNERS)
    assert not is_convex([CORNERS[k] for k in (0, 2, 1, 3)])
    assert not is_convex([(0, 0), (1, 0), (0.2, 0.2), (0, 1)])
    assert believed(26.0) == 26.0
    assert believed(3.0) is None
    assert believed(float("nan")) is None

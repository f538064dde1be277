"""The rectangle around a figure that was drawn at a known place, filled by the place's own arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from kinphoto.scans.beds.places import Place
from kinphoto.scans.beds.rectangles import rectangle_around


def filled(place: Place) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """The pixels of a picture of 400 by 400 whose middles lie in the place."""
    rows, columns = np.indices((400, 400), dtype=np.float32)
    return np.asarray(place.covered(rows + 0.5, columns + 0.5), dtype=bool)


@pytest.mark.parametrize("turn", [0.0, 3.0, -7.5, 20.0])
def test_it_is_found_within_a_pixel(turn: float) -> None:
    """Its middle, its sides and its turn, and that it is one."""
    drawn = Place(201.3, 198.6, 240.0, 160.0, turn)
    found = rectangle_around(filled(drawn), 4.0)
    assert found is not None
    place, is_rectangle = found
    assert is_rectangle
    assert (place.x, place.y) == pytest.approx((drawn.x, drawn.y), abs=1)
    assert (place.width, place.height) == pytest.approx((240, 160), abs=2)
    assert place.turn == pytest.approx(turn, abs=0.3)


def test_a_dog_ear_does_not_move_it() -> None:
    """A corner that is bent away leaves the sides where they are."""
    figure = filled(Place(200.0, 200.0, 240.0, 160.0))
    y, x = np.indices(figure.shape)
    figure &= x + y > 80 + 120 + 18
    found = rectangle_around(figure, 4.0)
    assert found is not None
    assert found[1]
    assert (found[0].width, found[0].height) == pytest.approx((240, 160), abs=2)


def test_two_that_overlap_are_not_one() -> None:
    """Nor is what is round."""
    both = filled(Place(150.0, 150.0, 160.0, 120.0)) | filled(Place(240.0, 230.0, 160.0, 120.0))
    y, x = np.indices((400, 400))
    for figure in (both, np.hypot(x - 200, y - 200) < 120):
        found = rectangle_around(figure, 4.0)
        assert found is not None
        assert not found[1]


def test_a_line_has_none() -> None:
    """A figure of one row of pixels has no area."""
    assert rectangle_around(np.ones((1, 50), dtype=bool), 4.0) is None

"""Turned rectangles: corners by hand, and distances against a dense set of points."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.scans.beds.places import Place, normal, upright

places = st.builds(
    Place, st.floats(-100, 100), st.floats(-100, 100), st.floats(1, 80), st.floats(1, 80), st.floats(-180, 180)
)


def test_corners_by_hand() -> None:
    """A 3-4-5 triangle: turned by atan(3/4), the corner 5 to the right of the middle lies 4 right and 3 below."""
    place = Place(10, 20, 10, 0, float(np.degrees(np.arctan2(3, 4))))
    assert place.corners[1] == pytest.approx((14, 23))
    assert place.corners[0] == pytest.approx((6, 17))


@given(places, places)
def test_two_rectangles_are_apart_exactly_when_no_point_is_in_both(one: Place, other: Place) -> None:
    """Against points strewn over one of them: where any lies in the other they are not apart."""
    steps = np.linspace(-0.5, 0.5, 25)
    angle = np.radians(one.turn)
    x, y = np.meshgrid(steps * one.width, steps * one.height)
    columns, rows = one.x + x * np.cos(angle) - y * np.sin(angle), one.y + x * np.sin(angle) + y * np.cos(angle)
    if other.covered(rows, columns).any():
        assert one.apart(other) <= 1e-6
    assert one.apart(other) == pytest.approx(other.apart(one))


@given(places, st.integers(0, 7))
def test_turning_a_picture_takes_its_corners_along(place: Place, quarters: int) -> None:
    """A point (x, y) of a picture of height h is at (h - y, x) after a quarter turn clockwise."""
    size = (400.0, 300.0)
    points, (width, height) = np.array(place.corners), size
    for _ in range(quarters % 4):
        points = np.stack((height - points[:, 1], points[:, 0]), axis=1)
        width, height = height, width
    assert np.array(place.quarter_turned(size, quarters).corners) == pytest.approx(points, abs=1e-6)


@given(places)
def test_the_nearest_side_on_top(place: Place) -> None:
    """The same four corners, turned by 45 degrees at most."""
    found = upright(place)
    assert abs(found.turn) <= 45 + 1e-9
    mine, other = (sorted(map(tuple, np.round(each.corners, 5))) for each in (place, found))
    assert np.array(mine) == pytest.approx(np.array(other), abs=1e-4)
    assert -180 <= normal(place.turn) < 180

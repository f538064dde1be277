"""Regions: what is one, and which two frame the same face."""

from __future__ import annotations

import pytest

from kinphoto.archive.catalogue.regions import overlap, parse_region, same_face
from kinphoto.errors import InvalidValueError


@pytest.mark.parametrize("text", ["0.9,0,0.2,0.1", "10,20,30,40", "0,0,0,0.1", "a,b,c,d", "0.1,0.2,0.3", "nan,0,1,1"])
def test_regions_outside_the_picture(text: str) -> None:
    """A region is left, top, width, height in 0..1 of the upright image."""
    with pytest.raises(InvalidValueError, match="region"):
        parse_region(text)


def test_overlap_of_regions() -> None:
    """Intersection over union: the same is 1, apart is 0, half of one inside an equal other is a third."""
    assert overlap((0, 0, 0.2, 0.2), (0, 0, 0.2, 0.2)) == pytest.approx(1)
    assert overlap((0, 0, 0.2, 0.2), (0.5, 0.5, 0.2, 0.2)) == 0
    assert overlap((0, 0, 0.2, 0.2), (0.1, 0, 0.2, 0.2)) == pytest.approx(1 / 3)


def test_the_nearest_of_two_faces_is_meant() -> None:
    """Of two frames that both share enough with a region the closer one counts; a region too far from both is a face of
    its own.
    """
    rows = [
        {"id": 1, "left": 0.10, "top": 0.1, "width": 0.2, "height": 0.2},
        {"id": 2, "left": 0.13, "top": 0.1, "width": 0.2, "height": 0.2},
    ]
    assert same_face((0.14, 0.1, 0.2, 0.2), rows) == rows[1]
    assert same_face((0.25, 0.1, 0.2, 0.2), rows) is None

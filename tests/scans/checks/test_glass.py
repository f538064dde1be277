"""What is on the glass: places that several scans share."""

from __future__ import annotations

import math

from kinphoto.scans.checks.glass import shared_marks


def test_specks_in_three_scans_are_on_the_glass() -> None:
    """Two places are shared by three of four scans, within three pixels; one by two only."""
    scans = [[(10, 10), (200, 50), (7, 300)], [(11, 9), (201, 51)], [(10, 11), (199, 50), (400, 400)], [(7, 300)]]
    assert shared_marks(scans, 3) == [2, 2, 2, 0]
    assert shared_marks([[], [], []], 3) == [0, 0, 0]


def test_a_speck_by_itself_may_be_the_dot_of_an_imprint() -> None:
    """One place in three scans says nothing; beside a hair it is counted."""
    assert shared_marks([[(10, 10, 90)]] * 3, 3) == [0, 0, 0]
    assert shared_marks([[(10, 10, 90), *hair(100, 100)]] * 3, 3) == [2, 2, 2]


def hair(x: float, y: float, turns: float = 2.0, first: float = 0.0) -> list[tuple[float, float, float, float]]:
    """Points along an arc of 60 pixels around this place, of which the first share is missing."""
    return [
        (x + 60 * math.cos(turns * k / 30), y + 60 * math.sin(turns * k / 30), -40, 0)
        for k in range(round(first * 30), 31)
    ]


def test_a_hair_of_the_same_shape_at_the_same_place_in_three_scans_is_on_the_glass() -> None:
    """Its points lie anywhere along it, and a third of it is hidden in one scan. The same shape elsewhere, and another
    shape that crosses it, are other hairs."""
    scans = [hair(200, 200), [(x + 2, y - 2, *rest) for x, y, *rest in hair(200, 200)], hair(200, 200, first=0.33)]
    others = [hair(260, 200), [(x, 200 + (260 - x), *rest) for x, _, *rest in hair(200, 200)]]
    assert shared_marks([*scans, *others], 3) == [1, 1, 1, 0, 0]
    assert shared_marks(scans[:2], 3) == [0, 0]

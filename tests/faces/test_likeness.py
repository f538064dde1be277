"""What a likeness is worth: a hint among others, which fades over the years."""

from __future__ import annotations

import pytest

from kinphoto.faces.likeness import LEAST, MOST, UNKNOWN, remaining, weight


def test_strangers_count_against_and_twins_no_more_than_kinship() -> None:
    """Cosines of strangers (0.16 on average, 0.33 for one in twenty, on dlib's examples) hardly speak for anybody; the
    most is less than a first step of kinship (2 to 3 in name_offers)."""
    assert weight(0.16, 0) == LEAST
    assert weight(0.33, 0) < 0.3
    assert weight(0.99, 0) == MOST < 2


def test_the_usual_threshold_is_not_enough() -> None:
    """At 0.363, where the makers of SFace call two faces one person (OpenCV Zoo), one pair of strangers of an old group
    photograph in thirty is so alike: it counts for less than half. At 0.5, where none was, nearly all of it."""
    assert 0 < weight(0.363, 0) < MOST / 2
    assert weight(0.5, 0) > 0.9 * MOST


@pytest.mark.parametrize(("years", "youngest", "left"), [(0, 40, 1), (15, 40, 0.5), (30, 25, 0.25), (1, 0, 0.5)])
def test_it_halves_over_the_years(years: float, youngest: float, left: float) -> None:
    """In fifteen years for the grown-up, in one for a newborn; by hand from the halving."""
    assert remaining(years, youngest) == pytest.approx(left)
    assert weight(0.9, years, youngest) == pytest.approx(MOST * left)


def test_children_change_quickest() -> None:
    """Five years on: the younger they were, the less is left; little where no year is known."""
    left = [remaining(5, age) for age in (0, 3, 8, 15, 20, 50)]
    assert left == sorted(left)
    assert left[0] < 0.05
    assert left[-2] == left[-1]
    assert remaining(None, 30) == UNKNOWN < remaining(5, 50)


def test_the_more_alike_the_more_it_counts() -> None:
    """Over all cosines, also far out in the tails of the two bells."""
    worth = [weight(step / 50, 3, 30) for step in range(-50, 51)]
    assert worth == sorted(worth)

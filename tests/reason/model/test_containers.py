"""The years of a container, against SciPy's normal distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from kinphoto.reason.model.containers import (
    OCCASION,
    QUARTER_YEAR,
    SEEN_BEFORE,
    WIDTHS,
    Width,
    density,
    learned,
    of_one_occasion,
    prior,
)  # fmt: skip

CELLS = 160
"""Forty years."""


@pytest.mark.parametrize("years", WIDTHS)
def test_a_bell_is_normal(years: float) -> None:
    """A width has the chances of the normal distribution in the cells about its centre, each adding up to 1."""
    width = Width(years)
    table = density(width, CELLS)
    assert table.sum(axis=1) == pytest.approx(1)
    cell = width.stride * QUARTER_YEAR
    assert cell <= max(QUARTER_YEAR, 1.25 * years)
    reach = len(width.bell) // 2
    for at in range(-min(reach, 3), min(reach, 3) + 1):
        chance, _ = quad(norm(0, years).pdf, (at - 0.5) * cell, (at + 0.5) * cell)
        assert width.bell[reach + at] == pytest.approx(chance)


def test_centres_are_likely_where_pictures_were_taken() -> None:
    """Before anything is seen all widths weigh the same, and centres follow the archive's rate."""
    rate = np.zeros(CELLS)
    rate[80:100] = 1 / 20
    for years in WIDTHS:
        found = prior(Width(years), rate)
        assert found.sum() == pytest.approx(1 / len(WIDTHS))
        assert found.max() > found[0] or years > 20  # as wide as all that
        assert 80 <= np.argmax(found) * Width(years).stride + Width(years).stride / 2 <= 100 or years > 5


def test_photographs_of_one_occasion_repeat_each_other() -> None:
    """Where each tells its year exactly, one of OCCASION counts; where faces tell less than the container is wide, more
    do; and of two photographs each hears the other in full. By hand: a = s / sqrt(s^2 + v); OCCASION - 1 of the n - 1
    others are of one occasion, and n - 2 are heard."""
    odds = np.zeros(len(WIDTHS))
    odds[3] = 1.0  # 4 years
    assert of_one_occasion(odds, np.zeros(5)) == pytest.approx((OCCASION - 1) * 3 / 4)
    assert of_one_occasion(odds, np.full(5, 9.0)) == pytest.approx((OCCASION - 1) * 3 / 4 * 16 / (16 + 9))
    mixed = of_one_occasion(odds, np.array([0.0, 0.0, 9.0]))
    assert mixed == pytest.approx((OCCASION - 1) * 1 / 2 * np.array([(1 + 0.8) / 2, (1 + 0.8) / 2, 0.8]))
    assert of_one_occasion(odds, np.zeros(2)) == pytest.approx(0)


def test_a_width_is_expected_as_the_others_have_it() -> None:
    """Of three containers whose widths are known, each expects those of the other two, by the mean of a Dirichlet
    distribution (seen + before) / (all + sum of before); a fourth of which nothing is known expects what is learned of
    all three. One alone expects what was expected before anything was seen: a wide one rather than a narrow one."""
    many, before = len(WIDTHS), np.array(SEEN_BEFORE)
    told = np.full((4, many), 1e-300)
    told[[0, 1, 2], [1, 1, 4]] = 1.0
    told[3] = 1.0
    found = learned(told, np.array([1.0, 1.0, 1.0, 0.0]))
    places = [0, 1, 4]
    assert found[0, places] == pytest.approx((before[places] + [0, 1, 1]) / (2 + before.sum()))
    assert found[2, places] == pytest.approx((before[places] + [0, 2, 0]) / (2 + before.sum()))
    assert found[3, [1, 4]] == pytest.approx((before[[1, 4]] + [2, 1]) / (3 + before.sum()))
    assert found.sum(axis=1) == pytest.approx(1)
    assert learned(told[:1], np.ones(1))[0] == pytest.approx(before / before.sum())
    assert list(SEEN_BEFORE) == sorted(SEEN_BEFORE)

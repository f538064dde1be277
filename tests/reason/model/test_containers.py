"""The years of a container, against SciPy's normal distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from kinphoto.reason.model.containers import QUARTER_YEAR, WIDTHS, Width, density, prior

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

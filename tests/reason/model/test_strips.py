"""Frames of one strip of film, against sums over everything that could be, with SciPy's normal distribution."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import norm

from kinphoto.reason.model.containers import QUARTER_YEAR, WIDTHS, Width
from kinphoto.reason.model.strips import FILMS, told_to_frame

CELLS = 40
"""Ten years."""


def bells(seed: int, many: int) -> np.ndarray:
    """Likelihoods of some photographs."""
    dice = np.random.default_rng(seed)
    middle, spread = dice.uniform(4, 16, (many, 1)), dice.uniform(1, 4, (many, 1))
    found = np.exp(-0.5 * ((np.arange(CELLS) - middle) / spread) ** 2) + 1e-3
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def chances(width: Width) -> list[np.ndarray]:
    """The chance of each quarter-year under each centre, from SciPy, as far as five widths from the centre."""
    step, found = width.stride, []
    for centre in range(-(-CELLS // step)):
        distance = np.abs(np.arange(CELLS) // step - centre) * step * QUARTER_YEAR
        half = step * QUARTER_YEAR / 2
        share = norm.cdf(distance + half, scale=width.years) - norm.cdf(distance - half, scale=width.years)
        share[distance > 5 * width.years + half] = 0
        found.append(share / share.sum())
    return found


def test_three_frames_as_the_sum_over_all_their_years() -> None:
    """What two frames tell the third is the sum over every centre, width and year of the two, each of them of the strip
    or, where that was stated wrongly, only of its box. The first two lie in one box, the third in another."""
    like, told, wrong, share = bells(1, 3), bells(2, 3), np.array([0.01, 0.2, 0.05]), np.array([0.5, 0.5, 1.0])
    points, evidence = [], []
    for width, years in zip(FILMS, WIDTHS, strict=True):
        centres = chances(Width(years)) if width else []
        for chance in centres:
            belongs = (CELLS * told @ chance) ** share
            others = 0.0
            for y, z in product(range(CELLS), repeat=2):
                one = (1 - wrong[1]) * belongs[1] * chance[y] + wrong[1] * told[1, y]
                two = (1 - wrong[2]) * belongs[2] * chance[z] + wrong[2] * told[2, z]
                others += one * like[1, y] * two * like[2, z]
            points.append(belongs[0] * chance)
            evidence.append(width / len(centres) * others)
    of_strip = np.array(evidence) / np.sum(evidence) @ np.array(points)
    plain = (1 - wrong[0]) * of_strip + wrong[0] * told[0]
    found = told_to_frame(0, like, told, ["B1", "B1", "B2"], wrong, np.ones(3))
    assert found == pytest.approx(plain / plain.sum(), rel=1e-6)


def test_a_film_is_of_weeks_to_some_years() -> None:
    """The widths of a film are those of containers up to some years, and add up to 1."""
    assert sum(FILMS) == pytest.approx(1)
    assert all(not share for share, years in zip(FILMS, WIDTHS, strict=True) if years > 2)


@pytest.mark.parametrize("many", [1, 2, 10])
def test_each_container_counts_once(many: int) -> None:
    """However many frames of a strip lie in one box: if nothing is known of any, the box tells each the same."""
    told, like = np.repeat(bells(3, 1), many, axis=0), np.full((many, CELLS), 1 / CELLS)
    sure = np.full(many, 1e-9)
    found = told_to_frame(0, like, told, ["B1"] * many, sure, np.ones(many))
    assert found == pytest.approx(told_to_frame(0, like[:1], told[:1], ["B1"], sure[:1], np.ones(1)), rel=1e-5)


def test_a_frame_of_a_narrow_box_of_another_time_stays_there() -> None:
    """Somebody may have laid a frame with the wrong strip: a box of another time outweighs what was said."""
    at = np.arange(CELLS)
    told = np.array([np.exp(-0.5 * ((at - middle) / 1.0) ** 2) + 1e-4 for middle in (4, 4, 4, 35)])
    told /= told.sum(axis=1, keepdims=True)
    like = np.full((4, CELLS), 1 / CELLS)
    wrong, weight, boxes = np.full(4, 0.2), np.ones(4), ["B1", "B1", "B1", "B2"]
    assert told_to_frame(3, like, told, boxes, wrong, weight)[30:].sum() > 0.75
    assert told_to_frame(0, like, told, boxes, wrong, weight)[:10].sum() > 0.85

"""Frames of one strip of film, against sums over everything that could be, with SciPy's normal distribution."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import expon, norm

from kinphoto.reason.model.batches import PrintedDate
from kinphoto.reason.model.containers import QUARTER_YEAR, WIDTHS, Width
from kinphoto.reason.model.strips import FILMS, message_to_frame, tied

CELLS = 40
"""Ten years."""


def bells(seed: int, many: int, cells: int = CELLS) -> np.ndarray:
    """Likelihoods of some photographs."""
    dice = np.random.default_rng(seed)
    middle, spread = dice.uniform(4, 16, (many, 1)), dice.uniform(1, 4, (many, 1))
    found = np.exp(-0.5 * ((np.arange(cells) - middle) / spread) ** 2) + 1e-3
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def chances(width: Width, cells: int = CELLS) -> list[np.ndarray]:
    """The chance of each quarter-year under each centre, from SciPy, as far as five widths from the centre."""
    step, found = width.stride, []
    for centre in range(-(-cells // step)):
        distance = np.abs(np.arange(cells) // step - centre) * step * QUARTER_YEAR
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
    found = message_to_frame(0, like, told, ["B1", "B1", "B2"], wrong, np.ones(3))
    assert found == pytest.approx(plain / plain.sum(), rel=1e-6)


@pytest.mark.parametrize("frame", [0, 1])
def test_three_frames_in_order_as_the_sum_over_all_their_years(frame: int) -> None:
    """Of three frames, each before the next or, where that was stated wrongly, not, each of the strip or not: the sum
    over all of their years, with the factor of the orders divided by its mean at each centre and width."""
    cells = 24  # six years
    like, told, wrong = bells(4, 3, cells), bells(5, 3, cells), np.array([0.01, 0.2, 0.05])
    orders = [(0, 1, 0.05), (1, 2, 0.2)]
    at = np.arange(cells)
    known = like.copy()
    known[frame] = 1.0
    found = np.zeros(cells)
    for width, years in zip(FILMS, WIDTHS, strict=True):
        centres = chances(Width(years), cells) if width else []
        for chance in centres:
            belongs = cells * told @ chance
            blank, whole, usual = np.zeros((3, cells, cells, cells))
            for of_strip in product((True, False), repeat=3):
                each = [
                    (1 - wrong[j]) * belongs[j] * chance if here else wrong[j] * told[j]
                    for j, here in enumerate(of_strip)
                ]
                plain = np.einsum("a,b,c->abc", *each)
                factor = np.ones((cells, cells, cells))
                for one, other, p in orders:
                    if of_strip[one] and of_strip[other]:
                        shape = [-1 if k == one else 1 for k in range(3)], [-1 if k == other else 1 for k in range(3)]
                        step = np.heaviside(at.reshape(shape[1]) - at.reshape(shape[0]), 0.5)
                        factor = factor * (2 * (1 - p) * step + p)
                blank += plain * factor
                usual += plain
                whole += plain * factor * np.einsum("a,b,c->abc", *known)
            mean = blank.sum() / usual.sum()
            axes = tuple(k for k in range(3) if k != frame)
            found += width / len(centres) * whole.sum(axis=axes) / mean
    heard = message_to_frame(frame, like, told, ["B1", "B2", "B3"], wrong, np.ones(3), orders=orders)
    assert heard == pytest.approx(found / found.sum(), rel=1e-5)


def test_the_printed_date_of_a_batch_counts_once() -> None:
    """Two prints of one printed date tell a third what the sum over every centre, width and year says, in which the
    date counts once for the film of most of them, and once for each that is not from it. A film waits six weeks in the
    mean to be printed, and where all of it was ordered again twenty years: by SciPy's exponential distribution."""
    like, told, wrong = bells(1, 3), np.full((3, CELLS), 1 / CELLS), np.full(3, 0.2)
    printed = np.where(np.arange(CELLS) < 30, 1.0, 0.01)
    printed /= printed.sum()
    found = np.zeros(CELLS)
    for width, years in zip(FILMS, WIDTHS, strict=True):
        centres = chances(Width(years)) if width else []
        if not centres:
            continue
        edges = np.arange(len(centres) + 1) * Width(years).stride * QUARTER_YEAR
        wait = 29.5 * QUARTER_YEAR - edges - 3**0.5 * years
        brought = -np.diff(0.9 * expon(scale=0.12).cdf(wait) + 0.1 * expon(scale=20).cdf(wait))
        for chance, film in zip(centres, brought / brought.sum(), strict=False):
            here = [0.8 * like[j] @ chance + 0.2 * like[j] @ printed for j in (1, 2)]
            found += width * (0.95 * film + 0.05 / len(centres)) * here[0] * here[1] * chance
    plain = 0.8 * found / found.sum() + 0.2 * printed
    date = PrintedDate(printed, 29.5, 0.05)
    heard = message_to_frame(0, like, told, ["B1", "B2", "B3"], wrong, np.ones(3), printed=date)
    assert heard == pytest.approx(plain, rel=1e-5)


def test_an_order_says_on_which_side_of_a_dated_frame() -> None:
    """A frame after one that is dated closely is rarely earlier; frames that are all dated by one of them are of the
    same years as without an order."""
    like = np.full((2, CELLS), 1 / CELLS)
    like[0] = np.arange(CELLS) == 20
    flat, wrong, boxes = np.full((2, CELLS), 1 / CELLS), np.full(2, 0.01), ["B1", "B2"]
    without, after = (
        message_to_frame(1, like, flat, boxes, wrong, np.ones(2), orders=some) for some in ([], [(0, 1, 0.05)])
    )
    assert after[:20].sum() < 0.15 * without[:20].sum()
    assert after[20:].sum() > 1.7 * without[21:].sum()


def test_orders_that_follow_from_others_say_nothing_more() -> None:
    """Of "1 before 2, 2 before 3, 1 before 3" the last is known already; parts that no order ties are tied by one that
    is wrong for certain, and every frame is in the tree once."""
    ordered = [(1, 3, 0.05), (1, 2, 0.05), (2, 3, 0.05)]
    assert tied(4, ordered) == [(1, 2, 0.05), (2, 3, 0.05), (0, 1, 1.0)]
    assert len(tied(4, [(0, 1, 0.1), (0, 2, 0.1), (1, 3, 0.1), (2, 3, 0.1)])) == 3


def test_a_film_is_of_weeks_to_some_years() -> None:
    """The widths of a film are those of containers up to some years, and add up to 1."""
    assert sum(FILMS) == pytest.approx(1)
    assert all(not share for share, years in zip(FILMS, WIDTHS, strict=True) if years > 2)


@pytest.mark.parametrize("many", [1, 2, 10])
def test_each_container_counts_once(many: int) -> None:
    """However many frames of a strip lie in one box: if nothing is known of any, the box tells each the same."""
    told, like = np.repeat(bells(3, 1), many, axis=0), np.full((many, CELLS), 1 / CELLS)
    sure = np.full(many, 1e-9)
    found = message_to_frame(0, like, told, ["B1"] * many, sure, np.ones(many))
    assert found == pytest.approx(message_to_frame(0, like[:1], told[:1], ["B1"], sure[:1], np.ones(1)), rel=1e-5)


def test_a_frame_of_a_narrow_box_of_another_time_stays_there() -> None:
    """Somebody may have laid a frame with the wrong strip: a box of another time outweighs what was said."""
    at = np.arange(CELLS)
    told = np.array([np.exp(-0.5 * ((at - middle) / 1.0) ** 2) + 1e-4 for middle in (4, 4, 4, 35)])
    told /= told.sum(axis=1, keepdims=True)
    like = np.full((4, CELLS), 1 / CELLS)
    wrong, weight, boxes = np.full(4, 0.2), np.ones(4), ["B1", "B1", "B1", "B2"]
    assert message_to_frame(3, like, told, boxes, wrong, weight)[30:].sum() > 0.75
    assert message_to_frame(0, like, told, boxes, wrong, weight)[:10].sum() > 0.85

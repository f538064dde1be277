"""The years of a container, against SciPy's normal distribution."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from kinphoto.reason.model import containers
from kinphoto.reason.model.containers import (
    NEW_OCCASION,
    OCCASION,
    QUARTER_YEAR,
    SEEN_BEFORE,
    WIDTHS,
    Width,
    density,
    learned,
    likelier_by_occasions,
    of_one_occasion,
    prior,
    same_occasion,
    with_occasions,
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


def drawn(seed: int, many: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Chances of three parameters, the density of each on five cells, and the likelihoods of some photographs."""
    dice = np.random.default_rng(seed)
    return dice.dirichlet(np.ones(3)), dice.dirichlet(np.ones(5), 3), dice.dirichlet(0.4 * np.ones(5), many) + 1e-3


def of_one_process(density: np.ndarray, many: int, new: float) -> np.ndarray:
    """P(y_1, ..., y_n) of photographs that come one after the other: each is of the time of one before it, or of a new
    occasion, which weighs so much."""
    found = np.zeros((len(density),) * many)
    for times in product(range(len(density)), repeat=many):
        found[times] = np.prod([
            (new * density[y] + sum(y == other for other in times[:k])) / (new + k) for k, y in enumerate(times)
        ])  # fmt: skip
    return found


def test_in_a_trunk_one_other_is_of_the_same_occasion() -> None:
    """A new occasion weighs as much as makes it OCCASION - 1 others in the mean, each with the chance 1/(w + 1); among
    few photographs they are fewer. A process that is drawn one after the other is the same from any end."""
    for n in (20, 36, 500):
        new = 1 / same_occasion(n) - (n - 1)
        assert (n - 1) / (new + 1) == pytest.approx(OCCASION - 1)
    for n in (2, 3, 8):
        assert same_occasion(n) == pytest.approx(1 / (NEW_OCCASION + n - 1))
    joint = of_one_process(drawn(1, 1)[1][0], 3, 2.5)
    assert joint.sum() == pytest.approx(1)
    assert all(np.allclose(joint, joint.transpose(axes)) for axes in permutations(range(3)))


def test_two_that_may_be_of_one_occasion_as_the_whole_process() -> None:
    """What one photograph hears of another is the sum over both dates and all parameters of the Dirichlet process."""
    before, density, [other] = drawn(2, 1)
    joint = sum(p * of_one_process(d, 2, NEW_OCCASION) for p, d in zip(before, density, strict=True))
    plain = np.asarray(joint) @ other
    chance = before * (density @ other)
    found = with_occasions(chance / chance.sum(), density, other[None], np.ones(1))
    assert found == pytest.approx(plain / plain.sum())


def test_how_much_likelier_two_are_with_occasions() -> None:
    """For two photographs it is the sum of the whole process over both dates and all parameters, beside the same with
    dates drawn independently; for three, summed over many, within a fifth of that."""
    found, whole = np.zeros(2), np.zeros(2)
    for seed, (k, many) in product(range(40), enumerate((2, 3))):
        before, density, like = drawn(seed, many)
        each = density @ like.T
        together = sum(p * of_one_process(d, many, NEW_OCCASION) for p, d in zip(before, density, strict=True))
        for one in like:
            together = np.tensordot(one, together, 1)
        whole[k] += np.log(together / (before @ each.prod(axis=1)))
        without, message = [], []
        for i in range(many):
            chance = before * np.delete(each, i, axis=1).prod(axis=1)
            chance /= chance.sum()
            without.append(chance @ density)
            message.append(with_occasions(chance, density, np.delete(like, i, axis=0), np.ones(many - 1)))
        found[k] += likelier_by_occasions(like, np.array(without), np.array(message))
    assert found[0] == pytest.approx(whole[0])
    assert found[1] == pytest.approx(whole[1], rel=0.2)


def test_three_that_may_be_of_one_occasion_as_the_plain_sum() -> None:
    """Of two others each is somewhere by itself; then the third is of the time of the first or of the second with these
    chances, as far as their errors are apart, or else of a new occasion."""
    before, density, (one, other) = drawn(3, 2)
    chance = before * (density @ one) * (density @ other)
    apart, plain = np.array([1.0, 0.3]), np.zeros(5)
    share = same_occasion(3) * apart
    for t, y, z, x in product(range(3), range(5), range(5), range(5)):
        weight = before[t] * density[t, y] * one[y] * density[t, z] * other[z]
        plain[x] += weight * ((1 - share.sum()) * density[t, x] + share[0] * (x == y) + share[1] * (x == z))
    found = with_occasions(chance / chance.sum(), density, np.array([one, other]), apart)
    assert found == pytest.approx(plain / plain.sum())


def test_that_others_are_of_occasions_of_their_own_costs_little(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a new occasion weighs as much as one photograph, so that two of three mostly go together, this is much
    nearer to the whole process, in which the others may be of one occasion too, than where there are no occasions."""
    monkeypatch.setattr(containers, "NEW_OCCASION", 1.0)
    off: list[float] = []
    without: list[float] = []
    for seed in range(20):
        before, density, (one, other) = drawn(seed, 2)
        joint = sum(p * of_one_process(d, 3, 1.0) for p, d in zip(before, density, strict=True))
        plain = np.asarray(joint) @ other @ one
        plain /= plain.sum()
        chance = before * (density @ one) * (density @ other)
        for far, apart in ((off, 1.0), (without, 0.0)):
            found = with_occasions(chance / chance.sum(), density, np.array([one, other]), np.full(2, apart))
            far.append(abs(found - plain).sum() / 2)
    assert np.mean(off) < 0.35 * np.mean(without)

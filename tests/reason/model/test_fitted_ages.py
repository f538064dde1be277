"""Ages fitted to a date: the mixture of one photograph, and what is learned for an archive."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

import numpy as np
import pytest
from scipy.integrate import dblquad

from kinphoto.reason.model import fitted_ages as fa
from kinphoto.reason.model import perception


def test_ages_that_may_suit_another_date_are_a_mixture() -> None:
    """All that the ages say is "1930": three quarters stay there, the rest is normal about it with 5 years."""
    years = np.arange(1900.0, 1961.0)
    in_1930 = (years == 1930).astype(float)
    found = fa.fitted(in_1930, in_1930, years)
    bell = np.exp(-0.5 * ((years - 1930) / 5) ** 2)
    whole = [np.exp(-0.5 * ((years - year) / 5) ** 2).sum() for year in years]
    assert found == pytest.approx(0.75 * in_1930 + 0.25 * bell / whole)
    assert fa.fitted(in_1930, in_1930, years, share=0.0) == pytest.approx(in_1930)
    nothing = np.ones(61)
    assert fa.fitted(nothing, nothing, years) == pytest.approx(nothing)  # what says nothing goes on saying nothing


def test_nobody_guesses_a_date_at_which_a_child_would_look_different() -> None:
    """In years: half of one beside a baby, two and a half beside somebody of five, five from twelve on. That is twice
    what one judgement of the youngest errs, wherever it is less than five years."""
    assert [fa.shift_sd(age) for age in (0, 5, 12, 60)] == [0.5, 2.5, 5.0, 5.0]
    for age in (2.0, 5.0, 8.0):
        one_errs = float(perception.age_at(perception.scale(age) + perception.TAU)) - age
        assert fa.shift_sd(age) == pytest.approx(2 * one_errs, rel=0.2)


def test_whoever_fits_an_age_is_less_than_a_third_as_far_off() -> None:
    """A man of 30 is said to be 30: 3.7 times likelier of somebody who fits ages than of anybody by eye, whose errors
    on the scale are 0.19 with the bias, where the other's are 0.05."""
    judgement = perception.judgement(30, 30)
    ages = np.array([30.5])
    by_eye = perception.judged_mean(judgement, ages)[0]
    close = perception.judged_mean(judgement, ages, fa.TO_A_DATE)[0]
    assert close / by_eye == pytest.approx((0.17**2 + 0.08**2) ** 0.5 / (0.3 * 0.17), rel=0.2)


def plainly(seen: Sequence[float], unseen: Sequence[float]) -> float:
    """The mean of f, by scipy's integration over both chances."""

    def density(u: float, f: float) -> float:
        value = float(f**-0.5 * (1 - f) ** 0.5 * (1 - u) ** 8)
        for r in unseen:
            value *= 1 - u + u * r
        for r in seen:
            value *= f * r + (1 - f) * (1 - u + u * r)
        return value

    whole = dblquad(density, 0, 1, 0, 1)[0]
    return float(dblquad(lambda u, f: f * density(u, f), 0, 1, 0, 1)[0] / whole)


@pytest.mark.parametrize(
    ("seen", "unseen"),
    [([], []), ([1.0], []), ([8.0, 5.0, 6.0], []), ([0.2] * 6, [0.3]), ([9.0] * 4 + [0.1] * 2, [6.0] * 3)],
)
def test_how_often_ages_are_fitted_is_what_an_integral_over_both_chances_says(
    seen: list[float], unseen: list[float]
) -> None:
    """From how many times likelier ages are if they were fitted: some with the date in view, and some without."""
    found = fa.learned({i: log(r) for i, r in enumerate(seen)}, [log(r) for r in unseen])
    assert found.mean == pytest.approx(plainly(seen, unseen), abs=0.004)
    for i in range(len(seen)):
        others = [r for k, r in enumerate(seen) if k != i]
        assert found.without[i] == pytest.approx(plainly(others, unseen), abs=0.004)


def test_where_ages_judged_unseen_agree_as_closely_nobody_is_taken_to_fit_them() -> None:
    """Of thirty photographs half agree closely: many were fitted if only two of thirty do that were judged unseen, and
    nothing is learned if half of these do too. Where as few do, hardly any were fitted."""
    half, few = ([log(6.0)] * many + [log(0.2)] * (30 - many) for many in (15, 2))
    many, as_well, as_badly = (
        fa.learned(dict(enumerate(seen)), unseen).mean for seen, unseen in ((half, few), (half, half), (few, few))
    )
    assert many > 0.4
    assert as_well < fa.FITTED
    assert as_badly < 0.05


def test_of_a_photograph_that_was_not_counted_the_mean_of_all_is_taken() -> None:
    """Photographs 3 and 5 were counted; of any other, all they tell is used."""
    found = fa.learned({3: log(9.0), 5: log(9.0)}, [])
    assert found.of([5, 8]).tolist() == [found.without[5], found.mean]
    assert found.without[5] < found.mean
    assert (found.estimate.photographs, found.estimate.unseen) == (2, 0)

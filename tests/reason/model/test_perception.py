"""How ages are judged, against published errors and against plain arithmetic."""

from dataclasses import replace
from functools import partial
from math import erf, log, sqrt

import numpy as np
import pytest
from scipy.integrate import trapezoid  # NumPy has it only from 2.0 on
from scipy.special import ndtr

from kinphoto.reason.model import perception as p
from kinphoto.reason.model.survival import density, survival


def phi(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))


def g(age: float) -> float:
    return log(age + 2) if age <= 51 else log(53) + (age - 51) / 53


def careless(age: float, low: float, end: float) -> float:
    """What a careless judge says of somebody of this age: normal with 12 years about it, given that it is not below
    0."""
    seen = [phi((edge - age) / 12) for edge in (0.0, low, end)]
    return (seen[2] - seen[1]) / (1 - seen[0])


@pytest.mark.parametrize(("age", "years"), [(0, 0.34), (10, 2.04), (30, 5.44), (51, 9.01), (80, 9.01)])
def test_a_judged_age_is_as_exact_as_the_method_says(age: float, years: float) -> None:
    """One standard deviation on the scale is 4 months for a newborn, 2 years at 10, 5.4 at 30, 9 from 51 on."""
    slope = (p.scale(age + 0.001) - p.scale(age - 0.001)) / 0.002 if age else (p.scale(0.001) - p.scale(0.0)) / 0.001
    assert pytest.approx(years, abs=0.02) == p.TAU / float(slope)


def test_adult_faces_are_judged_with_the_published_overall_error() -> None:
    """About 8 years root mean square (Clifford, Watson and White 2018, doi 10.1098/rsos.180841; faces of 7 to 70)."""
    rng = np.random.default_rng(1)
    true = rng.uniform(18, 70, 200_000)
    bias, spread = rng.normal(0, p.BIAS_SD, true.size), np.exp(rng.normal(0, p.SPREAD_SD, true.size))
    error = p.TAU * np.sqrt(p.LOOK + (1 - p.LOOK) * spread**2)
    seen = p.scale(true) + bias + error * rng.normal(size=true.size)
    ages = np.interp(seen, p.scale(np.linspace(0, 150, 5000)), np.linspace(0, 150, 5000))
    assert np.sqrt(np.mean((ages - true) ** 2)) == pytest.approx(8, abs=1.5)


def test_children_are_judged_more_closely_than_adults() -> None:
    """Adults are harder to judge than children (qualitative: ISRN Machine Vision 2012)."""
    widths = []
    for low in (1, 8, 30, 60):
        ages = np.linspace(0, 110, 11_001)
        chance = p.judged_mean(replace(p.judgement(low, low), doubt=0.0), ages)
        chance /= chance.sum()
        widths.append(sqrt(float((chance * (ages - (chance * ages).sum()) ** 2).sum())))
    assert widths == sorted(widths)


@pytest.mark.parametrize(("low", "high"), [(6, 8), (0, 0), (30, 40), (0.5, 0.5), (60, 70)])
def test_the_likelihood_is_the_normal_between_the_ends_of_the_interval(low: float, high: float) -> None:
    """Against the formula with the standard library's error function, at the centre point and at a shifted one."""
    end = high + (1 if high == int(high) else 1 / 12)
    for age in (0.2, 1.0, 7.0, 35.0, 64.0, 90.0):
        for bias, spread in ((0.0, 1.0), (0.1, 1.3), (-0.2, 0.6)):
            at = partial(p.younger_than, place=p.scale(age), bias=bias, factor=spread)
            one = p.judgement(low, high)
            found = p.judged(one, at, p.careless(one.low, one.high, np.asarray(age)))
            sd = 0.17 * sqrt(0.59 + 0.41 * spread**2)
            below = phi((g(low) - g(age) - bias) / sd) if low else 0.0
            careful = phi((g(end) - g(age) - bias) / sd) - below
            assert float(found) == pytest.approx(0.95 * careful + 0.05 * careless(age, low, end), abs=1e-12)


def test_an_unknown_judge_is_the_mean_over_all_of_them() -> None:
    """Fifteen points stand for both normals: within 0.4 % of the sum over a fine grid of bias and spread."""
    u = np.linspace(-5, 5, 201)
    bias, spread = (m.ravel() for m in np.meshgrid(0.08 * u, np.exp(0.3 * u)))
    weight = np.outer(np.exp(-(u**2) / 2), np.exp(-(u**2) / 2)).ravel()
    ages = np.linspace(0.0, 90.0, 181)
    at = partial(p.younger_than, place=p.scale(ages)[:, None], bias=bias, factor=spread)
    one = p.judgement(25, 30)
    fine = p.judged(one, at, p.careless(one.low, one.high, ages)[:, None])
    expected = fine @ weight / weight.sum()
    assert np.abs(p.judged_mean(p.judgement(25, 30), ages) - expected).sum() / expected.sum() < 0.004


def test_the_scale_can_be_read_backwards() -> None:
    """The age at g(a) is a, on either side of the bend at 51."""
    ages = np.array([0.0, 0.4, 7.0, 51.0, 80.0])
    assert p.age_at(p.scale(ages)) == pytest.approx(ages)


def test_the_points_have_the_moments_of_two_normals() -> None:
    """Mean 0, variance 1, third moment 0, fourth moment 3 along each axis (Abramowitz and Stegun 25.4.46)."""
    bias, log_factor, weights = p.ANYBODY.bias, np.log(p.ANYBODY.factor), p.ANYBODY.weights
    for values, scale in ((bias, p.BIAS_SD), (log_factor, p.SPREAD_SD)):
        moments = [float(weights @ (values / scale) ** n) for n in range(5)]
        assert moments == pytest.approx([1, 0, 1, 0, 3])
    assert float(weights @ (bias * log_factor)) == pytest.approx(0)


def test_nobody_is_judged_before_birth() -> None:
    """Ages below 0 have likelihood 0, for judged and for stated ages."""
    age = np.array([-3.0, -0.01])
    assert not p.age_likelihood((p.judgement(0, 1),), (), age).any()
    assert not p.stated_age(0, 1, age, exact=False, doubt=0.01).any()


def test_a_careless_judgement_is_the_less_likely_the_farther_off_it_is() -> None:
    """Where nobody careful says "6 to 8" any more, what is left is 0.05, or as much as is doubted, of a normal with 12
    years; "75" of somebody of 32 is thousands of times less likely than of somebody of 75."""
    for age in (35.0, 40.0, 70.0):
        for doubt in (0.05, 0.2):
            found = p.judged_mean(p.judgement(6, 8, doubt=doubt), np.array([age]))[0]
            assert found == pytest.approx(doubt * careless(age, 6, 9), rel=1e-3)
    near, far = p.judged_mean(p.judgement(75, 75), np.array([75.0, 32.0]))
    assert 2_000 < near / far < 20_000


def test_no_slip_is_likelier_than_the_bound_for_it() -> None:
    """At no age, and hardly less at some age of a baby that is called one."""
    ages = np.linspace(0.0, 110.0, 2201)
    for low, high in ((0, 0), (1, 1), (6, 8), (30, 60), (75, 75)):
        one = p.judgement(low, high, doubt=0.2)
        assert 0.2 * p.careless(one.low, one.high, ages).max() < one.slip_at_most <= 0.2
    first = p.judgement(0, 0)
    assert 0.05 * p.careless(first.low, first.high, np.array(0.0)) == pytest.approx(first.slip_at_most, rel=0.01)


def test_careless_judgements_add_up_to_one() -> None:
    """Of somebody of any age, over all ages that could be named: nothing is said of those not born yet."""
    edges = p.scale(np.arange(0.0, 160.0, 5.0))
    for age in (0.0, 8.0, 75.0):
        assert p.careless(edges[:-1], edges[1:], np.asarray(age)).sum() == pytest.approx(1)
        assert p.careless(-np.inf, edges[1], np.asarray(age)) == p.careless(edges[0], edges[1], np.asarray(age))
    assert p.careless(edges[1], edges[2], np.array([-3.0])) == p.careless(edges[1], edges[2], np.array([0.0]))


def test_whoever_looks_again_is_no_surer() -> None:
    """ "6 to 8" and "8 to 10" of one face by one judge count as "7 to 9": the mean centre, the variance of one."""
    both = p.pooled([p.judgement(6, 8), p.judgement(8, 10)])
    assert both.low == pytest.approx((g(6) + g(8)) / 2)
    assert both.high == pytest.approx((g(9) + g(11)) / 2)
    assert p.pooled([p.judgement(6, 8)] * 3) == p.judgement(6, 8)


def test_the_look_is_what_many_judges_do_not_average_out() -> None:
    """The mean of 38 judges errs by 4.6 years where one errs by 6.0 (APPA-REAL, test set of 1,978 faces)."""
    assert sqrt(p.LOOK + (1 - p.LOOK) / 38) == pytest.approx(4.6 / 6.0, abs=0.01)


def test_two_judges_see_one_look() -> None:
    """ "30 to 32" and "36", against a sum over the look, over bias and over spread of both, in plain arithmetic."""
    both, grid = (p.judgement(30, 32), p.judgement(36, 36)), np.linspace(-4, 4, 33)
    bias, spread = (m.ravel() for m in np.meshgrid(0.08 * grid, np.exp(0.3 * grid)))
    weight = np.outer(np.exp(-(grid**2) / 2), np.exp(-(grid**2) / 2)).ravel()
    looks = np.linspace(-5, 5, 201)
    for age in (5.0, 31.0, 60.0):
        total = 0.0
        for look in looks:
            said = np.exp(-(look**2) / 2)
            for low, end in ((30, 33), (36, 37)):
                at = g(age) + look * 0.17 * sqrt(0.59) + bias
                sd = 0.17 * sqrt(0.41) * spread
                careful = ndtr((g(end) - at) / sd) - ndtr((g(low) - at) / sd)
                seen = float(p.age_at(g(age) + look * 0.17 * sqrt(0.59)))
                said *= 0.95 * float(weight @ careful / weight.sum()) + 0.05 * careless(max(seen, 0.0), low, end)
            total += said
        expected = total / np.exp(-(looks**2) / 2).sum()
        assert p.judged_together(both, np.array([age]))[0] == pytest.approx(expected, rel=0.01)


def test_two_judges_are_surer_than_one_but_not_as_sure_as_of_two_faces() -> None:
    """With h = 0.59 the variance of two who agree is 0.59 + 0.41 / 2 = 0.8 of that of one, without their biases."""
    ages, exact = np.linspace(0.0, 90.0, 1801), p.points(bias_sd=1e-6, log_sd=1e-6)
    careful = replace(p.judgement(30, 30), doubt=0.0)
    one, two = (p.judged_together((careful,) * n, ages, [exact] * n) for n in (1, 2))
    variance = []
    for seen in (one, two):
        near = seen * np.gradient(p.scale(ages))
        near /= near.sum()
        variance.append(float(near @ (p.scale(ages) - near @ p.scale(ages)) ** 2))
    assert variance[1] / variance[0] == pytest.approx(0.59 + 0.41 / 2, abs=0.01)


def test_a_look_of_ones_own_is_a_part_of_the_look() -> None:
    """Summed out over the three places, what is left of the look gives the likelihood of anybody again."""
    ages, at = np.linspace(0.0, 90.0, 181), p.OWN_LOOKS[0] * p.TAU * sqrt(p.OWN_LOOK * p.LOOK)
    left = p.LOOK * (1 - p.OWN_LOOK)
    found = sum(
        weight * p.judged_mean(p.judgement(25, 30), ages, p.points(older, look=left))
        for older, weight in zip(at, p.OWN_LOOKS[1], strict=True)
    )
    expected = p.judged_mean(p.judgement(25, 30), ages)
    assert np.abs(found - expected).sum() / expected.sum() < 0.005


def test_a_pull_makes_young_people_older_and_old_people_younger() -> None:
    """A judge who draws a tenth of the way to 30 calls half of those of 10 and of 60 younger than what a tenth of the
    way on the scale makes of them (Clifford, Watson and White 2018: young faces judged older, old ones younger)."""
    for age in (10.0, 60.0):
        drawn = g(age) - 0.1 * (g(age) - g(30))
        assert float(p.younger_than(drawn, p.scale(age), pull=0.1)) == pytest.approx(0.5)
        assert drawn > g(10) if age == 10 else drawn < g(60)


def test_a_stated_age_is_a_probability_over_what_could_be_stated() -> None:
    """ "She was seven": 89.1 % on that year of her life, 9.9 % on it and the years beside it, 1 % anywhere."""
    inside, beside, far = p.stated_age(7, 7, np.array([7.5, 8.5, 40.0]), exact=False, doubt=0.01)
    assert (inside, beside, far) == pytest.approx((0.99 * (0.9 + 0.1 / 3) + 1e-4, 0.99 * 0.1 / 3 + 1e-4, 1e-4))
    assert p.stated_age(7, 7, np.array([8.5]), exact=True, doubt=0.0005)[0] == pytest.approx(0.0005 / 100)


def test_survival_meets_the_life_table() -> None:
    """68 % reach 65 and 18 % reach 85 (United States life table 1949-51, both sexes, from memory, rounded)."""
    assert survival(np.array([-1.0, 0.0])) == pytest.approx([1, 1])
    assert survival(np.array([65.0, 85.0])) == pytest.approx([0.68, 0.18], abs=0.01)
    assert survival(np.array([122.45]))[0] < 1e-9  # the longest documented life, 122 years and 164 days


def test_the_density_of_deaths_is_the_slope_of_survival() -> None:
    """It adds up to one and peaks at the most common age, in the late seventies."""
    ages = np.linspace(0, 130, 130_001)
    assert trapezoid(density(ages), ages) == pytest.approx(1, abs=1e-6)
    assert ages[density(ages).argmax()] == pytest.approx(77.8, abs=0.1)

"""How well lives fit a photograph, against plain numerical integration."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from kinphoto.archive.people.age_fit import Lifetimes, fit
from kinphoto.reason.model import perception
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.reason.model.survival import survival


def day(year: float) -> float:
    """A day in a year, such as 1899.5."""
    return date(int(year), 1, 1).toordinal() + (year % 1) * DAYS_PER_YEAR


def lifetimes(*lives: tuple[float, float, float]) -> Lifetimes:
    """First and last year of birth, last year of life."""
    born, late, died = np.array(lives, dtype=float).T
    days = [np.array([day(y) if np.isfinite(y) else y for y in years]) for years in (born, late, died)]
    return Lifetimes(days[0], days[1], np.nan_to_num(days[0], nan=-np.inf), days[2])


def by_sampling(life: tuple[float, float, float], first: float, last: float, age: tuple[float, float] | None) -> float:
    """The same mean from half a million random births and exposures."""
    dice = np.random.default_rng(1)
    births, times = dice.uniform(life[0], life[1], 500_000), dice.uniform(first, last, 500_000)
    years, all_ages = times - births, np.arange(0.0, 80.0, 0.01)

    def likelihood(at: np.ndarray) -> np.ndarray:
        if age is None:
            return (at >= 0).astype(float)
        return perception.age_likelihood((perception.judgement(*age),), (), at)

    alive = times <= life[2] if np.isfinite(life[2]) else survival(years)
    return float((likelihood(years) * alive).mean() / likelihood(all_ages).mean())


@pytest.mark.parametrize("age", [None, (7, 7), (25, 30), (0.5, 0.5), (60, 122)])
@pytest.mark.parametrize(
    "life", [(1895, 1896, 1980), (1890, 1900, np.inf), (1903, 1912, 1990), (1850, 1860, 1908), (1830, 1831, np.inf)]
)
def test_the_mean_is_that_of_random_births_and_exposures(
    life: tuple[float, float, float], age: tuple[float, float] | None
) -> None:
    """Half-known births, deaths within the time of the photograph, births within it, and deaths that are not known."""
    (found,) = fit(lifetimes(life), day(1904), day(1912), age)
    assert found == pytest.approx(by_sampling(life, 1904, 1912, age), rel=0.05, abs=0.01)


def test_those_who_cannot_have_been_there_have_nothing() -> None:
    """Dead before the first day and born after the last: a factor of 0, whether or not the birth is known."""
    lives = lifetimes((1840, 1840, 1900), (1920, 1920, 1990), (np.nan, np.nan, 1900))
    assert fit(lives, day(1905), day(1910)) == pytest.approx([0, 0, 0])


def test_somebody_of_whom_nothing_is_known_is_neither_favoured_nor_shut_out() -> None:
    """Between those who certainly lived and those who certainly did not."""
    lives = lifetimes((1880, 1880, 1950), (np.nan, np.nan, np.inf), (1840, 1840, 1900))
    sure, unknown, dead = fit(lives, day(1905), day(1910))
    assert sure > unknown > dead


def test_a_fitting_age_brings_somebody_forward() -> None:
    """A child of seven in 1905 was born about 1898: judged 6 to 8, she fits better than her sister of twelve, and that
    one better than their mother."""
    seven, twelve, mother = fit(lifetimes((1898, 1898, 1980), (1893, 1893, 1980), (1870, 1870, 1950)),
                                day(1905), day(1906), (6, 8))  # fmt: skip
    assert seven > 3 > twelve > mother

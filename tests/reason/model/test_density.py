"""The densities of days, each against scipy's distributions, a plain sum over days, or arithmetic by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import cumulative_trapezoid

from kinphoto.reason.model import density as d
from kinphoto.reason.model.span import Dated, Shape, Span, doubted, span_of_years

YEAR = 365.2425
START, END = date(1826, 1, 1).toordinal(), date(2024, 7, 1).toordinal()


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    return date(year, month, of_month).toordinal()


def test_what_may_be_wrong_counts_for_its_chance() -> None:
    """A statement wrong once in twenty, five times as likely where it is right: 0.95 * 5 + 0.05, by hand."""
    assert d.mixture(0.05, np.array([5.0, 0.0])) == pytest.approx([4.8, 0.05])
    assert d.mixture(np.array([0.0, 1.0]), 5.0, 2.0) == pytest.approx([5, 2])


def test_a_normal_day_is_the_standard_librarys() -> None:
    """About the noon of the day, and the logarithm of its shape: scipy's normal distribution."""
    at = np.linspace(-3, 3, 7) * 40 + 1000
    assert d.normal(at, 999.5, 40.0) == pytest.approx(stats.norm(1000, 40).cdf(at))
    assert np.diff(d.log_bell(at, 1000.0, 40.0)) == pytest.approx(np.diff(stats.norm(1000, 40).logpdf(at)))


@pytest.mark.parametrize("mean", [300.0, -300.0])
def test_before_and_after_fade_from_the_day_that_is_told(mean: float) -> None:
    """An exponential cut at the other end, back from the last day or on from the first: scipy's truncexpon."""
    at = np.linspace(900, 2100, 25)
    cut = stats.truncexpon(b=1000 / 300, loc=1000, scale=300)
    expected = cut.cdf(at) if mean < 0 else 1 - cut.cdf(3000 - at)
    assert d.fading(at, 1000.0, 2000.0, mean) == pytest.approx(expected)


def test_a_doubtful_year_is_mostly_as_stated() -> None:
    """ "1931?": 60 % the year, 35 % normal about its middle with 1.5 years and its own deviation, 5 % flat over 21."""
    dated = doubted(Dated(span_of_years(1931, 1931), doubtful=True))
    at = np.linspace(day(1915), day(1950), 400)
    stated = stats.uniform(day(1931), 365).cdf(at)
    bell = stats.norm((day(1931) + day(1931, 12, 31) + 1) / 2, 1.5 * YEAR + 365 / 12**0.5).cdf(at)
    assert dated.span.first is not None
    assert dated.span.last is not None
    wide = stats.uniform(dated.span.first, dated.span.last + 1 - dated.span.first).cdf(at)
    expected = 0.6 * stated + 0.35 * bell + 0.05 * wide
    assert d.before(at, d.of_date(dated, START, END)) == pytest.approx(expected)


def test_an_open_date_fades_only_where_it_is_said_of_a_picture() -> None:
    """ "Before 1914" of a picture: half of it within 10 ln 2 years; of a birth, flat over all that is left."""
    dated = Dated(span_of_years(None, 1913), Shape.BEFORE)
    half = day(1914) - 10 * YEAR * np.log(2)
    assert d.before(half, d.of_date(dated, START, END, fades=True)) == pytest.approx(0.5, abs=1e-3)
    middle = (START + day(1914)) / 2
    assert d.before(middle, d.of_date(dated, START, END)) == pytest.approx(0.5)


def test_a_date_of_which_nothing_is_left_tells_nothing() -> None:
    """Wholly after what the laws allow: no probability anywhere."""
    at = np.linspace(START, END, 50)
    assert not d.before(at, d.of_date(Dated(span_of_years(2030, 2031)), START, END)).any()


def test_many_dates_at_once_are_each_as_alone() -> None:
    """Arrays of parameters broadcast: every kind of date, stacked and taken in another order."""
    dates = [
        Dated(span_of_years(1900, 1900)),
        Dated(span_of_years(1890, 1910), Shape.ABOUT, float(day(1900, 7, 2)), 2.5 * YEAR),
        doubted(Dated(span_of_years(1931, 1931), doubtful=True)),
        Dated(span_of_years(None, 1913), Shape.BEFORE),
        doubted(Dated(span_of_years(1950, None), Shape.AFTER, doubtful=True)),
    ]
    alone = [d.of_date(one, START, END, fades=True) for one in dates]
    order = np.array([3, 0, 4, 4, 2, 1])
    at = np.linspace(START, END, 301)[:, None]
    together = d.before(at, d.DateDensity.stack(alone).take(order))
    assert together == pytest.approx(np.concatenate([d.before(at, alone[i]) for i in order], axis=1))


def test_a_christening_comes_soon_after_the_birth() -> None:
    """80 % within 60 days; the others 60 days and five years before in the mean, exponential: scipy's."""
    at = np.linspace(-20 * YEAR, 10, 400)
    late = 1 - stats.expon(scale=5 * YEAR).cdf(-60 - at)
    soon = stats.uniform(-60, 60).cdf(at)
    assert d.before_christening(at, 0.0) == pytest.approx(0.2 * late + 0.8 * soon)


@pytest.mark.parametrize("bell", [False, True])
@pytest.mark.parametrize("lag", [d.POSTED, d.WRITTEN])
def test_a_postmark_is_later_than_the_print_by_its_lag(lag: d.Lag, bell: bool) -> None:
    """P = D - T against a sum over days of D and T: within a day's rounding."""
    span = Span(day(1930), day(1931, 12, 31))
    dated = Dated(span, Shape.ABOUT, float(day(1930, 12, 31)), 0.2 * YEAR) if bell else Dated(span)
    of = d.of_date(dated, START, END)
    waits = np.arange(0, 105 * 366) + 0.5
    soon, late = (stats.expon(scale=float(mean)).pdf(waits) for mean in (lag.soon, lag.late))
    share = lag.share * soon + (1 - lag.share) * late
    days = np.arange(START, day(1932))
    told = np.diff(d.before(np.arange(START, day(1932) + 1.0), of))
    printed = np.convolve(told[::-1], share)[: len(days)][::-1]  # of each day P
    expected = np.cumsum(printed) / printed.sum()
    found = d.before_lag(days + 1.0, of, lag, START)
    assert np.abs(found - expected).max() < 2e-3


def test_prints_follow_exposures() -> None:
    """85 % spread over the first year and 15 % exponential with a mean of 20 years: scipy's, and the integral of it."""
    waits = np.linspace(-YEAR, 60 * YEAR, 20_001)
    expected = 0.85 * stats.uniform(0, YEAR).cdf(waits) + 0.15 * stats.expon(scale=20 * YEAR).cdf(waits)
    assert d.printed(waits) == pytest.approx(expected)
    area = cumulative_trapezoid(expected, waits, initial=0)
    assert d.printed_area(waits) == pytest.approx(area, abs=1.0)
    assert d.printed(60.0, d.SENT_SHARE, d.SENT_PROMPT) == pytest.approx(0.95, abs=1e-3)


def test_prints_of_a_laboratory_mostly_follow_within_weeks() -> None:
    """45 % within 90 days, as many within one and a half years, 10 % exponential with a mean of 20 years: scipy's."""
    waits = np.linspace(-YEAR, 60 * YEAR, 20_001)
    parts = stats.uniform(0, 90), stats.uniform(0, 1.5 * YEAR), stats.expon(scale=20 * YEAR)
    expected = sum(share * part.cdf(waits) for share, part in zip((0.45, 0.45, 0.1), parts, strict=True))
    soon = d.LABORATORY_SHARE, d.LABORATORY, d.WITHIN_WEEKS
    assert d.printed(waits, *soon) == pytest.approx(expected)
    assert d.printed_area(waits, *soon) == pytest.approx(cumulative_trapezoid(expected, waits, initial=0), abs=1.0)


def test_a_picture_of_an_event_is_mostly_of_the_day() -> None:
    """5 % the day before, 60 % the day, 20 % within the week, the rest within 60 days; and the integral of it."""
    assert d.after_event(np.array([-2.0, 0.0, 1.0, 8.0, 61.0, 90.0])) == pytest.approx([0, 0.05, 0.65, 0.85, 1, 1])
    waits = np.linspace(-5, 90, 95_001)
    area = cumulative_trapezoid(d.after_event(waits), waits, initial=0)
    assert d.after_event_area(waits) == pytest.approx(area, abs=1e-4)


def test_a_portrait_after_death_is_of_the_sixty_days_after_it() -> None:
    """Somebody who died on day 100 for certain: 1 / 60 of R on each of the days 100 to 159, none before or later."""
    days = np.array([99.0, 100.0, 159.0, 160.0])
    alive = lambda day: (day < 100).astype(float)  # noqa: E731
    assert d.laid_out(alive(days - 60), alive(days), 600.0) == pytest.approx([0, 10, 10, 0])


def test_a_remembered_year_is_off_by_a_few() -> None:
    """Normal with 2.5 years in whole years, or any of them with 5 %: rows add up to one, and four years off by hand."""
    table = d.recalled(np.arange(1920, 1931), 0.05)
    assert table.sum(axis=1) == pytest.approx(np.ones(11))
    bell = stats.norm(0, 2.5)
    weights = [bell.cdf(k + 0.5) - bell.cdf(k - 0.5) for k in range(-13, 14)]
    assert table[5, 5 + 8 + 4] == pytest.approx(0.95 * weights[13 + 4] / sum(weights) + 0.05 / 27)

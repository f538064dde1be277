"""From posteriors to dates: properties that hold for every posterior, and EDTF as the standard has it."""

from datetime import date

import numpy as np
import pytest
from edtf import parse_edtf
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years
from kinphoto.reason.soft.grid import Grid
from kinphoto.reason.soft.summary import Posterior, days, inferred_edtf, shortest, stated_edtf, summaries


@st.composite
def posteriors(draw: st.DrawFn) -> Posterior:
    """Up to 30 cells of 1 to 120 days with any probabilities, some of them nothing."""
    n = draw(st.integers(1, 30))
    widths = draw(st.lists(st.floats(1, 120), min_size=n, max_size=n))
    mass = np.array(draw(st.lists(st.one_of(st.just(0.0), st.floats(1e-6, 1)), min_size=n, max_size=n)))
    mass[draw(st.integers(0, n - 1))] += 0.5
    return Posterior(700_000 + np.concatenate([[0.0], np.cumsum(widths)]), mass / mass.sum())


@given(posteriors())
def test_the_likely_range_holds_nine_tenths(posterior: Posterior) -> None:
    """Exactly 90 %, measured by adding up the parts of cells inside it."""
    start, end = shortest(posterior)
    inside = np.clip(np.minimum(posterior.edges[1:], end) - np.maximum(posterior.edges[:-1], start), 0, None) / np.diff(
        posterior.edges
    )
    assert float(inside @ posterior.mass) == pytest.approx(0.9, abs=1e-6)


@given(posteriors(), st.floats(0, 0.1))
def test_no_other_interval_with_nine_tenths_is_shorter(posterior: Posterior, below: float) -> None:
    """Whatever share lies below it, an interval that holds 90 % is at least as long."""
    start, end = shortest(posterior)
    rising = np.concatenate([[0.0], np.cumsum(posterior.mass)])

    def first_point(share: float) -> float:
        i = int(np.searchsorted(rising, share, side="left")) - 1
        i = min(max(i, 0), len(posterior.mass) - 1)
        if posterior.mass[i] == 0:
            return float(posterior.edges[i + 1])
        return float(posterior.edges[i] + (share - rising[i]) / posterior.mass[i] * np.diff(posterior.edges)[i])

    def last_point(share: float) -> float:
        i = min(int(np.searchsorted(rising, share, side="right")) - 1, len(posterior.mass) - 1)
        if posterior.mass[i] == 0:
            return float(posterior.edges[i])
        return float(posterior.edges[i] + (share - rising[i]) / posterior.mass[i] * np.diff(posterior.edges)[i])

    other = first_point(below + 0.9) - last_point(below)
    assert end - start <= min(other + 10, other * 1.005) + 1e-6  # less than ten days, or half a percent, is equal


@given(posteriors())
def test_the_median_has_half_on_either_side_and_lies_inside(posterior: Posterior) -> None:
    """Half the probability is below it, and it is never outside the possible."""
    middle = posterior.quantile(0.5)
    assert posterior.edges[0] <= middle <= posterior.edges[-1]
    assert posterior.holds(posterior.edges[0], middle) == pytest.approx(0.5, abs=1e-6)


def test_a_flat_posterior_gives_the_middle_nine_tenths() -> None:
    """All ranges are equally short, so it is the middle one: 5 to 95 of 100 days."""
    flat = Posterior(np.array([0.0, 13.0, 50.0, 100.0]), np.array([0.13, 0.37, 0.5]))
    assert shortest(flat) == pytest.approx((5, 95))


def test_a_hairs_breadth_does_not_move_the_range() -> None:
    """Ten years that fade by a thousandth are as good as flat: the range stays in the middle."""
    mass = np.linspace(1.0005, 0.9995, 40)
    start, end = shortest(Posterior(np.arange(41) * 91.0, mass / mass.sum()))
    assert start == pytest.approx(3640 - end, abs=100)


def test_the_range_moves_as_little_as_the_posterior() -> None:
    """A normal of four years on quarter-years is told, in steps of a hundredth, to be later: each step moves the range
    by the days that it moves the normal (15), and not from one edge of a cell to the next."""
    day = (np.arange(160) + 0.5) * 91.0
    z = (day - 80 * 91) / (4 * 365.25)
    ranges = [
        shortest(Posterior(np.arange(161) * 91.0, mass / mass.sum()))
        for step in range(40)
        for mass in [np.exp(-(z**2) / 2 + 0.01 * step * z)]
    ]
    moved = np.diff(np.array(ranges), axis=0)
    assert np.all((moved > 10) & (moved < 20))
    assert moved.mean() == pytest.approx(0.01 * 4 * 365.25, rel=0.1)


def test_a_peak_at_the_end_is_kept() -> None:
    """Ten times denser in the last tenth: the range is taken from that end."""
    assert shortest(Posterior(np.array([0.0, 90.0, 100.0]), np.array([0.45, 0.55])))[1] == pytest.approx(100)


@given(st.lists(posteriors(), max_size=4))
def test_many_are_read_as_each_is_by_itself(alone: list[Posterior]) -> None:
    """Rows read together, none at all among them, have the median and the range that each has by itself."""
    edges = [one.edges for one in alone]
    start = np.cumsum([0, *(len(e) - 1 for e in edges)])
    left, right = (np.concatenate([np.zeros(0), *(e[part] for e in edges)]) for part in (slice(-1), slice(1, None)))
    mass = np.concatenate([np.zeros(0), *(one.mass for one in alone)])
    middles, starts, ends = summaries(Grid(start, left, right), mass)
    assert len(middles) == len(alone)
    for one, middle, first, last in zip(alone, middles, starts, ends, strict=True):
        assert middle == pytest.approx(one.quantile(0.5), abs=0.5)
        assert last - first == pytest.approx(np.subtract(*shortest(one)[::-1]), abs=0.01)


def test_days_are_those_an_interval_touches() -> None:
    """Day d is the interval from d to d + 1."""
    assert days(10.0, 11.0) == (10, 10)
    assert days(10.2, 12.7) == (10, 12)
    assert days(5.0, 5.0) == (5, 5)


@pytest.mark.parametrize(
    ("first", "last", "text"),
    [
        (date(1923, 2, 1), date(1923, 11, 30), "1923?"),
        (date(1918, 5, 1), date(1925, 2, 1), "[1918..1925]"),
        (date(1899, 12, 31), date(1900, 1, 1), "[1899..1900]"),
    ],
)
def test_an_inferred_date_is_always_qualified(first: date, last: date, text: str) -> None:
    """`1923?` inside one year, `[1918..1925]` otherwise (EDTF, Library of Congress 2019); no day or month is named."""
    assert inferred_edtf(first.toordinal(), last.toordinal()) == text
    assert parse_edtf(text) is not None  # an independent reader of EDTF


def stated(first: date | None, last: date | None, **more: object) -> Dated:
    return Dated(Span(first and first.toordinal(), last and last.toordinal()), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("dated", "text"),
    [
        (stated(date(1923, 5, 2), date(1923, 5, 2)), "1923-05-02"),
        (stated(date(1923, 2, 1), date(1923, 2, 28)), "1923-02"),
        (stated(date(1924, 2, 1), date(1924, 2, 29)), "1924-02"),
        (Dated(span_of_years(1923, 1923)), "1923"),
        (Dated(span_of_years(1923, 1923), doubtful=True), "1923?"),
        (Dated(span_of_years(1920, 1929)), "192X"),
        (Dated(span_of_years(1918, 1925)), "[1918..1925]"),
        (Dated(span_of_years(None, 1925), Shape.BEFORE), "[..1925]"),
        (Dated(span_of_years(1925, None), Shape.AFTER), "[1925..]"),
        (stated(date(1923, 3, 1), date(1923, 5, 31)), "[1923-03..1923-05]"),
        (stated(date(1923, 3, 4), date(1923, 5, 6)), "[1923-03-04..1923-05-06]"),
        (
            Dated(span_of_years(1913, 1933), Shape.ABOUT, float(date(1923, 7, 2).toordinal()), 913.0),
            "1923~",
        ),
        (
            Dated(span_of_years(1913, 1933), Shape.ABOUT, float(date(1923, 7, 2).toordinal()), 913.0, doubtful=True),
            "1923%",
        ),
    ],
)
def test_a_stated_date_stays_as_stated(dated: Dated, text: str) -> None:
    """As exact as it was told, in the forms of EDTF levels 0 to 2."""
    assert stated_edtf(dated) == text
    assert parse_edtf(text) is not None

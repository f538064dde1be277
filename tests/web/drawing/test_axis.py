"""The axis of years: where days lie and which years are named."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.web.drawing.axis import Axis, axis_around

days = st.dates(min_value=date(1500, 1, 1), max_value=date(2200, 12, 31)).map(date.toordinal)


@given(st.lists(days, min_size=1, max_size=8), st.floats(0, 20))
def test_every_day_is_inside_in_the_order_of_time(some: list[int], margin: float) -> None:
    """Days lie between left and right, later ones never further left, and each is where its share of the time is."""
    axis = axis_around(some, margin, 100, 900)
    places = [axis.x(day) for day in sorted(some)]
    assert places == sorted(places)
    assert all(100 <= x <= 900 for x in places)
    share = (some[0] - axis.first) / (axis.last - axis.first)
    assert axis.x(some[0]) == pytest.approx(100 + 800 * share, abs=0.06)


@given(days, st.integers(1, 400))
def test_round_years_are_named_and_not_too_many(first: int, years: int) -> None:
    """Each tick stands on the first of January of the year it names, at even steps, at most a dozen and one."""
    axis = Axis(first, first + int(years * 365.2425), 0, 1000)
    ticks = axis.ticks(12)
    assert len(ticks) <= 13
    named = [int(tick.label) for tick in ticks]
    assert len({b - a for a, b in pairwise(named)}) <= 1
    assert all(tick.x == axis.x(date(int(tick.label), 1, 1).toordinal()) for tick in ticks)


def test_an_open_end_goes_to_the_edge() -> None:
    """What is open is drawn to the edge it is open to."""
    axis = Axis(700_000, 710_000, 50, 950)
    assert (axis.x(None), axis.x(None, axis.right)) == (50, 950)
    assert (axis.x(1), axis.x(10**6)) == (50, 950)

"""Days, years and spans."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kinphoto.reason.model.span import Span, at_least, at_most, iso, span_of_years, year_of

days = st.integers(1, 1_000_000)
ends = st.none() | days
spans = st.builds(Span, ends, ends)


@given(st.dates(date(1, 1, 1), date(9000, 1, 1)), st.integers(0, 150))
def test_a_number_of_birthdays_lies_between_the_fewest_and_the_most_days(born: date, years: int) -> None:
    """Any `years` calendar years last at least `at_least` and at most `at_most` days (Python's own calendar)."""
    try:
        later = born.replace(year=born.year + years)
    except ValueError:  # 29 February in a year that has none
        later = born.replace(year=born.year + years, day=28)
    assert at_least(years) <= (later - born).days <= at_most(years)


def test_the_mean_gregorian_year() -> None:
    """400 Gregorian years hold 146,097 days (ISO 8601's calendar): the two bounds differ by at most four days."""
    assert date(2000, 1, 1).toordinal() - date(1600, 1, 1).toordinal() == 146_097
    assert all(at_most(n) - at_least(n) <= 4 for n in range(150))


@given(spans, spans, days)
def test_meet_holds_the_days_in_both(a: Span, b: Span, day: int) -> None:
    """A day is in the meet exactly when it is in both spans."""
    assert holds(a.meet(b), day) == (holds(a, day) and holds(b, day))


@given(spans, spans, days)
def test_hull_holds_the_days_of_either(a: Span, b: Span, day: int) -> None:
    """Whatever is in one of two spans is in their hull."""
    if holds(a, day) or holds(b, day):
        assert holds(a.hull(b), day)


def test_a_year_runs_from_january_to_december() -> None:
    """1917 is 1 January 1917 to 31 December 1917; an open end stays open."""
    assert span_of_years(1917, 1917) == Span(date(1917, 1, 1).toordinal(), date(1917, 12, 31).toordinal())
    assert span_of_years(1917, None).last is None
    assert not span_of_years(None, 1917).bounded


def test_days_outside_the_calendar_are_clipped() -> None:
    """Days before year 1 or after 9999 show as the nearest day there is."""
    assert iso(-400) == "0001-01-01"
    assert iso(10**9) == "9999-12-31"
    assert iso(None) is None
    assert year_of(date(1917, 5, 2).toordinal()) == 1917


def test_an_empty_span() -> None:
    """A span whose first day comes after its last holds nothing."""
    assert Span(5, 4).empty
    assert not Span(5, 5).empty
    assert not Span(None, 4).empty


def holds(span: Span, day: int) -> bool:
    """Whether a day is in a span."""
    return (span.first is None or span.first <= day) and (span.last is None or day <= span.last)

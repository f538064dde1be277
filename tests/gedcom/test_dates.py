"""Dates as trees and people write them."""

from __future__ import annotations

from datetime import date

import pytest
from convertdate import french_republican, hebrew, julian
from ged4py.date import DateValue
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.calendars import day_number, year_month_day
from kinphoto.gedcom.dates import parse_date, read_gedcom
from kinphoto.gedcom.wording import words
from kinphoto.reason.model.span import DAYS_PER_YEAR, Shape, iso


def span(text: str) -> tuple[str | None, str | None]:
    """First and last day of a GEDCOM date, in ISO form."""
    found = read_gedcom(text).dated.span
    return iso(found.first), iso(found.last)


# Examples of the GEDCOM 5.5.1 specification (DATE_VALUE and its parts) and of the 7.0 specification (section Date),
# from memory; what each covers follows the definitions there.
EXAMPLES = [
    ("1880", ("1880-01-01", "1880-12-31")),
    ("MAY 1804", ("1804-05-01", "1804-05-31")),
    ("10 JUL 1905", ("1905-07-10", "1905-07-10")),
    ("FROM 1904 TO 1915", ("1904-01-01", "1915-12-31")),
    ("FROM 1904", ("1904-01-01", None)),
    ("TO 1915", (None, "1915-12-31")),
    ("BEF 1852", (None, "1852-12-31")),
    ("AFT 1852", ("1852-01-01", None)),
    ("BET 1852 AND 1860", ("1852-01-01", "1860-12-31")),
    ("BET 1 JAN 1900 AND 31 DEC 1905", ("1900-01-01", "1905-12-31")),
    ("(unknown)", (None, None)),
    ("1699/00", ("1700-01-01", "1700-12-31")),
    ("10 FEB 1731/32", ("1732-02-10", "1732-02-10")),
    ("@#DGREGORIAN@ 2 MAY 1917", ("1917-05-02", "1917-05-02")),
    ("@#DJULIAN@ 25 OCT 1917", ("1917-11-07", "1917-11-07")),
    ("JULIAN 30 JAN 1649", ("1649-02-09", "1649-02-09")),
    ("GREGORIAN 20 JAN 2022", ("2022-01-20", "2022-01-20")),
    ("FRENCH_R 18 BRUM 8", ("1799-11-09", "1799-11-09")),
    ("@#DFRENCH R@ 18 BRUM 8", ("1799-11-09", "1799-11-09")),
    ("@#DHEBREW@ 5 IYR 5708", ("1948-05-14", "1948-05-14")),
    ("FROM JULIAN 1 MAR 1700 TO GREGORIAN 1 MAR 1701", ("1700-03-12", "1701-03-01")),
    ("@#DJULIAN@ BEF 25 OCT 1917", (None, "1917-11-07")),
]


@pytest.mark.parametrize(("text", "expected"), EXAMPLES)
def test_examples_of_the_specifications(text: str, expected: tuple[str | None, str | None]) -> None:
    """Both versions' own ways of writing dates cover the days they stand for, without a word of warning."""
    assert span(text) == expected
    assert read_gedcom(text).warning == ""
    assert read_gedcom(text).dated.words == text


@pytest.mark.parametrize(
    ("text", "years", "deviation"),
    [("ABT 1900", 10, 2.5), ("CAL 1900", 5, 1.2), ("EST 1900", 25, 6.0), ("INT 1900 (the year of the fair)", 10, 2.5)],
)
def test_approximate_dates_are_widened(text: str, years: int, deviation: float) -> None:
    """By whole years each way, with the middle most likely (the project's own figures)."""
    dated = read_gedcom(text).dated
    assert (iso(dated.span.first), iso(dated.span.last)) == (f"{1900 - years}-01-01", f"{1900 + years}-12-31")
    assert dated.shape is Shape.ABOUT
    assert dated.centre == date(1900, 7, 2).toordinal()
    assert dated.spread == pytest.approx(deviation * DAYS_PER_YEAR)


def test_open_ends_have_their_shape() -> None:
    """BEF and TO are open at the start, AFT and FROM at the end, all others flat."""
    shapes = {text: read_gedcom(text).dated.shape for text in ("BEF 1900", "TO 1900", "AFT 1900", "FROM 1900", "1900")}
    assert list(shapes.values()) == [Shape.BEFORE, Shape.BEFORE, Shape.AFTER, Shape.AFTER, Shape.FLAT]


@given(st.integers(1, 9999), st.integers(1, 12), st.integers(1, 28))
def test_julian_days_against_convertdate(year: int, month: int, day: int) -> None:
    """Day by day, the Julian calendar is that of convertdate."""
    months = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()
    expected = day_number(*(int(part) for part in julian.to_gregorian(year, month, day)))
    assert read_gedcom(f"JULIAN {day} {months[month - 1]} {year}").dated.span.first == expected


@given(st.integers(1, 14), st.integers(1, 12), st.integers(1, 30))
def test_republican_days_against_convertdate(year: int, month: int, day: int) -> None:
    """Over the years it was in use, the French Republican calendar is that of convertdate."""
    months = "VEND BRUM FRIM NIVO PLUV VENT GERM FLOR PRAI MESS THER FRUC".split()
    expected = day_number(*(int(part) for part in french_republican.to_gregorian(year, month, day)))
    assert read_gedcom(f"FRENCH_R {day} {months[month - 1]} {year}").dated.span.first == expected


@given(st.integers(5000, 5999), st.integers(0, 12), st.integers(1, 29))
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_hebrew_days_against_convertdate(year: int, at: int, day: int) -> None:
    """GEDCOM counts from Tishri, convertdate from Nisan; in a common year there is one Adar."""
    codes = "TSH CSH KSL TVT SHV ADR ADS NSN IYR SVN TMZ AAV ELL".split()
    numbers = [7, 8, 9, 10, 11, 12, 13 if hebrew.leap(year) else 12, 1, 2, 3, 4, 5, 6]
    expected = day_number(*(int(part) for part in hebrew.to_gregorian(year, numbers[at], day)))
    assert read_gedcom(f"@#DHEBREW@ {day} {codes[at]} {year}").dated.span.first == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("JULIAN 1700", ("1700-01-11", "1701-01-11")),  # a leap year there, and eleven days apart from March on
        ("FRENCH_R 3", ("1794-09-22", "1795-09-22")),  # year III had six extra days
        ("FRENCH_R COMP 3", ("1795-09-17", "1795-09-22")),
        ("HEBREW 5784", ("2023-09-16", "2024-10-02")),  # a leap year, from one New Year's Day to the eve of the next
        ("HEBREW ADS 5784", ("2024-03-11", "2024-04-08")),
        ("JULIAN FEB 1900", ("1900-02-13", "1900-03-13")),
    ],
)
def test_months_and_years_of_every_calendar(text: str, expected: tuple[str, str]) -> None:
    """A month or a year alone is all of its days (checked by hand against printed calendars, from memory)."""
    assert span(text) == expected


@pytest.mark.parametrize(
    "text", ["31 FEB 1900", "29 FEB 1900", "31 APR 1901", "0", "BET 31 FEB 1900 AND 1901", "99999"]
)
def test_days_that_never_were_are_kept_as_words(text: str) -> None:
    """They bound nothing, and the reader is told."""
    reading = read_gedcom(text)
    assert (reading.dated.span.first, reading.dated.span.last) == (None, None)
    assert "no such date" in reading.warning
    assert reading.dated.words == text


def test_29_february_is_a_day_in_some_calendars_only() -> None:
    """1900 was a leap year in the Julian calendar and none in the Gregorian."""
    assert span("JULIAN 29 FEB 1900") == ("1900-03-13", "1900-03-13")
    assert span("29 FEB 1904") == ("1904-02-29", "1904-02-29")
    assert span("29 FEB 1900") == (None, None)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("c. 1900", ("1890-01-01", "1910-12-31")),
        ("about 1900", ("1890-01-01", "1910-12-31")),
        ("1900-1905", ("1900-01-01", "1905-12-31")),
        ("1900/1905", ("1900-01-01", "1905-12-31")),
        ("between 1900 and 1905", ("1900-01-01", "1905-12-31")),
        ("1 January 1900", ("1900-01-01", "1900-01-01")),
        ("May 2nd, 1917", ("1917-05-02", "1917-05-02")),
        ("Sept. 1900", ("1900-09-01", "1900-09-30")),
        ("1917-05-02", ("1917-05-02", "1917-05-02")),
        ("before 1905", (None, "1905-12-31")),
        ("BET 1905 AND 1900", ("1900-01-01", "1905-12-31")),
    ],
)
def test_what_people_write_is_read_with_a_warning(text: str, expected: tuple[str | None, str | None]) -> None:
    """The most common spellings outside the standard."""
    assert span(text) == expected
    assert read_gedcom(text).warning != ""


def test_a_question_mark_is_a_doubt() -> None:
    """The date stands as it is, and is trusted less."""
    for dated in (read_gedcom("1900?").dated, parse_date("1924?")):
        assert dated.doubtful
        assert dated.span.bounded


def test_years_before_christ_and_beyond_9999() -> None:
    """44 B.C. is the astronomical year -43; a year of five digits is none."""
    first = read_gedcom("15 MAR 44 B.C.").dated.span.first
    assert first is not None
    assert year_month_day(first) == (-43, 3, 15)
    assert read_gedcom("15 MAR 44 BCE").dated.span.first == first
    assert read_gedcom("12345678901234567890 B.C.").dated.span.first is None


@given(st.integers(-9998, 9999), st.integers(1, 12), st.integers(1, 28))
def test_day_numbers_go_both_ways(year: int, month: int, day: int) -> None:
    """A day of any year comes back as itself, and agrees with the standard library where that reaches."""
    number = day_number(year, month, day)
    assert year_month_day(number) == (year, month, day)
    if year >= 1:
        assert number == date(year, month, day).toordinal()


@given(st.text(max_size=40))
def test_no_text_makes_the_reader_stumble(text: str) -> None:
    """Whatever a file holds, there is an answer: some days, or none and the words."""
    dated = read_gedcom(text).dated
    assert not dated.span.empty
    assert isinstance(words(dated), str)


@given(st.sampled_from(["", "ABT ", "BEF ", "AFT ", "FROM ", "TO "]), st.integers(1, 28), st.integers(1583, 2100))
def test_order_agrees_with_ged4py(qualifier: str, day: int, year: int) -> None:
    """Dates that ged4py sorts as earlier do not begin later here (its own order, for the Gregorian calendar)."""
    one, other = f"{qualifier}{day} MAY {year}", f"{qualifier}{day} MAY {year + 1}"
    assert DateValue.parse(one) < DateValue.parse(other)
    a, b = read_gedcom(one).dated.span, read_gedcom(other).dated.span
    assert (a.first or 0) <= (b.first or 0)
    assert (a.last or 0) <= (b.last or 0)


@pytest.mark.parametrize(
    "text", ["", "hello", "(a phrase)", "31 FEB 1900", "1924-13", "BET 1905 AND 1900", "1950/1940"]
)
def test_what_a_person_gave_and_is_no_date_is_refused(text: str) -> None:
    """With what to write instead."""
    with pytest.raises(InvalidValueError) as caught:
        parse_date(text)
    assert caught.value.remedy


@pytest.mark.parametrize("text", ["2 MAY 1917", "1917-05-02", "2 May 1917"])
def test_gedcom_edtf_and_english_mean_the_same(text: str) -> None:
    """A person may give a date in any of the three."""
    found = parse_date(text)
    assert (iso(found.span.first), iso(found.span.last), found.words) == ("1917-05-02", "1917-05-02", text)

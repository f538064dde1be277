"""Dates as people say them of a photograph."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.easter import easter

from kinphoto.errors import InvalidValueError, UnclearDateError
from kinphoto.gedcom.dates import parse_photograph_date, read_gedcom
from kinphoto.reason.model.span import DAYS_PER_YEAR, Shape, iso

TODAY = date(2026, 3, 1)

# What each covers is the table "As people say it" of docs/method.md, worked out by hand.
SAID = [
    ("[1931]", "1931-01-01", "1931-12-31"),
    ("(1931)", "1931-01-01", "1931-12-31"),
    ("the thirties", "1930-01-01", "1939-12-31"),
    ("30s", "1930-01-01", "1939-12-31"),
    ("in the '30s", "1930-01-01", "1939-12-31"),
    ("190?", "1900-01-01", "1909-12-31"),
    ("193-", "1930-01-01", "1939-12-31"),
    ("19??", "1900-01-01", "1999-12-31"),
    ("the 1800s", "1800-01-01", "1899-12-31"),
    ("early 1900s", "1900-01-01", "1914-12-31"),
    ("early 1930s", "1930-01-01", "1934-12-31"),
    ("mid-1950s", "1953-01-01", "1957-12-31"),
    ("late 1890s", "1895-01-01", "1899-12-31"),
    ("the late thirties", "1935-01-01", "1939-12-31"),
    ("late 19th century", "1870-01-01", "1899-12-31"),
    ("turn of the century", "1895-01-01", "1905-12-31"),
    ("1920s or 1930s", "1920-01-01", "1939-12-31"),
    ("early 1931", "1931-01-01", "1931-04-30"),
    ("summer of 1931", "1931-06-01", "1931-08-31"),
    ("spring 31", "1931-03-01", "1931-05-31"),
    ("winter 1931/32", "1931-12-01", "1932-02-29"),
    ("Xmas 1931", "1931-12-20", "1932-01-06"),
    ("New Year 1932", "1932-01-01", "1932-01-01"),
    ("'31", "1931-01-01", "1931-12-31"),
    ("12.6.31", "1931-06-12", "1931-06-12"),
    ("13/6/31", "1931-06-13", "1931-06-13"),
    ("6/13/1931", "1931-06-13", "1931-06-13"),
    ("June 12th, 1931", "1931-06-12", "1931-06-12"),
    ("July 4 '31", "1931-07-04", "1931-07-04"),
    ("Jun 31", "1931-06-01", "1931-06-30"),  # June has no 31st, so it is the year
    ("1904/5", "1904-01-01", "1905-12-31"),
    ("1931/32", "1931-01-01", "1932-12-31"),
    ("1899/00", "1899-01-01", "1900-12-31"),
    ("1931-32", "1931-01-01", "1932-12-31"),
    ("1904-05", "1904-05-01", "1904-05-31"),  # a month, as ISO 8601 writes it
    ("1914-18", "1914-01-01", "1918-12-31"),
    ("1931 or 1932", "1931-01-01", "1932-12-31"),
    ("between 1930 and 1935", "1930-01-01", "1935-12-31"),
    ("1930..1935", "1930-01-01", "1935-12-31"),
    ("during the First World War", "1914-01-01", "1918-12-31"),
    ("before WW2", None, "1939-12-31"),
    ("shortly before 1914", "1911-01-01", "1914-12-31"),
    ("not before 1931", "1931-01-01", None),
    ("19310612", "1931-06-12", "1931-06-12"),
    ("not later than 1930", None, "1930-12-31"),
    ("1930 at the latest", None, "1930-12-31"),
    ("at the latest in June 1930", None, "1930-06-30"),
    ("spätestens 1930", None, "1930-12-31"),
    ("nicht nach 1930", None, "1930-12-31"),
    ("1930 or earlier", None, "1930-12-31"),
    ("no earlier than 1920", "1920-01-01", None),
    ("1920 onwards", "1920-01-01", None),
    ("from June 1920 on", "1920-06-01", None),
    ("nicht vor 1920", "1920-01-01", None),
    ("by Christmas 1930", None, "1931-01-06"),
    ("before summer 1930", None, "1930-08-31"),
    ("seit Ostern 1931", "1931-04-03", None),
    ("between Easter 1930 and summer 1931", "1930-04-18", "1931-08-31"),
    ("1931, or was it 32", "1931-01-01", "1932-12-31"),
    ("1930 oder vielleicht 1931", "1930-01-01", "1931-12-31"),
    ("entweder 1930 oder 31", "1930-01-01", "1931-12-31"),
    ("1930 ou 1931", "1930-01-01", "1931-12-31"),
    ("Whitsun 1931, or was it 32", "1931-05-23", "1932-05-16"),
    ("Sommer 1930 oder Sommer 1931", "1930-06-01", "1931-08-31"),
    ("the winter of 1962/63", "1962-12-01", "1963-02-28"),
    ("winter of '46/'47", "1946-12-01", "1947-02-28"),
    ("before the 1930s", None, "1930-12-31"),
    ("after the thirties", "1939-01-01", None),
    ("since the twenties", "1920-01-01", None),
    ("until the fifties", None, "1959-12-31"),
    ("nineteen twenty-four", "1924-01-01", "1924-12-31"),
    ("in nineteen-oh-five", "1905-01-01", "1905-12-31"),
    ("summer of eighteen ninety", "1890-06-01", "1890-08-31"),
    ("nineteen hundred", "1900-01-01", "1900-12-31"),
    ("neunzehnhundertvierundzwanzig", "1924-01-01", "1924-12-31"),
    ("im Jahre neunzehnhundertundfünf", "1905-01-01", "1905-12-31"),
    ("in den Fünfzigern", "1950-01-01", "1959-12-31"),
    ("Ende der 50er", "1955-01-01", "1959-12-31"),
    ("nineteen fifty something", "1950-01-01", "1959-12-31"),
    ("1950-something", "1950-01-01", "1959-12-31"),
    ("spring of 1931 or 32", "1931-03-01", "1932-05-31"),
    ("Sommer 31 od. 32", "1931-06-01", "1932-08-31"),
    ("summer 1931/32", "1931-06-01", "1932-08-31"),
    ("12 May 1931/2", "1931-05-12", "1932-05-12"),
    ("winter 1931/2", "1931-12-01", "1932-02-29"),
    ("May 31 or 32", "1931-05-01", "1932-05-31"),
    ("1931, in the summer", "1931-06-01", "1931-08-31"),
    ("1931 (Sommer)", "1931-06-01", "1931-08-31"),
    ("vermutl. 1931", "1931-01-01", "1931-12-31"),
    ("Weihn. 1931", "1931-12-20", "1932-01-06"),
    ("late Victorian", "1880-01-01", "1901-12-31"),
    ("Edwardian times", "1901-01-01", "1910-12-31"),
    ("Kaiserzeit", "1871-01-01", "1918-12-31"),
    ("before the turn of the century", None, "1900-12-31"),
    ("VE Day", "1945-05-08", "1945-05-08"),
    ("Coronation Day 1953", "1953-06-02", "1953-06-02"),
    ("nach der Währungsreform", "1948-06-20", None),
    ("fin des années trente", "1935-01-01", "1939-12-31"),
    ("pendant la Grande Guerre", "1914-01-01", "1918-12-31"),
    ("in de jaren dertig", "1930-01-01", "1939-12-31"),
    ("los años 20", "1920-01-01", "1929-12-31"),
    ("negli anni Trenta", "1930-01-01", "1939-12-31"),
]


@pytest.mark.parametrize(("text", "first", "last"), SAID)
def test_what_is_said_at_home(text: str, first: str | None, last: str | None) -> None:
    """Each is read as the days it means, and keeps its words."""
    found = parse_photograph_date(text, TODAY)
    assert (iso(found.span.first), iso(found.span.last)) == (first, last)
    assert found.words == text


@pytest.mark.parametrize(
    "text", ["May 30 or 31", "Aug 12/13", "winter 1931/35", "12 May 1931/4", "thirties 31", "1000s 1826"]
)
def test_numbers_that_may_be_days_or_do_not_follow_are_not_guessed_at(text: str) -> None:
    """In "Aug 12/13" they may be days or years; after 1931 comes 1932; 1930S31 would have 31 exact digits in EDTF."""
    with pytest.raises(InvalidValueError):
        parse_photograph_date(text, TODAY)


@pytest.mark.parametrize(
    ("text", "year"),
    [
        ("three years before 1930", 1927),
        ("the year after 1930", 1931),
        ("zwei Jahre nach 1945", 1947),
        ("two years after the First World War", 1920),
        ("ein Jahr vor dem Ersten Weltkrieg", 1913),
    ],
)
def test_years_are_counted_from_a_year_or_a_war(text: str, year: int) -> None:
    """About that year, as somebody remembers it; "the war" by itself is asked about."""
    assert parse_photograph_date(text, TODAY).centre == parse_photograph_date(f"about {year}", TODAY).centre
    with pytest.raises(UnclearDateError) as asked:
        parse_photograph_date("two years after the war", TODAY)
    assert list(asked.value.choices) == ["2 years after the First World War", "2 years after the Second World War"]


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1931, give or take two years", 1929, 1933),
        ("about 1931 +/- 2", 1929, 1933),
        ("1931 ± 1", 1930, 1932),
        ("1931 give or take a few years", 1928, 1934),
        ("1931 plus minus zwei Jahre", 1929, 1933),
    ],
)
def test_give_or_take_is_about_those_years(text: str, first: int, last: int) -> None:
    """Whoever says so is counting on their fingers: no wall at either end."""
    found = parse_photograph_date(text, TODAY)
    assert found.shape is Shape.ABOUT
    assert found.span == parse_photograph_date(f"about {first}-{last}", TODAY).span


def test_easter_against_dateutil() -> None:
    """From Good Friday to Easter Monday of that year."""
    for year in (1885, 1931, 1943, 2008):
        sunday = easter(year).toordinal()
        span = parse_photograph_date(f"Easter {year}", TODAY).span
        assert (span.first, span.last) == (sunday - 2, sunday + 1)


@pytest.mark.parametrize("text", ["1931?", "1931 (?)", "[1931?]", "perhaps 1931", "probably 1931", "maybe '31"])
def test_a_question_mark_is_a_doubt_however_it_is_written(text: str) -> None:
    """The year stands as it is, and is doubtful."""
    found = parse_photograph_date(text, TODAY)
    assert found.doubtful
    assert (iso(found.span.first), iso(found.span.last)) == ("1931-01-01", "1931-12-31")


@pytest.mark.parametrize("text", ["ca 1930s", "c. 1930s", "about the thirties"])
def test_about_a_decade_is_wider_than_a_decade(text: str) -> None:
    """The variance of ten years (100/12) and that of "about" (2.5 years) add up: a deviation of 3.8 years."""
    found = parse_photograph_date(text, TODAY)
    assert found.shape is Shape.ABOUT
    assert found.spread == pytest.approx(3.82 * DAYS_PER_YEAR, rel=0.01)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("Aug. 05", "August 1905 or August 2005"),
        ("Dec. 25", "25 December"),
        ("12/6/31", "12 June 1931 or 6 December 1931"),
        ("12/6/1931", "12 June 1931 or 6 December 1931"),
        ("05", "1905 or 2005"),
        ("'98", "1898 or 1998"),
        ("the nineties", "the 1890s or the 1990s"),
        ("1931/6", "1931 to 1936 or June 1931"),
        ("1920-24", "1920 to 1924"),
        ("190", "190?"),
        ("2050", "1950"),
        ("2026-12-24", "1926"),
        ("1799", "1899 or 1999"),
        ("around the war?", "1914 to 1918"),
        ("winter 14/15", "winter 1914/15"),
        ("Coronation Day", "12 May 1937"),
        ("VJ Day", "15 August 1945 or 2 September 1945"),
        ("voor de oorlog", "before the Second World War"),
        ("n.d.", "Leave the date out"),
        ("when Ada was seven", "--stated-age"),
        ("last summer", "June 1931"),
    ],
)
def test_what_is_refused_says_what_was_probably_meant(text: str, meant: str) -> None:
    """Two readings, or no photograph's date at all: in one line, in the words as they were typed."""
    with pytest.raises(InvalidValueError) as caught:
        parse_photograph_date(text, TODAY)
    assert meant in str(caught.value)
    assert text in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_tree_has_older_dates_and_its_own_way() -> None:
    """There a year of two digits is a year, a dual year the later one, and 1650 nothing to wonder at."""
    assert iso(read_gedcom("AUG 05").dated.span.first) == "0005-08-01"
    assert iso(read_gedcom("10 FEB 1731/32").dated.span.first) == "1732-02-10"
    assert iso(read_gedcom("1904/5").dated.span.first) == "1905-01-01"
    assert iso(read_gedcom("1650").dated.span.first) == "1650-01-01"
    assert "summer 1931" in read_gedcom("summer 1931").warning

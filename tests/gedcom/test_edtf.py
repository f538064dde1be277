"""Dates in EDTF, as the Library of Congress's specification writes them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_date, read_gedcom
from kinphoto.reason.model.span import Shape, Span, iso

# Expressions from the EDTF specification of 4 February 2019 (loc.gov/standards/datetime), levels 0 to 2; which days
# each covers follows the text there. Seasons are those of the northern hemisphere, a choice of the project.
EXAMPLES = [
    ("1985-04-12", "1985-04-12", "1985-04-12", Shape.FLAT, False),
    ("1985-04", "1985-04-01", "1985-04-30", Shape.FLAT, False),
    ("1985", "1985-01-01", "1985-12-31", Shape.FLAT, False),
    ("1985-04-12T23:20:30Z", "1985-04-12", "1985-04-12", Shape.FLAT, False),
    ("1964/2008", "1964-01-01", "2008-12-31", Shape.FLAT, False),
    ("2004-06/2006-08", "2004-06-01", "2006-08-31", Shape.FLAT, False),
    ("2004-02-01/2005", "2004-02-01", "2005-12-31", Shape.FLAT, False),
    ("1984?", "1984-01-01", "1984-12-31", Shape.FLAT, True),
    ("2004-06~", "1994-06-01", "2014-06-30", Shape.ABOUT, False),
    ("2004-06-11%", "1994-06-11", "2014-06-11", Shape.ABOUT, True),
    ("201X", "2010-01-01", "2019-12-31", Shape.FLAT, False),
    ("20XX", "2000-01-01", "2099-12-31", Shape.FLAT, False),
    ("2004-XX", "2004-01-01", "2004-12-31", Shape.FLAT, False),
    ("1985-04-XX", "1985-04-01", "1985-04-30", Shape.FLAT, False),
    ("1985-XX-XX", "1985-01-01", "1985-12-31", Shape.FLAT, False),
    ("1985-04-12/..", "1985-04-12", None, Shape.AFTER, False),
    ("../1985-04-12", None, "1985-04-12", Shape.BEFORE, False),
    ("1985-04-12/", "1985-04-12", None, Shape.AFTER, False),
    ("/1985-04-12", None, "1985-04-12", Shape.BEFORE, False),
    ("2001-21", "2001-03-01", "2001-05-31", Shape.FLAT, False),
    ("2001-24", "2001-01-01", "2002-02-28", Shape.FLAT, False),
    ("2001-34", "2001-04-01", "2001-06-30", Shape.FLAT, False),
    ("1950S2", "1900-01-01", "1999-12-31", Shape.FLAT, False),
    ("[1667,1668,1670..1672]", "1667-01-01", "1672-12-31", Shape.FLAT, False),
    ("[..1760-12-03]", None, "1760-12-03", Shape.BEFORE, False),
    ("[1760-12..]", "1760-12-01", None, Shape.AFTER, False),
    ("{1960,1961-12}", "1960-01-01", "1961-12-31", Shape.FLAT, False),
    ("{..1984}", None, "1984-12-31", Shape.BEFORE, False),
    ("[1918-05..1925-06-07]", "1918-05-01", "1925-06-07", Shape.FLAT, False),
    ("?2004-06-~11", "1994-06-11", "2014-06-11", Shape.ABOUT, True),
    ("156X-12-25", "1560-12-25", "1569-12-25", Shape.FLAT, False),
    ("15XX-12-25", "1500-12-25", "1599-12-25", Shape.FLAT, False),
    ("1XXX-12", "1000-12-01", "1999-12-31", Shape.FLAT, False),
    ("1984-1X", "1984-10-01", "1984-12-31", Shape.FLAT, False),
    ("2004-06-XX/2004-07-03", "2004-06-01", "2004-07-03", Shape.FLAT, False),
    ("[1760-01,1760-02,1760-12..]", "1760-01-01", None, Shape.AFTER, False),
]


@pytest.mark.parametrize(("text", "first", "last", "shape", "doubtful"), EXAMPLES)
def test_expressions_of_the_specification(
    text: str, first: str | None, last: str | None, shape: Shape, doubtful: bool
) -> None:
    """From the first to the last day, with the doubt and the vagueness the marks stand for."""
    dated = parse_date(text)
    assert (iso(dated.span.first), iso(dated.span.last)) == (first, last)
    assert (dated.shape, dated.doubtful, dated.words) == (shape, doubtful, text)


# Every example of the specification of 4 February 2019, section by section, from memory of that page.
SPECIFICATION = """
    1985-04-12 1985-04 1985 1985-04-12T23:20:30 1985-04-12T23:20:30Z 1985-04-12T23:20:30-04 1985-04-12T23:20:30+04:30
    1964/2008 2004-06/2006-08 2004-02-01/2005-02-08 2004-02-01/2005-02 2004-02-01/2005 2005/2006-02
    Y170000002 Y-170000002 2001-21 2001-22 2001-23 2001-24 1984? 2004-06~ 2004-06-11% 201X 20XX 2004-XX 1985-04-XX
    1985-XX-XX 1985-04-12/.. 1985-04/.. 1985/.. 1985-04-12/ 1985-04/ 1985/ ../1985-04-12 ../1985-04 ../1985
    /1985-04-12 /1985-04 /1985 -1985
    Y-17E7 1950S2 Y171010000S3 Y3388E2S3 2001-25 2001-26 2001-27 2001-28 2001-29 2001-30 2001-31 2001-32 2001-33
    2001-34 2001-35 2001-36 2001-37 2001-38 2001-39 2001-40 2001-41
    [1667,1668,1670..1672] [..1760-12-03] [1760-12..] [1760-01,1760-02,1760-12..] [1667,1760-12] [..1984]
    {1667,1668,1670..1672} {1960,1961-12} {..1984} 2004-06~-11 2004?-06-11 ?2004-06-~11 2004-%06-11
    156X-12-25 15XX-12-25 XXXX-12-XX 1XXX-XX 1XXX-12 1984-1X 2004-06-~01/2004-06-~20 2004-06-XX/2004-07-03
""".split()
TELL_NOTHING = {"Y170000002", "Y-170000002", "Y-17E7", "Y171010000S3", "Y3388E2S3", "XXXX-12-XX"}
"""Those without a year, or with one in which nobody was photographed."""


@pytest.mark.parametrize("text", SPECIFICATION)
def test_every_example_of_the_specification(text: str) -> None:
    """Each is read, or refused in one line: the years before people, and the December of no year."""
    if text in TELL_NOTHING:
        with pytest.raises(InvalidValueError) as problem:
            parse_date(text)
        assert len(str(problem.value).splitlines()) == 1
    else:
        assert parse_date(text).span != Span()


# Which days digits that are left open can stand for: counted by hand.
@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1923-06-0X", "1923-06-01", "1923-06-09"),
        ("1923-06-3X", "1923-06-30", "1923-06-30"),
        ("1923-06-X1", "1923-06-01", "1923-06-21"),
        ("1923-X1", "1923-01-01", "1923-11-30"),
        ("1923-1X-31", "1923-10-31", "1923-12-31"),
        ("1X23-02-29", None, None),
        ("192X-02-29", "1920-02-29", "1928-02-29"),
        ("1923-06-0X/1924", "1923-06-01", "1924-12-31"),
        ("[1922,1923-06-0X]", "1922-01-01", "1923-06-09"),
        ("1923-06-?1X", "1923-06-10", "1923-06-19"),
        ("1923-02-3X", None, None),
        ("1923-2X", None, None),
    ],
)
def test_digits_left_open(text: str, first: str | None, last: str | None) -> None:
    """A day or month of which a digit is unspecified covers all that it can be; where it can be none, it is refused."""
    if first is None:
        with pytest.raises(InvalidValueError):
            parse_date(text)
    else:
        span = parse_date(text).span
        assert (iso(span.first), iso(span.last)) == (first, last)


_COMPONENT = st.sampled_from(
    ["1923", "192X", "19XX", "XXXX", "-0044", "06", "0X", "1X", "3X", "13", "21", "X1", "Y12E3", "1950S2", ""]
)
_MARK = st.sampled_from(["", "", "?", "~", "%"])
_DATE = st.lists(st.tuples(_MARK, _COMPONENT, _MARK).map("".join), min_size=1, max_size=3).map("-".join)
_EXPRESSION = st.one_of(
    _DATE,
    st.tuples(_DATE, _DATE).map("/".join),
    st.lists(_DATE | st.tuples(_DATE, _DATE).map("..".join), max_size=3).map(lambda all_: f"[{','.join(all_)}]"),
    st.text("0123456789X-/.?~%[]{},YES", max_size=12),
)


@given(_EXPRESSION)
@settings(max_examples=150, deadline=None)
def test_anything_like_edtf_is_read_or_refused_in_one_line(text: str) -> None:
    """However its parts are put together: a date, or one line that says why not; and a tree keeps it as words."""
    said = ""
    try:
        parse_date(text)
    except InvalidValueError as problem:
        said = str(problem)
    assert "\n" not in said
    read_gedcom(text)


def test_reading_prints_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """The package for EDTF prints what it stumbles over, in the middle of what a script reads."""
    parse_date("1984-1X~")
    assert capsys.readouterr().out == ""


def test_years_out_of_reach_are_refused() -> None:
    """A year of nine digits is valid EDTF and no year of a photograph."""
    for text in ("Y170000002", "Y-17E7"):
        with pytest.raises(InvalidValueError, match="out of range"):
            parse_date(text)


def test_years_before_the_first_are_read() -> None:
    """-0044 is 45 B.C., since EDTF has a year 0."""
    assert parse_date("-0044").span == parse_date("45 B.C.").span


@pytest.mark.parametrize("text", ["[..]", "../..", "1924-02-30", "1924-13", "20-05-1924", "1924~~"])
def test_what_is_no_edtf_is_refused(text: str) -> None:
    """A day that never was, or an interval without any end, tells nothing."""
    with pytest.raises(InvalidValueError):
        parse_date(text)

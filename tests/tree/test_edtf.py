"""Dates in EDTF, as the Library of Congress's specification writes them."""

from __future__ import annotations

import pytest

from kinphoto.errors import InvalidValueError
from kinphoto.reason.span import Shape, iso
from kinphoto.tree.dates import parse_date

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
]


@pytest.mark.parametrize(("text", "first", "last", "shape", "doubtful"), EXAMPLES)
def test_expressions_of_the_specification(
    text: str, first: str | None, last: str | None, shape: Shape, doubtful: bool
) -> None:
    """From the first to the last day, with the doubt and the vagueness the marks stand for."""
    dated = parse_date(text)
    assert (iso(dated.span.first), iso(dated.span.last)) == (first, last)
    assert (dated.shape, dated.doubtful, dated.words) == (shape, doubtful, text)


def test_years_out_of_reach_are_refused() -> None:
    """A year of nine digits is valid EDTF and no year of a photograph."""
    for text in ("Y170000002", "Y-17E7"):
        with pytest.raises(InvalidValueError, match="beyond"):
            parse_date(text)


def test_years_before_the_first_are_read() -> None:
    """-0044 is 45 B.C., since EDTF has a year 0."""
    assert parse_date("-0044").span == parse_date("45 B.C.").span


@pytest.mark.parametrize("text", ["[..]", "../..", "1924-02-30", "1924-13", "20-05-1924", "1924~~"])
def test_what_is_no_edtf_is_refused(text: str) -> None:
    """A day that never was, or an interval without any end, tells nothing."""
    with pytest.raises(InvalidValueError):
        parse_date(text)

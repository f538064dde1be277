"""Dates in plain English."""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.gedcom.dates import parse_date, read_gedcom
from kinphoto.gedcom.wording import words
from kinphoto.reason.model.span import Dated, Span


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2 MAY 1917", "2 May 1917"),
        ("MAY 1917", "May 1917"),
        ("1917", "1917"),
        ("ABT 1900", "about 1900"),
        ("ABT 29 FEB 1904", "about 29 February 1904"),
        ("CAL 1900", "1900 (calculated)"),
        ("EST 1900", "about 1900 (estimated)"),
        ("BET 1900 AND 1905", "between 1900 and 1905"),
        ("BET MAY 1900 AND 3 JUN 1905", "between May 1900 and 3 June 1905"),
        ("BEF 1905", "before 1905"),
        ("AFT MAR 1905", "after March 1905"),
        ("44 B.C.", "44 B.C."),
        ("JULIAN 25 OCT 1917", "7 November 1917"),
        ("(stillborn)", "stillborn"),
        ("", "no date"),
        ("1900?", "perhaps 1900"),
    ],
)
def test_gedcom_dates_in_words(text: str, said: str) -> None:
    """As one would say them."""
    assert words(read_gedcom(text).dated) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("192X", "the 1920s"),
        ("1924~", "about 1924"),
        ("1924-05", "May 1924"),
        ("1923-06-0X", "between 1 and 9 June 1923"),
    ],
)
def test_edtf_dates_in_words(text: str, said: str) -> None:
    """The words do not show in which notation a date was given."""
    assert words(parse_date(text)) == said


def test_a_date_made_by_the_program_has_words_too() -> None:
    """The words come from the days, not from what somebody typed."""
    day = date(1917, 7, 15).toordinal()
    assert words(Dated(Span(day, day))) == "15 July 1917"

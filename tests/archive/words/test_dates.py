"""Dates of photographs and years of lives in words."""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.archive.words.dates import Vital, life_years, when
from kinphoto.gedcom.dates import parse_date, read_gedcom
from kinphoto.gedcom.wording import words
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.soft.summary import stated_edtf


def _day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def _estimate(first: str, last: str, best: str, edtf: str = "", *, inferred: bool = True) -> Estimate:
    days = (_day(text) for text in ("1917-05-02", "1926-11-09", first, last, best))
    return Estimate("K00001", *days, edtf, State.DATED, inferred)


def test_an_inferred_date_is_told_in_years_and_called_inferred() -> None:
    """The range first, then the best year; a range inside one year is that year."""
    assert when(_estimate("1919-02-03", "1926-11-09", "1924-07-02")) == "between 1919 and 1926, about 1924 (worked out)"
    assert when(_estimate("1923-01-20", "1923-12-01", "1923-07-02")) == "1923 (worked out)"


def test_what_nobody_dated_is_not_dated_yet() -> None:
    """Without anything likely, only what is possible is told."""
    nothing = Estimate("K1", _day("1917-05-02"), _day("1926-11-09"), None, None, None, "", State.OPEN)
    assert when(nothing) == "not dated yet, between 1917 and 1926"
    within = Estimate("K1", _day("1917-05-02"), _day("1917-11-09"), None, None, None, "", State.OPEN)
    assert when(within) == "not dated yet, some time in 1917"


@pytest.mark.parametrize(
    ("edtf", "said"),
    [
        ("1931-06-12", "12 June 1931"),
        ("1931-06", "June 1931"),
        ("1931", "1931"),
        ("193X", "the 1930s"),
        ("1931?", "perhaps 1931"),
        ("1931~", "about 1931"),
        ("1931%", "perhaps about 1931"),
        ("[1931-06..1931-08-14]", "between June 1931 and 14 August 1931"),
        ("[..1931]", "before 1931"),
        ("[1931-06..]", "after June 1931"),
    ],
)
def test_what_somebody_stated_is_told_as_exactly_as_they_stated_it(edtf: str, said: str) -> None:
    """Forms of the Extended Date/Time Format, levels 0 to 2 (Library of Congress, 2019), in plain words."""
    assert when(_estimate("1931-01-01", "1931-12-31", "1931-06-12", edtf, inferred=False)) == said


@pytest.mark.parametrize(
    "written",
    [
        "12 JUN 1931",
        "JUN 1931",
        "1931",
        "BET 1930 AND 1934",
        "BEF 1931",
        "AFT JUN 1931",
        "ABT 1931",
        "193X",
        "1931?",
        "193X~",
        "193X%",
        "1931%",
    ],
)
def test_a_stated_date_is_worded_like_the_same_date_of_the_tree(written: str) -> None:
    """The way through EDTF and the direct way from a GEDCOM date agree."""
    dated = parse_date(written)
    estimate = _estimate("1931-01-01", "1931-12-31", "1931-06-12", stated_edtf(dated), inferred=False)
    assert when(estimate) == words(dated)


@pytest.mark.parametrize(
    ("born", "died", "said"),
    [
        ("ABT 1890", "3 MAR 1961", "about 1890 to 1961"),
        ("2 MAY 1890", "1961", "1890 to 1961"),
        ("1890", "", "born 1890"),
        ("", "BEF 1961", "died before 1961"),
        ("BET 1889 AND 1891", "AFT 1961", "born between 1889 and 1891, died after 1961"),
        ("(in the hungry winter)", "1961", "born in the hungry winter, died 1961"),
        ("", "", ""),
    ],
)
def test_a_life_in_years(born: str, died: str, said: str) -> None:
    """Dates as GEDCOM writes them, by their years; what is not one year is told apart as birth and death."""
    begin = Vital("born", read_gedcom(born).dated) if born else None
    end = Vital("died", read_gedcom(died).dated) if died else None
    assert life_years(begin, end) == said


def test_a_christening_is_not_called_a_birth() -> None:
    """A register often has the christening and the burial only."""
    christened, buried = Vital("christened", parse_date("9 MAY 1890")), Vital("buried", parse_date("1961"))
    assert life_years(christened, buried) == "christened 1890, buried 1961"
    assert christened.text == "christened 9 May 1890"
    assert Vital("born", Dated(Span(), words="(unknown)")).text == "unknown"

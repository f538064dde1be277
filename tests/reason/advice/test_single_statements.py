"""What each statement says of a photograph's date by itself."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from kinphoto.reason.advice.single_statements import SingleStatements, age_likelihood, as_posterior, date_likelihood
from kinphoto.reason.dating import date_locally
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft.grid import cells

SCANNED = date(2025, 1, 1).toordinal()
STRONG = ev.Trust.STRONG


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    """A day."""
    return date(year, month, of_month).toordinal()


ADA = ev.LifeDate(id="E1", trust=STRONG, person="ada", event=ev.LifeEvent.BIRTH, date=Dated(Span(day(1917), day(1917))))
GONE = ev.LifeDate(id="E2", trust=STRONG, person="ada", event=ev.LifeEvent.DEATH, date=Dated(span_of_years(1990, 1990)))
SEEN = ev.Appearance(id="A1", trust=STRONG, photograph="K1", person="ada")
SEVEN = ev.Age(id="S1", trust=ev.Trust.CERTAIN, appearance="A1", low=7, high=7, basis=ev.AgeBasis.STATED)
LOOKS = ev.Age(id="S2", trust=ev.Trust.FAIR, appearance="A1", low=7, high=7)
TAKEN = ev.DateClaim(
    id="S3", trust=STRONG, photograph="K1", claim=ev.Claim.TAKEN, date=Dated(span_of_years(1924, 1930))
)
EVIDENCE = ev.Evidence((Person("ada", "Ada"),), (Photograph("K1", SCANNED),), (ADA, GONE, SEEN, SEVEN, LOOKS, TAKEN))
APART = SingleStatements(EVIDENCE, "K1", frozenset({"A1", "S1", "S2", "S3"}))


def test_a_life() -> None:
    """Somebody present was alive; a likeness is made after the birth; somebody is laid out at death or soon after."""
    assert APART.life(SEEN) == Span(day(1917), day(1990, 12, 31))
    likeness = ev.Appearance(id="A2", trust=STRONG, photograph="K1", person="ada", role=ev.Role.LIKENESS)
    assert APART.life(likeness) == Span(day(1917), None)
    laid_out = ev.Appearance(id="A3", trust=STRONG, photograph="K1", person="ada", role=ev.Role.LAID_OUT)
    assert APART.life(laid_out) == Span(day(1990), day(1990, 12, 31) + 60)
    assert APART.life(ev.Appearance(id="A4", trust=STRONG, photograph="K1", person="nobody")) == Span()


def test_what_a_statement_allows() -> None:
    """Each alone: a date its span, whatever else was said; an age of seven the year after the seventh birthday."""
    assert APART.allows({"S3"}) == span_of_years(1924, 1930)
    seven = APART.allows({"A1", "S1"})
    assert seven.first == pytest.approx(day(1924), abs=2)  # leap days are allowed for
    assert seven.last == pytest.approx(day(1925), abs=2)
    assert APART.allows(()) == Span()


def test_what_cannot_be_allows_nothing_in_particular() -> None:
    """A statement that cannot be true even by itself has no days to show."""
    late = ev.DateClaim(
        id="S9", trust=STRONG, photograph="K1", claim=ev.Claim.TAKEN, date=Dated(span_of_years(2030, 2031))
    )
    evidence = ev.Evidence(EVIDENCE.people, EVIDENCE.photographs, (late,))
    assert SingleStatements(evidence, "K1", frozenset({"S9"})).allows({"S9"}) == Span()


def test_an_age_by_eye() -> None:
    """Most likely about the eighth year, and next to nothing before the birth."""
    lives = date_locally(ev.Evidence(EVIDENCE.people, EVIDENCE.photographs, (ADA, GONE, SEEN, LOOKS)), ["K1"]).lives
    on = cells(day(1900), day(1960))
    likely = age_likelihood(LOOKS, SEEN, lives, on)
    assert likely is not None
    assert day(1923, 6) <= on.middle[np.argmax(likely)] <= day(1925, 6)
    assert likely[on.middle < day(1917)].max() < 1e-9
    alone = as_posterior(likely, on)
    assert alone is not None
    assert alone.mass.sum() == pytest.approx(1)
    assert age_likelihood(LOOKS, ev.Appearance(id="A1", trust=STRONG, photograph="K1", person=None), lives, on) is None


def test_a_date_about_a_day() -> None:
    """A bell about its middle; a date that is flat needs no curve."""
    about = Dated(span_of_years(1914, 1934), Shape.ABOUT, float(day(1924, 7)), 2.5 * 365.25)
    said = ev.DateClaim(id="S4", trust=STRONG, photograph="K1", claim=ev.Claim.TAKEN, date=about)
    on = cells(day(1900), day(1960))
    likely = date_likelihood(said, on)
    assert likely is not None
    assert abs(on.middle[np.argmax(likely)] - day(1924, 7)) < 100
    assert date_likelihood(TAKEN, on) is None
    assert as_posterior(np.zeros(len(on)), on) is None

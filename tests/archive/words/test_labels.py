"""Statements in a few words."""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.archive.words.labels import from_to, label, likely, source
from kinphoto.archive.words.sentences import Sentences
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Person

FAIR = ev.Trust.FAIR
YEAR = Dated(span_of_years(1924, 1924), words="1924")
BORN = ev.LifeDate(id="E1", trust=FAIR, person="I1", event=ev.LifeEvent.BIRTH, date=Dated(span_of_years(1917, 1917)))
BURIED = ev.LifeDate(id="E2", trust=FAIR, person="I1", event=ev.LifeEvent.BURIAL, date=Dated(span_of_years(1990, 1990)))
SEEN = ev.Appearance(id="A1", trust=FAIR, photograph="K1", person="I1", informant="Aunt Edda")
SAY = Sentences(ev.Evidence((Person("I1", "Ada Marsh", "F"),), (), (BORN, SEEN)))


def claim(kind: ev.Claim, text: str = "") -> ev.DateClaim:
    """Something dated 1924."""
    return ev.DateClaim(id="S1", trust=FAIR, photograph="K1", claim=kind, date=YEAR, text=text)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (SEEN, "Ada Marsh is in it"),
        (ev.Appearance(id="A2", trust=FAIR, photograph="K1", person=None), "Somebody not named yet is in it"),
        (ev.Appearance(id="A3", trust=FAIR, photograph="K1", person="I1", denied=True), "It is not Ada Marsh"),
        (ev.Age(id="S2", trust=FAIR, appearance="A1", low=6, high=8), "… and looks 6 to 8"),
        (ev.Age(id="S3", trust=FAIR, appearance="A1", low=0.5, high=0.5, basis=ev.AgeBasis.STATED),
         "… aged 6 months"),
        (claim(ev.Claim.INSCRIPTION, "Skerry Point, 1924?"), "“Skerry Point, 1924?” is written on it"),
        (claim(ev.Claim.INSCRIPTION), "“1924” is written on it"),
        (claim(ev.Claim.TAKEN), "Taken in 1924"),
        (claim(ev.Claim.WRITTEN), "Written on by 1924"),
        (ev.Relation(id="S4", trust=FAIR, photograph="K1", related=ev.Related.BEFORE, other="K2"), "Taken before K2"),
        (ev.Relation(id="S5", trust=FAIR, photograph="K2", related=ev.Related.BEFORE, other="K1"), "Taken after K2"),
        (ev.Relation(id="S6", trust=FAIR, photograph="K2", related=ev.Related.COPY_OF, other="K1"),
         "The original of K2"),
        (ev.Made(id="S7", trust=FAIR, photograph="K1", what="process", name="tintype",
                 window=span_of_years(1856, 1930)),
         "Tintype, made from 1856 to 1930"),
        (BORN, "Ada Marsh was born in 1917"),
    ],
)  # fmt: skip
def test_labels(said: ev.Statement, words: str) -> None:
    """Each kind has its few words, from the side of the photograph they stand beside."""
    assert label(SAY, said, "K1") == words


def test_sources() -> None:
    """Who says so, with the life of somebody in it, or the words that a date was read from."""
    assert source(SAY, SEEN, [BORN, BURIED]) == "born 1917, buried 1990, says Aunt Edda"
    assert source(SAY, claim(ev.Claim.INSCRIPTION, "Skerry Point")) == "read as 1924"
    assert source(SAY, claim(ev.Claim.TAKEN, "the hot summer")) == "“the hot summer”"
    assert source(SAY, claim(ev.Claim.TAKEN)) == ""


def test_days_in_words() -> None:
    """Spans with ends open or not, and what a curve makes likely."""
    first, last = date(1917, 5, 2).toordinal(), date(1926, 11, 9).toordinal()
    assert from_to(Span(first, None)) == "from 2 May 1917 on"
    assert from_to(Span(None, last)) == "until 9 November 1926"
    assert from_to(Span(first, last)) == "from 2 May 1917 until 9 November 1926"
    assert from_to(Span(first, first)) == "on 2 May 1917"
    assert from_to(Span()) == "any time"
    inner, outer = Span(date(1923, 3, 1).toordinal(), last), span_of_years(1919, 1937)
    assert likely(inner, outer) == "most likely 1923 to 1926, possible 1919 to 1937"

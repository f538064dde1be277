"""What withdrawing a statement would mean, for every kind of statement."""

from __future__ import annotations

from typing import Any

import pytest

from kinphoto.archive.words.sentences import Sentences
from kinphoto.archive.words.ways_out import LONGEST, MOST, advice, in_words, ways
from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import processes
from kinphoto.reason.model.findings import Conflict
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Person

PEOPLE = (Person("I1", "Ada Marsh", "F"), Person("I2", "Tom Holm", "M"))
ALBUMEN = processes.load()["albumen"]


def said(kind: type[ev.Statement], id_: str = "S1", **values: Any) -> Any:
    """A statement of strong trust."""
    return kind(id=id_, trust=ev.Trust.STRONG, **values)


def claim(kind: ev.Claim, text: str) -> ev.Statement:
    """Something that gives a date for K1."""
    made: ev.Statement = said(ev.DateClaim, photograph="K1", claim=kind, date=parse_date(text), text="what it says")
    return made


SAYINGS: list[tuple[ev.Statement, str]] = [
    (said(ev.Appearance, photograph="K1", person="I1"), "It may not be Ada Marsh in K1"),
    (said(ev.Appearance, photograph="K1", person="I1", denied=True), "It may be Ada Marsh in K1 after all"),
    (
        said(ev.Appearance, photograph="K1", person="I1", role=ev.Role.LIKENESS),
        "The likeness in K1 may not be Ada Marsh",
    ),
    (
        said(ev.Appearance, photograph="K1", person="I1", role=ev.Role.LAID_OUT),
        "The person photographed after death in K1 may not be Ada Marsh",
    ),
    (said(ev.Age, appearance="A7", low=6, high=8), "Tom Holm may not have been 6 to 8 in K1"),
    (
        said(ev.LifeDate, person="I1", event=ev.LifeEvent.BIRTH, date=parse_date("4 JUN 1931")),
        "The birth date of Ada Marsh may not be right",
    ),
    (
        said(ev.LifeDate, person="I1", event=ev.LifeEvent.DEATH, date=parse_date("ABT 1990")),
        "The death date of Ada Marsh may not be right",
    ),
    (
        said(ev.LifeDate, person="I1", event=ev.LifeEvent.BURIAL, date=parse_date("1990?")),
        "The burial date of Ada Marsh may not be right",
    ),
    (
        said(ev.EventDate, event="F1:MARR", date=parse_date("1950")),
        "The date of the marriage of Ada Marsh and Tom Holm may not be right",
    ),
    (
        said(ev.ParentLink, child="I2", parent="I1", parent_sex="F"),
        "Ada Marsh may not be the mother of Tom Holm by birth",
    ),
    (said(ev.Marriage, event="F1:MARR", spouses=("I1", "I2")), "Ada Marsh and Tom Holm may not have married"),
    (claim(ev.Claim.TAKEN, "1924"), "K1 may not have been taken in 1924"),
    (claim(ev.Claim.RECOLLECTION, "BEF 1924"), "K1 may not have been taken before 1924"),
    (claim(ev.Claim.INSCRIPTION, "1924"), "The date written on K1 may not be when it was taken"),
    (claim(ev.Claim.WRITTEN, "1924"), "K1 may have been written on or given away later"),
    (claim(ev.Claim.POSTMARK, "7 AUG 1934"), "K1 may not have been postmarked on 7 August 1934"),
    (claim(ev.Claim.PRINT_STAMP, "JUN 1964"), "K1 may not have been printed in June 1964"),
    (
        claim(ev.Claim.IMPRINT, "BET 1871 AND 1889"),
        "The photographer named on K1 may have worked there at a different time",
    ),
    (said(ev.EventClaim, photograph="K1", event="F1:MARR"), "K1 may not show the marriage of Ada Marsh and Tom Holm"),
    (
        said(ev.RelativeDate, photograph="K1", claim=ev.Claim.RECOLLECTION, event="I1:BIRT", lapse=Span(None, 0)),
        "K1 may not have been taken before the birth of Ada Marsh",
    ),
    (
        said(ev.Made, photograph="K1", what="process", name="albumen", window=ALBUMEN.window),
        f"K1 may not be an {ALBUMEN.title}",
    ),
    (said(ev.Relation, photograph="K1", related=ev.Related.BEFORE, other="K2"), "K1 may not have been taken before K2"),
    (
        said(ev.Relation, photograph="K1", related=ev.Related.SAME_OCCASION, other="K2"),
        "K1 may not have been taken on the same occasion as K2",
    ),
    (said(ev.Relation, photograph="K1", related=ev.Related.COPY_OF, other="K2"), "K1 may not be a copy of K2"),
    (said(ev.Relation, photograph="K1", related=ev.Related.PART_OF, other="K2"), "K1 may not be mounted on K2"),
    (said(ev.LiesIn, photograph="K1"), "K1 may not belong where it is kept"),
    (said(ev.Numbered, photograph="K1", container="B1", number=12), "Its number 12 may be from another time"),
]


def sentences(*statements: ev.Statement) -> Sentences:
    """Words for these statements of a couple."""
    beside = [s for s in (
        said(ev.Marriage, "M1", event="F1:MARR", spouses=("I1", "I2")),
        said(ev.Appearance, "A7", photograph="K1", person="I2"),
    ) if s.id not in {other.id for other in statements}]  # fmt: skip
    return Sentences(ev.Evidence(PEOPLE, (), (*beside, *statements)))


@pytest.mark.parametrize(("statement", "words"), SAYINGS, ids=lambda value: value if isinstance(value, str) else "")
def test_every_kind_of_statement(statement: ev.Statement, words: str) -> None:
    """About the picture or the life, never about who said it."""
    assert in_words(sentences(statement), (statement.id,)) == words


def test_every_kind_has_words() -> None:
    """No kind of statement is forgotten above."""
    kinds = {kind for kind in vars(ev).values() if isinstance(kind, type) and issubclass(kind, ev.Statement)}
    assert {type(statement) for statement, _ in SAYINGS} == kinds - {ev.Statement, ev.OfPhotograph}


def taken(name: str, year: int) -> ev.Statement:
    """Somebody says when K1 was taken."""
    made: ev.Statement = said(
        ev.DateClaim, name, photograph="K1", claim=ev.Claim.TAKEN, date=Dated(span_of_years(year, year))
    )
    return made


def conflict(*known: tuple[str, ...], tie: bool = False) -> Conflict:
    """A conflict with these ways out."""
    return Conflict("CABC234", ("S1", "S2"), known[0] if known else (), ("K1",), (), known, tie)


def test_the_best_comes_first_and_long_ways_last() -> None:
    """At most three; a long way is shown only where there is no other."""
    say = sentences(*(taken(f"S{n}", 1900 + n) for n in range(1, 10)))
    long = ("S4", "S5", "S6")
    assert len(long) > LONGEST
    found = ways(say, conflict(("S1",), long, ("S2", "S3"), ("S7",), ("S8",)))
    assert [way.statements for way in found] == [("S1",), ("S2", "S3"), ("S7",)]
    assert len(found) == MOST
    assert [way.is_best for way in found] == [True, False, False]
    assert [way.statements for way in ways(say, conflict(("S1",), long))] == [("S1",), long]


def name(id_: str, person: str, photograph: str) -> ev.Statement:
    """A name on a face."""
    made: ev.Statement = said(ev.Appearance, id_, person=person, photograph=photograph)
    return made


def test_names_of_one_person_share_a_clause() -> None:
    """Four pictures of Ada are one thing to say, and no more than three are named."""
    say = sentences(*(name(f"A{n}", "I1", f"K{n}") for n in range(1, 5)))
    assert in_words(say, ("A1", "A2")) == "It may not be Ada Marsh in K1 or K2"
    assert in_words(say, ("A1", "A2", "A3")) == "It may not be Ada Marsh in K1, K2 or K3"
    assert in_words(say, ("A1", "A2", "A3", "A4")) == "It may not be Ada Marsh in K1, K2 or 2 other pictures"


def test_names_in_one_photograph_share_a_clause() -> None:
    """Two people who may not be in it, and what else may not hold."""
    say = sentences(name("A1", "I1", "K1"), name("A2", "I2", "K1"), claim(ev.Claim.TAKEN, "1924"))
    assert (
        in_words(say, ("A1", "S1", "A2"))
        == "It may not be Ada Marsh or Tom Holm in K1, and K1 may not have been taken in 1924"
    )


def test_a_way_of_many_unlike_things_names_three() -> None:
    """The rest is counted; the same words are there once."""
    say = sentences(*(taken(f"S{n}", 1900 + n) for n in range(1, 6)), taken("S6", 1901))
    assert in_words(say, ("S1", "S6", "S2", "S3", "S4", "S5")) == (
        "K1 may not have been taken in 1901, and K1 may not have been taken in 1902, "
        "and K1 may not have been taken in 1903, and 2 other statements may not hold"
    )


def test_two_ways_in_the_same_words_are_told_apart() -> None:
    """By their ids, where two people say the same."""
    say = sentences(taken("S1", 1910), taken("S2", 1910))
    assert [way.words for way in ways(say, conflict(("S1",), ("S2",)))] == [
        "K1 may not have been taken in 1910 (S1)", "K1 may not have been taken in 1910 (S2)",
    ]  # fmt: skip


def test_the_advice_is_made_of_the_ways() -> None:
    """It says which is set aside, unless they are equally good, and to look at parentage alone first."""
    link = said(ev.ParentLink, "L1", child="I2", parent="I1", parent_sex="F")
    say = sentences(taken("S1", 1910), taken("S2", 1920), link)
    assert advice(ways(say, conflict(("S1",), ("S2",)))) == (
        "They cannot all be true. Likeliest: K1 may not have been taken in 1910 [S1]; this is set aside for now. "
        "Or: K1 may not have been taken in 1920 [S2]."
    )
    tie = ways(say, conflict(("S1",), ("L1",), tie=True))
    assert [(way.is_best, way.touches_parentage) for way in tie] == [(False, False), (False, True)]
    assert "nothing here shows which of them is not" in advice(tie)
    assert "alone first" in advice(tie)
    assert advice(()) == "These cannot all be true."

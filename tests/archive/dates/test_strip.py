"""The evidence strip: everything that bears on one photograph's date, as plain values."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.dates.bars import Bar
from kinphoto.archive.dates.strip import Strip
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 BIRT
2 DATE 2 MAY 1917
1 DEAT
2 DATE 1990
0 @I2@ INDI
1 NAME Tom /Holm/
1 SEX M
1 BIRT
2 DATE 9 NOV 1880
1 DEAT
2 DATE 9 NOV 1926
0 @I3@ INDI
1 NAME Berit /Holm/
1 SEX F
0 TRLR
"""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Ada, whose life is known, and Tom, who died in 1926, are in K1; Ada looks 6 to 8."""
    made = archive_with(tmp_path, TREE, scans=3)
    made.statements.link(Link(photograph="K1", person="I1", age="6-8", by="Aunt Edda"))
    made.statements.link(Link(photograph="K1", person="I2"))
    return made


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    """A day as the strip has it."""
    return date(year, month, of_month).toordinal()


def by_label(strip: Strip, start: str) -> Bar:
    """The bar whose label begins so."""
    return next(bar for bar in strip.bars if bar.label.startswith(start))


def test_an_appearance_brings_a_life(archive: Archive) -> None:
    """Somebody in a picture allows the days of their life, and the bar says when they were born and died."""
    ada, tom = (by_label(archive.dates.evidence_strip("K1"), f"{name} is in it") for name in ("Ada Marsh", "Tom Holm"))
    assert (ada.first, ada.last) == (day(1917, 5, 2), day(1990, 12, 31))
    assert ada.source == "born 2 May 1917, died 1990, says Aunt Edda"
    assert (tom.first, tom.last, tom.person) == (day(1880, 11, 9), day(1926, 11, 9), "I2")
    assert len(ada.lives) == 2
    assert ada.words == "from 2 May 1917 until 31 December 1990"


def test_an_age_judged_by_eye_rules_nothing_out(archive: Archive) -> None:
    """Its bar is soft: a curve that is highest when she was of that age, and a span that holds most of it.

    A child born in May 1917 is in its seventh to ninth year from May 1923 to May 1926.
    """
    strip = archive.dates.evidence_strip("K1")
    age = by_label(strip, "… and looks 6 to 8")
    assert age.soft
    assert age.of == by_label(strip, "Ada Marsh").id
    assert len(age.curve) == 120
    top = max(age.curve, key=lambda point: point[1])
    assert top[1] == 1
    assert day(1923, 5) <= top[0] <= day(1926, 5)
    assert age.first is not None
    assert age.last is not None
    assert day(1919) < age.first < day(1923, 5)
    assert day(1926, 5) < age.last < day(1932)
    assert age.words.startswith("most likely 19")


def test_laws_and_walls_are_told(archive: Archive) -> None:
    """The days before and after what is possible, with what they rest on; for a bare photograph the laws."""
    strip = archive.dates.evidence_strip("K1")
    assert strip.before.last == day(1917, 5, 1)
    assert strip.before.words == "not before 2 May 1917: Ada Marsh was born on 2 May 1917"
    assert strip.after.first == day(1926, 11, 10)
    assert strip.after.words == "not after 9 November 1926: Tom Holm died on 9 November 1926"
    bare = archive.dates.evidence_strip("K2")
    assert bare.before.last == FIRST_PHOTOGRAPH - 1
    assert bare.before.words.endswith("photography had not been invented")
    assert bare.curve == ()
    assert bare.bars == ()


def test_the_axis_shows_what_matters(archive: Archive) -> None:
    """From the first of a year to the last of one, with the possible days inside, and no century of nothing."""
    axis = archive.dates.evidence_strip("K1").axis
    first, last = date.fromordinal(axis.first), date.fromordinal(axis.last)
    assert (first.month, first.day, last.month, last.day) == (1, 1, 12, 31)
    assert first.year < 1917
    assert last.year > 1926
    assert last.year - first.year < 40


def test_the_curve(archive: Archive) -> None:
    """The probability of each day, the highest as 1, in order and where something is possible."""
    strip = archive.dates.evidence_strip("K1")
    assert len(strip.curve) <= 200
    assert max(height for _, height in strip.curve) == 1
    assert all(a[0] < b[0] for a, b in pairwise(strip.curve))
    assert strip.estimate.best is not None
    peak = max(strip.curve, key=lambda point: point[1])[0]
    assert strip.estimate.earliest <= peak <= strip.estimate.latest


def test_something_switched_off(archive: Archive) -> None:
    """It stays on the strip, is marked, and the date is what it would be without; nothing is stored."""
    before = archive.dates.evidence_strip("K1")
    age = by_label(before, "… and looks")
    without = archive.dates.evidence_strip("K1", off=[age.id])
    assert by_label(without, "… and looks").state == "off"
    assert without.words != before.words
    assert (without.estimate.likely_to or 0) - (without.estimate.likely_from or 0) > 365 * 7
    assert without.off == (age.id,)
    assert archive.dates.evidence_strip("K1") == before


def test_a_name_switched_off_takes_its_age_along(archive: Archive) -> None:
    """An age of somebody who is not counted counts for nothing."""
    ada = by_label(archive.dates.evidence_strip("K1"), "Ada Marsh")
    strip = archive.dates.evidence_strip("K1", off=[ada.id])
    assert {bar.id: bar.state for bar in strip.bars if bar.of == ada.id or bar.id == ada.id}.keys() >= {ada.id}
    assert all(bar.state == "off" for bar in strip.bars if bar.of == ada.id)
    assert strip.estimate.earliest < day(1917)


@pytest.mark.usefixtures("as_if_large")
def test_what_does_not_fit(archive: Archive) -> None:
    """A statement that contradicts the rest is aside at once, without looking at the whole archive, and says with what
    it does not fit."""
    archive.dates.estimates()
    said, _ = archive.statements.record(
        NewClaim(photograph="K1", kind="inscription", date="1934", text="Skerry Point, 1934")
    )
    strip = archive.dates.evidence_strip("K1")
    assert not strip.current
    assert strip.disputed
    bar = by_label(strip, "“Skerry Point, 1934” is written on it")
    assert bar.id == said.statement
    assert bar.state == "aside"
    assert bar.hesitant
    assert bar.note.startswith("does not fit with: Tom Holm")
    assert bar.note.endswith("without it, the rest agrees")
    assert (bar.first, bar.last) == (day(1934), day(1934, 12, 31))
    assert strip.axis.last >= day(1934, 12, 31)
    assert [story.aside for story in strip.conflicts] == [(bar.id,)]
    assert not archive.dates.evidence_strip("K1", off=[bar.id]).disputed


def test_the_same_after_the_whole_was_looked_at(archive: Archive) -> None:
    """What the whole archive says of the conflict is what was said at once."""
    archive.statements.record(NewClaim(photograph="K1", kind="inscription", date="1934"))
    at_once = archive.dates.evidence_strip("K1")
    archive.dates.estimates()
    later = archive.dates.evidence_strip("K1")
    assert later.current
    assert later.conflicts == at_once.conflicts
    assert later.bars == at_once.bars


def test_something_withdrawn(archive: Archive) -> None:
    """It stays on the strip, says so, and counts for nothing."""
    said, _ = archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1934"))
    archive.statements.withdraw(said.statement)
    strip = archive.dates.evidence_strip("K1")
    bar = by_label(strip, "Taken in 1934")
    assert (bar.state, bar.note) == ("withdrawn", "no longer used")
    assert (bar.first, bar.last) == (day(1934), day(1934, 12, 31))
    assert not strip.disputed
    assert strip.before == archive.dates.evidence_strip("K1", off=[said.statement]).before


def test_a_withdrawn_name(archive: Archive) -> None:
    """Somebody whose name was withdrawn is still called by it."""
    linked, _ = archive.statements.link(Link(photograph="K1", person="I3"))
    archive.statements.withdraw(linked.appearance)
    assert by_label(archive.dates.evidence_strip("K1"), "Berit Holm is in it").state == "withdrawn"


def test_two_names_and_a_denial(archive: Archive) -> None:
    """Rivals on one face say that they are; a denied name says that it is not used."""
    for person in ("I1", "I3"):
        archive.statements.link(Link(photograph="K2", person=person, region="0.1,0.1,0.2,0.2"))
    names = [bar for bar in archive.dates.evidence_strip("K2").bars if bar.kind == "appearance"]
    assert {bar.note for bar in names} == {"one of several names for this face"}
    archive.statements.link(Link(photograph="K3", person="I1"))
    archive.statements.link(Link(photograph="K3", person="I1", denied=True))
    named, denied = archive.dates.evidence_strip("K3").bars
    assert named.note == "Somebody says that it is not them, so the name is not used."
    assert (denied.first, denied.last, denied.words) == (None, None, "says nothing about the date")


@pytest.mark.parametrize(
    ("say", "label", "words"),
    [
        (lambda a: a.statements.record(NewClaim(photograph="K1", kind="postmark", date="3 AUG 1925")),
         "Postmarked on 3 August 1925, so taken by then", "until 3 August 1925"),
        (lambda a: a.statements.record(NewClaim(photograph="K1", kind="taken", date="1924")),
         "Taken in 1924", "from 1 January 1924 until 31 December 1924"),
        (lambda a: a.statements.record_making("K1", "process", "tintype"), "Tintype, made from", "from"),
        (lambda a: a.statements.relate(Tie(photograph="K1", relation="before", other="K2")),
         "Taken before K00002", "any time"),
    ],
)  # fmt: skip
def test_other_statements(archive: Archive, say: Callable[[Archive], object], label: str, words: str) -> None:
    """Each kind has its few words and the days it allows by itself."""
    say(archive)
    bar = by_label(archive.dates.evidence_strip("K1"), label)
    assert bar.words.startswith(words)


def test_withouts_on_request(archive: Archive) -> None:
    """What the date would be without each statement is told when asked for, as in the explanation."""
    assert {bar.without for bar in archive.dates.evidence_strip("K1").bars} == {None}
    strip = archive.dates.evidence_strip("K1", withouts=True)
    told = {part.id: part.effect for part in archive.dates.explanation("K1").parts}
    age = by_label(strip, "… and looks")
    assert age.without is not None
    assert told[age.id] == f"{age.without[:1].upper()}{age.without[1:]}."


def test_every_photograph_of_the_sample(shared_sample: Archive) -> None:
    """Each has a strip that can be written as JSON and read as a table, and that agrees with its estimate."""
    for dated in shared_sample.dates.estimates():
        strip = shared_sample.dates.evidence_strip(dated.code)
        assert json.loads(json.dumps(asdict(strip)))["code"] == dated.code
        assert strip.estimate.state == dated.estimate.state
        assert strip.estimate.earliest == dated.estimate.earliest
        assert all(bar.label and bar.words for bar in strip.bars)
        assert all(0 <= height <= 1 for bar in strip.bars for _, height in bar.curve)


def test_an_album_page_has_none(archive: Archive) -> None:
    """A page has no date of its own."""
    archive.statements.relate(Tie(photograph="K1", relation="part-of", other="K2"))
    with pytest.raises(InvalidValueError):
        archive.dates.evidence_strip("K2")
    assert "Mounted" not in {bar.label.split()[0] for bar in archive.dates.evidence_strip("K1").bars}

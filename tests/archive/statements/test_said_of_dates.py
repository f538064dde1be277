"""Dates as somebody gives them of a photograph: the mark they carry, who tells them, and what cannot be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, marked_as_in
from kinphoto.archive.words.dates import when
from kinphoto.errors import InvalidValueError, RowsRejectedError
from kinphoto.store import session

TREE = """\
0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 BIRT
2 DATE 2 MAY 1917
0 @I2@ INDI
1 NAME Edda /Marsh/
1 BIRT
2 DATE 1920
0 @I3@ INDI
1 NAME Odo /Marsh/
1 BIRT
2 DATE 1882
0 TRLR
"""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Three people, of whom Edda tells stories, and three photographs."""
    made = archive_with(tmp_path, TREE, scans=3)
    made.statements.add_informant("Aunt Edda", "I2")
    return made


def told(archive: Archive, photograph: str = "K1") -> str:
    """When a photograph was taken, in words."""
    return when(archive.dates.estimates([photograph])[0].estimate)


def test_a_year_keeps_the_mark_it_has_in_the_words(archive: Archive) -> None:
    """The example of README.md: `state K00001 inscription 1924 --text "Skerry Point, 1924?"`."""
    done, _ = archive.statements.record(
        NewClaim(photograph="K1", kind="inscription", date="1924", text="Skerry Point, 1924?")
    )
    assert done.words == "inscription perhaps 1924"
    assert told(archive) == "perhaps 1924"
    assert "read as perhaps 1924" in archive.dates.explanation("K1").text


def test_a_day_begins_where_somebody_lives(
    archive: Archive, monkeypatch: pytest.MonkeyPatch, in_time_zone: Callable[[str], None]
) -> None:
    """In New Zealand 2 December has come when it is still the 1st in UTC; in Boston it is not yet there, although it is
    in UTC."""
    photographed = NewClaim(photograph="K1", kind="taken", date="2 December 2026")
    monkeypatch.setattr(session, "now", lambda: "2026-12-01T20:30:00+00:00")
    in_time_zone("NZDT-13")
    assert archive.statements.record(photographed)[0].words == "taken on 2 December 2026"
    monkeypatch.setattr(session, "now", lambda: "2026-12-02T01:30:00+00:00")
    in_time_zone("EST5")
    with pytest.raises(InvalidValueError, match="in the future"):
        archive.statements.record(photographed)


@pytest.mark.parametrize(
    ("text", "date", "meant"),
    [
        ("Skerry Point, 1924?", "1924", "1924?"),
        ("Skerry Point (1924 ?)", "1924", "1924?"),
        ("taken c. 1924, the old pier", "1924", "about 1924"),
        ("ca 1924?", "1924", "about 1924?"),
        ("Skerry Point, 1924", "1924", "1924"),
        ("is this Ada? 1924", "1924", "1924"),
        ("1924? or 1925", "1925", "1925"),
        ("Skerry Point, 1924?", "June 1924", "June 1924"),
    ],
)
def test_only_the_mark_of_that_very_year_is_kept(text: str, date: str, meant: str) -> None:
    """A question mark elsewhere asks something else, and a date that says more than the year was thought about."""
    assert marked_as_in(text, date) == meant


def test_what_can_be_no_date_of_a_photograph_is_refused_alike(archive: Archive, tmp_path: Path) -> None:
    """One by one and in a spreadsheet, with what was probably meant; nothing of it is recorded."""
    for date, meant in (
        ("2050", "Did you mean 1950?"),
        ("Aug. 05", "August 1905"),
        ("1799", "Did you mean 1899 or 1999?"),
    ):
        with pytest.raises(InvalidValueError) as caught:
            archive.statements.record(NewClaim(photograph="K1", kind="postmark", date=date))
        assert meant in str(caught.value)
        sheet = tmp_path / "statements.csv"
        sheet.write_text(f"photo,kind,date\nK2,inscription,1931\nK1,inscription,{date}\n")
        with pytest.raises(RowsRejectedError) as rejected:
            archive.statements.apply_spreadsheet("statements", sheet)
        assert [line for line, why in rejected.value.rejected if meant in why] == [3]
    assert told(archive).startswith("not dated yet")


def test_nobody_named_in_it_was_born(archive: Archive, tmp_path: Path) -> None:
    """It is recorded, and said at once: by the command, of a row, and beside the statement on its page."""
    archive.statements.link(Link(photograph="K1", person="I1"))
    archive.statements.link(Link(photograph="K1", person="I3"))
    done, warnings = archive.statements.record(NewClaim(photograph="K1", kind="inscription", date="1850"))
    assert done.changed
    (warning,) = warnings
    assert warning.startswith("nobody named in K00001 was born by 1850: Odo Marsh was born in 1882 and Ada Marsh")
    assert archive.photographs.details("K1").marks[0].cautions[0].startswith("Nobody named in K00001 was born by 1850")
    sheet = tmp_path / "statements.csv"
    sheet.write_text("photo,kind,date\nK1,taken,1900\n")
    assert (
        "not everybody named in K00001 was born by 1900"
        in archive.statements.apply_spreadsheet("statements", sheet).warnings[0]
    )


@pytest.mark.parametrize("date", ["1950", "about 1915", "1910?", "after 1850", "before 1990"])
def test_what_can_be_is_passed_over_in_silence(archive: Archive, date: str) -> None:
    """Ada was born in 1917: an "about" or a question mark may be off by years, and an open end says nothing."""
    archive.statements.link(Link(photograph="K1", person="I1"))
    archive.statements.link(Link(photograph="K2", person="I1", role="likeness"))
    assert archive.statements.record(NewClaim(photograph="K1", kind="inscription", date=date))[1] == []
    assert archive.statements.record(NewClaim(photograph="K2", kind="inscription", date="1860"))[1] == []


def test_two_equal_testimonies(archive: Archive) -> None:
    """The list, the explanation, the page's estimate and a photograph dated by itself all say both years."""
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1931", by="Odo"))
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1935", by="Ada"))
    assert told(archive) == "1931 or 1935"
    explained = archive.dates.explanation("K1")
    assert explained.text.startswith("1931 or 1935. ")
    assert "shows which" in explained.text
    assert [(p.aside, p.effect) for p in explained.parts if p.kind != "container"] == [
        (False, "Without it: 1935."),
        (False, "Without it: 1931."),
    ]
    assert when(archive.dates.refresh_photographs(["K1"])[0].estimate) == "1931 or 1935"
    assert archive.dates.evidence_strip("K1").words.startswith("1931 or 1935")
    assert "nothing here shows which of them is not" in archive.dates.conflicts().stories[0].advice


def test_of_a_time_before_their_birth_somebody_weighs_less(archive: Archive) -> None:
    """Edda, born in 1920, of 1905: it says so, and gives way to who was there; a trust that was given stands."""
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1905", by="Aunt Edda"))
    assert told(archive) == "perhaps 1905"
    assert "who was not born yet, so it counts for less" in archive.dates.explanation("K1").parts[0].text
    assert when(archive.dates.refresh_photographs(["K1"])[0].estimate) == "perhaps 1905"
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1926", by="Odo"))
    assert told(archive) == "1926"
    archive.statements.record(NewClaim(photograph="K2", kind="recollection", date="1905", by="Aunt Edda", trust="fair"))
    archive.statements.record(NewClaim(photograph="K3", kind="inscription", date="1905", by="Aunt Edda"))
    assert (told(archive, "K2"), told(archive, "K3")) == ("1905", "1905")

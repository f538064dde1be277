"""Couples and events by the names people use: found, listed with years where several fit, or said not to be there."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding_events import find_event
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError

PEOPLE = (
    ("I1", "Lambert /Quillern/", "M", 1861, 1938),
    ("I2", "Agnes /Ombry/", "F", 1864, 1940),
    ("I3", "Lambert /Quillern/", "M", 1890, 1961),
    ("I4", "Edda /Marsh/", "F", 1893, 1970),
    ("I5", "Tom /Marsh/", "M", 1860, 1935),
    ("I6", "Agnes /Holm/", "F", 1866, 1899),
)
FAMILIES = (
    "0 @F1@ FAM\n1 HUSB @I1@\n1 WIFE @I2@\n1 CHIL @I3@\n1 MARR\n2 DATE 12 JUN 1887\n2 PLAC Skerry\n"
    "0 @F2@ FAM\n1 HUSB @I3@\n1 WIFE @I4@\n1 MARR\n2 DATE 1919\n1 DIV\n2 DATE 1931\n"
    "0 @F3@ FAM\n1 HUSB @I5@\n1 WIFE @I6@\n1 CHIL @I4@\n"
)


def tree() -> str:
    """Three couples: two men called Lambert Quillern, two women called Agnes; the third couple has no wedding."""
    people = "".join(
        f"0 @{id_}@ INDI\n1 NAME {name}\n1 SEX {sex}\n1 BIRT\n2 DATE {born}\n1 DEAT\n2 DATE {died}\n"
        + ("1 CHR\n2 DATE 1893\n" if id_ == "I4" else "")
        for id_, name, sex, born, died in PEOPLE
    )
    return f"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n{people}{FAMILIES}0 TRLR\n"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """The tree above, and one photograph."""
    return archive_with(tmp_path, tree(), scans=1)


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("F1:MARR", "F1:MARR"),
        ("f1:marr", "F1:MARR"),
        ("wedding of Lambert and Agnes", "F1:MARR"),
        ("the Wedding of Lambert Quillern & Agnes", "F1:MARR"),
        ("marriage of Agnes Quillern", "F1:MARR"),
        ("Lambert and Agnes's wedding", "F1:MARR"),
        ("Agnes and Lambert", "F1:MARR"),
        ("F2", "F2:MARR"),
        ("wedding Lambert and Edda", "F2:MARR"),
        ("divorce of Edda", "F2:DIV"),
        ("christening of Edda Marsh", "I4:CHR"),
        ("Edda's baptism", "I4:CHR"),
        ("funeral of I1", None),
        ("weding of Lambert and Agnes", None),
        ("Lambert", None),
        ("", None),
    ],
)
def test_an_event_by_the_words_people_use(archive: Archive, said: str, key: str | None) -> None:
    """Both orders, married names, one partner alone, a baptism for a christening; what is none is refused."""
    with archive.reading() as connection:
        if key is None:
            with pytest.raises((NotFoundError, InvalidValueError)):
                find_event(connection, said)
        else:
            assert find_event(connection, said) == key


def test_namesakes_are_listed_with_their_years(archive: Archive) -> None:
    """Two men of one name married: both couples are told with years and ids."""
    with archive.reading() as connection, pytest.raises(AmbiguousError) as told:
        find_event(connection, "wedding of Lambert Quillern")
    first, second = told.value.candidates
    assert "Lambert Quillern (1861–1938), I1, and Agnes Ombry (1864–1940), I2, married 1887: F1" in first
    assert "1890–1961" in second
    assert "married 1919: F2" in second


def test_a_wedding_the_tree_does_not_tell_of(archive: Archive) -> None:
    """The couple is named, with what to do instead."""
    with archive.reading() as connection, pytest.raises(NotFoundError) as told:
        find_event(connection, "wedding of Tom and Agnes")
    assert "no wedding of Tom Marsh (1860–1935), I5, and Agnes Holm" in str(told.value)
    assert "kinphoto state PHOTO taken DATE" in str(told.value)


def test_a_slip_of_the_pen_is_answered_with_the_whole_phrase(archive: Archive) -> None:
    """The nearest event, ready to be typed."""
    with archive.reading() as connection, pytest.raises(InvalidValueError, match="Did you mean “wedding of Lambert"):
        find_event(connection, "weding of Lambert and Agnes")


def test_people_who_are_no_couple(archive: Archive) -> None:
    """Both are in the tree, but not with each other."""
    with archive.reading() as connection, pytest.raises(NotFoundError, match="no couple 'Tom and Edda'"):
        find_event(connection, "wedding of Tom and Edda")


def test_the_wedding_dates_the_photograph(archive: Archive) -> None:
    """What is recorded is told with the couple's names, and the photograph gets the wedding's year."""
    done, _ = archive.statements.record(NewClaim(photograph="K1", kind="event", date="wedding of Lambert and Agnes"))
    assert done.words == "shows the marriage of Lambert Quillern and Agnes Ombry (F1)"
    (dated,) = archive.dates.estimates(["K1"])
    assert dated.estimate.edtf.startswith("1887")


def test_couples_listed(archive: Archive) -> None:
    """All of them, those of a name, and one by its id; with events that can be recorded and how many children."""
    assert [couple.id for couple in archive.people.couples()] == ["F1", "F2", "F3"]
    assert [couple.id for couple in archive.people.couples("quillern")] == ["F1", "F2"]
    (couple,) = archive.people.couples("F2")
    assert [(e.key, e.date) for e in couple.events] == [("F2:MARR", "1919"), ("F2:DIV", "1931")]
    (couple,) = archive.people.couples("Agnes and Lambert")
    assert (couple.married, couple.children, couple.events[0].place) == ("12 June 1887", 1, "Skerry")

"""A person, and a photograph, as one of many; and what strangers see of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.catalogue import privacy
from kinphoto.archive.catalogue.person_cards import PersonCard, count_pictures, person_cards
from kinphoto.archive.collection.photograph_cards import PersonInPhotograph, cards
from kinphoto.archive.statements.appearances import Link


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Ada, long dead, is in K00001, where somebody denies it, and with Tom, who lives, in K00002."""
    (tmp_path / "scans").mkdir()
    for name in ("a", "b"):
        Image.new("RGB", (40, 30), (name == "a" and "red") or "blue").save(tmp_path / "scans" / f"{name}.png")
    made = Archive.create(tmp_path / "archive")
    made.scans.add([tmp_path / "scans"])
    made.people.add("Ada Marsh", born="1850", died="1940", note="kept the shop")
    made.people.add("Tom Marsh", born="1990")
    for photograph, person in (("K00001", "Ada Marsh"), ("K00002", "Ada Marsh"), ("K00002", "Tom Marsh")):
        made.statements.link(Link(photograph=photograph, person=person))
    made.statements.link(Link(photograph="K00001", person="Ada Marsh", denied=True))
    return made


def test_a_person_as_the_keeper_and_as_a_stranger_sees_them(archive: Archive) -> None:
    """For strangers neither a picture with somebody living counts, nor is told what was noted."""
    with archive.reading() as connection:
        public = privacy.public_view(connection, for_anybody=True)
        kept = person_cards(connection, [1, 2], PersonCard)
        shown = person_cards(connection, [1], PersonCard, public)
        assert (kept[1].id, kept[1].name, kept[1].pictures, kept[1].note) == ("X1", "Ada Marsh", 2, "kept the shop")
        assert (kept[2].pictures, kept[1].life.years, kept[1].outside) == (1, "1850 to 1940", True)
        assert (shown[1].pictures, shown[1].note) == (1, "")
        assert count_pictures(connection, [1, 2], public) == {1: 1}


def test_a_photograph_as_the_keeper_and_as_a_stranger_sees_it(archive: Archive) -> None:
    """Strangers are not told that somebody denied a name, nor of a photograph that shows somebody living."""
    with archive.reading() as connection:
        kept, public = cards(connection, [2, 1]), privacy.public_view(connection, for_anybody=True)
        shown = cards(connection, [2, 1], public)
    assert [one.code for one in kept.values()] == ["K00002", "K00001"]  # as they were asked for
    assert kept[2].people == (
        PersonInPhotograph("X1", "Ada Marsh", False),
        PersonInPhotograph("X2", "Tom Marsh", False),
    )
    assert kept[1].people == (PersonInPhotograph("X1", "Ada Marsh", True),)
    assert list(shown) == [1]
    assert shown[1].people == (PersonInPhotograph("X1", "Ada Marsh", False),)

"""What may be shown to anybody: nothing of people who may be living. The rules are our own; that a person is presumed
to be living for about 110 years after the last sign of them is common practice of those who publish family trees.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.catalogue import privacy
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim

TODAY = date(2026, 1, 1).toordinal()


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """One photograph; Ada (dead long since), Tom (born 1990), and Una, of whom nothing is known."""
    (tmp_path / "scans").mkdir()
    Image.new("RGB", (40, 30)).save(tmp_path / "scans" / "a.jpg")
    made = Archive.create(tmp_path / "archive")
    made.scans.add([tmp_path / "scans"])
    made.people.add("Ada Marsh", born="1850", died="1940")
    made.people.add("Tom Marsh", born="1990")
    made.people.add("Una Marsh")
    return made


def shown(archive: Archive) -> bool:
    """Whether the photograph may be shown, with everything dated."""
    archive.dates.refresh()
    with archive.reading() as connection:
        return bool(privacy.for_anybody(connection, [1], TODAY))


def test_nobody_knows_who_is_in_it(archive: Archive) -> None:
    """Without a name it is kept back, until it is certain to be so old that nobody in it lives."""
    assert not shown(archive)
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1880", trust="certain"))
    assert shown(archive)


@pytest.mark.parametrize(
    ("person", "fine"), [("Ada Marsh", True), ("Tom Marsh", False), ("Una Marsh", False), ("-", False)]
)
def test_who_is_named_decides(archive: Archive, person: str, fine: bool) -> None:
    """The dead are shown; the living, those of whom nothing is known, and faces without a name are not."""
    archive.statements.link(Link(photograph="K00001", person=person, region="0.1,0.1,0.2,0.2"))
    assert shown(archive) is fine


def test_one_of_several_is_enough(archive: Archive) -> None:
    """Beside the dead stands somebody living, a rival on the same face, or a face without a name."""
    for other, region in (("Tom Marsh", "0.5,0.5,0.2,0.2"), ("Tom Marsh", "0.1,0.1,0.2,0.2"), ("-", "0.5,0.5,0.2,0.2")):
        archive.statements.link(Link(photograph="K00001", person="Ada Marsh", region="0.1,0.1,0.2,0.2"))
        archive.statements.link(Link(photograph="K00001", person=other, region=region))
        assert not shown(archive)
        archive.statements.undo()
        assert shown(archive)
        archive.statements.undo()


def test_the_living_named_on_an_old_photograph(archive: Archive) -> None:
    """However old it is said to be, a name on it may be a mistake, and it would be told."""
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1880", trust="certain"))
    archive.statements.link(Link(photograph="K00001", person="Tom Marsh", region="0.1,0.1,0.2,0.2"))
    assert not shown(archive)


def test_a_search_for_anybody_tells_of_nobody_living(archive: Archive) -> None:
    """Neither people nor photographs nor counts: as if they were not there."""
    archive.statements.link(Link(photograph="K00001", person="Tom Marsh", region="0.1,0.1,0.2,0.2"))
    archive.dates.refresh()
    for question in (
        SearchQuery(text="marsh"),
        SearchQuery(text="tom"),
        SearchQuery(since=1800),
        SearchQuery(text="una marsh"),
    ):
        found = archive.search.find(question, for_anybody=True)
        assert (found.count, found.photographs) == (0, ())
        assert {one.name for one in found.people} <= {"Ada Marsh"}
    assert archive.search.find(SearchQuery(text="tom")).count == 1

"""From rows to evidence."""

from __future__ import annotations

from pathlib import Path

import pytest
from making import make_family, make_scans, write_gedcom

from kinphoto.archive import Archive
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.reason.model import evidence as ev


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Sixty people and three photographs."""
    made = Archive.create(tmp_path / "archive")
    write_gedcom(tmp_path / "tree.ged", *make_family(60, seed=3))
    made.tree.import_file(tmp_path / "tree.ged")
    make_scans(tmp_path / "scans", 3, seed=1)
    made.scans.add([tmp_path / "scans"])
    return made


def evidence(archive: Archive) -> ev.Evidence:
    """What the reasoner is told."""
    with archive.reading() as connection:
        return gather(connection)


def test_a_tree_without_pictures_tells_nothing(archive: Archive) -> None:
    """Nobody is in a picture, so nobody's dates can bear on one."""
    assert evidence(archive).people == ()
    assert evidence(archive).statements == ()


def test_the_family_round_somebody_in_a_picture(archive: Archive) -> None:
    """The person, and those a step away: births known to the day are walls nothing behind can move."""
    archive.statements.link(Link(photograph="K1", person="I2"))
    told = evidence(archive)
    links = [s for s in told.statements if isinstance(s, ev.ParentLink)]
    near = {p.id for p in told.people}
    assert "I2" in near
    assert all({s.child, s.parent} <= near for s in links)
    assert len(near) < 30


def test_a_slide_is_no_print(archive: Archive) -> None:
    """What lay in the camera, by its process or its format, has no printing of its own."""
    archive.statements.record_making("K1", "format", "slide-35mm")
    archive.statements.record_making("K2", "process", "tintype")
    archive.statements.record_making("K3", "process", "albumen")
    assert [p.printed for p in evidence(archive).photographs] == [False, False, True]


def test_doubt_and_trust(archive: Archive) -> None:
    """A date with a question mark is held one step less firmly than its kind; an explicit trust stays."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1925?"))
    archive.statements.record(NewClaim(photograph="K1", kind="inscription", date="1926", trust="certain"))
    trusts = {str(s.date.words): s.firmness for s in evidence(archive).statements if isinstance(s, ev.DateClaim)}
    assert trusts == {"1924": ev.Trust.STRONG, "1925?": ev.Trust.FAIR, "1926": ev.Trust.CERTAIN}


def test_somebody_outside_who_turned_out_to_be_in_the_tree(archive: Archive) -> None:
    """Pictures of X1 count as those of the person X1 turned out to be."""
    archive.people.add("Jon Tveit")
    archive.statements.link(Link(photograph="K1", person="X1"))
    archive.people.identify("X1", "I3")
    assert [s.person for s in evidence(archive).statements if isinstance(s, ev.Appearance)] == ["I3"]


def test_an_age_judged_unseen_is_evidence_with_its_mark(archive: Archive) -> None:
    """The reasoner is told which ages cannot have been fitted to a date, and an explanation says so in words."""
    archive.statements.link(Link(photograph="K1", person="I1", age="25-30", blind=True))
    archive.statements.link(Link(photograph="K2", person="I1", age="31"))
    ages = {s.low: s.blind for s in evidence(archive).statements if isinstance(s, ev.Age)}
    assert ages == {25: True, 31: False}
    (told,) = [part.text for part in archive.dates.explanation("K1").parts if part.kind == "apparent-age"]
    assert told.endswith("looks 25 to 30 in K00001, judged before the date was seen, so it counts for more")

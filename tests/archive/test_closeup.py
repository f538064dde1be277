"""One photograph dated again at once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.archive.closeup import near
from kinphoto.archive.links import Link
from kinphoto.archive.sample import build
from kinphoto.archive.statements import Said, Tie
from kinphoto.errors import NotFoundError
from kinphoto.reason.findings import State
from kinphoto.reason.span import year_of


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Four photographs; a neighbour of unknown age is in K1 and K2."""
    made = Archive.create(tmp_path / "archive")
    make_scans(tmp_path / "scans", 4, seed=1)
    made.add_scans([tmp_path / "scans"])
    made.add_person("Jon Tveit")
    for code in ("K1", "K2"):
        made.link(Link(photograph=code, person="X1"))
    made.dates()
    return made


def test_the_sample(tmp_path: Path) -> None:
    """Each photograph of the sample looked at by itself is dated as with the whole archive: the same state, the same
    possible days, and years that a reader is told."""
    archive = build(tmp_path / "sample").archive
    for whole in archive.dates():
        [alone] = archive.date_now([whole.code])
        one, other = alone.estimate, whole.estimate
        assert (one.state, one.earliest, one.latest, one.edtf) == (
            other.state, other.earliest, other.latest, other.edtf,
        )  # fmt: skip
        if one.best and other.best:
            assert abs(one.best - other.best) < 15, whole.code
    assert archive.freshness().fresh


def test_at_once_and_for_its_neighbours(archive: Archive) -> None:
    """A new date shows at once, also in photographs that hang together with it; the whole is still to be looked at."""
    archive.state(Said(photograph="K1", kind="taken", date="1924"))
    archive.relate(Tie(photograph="K1", relation="same-occasion", other="K3", trust="strong"))
    [dated] = archive.date_now(["K1"])
    assert dated.estimate.edtf == "1924"
    kept = archive.kept_dates()
    by_code = {d.code: d.estimate for d in kept.photographs}
    assert {by_code["K00003"].earliest, by_code["K00003"].latest} == {
        date(1923, 12, 31).toordinal(), date(1925, 1, 1).toordinal(),
    }  # fmt: skip
    assert not kept.freshness.fresh
    archive.link(Link(photograph="K1", person="X1", stated_age="20"))
    archive.date_now(["K1"])
    second = archive.kept_dates(["K2"]).photographs[0].estimate
    assert year_of(second.earliest) == 1901
    whole = {d.code: d.estimate for d in archive.dates()}
    assert whole["K00002"].earliest == second.earliest


def test_a_contradiction_shows_at_once(archive: Archive) -> None:
    """Two dates that cannot both be true make the photograph disputed before the whole archive was looked at."""
    for year in ("1924", "1931"):
        archive.state(Said(photograph="K4", kind="taken", date=year))
    [dated] = archive.date_now(["K4"])
    assert dated.estimate.state is State.DISPUTED
    assert len(archive.strip("K4").conflicts) == 1
    assert archive.dates(["K4"])[0].estimate == dated.estimate


def test_a_contradiction_settled_shows_at_once(archive: Archive) -> None:
    """When one of the two is withdrawn, the other counts again, though the whole archive still has the conflict."""
    said = [archive.state(Said(photograph="K4", kind="taken", date=year))[0] for year in ("1924", "1931")]
    assert archive.dates(["K4"])[0].estimate.state is State.DISPUTED
    archive.withdraw(said[0].statement)
    [dated] = archive.date_now(["K4"])
    assert (dated.estimate.state, dated.estimate.edtf) == (State.DATED, "1931")


def test_what_the_whole_set_aside_stays_aside(tmp_path: Path) -> None:
    """A death that several photographs speak against is set aside also where only one of them is looked at."""
    archive = Archive.create(tmp_path / "archive")
    make_scans(tmp_path / "scans", 4, seed=1)
    archive.add_scans([tmp_path / "scans"])
    archive.add_person("Jon Tveit", born="1880", died="1919")
    for code in ("K1", "K2", "K3"):
        archive.link(Link(photograph=code, person="X1"))
        archive.state(Said(photograph=code, kind="taken", date="1925"))
    archive.dates()
    archive.link(Link(photograph="K4", person="X1"))
    archive.date_now(["K4"])
    assert archive.kept_dates(["K4"]).photographs[0].estimate.latest > date(1930, 1, 1).toordinal()
    with archive.reading() as connection:
        assert len(near(connection, 4).kept) == 1


def test_pages_and_strangers(archive: Archive) -> None:
    """An album page has no date and is passed over; what is not there is said."""
    archive.relate(Tie(photograph="K1", relation="part-of", other="K4"))
    assert [d.code for d in archive.date_now(["K4", "K2", "K2"])] == ["K00002", "K00002"]
    with pytest.raises(NotFoundError):
        archive.date_now(["K99"])

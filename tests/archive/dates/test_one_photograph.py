"""One photograph dated again at once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import families
import pytest
from building import archive_with
from making import make_scans
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.dates import whole
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.errors import NotFoundError
from kinphoto.reason.dating import date_archive
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import year_of
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Four photographs; a neighbour of unknown age is in K1 and K2."""
    made = archive_with(tmp_path, scans=4)
    made.people.add("Jon Tveit")
    for code in ("K1", "K2"):
        made.statements.link(Link(photograph=code, person="X1"))
    made.dates.estimates()
    return made


@pytest.mark.parametrize("seed", [3, 4])
def test_as_when_everything_is_dated(tmp_path: Path, seed: int) -> None:
    """In a family's archive every change dates all photographs as dating everything does, and each photograph's own
    page tells the same."""
    family = families.build(tmp_path, seed, 60)
    archive = family.archive
    for change in families.KINDS.values():
        archive.dates.refresh_photographs(change(family))
        with archive.reading() as connection:
            expected = {e.photograph: e for e in date_archive(gather(connection)).estimates}
        assert {d.code: d.estimate for d in archive.dates.kept_estimates().photographs} == expected
    for code in list(family.taken)[:10]:
        assert archive.dates.evidence_strip(code).estimate == expected[code]


def test_of_the_newest_change(archive: Archive) -> None:
    """When no photograph is named, it is what the newest change was about: also after something is taken back."""
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1924"))
    assert [d.estimate.edtf for d in archive.dates.refresh_photographs()] == ["1924"]
    archive.statements.undo()
    assert [(d.code, d.estimate.state) for d in archive.dates.refresh_photographs()] == [("K00002", State.OPEN)]


@pytest.mark.usefixtures("as_if_large")
def test_the_sample(own_sample: Archive) -> None:
    """Each photograph of the sample looked at by itself is dated as with the whole archive: the same state, the same
    possible days, and years that a reader is told."""
    archive = own_sample
    for dated in archive.dates.estimates():
        [alone] = archive.dates.refresh_photographs([dated.code])
        one, other = alone.estimate, dated.estimate
        assert (one.state, one.earliest, one.latest, one.edtf) == (
            other.state, other.earliest, other.latest, other.edtf,
        )  # fmt: skip
        if one.best and other.best:
            assert abs(one.best - other.best) < 31, dated.code
    assert archive.dates.freshness().fresh


@pytest.mark.usefixtures("as_if_large")
def test_at_once_and_for_its_neighbours(archive: Archive) -> None:
    """A new date shows at once, also in photographs that hang together with it; the whole is still to be looked at."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    archive.statements.relate(Tie(photograph="K1", relation="same-occasion", other="K3", trust="strong"))
    [dated] = archive.dates.refresh_photographs(["K1"])
    assert dated.estimate.edtf == "1924"
    kept = archive.dates.kept_estimates()
    by_code = {d.code: d.estimate for d in kept.photographs}
    assert {by_code["K00003"].earliest, by_code["K00003"].latest} == {
        date(1923, 12, 31).toordinal(), date(1925, 1, 1).toordinal(),
    }  # fmt: skip
    assert not kept.freshness.fresh
    archive.statements.link(Link(photograph="K1", person="X1", stated_age="20"))
    archive.dates.refresh_photographs(["K1"])
    second = archive.dates.kept_estimates(["K2"]).photographs[0].estimate
    assert year_of(second.earliest) == 1901
    everything = {d.code: d.estimate for d in archive.dates.estimates()}
    assert everything["K00002"].earliest == second.earliest


@pytest.mark.usefixtures("as_if_large")
def test_what_lies_with_it_follows(tmp_path: Path) -> None:
    """Four pictures of an album; of three somebody tells the year. The fourth moves with each of them, nearly as when
    everything is dated, and nothing of it is left when the years are taken back."""
    archive = archive_with(tmp_path, photographs=4)
    archive.photographs.move(["K1", "K2", "K3", "K4"], "Album")
    archive.people.add("Ada Marsh", born="1880", died="1960")
    for code in ("K1", "K2", "K3", "K4"):
        archive.statements.link(Link(photograph=code, person="X1", age="20-60"))
    before = archive.dates.estimates(["K4"])[0].estimate

    def fourth() -> Estimate:
        return archive.dates.kept_estimates(["K4"]).photographs[0].estimate

    for code in ("K1", "K2", "K3"):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date="1931"))
        archive.dates.refresh_photographs([code])
    now = fourth()
    assert (now.likely_from or 0) > (before.likely_from or 0)
    assert not archive.dates.freshness().fresh
    whole_ = archive.dates.estimates(["K4"])[0].estimate
    assert abs((now.best or 0) - (whole_.best or 0)) < 120
    for _ in range(3):
        archive.statements.undo()
    for code in ("K1", "K2", "K3"):
        archive.dates.refresh_photographs([code])
    assert abs((fourth().best or 0) - (before.best or 0)) < 120


@pytest.mark.usefixtures("as_if_large")
def test_what_is_of_its_theme_follows(tmp_path: Path) -> None:
    """Four scans of a harbour and four of a picnic in one folder. When somebody tells the years of three of the harbour
    the fourth moves, nearly as when everything is dated; of the picnic none does."""
    folder = tmp_path / "Tin"
    folder.mkdir()
    names = [f"{theme}_{number:04}.jpg" for theme in ("harbour", "picnic") for number in range(1, 5)]
    for path, name in zip(make_scans(tmp_path, 8, seed=1), names, strict=True):
        path.rename(folder / name)
    archive = archive_with(tmp_path)
    archive.scans.add([folder])
    archive.people.add("Ada Marsh", born="1880", died="1960")
    for i in range(1, 9):
        archive.statements.link(Link(photograph=f"K{i}", person="X1", age="20-60"))
    before = archive.dates.estimates(["K4", "K8"])
    for code in ("K1", "K2", "K3"):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date="1931"))
        archive.dates.refresh_photographs([code])
    now = archive.dates.kept_estimates(["K4", "K8"]).photographs
    assert (now[0].estimate.likely_from or 0) > (before[0].estimate.likely_from or 0)
    assert now[1].estimate == before[1].estimate
    assert not archive.dates.freshness().fresh
    whole_ = archive.dates.estimates(["K4"])[0].estimate
    assert abs((now[0].estimate.best or 0) - (whole_.best or 0)) < 120


@pytest.mark.parametrize("most", [0, 500])
def test_a_contradiction_shows_at_once(archive: Archive, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two dates that cannot both be true make the photograph disputed before the whole archive was looked at."""
    monkeypatch.setattr(whole, "AT_ONCE", most)
    monkeypatch.setattr(whole, "HELD", most)
    for year in ("1924", "1931"):
        archive.statements.record(NewClaim(photograph="K4", kind="taken", date=year))
    [dated] = archive.dates.refresh_photographs(["K4"])
    assert dated.estimate.state is State.DISPUTED
    assert len(archive.dates.evidence_strip("K4").conflicts) == 1
    everything, alone = archive.dates.estimates(["K4"])[0].estimate, dated.estimate
    assert (everything.state, everything.edtf) == (alone.state, alone.edtf)


@pytest.mark.parametrize("most", [0, 500])
def test_a_contradiction_settled_shows_at_once(archive: Archive, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """When one of the two is withdrawn, the other counts again, though the whole archive still has the conflict."""
    monkeypatch.setattr(whole, "AT_ONCE", most)
    monkeypatch.setattr(whole, "HELD", most)
    said = [
        archive.statements.record(NewClaim(photograph="K4", kind="taken", date=year))[0] for year in ("1924", "1931")
    ]
    assert archive.dates.estimates(["K4"])[0].estimate.state is State.DISPUTED
    archive.statements.withdraw(said[0].statement)
    [dated] = archive.dates.refresh_photographs(["K4"])
    assert (dated.estimate.state, dated.estimate.edtf) == (State.DATED, "1931")


@pytest.mark.usefixtures("as_if_large")
def test_what_the_whole_set_aside_stays_aside(tmp_path: Path) -> None:
    """A death that several photographs speak against is set aside also where only one of them is looked at."""
    archive = archive_with(tmp_path, scans=4)
    archive.people.add("Jon Tveit", born="1880", died="1919")
    for code in ("K1", "K2", "K3"):
        archive.statements.link(Link(photograph=code, person="X1"))
        archive.statements.record(NewClaim(photograph=code, kind="taken", date="1925"))
    archive.dates.estimates()
    archive.statements.link(Link(photograph="K4", person="X1"))
    archive.dates.refresh_photographs(["K4"])
    assert archive.dates.kept_estimates(["K4"]).photographs[0].estimate.latest > date(1930, 1, 1).toordinal()
    with archive.reading() as connection:
        assert len(near(connection, 4).kept) == 1


@pytest.mark.usefixtures("as_if_large")
def test_more_than_can_be_gathered(tmp_path: Path) -> None:
    """Somebody of unknown age is in more photographs than are looked at: what all of them said of the birth and the
    death when everything was dated stands for those that are left out."""
    archive = archive_with(tmp_path, scans=31)
    archive.people.add("Jon Tveit")
    for n in range(30):
        age = f"{2 * n + 7}-{2 * n + 13}" if n >= 10 else None
        archive.statements.link(Link(photograph=f"K{n + 2}", person="X1", age=age))
        archive.statements.record(NewClaim(photograph=f"K{n + 2}", kind="taken", date=str(1910 + 2 * n)))
    archive.statements.link(Link(photograph="K1", person="X1", age="40"))
    expected = archive.dates.estimates(["K1"])[0].estimate
    [alone] = archive.dates.refresh_photographs(["K1"])
    with archive.reading() as connection:
        assert not near(connection, 1).complete
    ends = [("best", 92), ("likely_from", 275), ("likely_to", 275)]  # of 35 years; her look is learned with her birth
    for end, days in ends:
        assert abs(getattr(alone.estimate, end) - getattr(expected, end)) < days, end
    assert archive.dates.evidence_strip("K1").estimate == alone.estimate  # up to date, so it is what is kept


@pytest.mark.usefixtures("as_if_large")
def test_who_is_reached_wholly_follows(tmp_path: Path) -> None:
    """Jon is in more photographs than are looked at, and Ada, of vague birth too, in two: one with Jon, whose year
    somebody tells. Her birth moves the other to within a month of what dating everything makes of it."""
    archive = archive_with(tmp_path, photographs=42)
    archive.people.add("Jon Tveit", born="between 1880 and 1910")
    archive.people.add("Ada Marsh", born="between 1880 and 1910", died="1960")
    for n in range(1, 41):
        archive.statements.link(Link(photograph=f"K{n}", person="X1", age=f"{n + 10}-{n + 16}"))
    for code, age in (("K1", "20-24"), ("K42", "40-44")):
        archive.statements.link(Link(photograph=code, person="X2", age=age))
    before = archive.dates.estimates(["K42"])[0].estimate
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1931"))
    archive.dates.refresh_photographs(["K1"])
    now = archive.dates.kept_estimates(["K42"]).photographs[0].estimate
    expected = archive.dates.estimates(["K42"])[0].estimate
    assert abs((expected.best or 0) - (before.best or 0)) > 365
    for end in ("best", "likely_from", "likely_to"):
        assert abs(getattr(now, end) - getattr(expected, end)) <= 31, end


@pytest.mark.usefixtures("as_if_large")
def test_who_stays_keeps_what_was_heard(tmp_path: Path) -> None:
    """Of three pictures of an album one has a day and one a year that somebody tells anew. What the album tells is kept
    for the third, which it moves, but not for the day, which it does not."""
    archive = archive_with(tmp_path, photographs=3)
    archive.photographs.move(["K1", "K2", "K3"], "Album")
    archive.people.add("Ada Marsh", born="1880", died="1960")
    for code in ("K1", "K2", "K3"):
        archive.statements.link(Link(photograph=code, person="X1", age="20-60"))
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1931-05-01", trust="certain"))
    archive.dates.estimates()

    def heard() -> list[bytes]:
        with archive.reading() as connection:
            f = t.from_container.c
            return list(connection.scalars(select(f.told).order_by(f.photograph_id)))

    before = heard()
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1912"))
    archive.dates.refresh_photographs(["K2"])
    assert [was == now for was, now in zip(before, heard(), strict=True)][::2] == [True, False]


def test_pages_and_strangers(archive: Archive) -> None:
    """An album page has no date and is passed over; what is not there is said."""
    archive.statements.relate(Tie(photograph="K1", relation="part-of", other="K4"))
    assert [d.code for d in archive.dates.refresh_photographs(["K4", "K2", "K2"])] == ["K00002", "K00002"]
    with pytest.raises(NotFoundError):
        archive.dates.refresh_photographs(["K99"])

"""A family's archive, looked at as a whole and held."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.dates import whole
from kinphoto.archive.statements.claims import NewClaim


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Three photographs, one of them dated."""
    made = archive_with(tmp_path, scans=3)
    made.state(NewClaim(photograph="K1", kind="taken", date="1924"))
    return made


def test_it_is_worked_out_once(archive: Archive) -> None:
    """What was concluded is held until something is changed, whoever changes it."""
    first = whole.held(archive)
    assert first is not None
    archive.refresh_estimates()
    assert whole.held(archive) is first
    other = Archive.open(archive.folder)
    other.state(NewClaim(photograph="K2", kind="taken", date="1931"))
    second = whole.held(archive)
    assert second is not first
    assert second is not None
    assert second.look.dated_exposures(["K00002"])["K00002"].estimate.edtf == "1931"


def test_where_it_would_take_too_long(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """A larger archive is not looked at as a whole while somebody waits; what was worked out meanwhile is used."""
    monkeypatch.setattr(whole, "AT_ONCE", 2)
    assert whole.held(archive) is None
    assert archive.look_at_everything()
    assert whole.held(archive) is not None
    archive.state(NewClaim(photograph="K2", kind="taken", date="1931"))
    assert whole.held(archive) is None
    monkeypatch.setattr(whole, "HELD", 2)
    assert not archive.look_at_everything()


def test_everything_is_kept_as_well(archive: Archive) -> None:
    """Looking at everything leaves estimates that are up to date."""
    assert archive.look_at_everything()
    assert archive.freshness().fresh
    assert [d.estimate.edtf for d in archive.kept_dates(["K1"]).photographs] == ["1924"]

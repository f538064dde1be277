"""A family's archive, looked at as a whole and held."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.dates import whole
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.words.sentences import Sentences


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Three photographs, one of them dated."""
    made = archive_with(tmp_path, scans=3)
    made.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    return made


def test_it_is_worked_out_once(archive: Archive) -> None:
    """What was concluded is held until something is changed, whoever changes it."""
    first = whole.held(archive.engine)
    assert first is not None
    archive.dates.refresh()
    assert whole.held(archive.engine) is first
    other = Archive.open(archive.folder)
    other.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))
    second = whole.held(archive.engine)
    assert second is not first
    assert second is not None
    assert second.look.dated_exposures(["K00002"])["K00002"].estimate.edtf == "1931"


def test_what_bears_on_no_date_is_no_reason_to_date_everything(archive: Archive) -> None:
    """A title is given: what was concluded still holds. A date is given: it is concluded anew."""
    first = whole.held(archive.engine)
    assert first is not None
    archive.photographs.describe("K1", Description(title="At the pier"))
    titled = whole.held(archive.engine)
    assert titled is not None
    assert titled.made != first.made
    assert titled.look is first.look
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))
    dated = whole.held(archive.engine)
    assert dated is not None
    assert dated.look is not first.look
    archive.statements.undo()
    archive.dates.refresh()
    assert archive.dates.freshness().fresh


def test_where_it_would_take_too_long(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """A larger archive is not looked at as a whole while somebody waits; what was worked out meanwhile is used."""
    monkeypatch.setattr(whole, "AT_ONCE", 2)
    assert whole.held(archive.engine) is None
    assert archive.dates.refresh_in_memory()
    assert whole.held(archive.engine) is not None
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))
    assert whole.held(archive.engine) is None
    monkeypatch.setattr(whole, "HELD", 2)
    assert not archive.dates.refresh_in_memory()


def test_everything_is_kept_as_well(archive: Archive) -> None:
    """Looking at everything leaves estimates that are up to date."""
    assert archive.dates.refresh_in_memory()
    assert archive.dates.freshness().fresh
    assert [d.estimate.edtf for d in archive.dates.kept_estimates(["K1"]).photographs] == ["1924"]


def test_what_sentences_name(shared_sample: Archive) -> None:
    """A few statements picked out with what they name give the sentences that all the evidence gives."""
    found = whole.worked_out(shared_sample.engine)
    assert found is not None
    every = Sentences(found.evidence)
    for statement in found.evidence.statements:
        few = Sentences(found.naming([statement.id]))
        assert few.sentence(statement.id) == every.sentence(statement.id)
        assert few.about(statement.id) == every.about(statement.id)
        assert few.photographs(statement.id) == every.photographs(statement.id)
        assert len(few.statements) <= 3

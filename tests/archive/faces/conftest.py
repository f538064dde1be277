"""Archives with real faces."""

from __future__ import annotations

from pathlib import Path

import portraits
import pytest

from kinphoto.archive import Archive
from kinphoto.scans import workers


@pytest.fixture(scope="session")
def prints(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scans."""
    return portraits.prints(tmp_path_factory.mktemp("prints") / "box")


@pytest.fixture
def archive(own_portraits: Archive) -> Archive:
    """An archive of them, turned on and searched."""
    return own_portraits


@pytest.fixture
def by_processes(by_processes: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Faces are searched for and described by processes; but these do not stand back, for on a busy machine their turn
    might not come for an hour."""
    code = "from kinphoto.scans import worker; worker.stand_back = lambda: None; worker.serve()"
    monkeypatch.setattr(workers, "_CODE", code)

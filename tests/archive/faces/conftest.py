"""Archives with real faces."""

from __future__ import annotations

from pathlib import Path

import portraits
import pytest

from kinphoto.archive import Archive
from kinphoto.archive.faces import searching
from kinphoto.scans.workers import Workers


@pytest.fixture(scope="session")
def prints(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scans."""
    return portraits.prints(tmp_path_factory.mktemp("prints") / "box")


@pytest.fixture
def archive(own_portraits: Archive) -> Archive:
    """An archive of them, turned on and searched."""
    return own_portraits


@pytest.fixture
def by_processes(measured_here: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Faces are searched for and described by processes, as they are for everybody."""
    monkeypatch.setattr(searching, "Workers", Workers)

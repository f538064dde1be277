"""Archives with real faces."""

from __future__ import annotations

from pathlib import Path

import portraits
import pytest

from kinphoto.archive import Archive


@pytest.fixture(scope="session")
def prints(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scans."""
    return portraits.prints(tmp_path_factory.mktemp("prints") / "box")


@pytest.fixture
def archive(own_portraits: Archive) -> Archive:
    """An archive of them, turned on and searched."""
    return own_portraits

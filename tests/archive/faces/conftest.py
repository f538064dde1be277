"""Archives with real faces, copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import portraits
import pytest

from kinphoto.archive import Archive


@pytest.fixture(scope="session")
def prints(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scans."""
    return portraits.prints(tmp_path_factory.mktemp("prints") / "box")


@pytest.fixture(scope="session")
def searched_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive of them, turned on and searched."""
    return portraits.searched(tmp_path_factory.mktemp("family"))


@pytest.fixture
def archive(searched_once: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of it."""
    shutil.copytree(searched_once, tmp_path / "archive")
    opened = Archive.open(tmp_path / "archive")
    yield opened
    opened.close()

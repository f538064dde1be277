"""The archive in which somebody living is hidden."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from building import made_once, of_the_run
from hiding import plant

from kinphoto.archive import Archive


@pytest.fixture(scope="session")
def planted_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Planted once in a run, with its scans beside it. It is only copied."""

    def make(folder: Path) -> None:
        folder.mkdir()
        plant(folder).close()

    return made_once(of_the_run(tmp_path_factory) / "planted", make)


@pytest.fixture
def planted(planted_once: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy for one test, which leaves the scans as they are: see `tests/hiding.py`."""
    shutil.copytree(planted_once / "archive", tmp_path / "archive")
    shutil.copy(planted_once / "family.ged", tmp_path)
    archive = Archive.open(tmp_path / "archive")
    yield archive
    archive.engine.dispose()

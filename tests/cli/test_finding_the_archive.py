"""Finding the archive that is meant."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.cli.output import open_archive
from kinphoto.errors import ArchiveError


def test_what_is_left_of_an_archive_is_not_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the database itself is missing, nobody gets the archive of the folder above instead."""
    Archive.create(tmp_path).close()
    inner = tmp_path / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    assert open_archive(None).folder == tmp_path
    (inner / "kinphoto.db-wal").write_bytes(b"pages")
    with pytest.raises(ArchiveError, match=r"kinphoto\.db is missing"):
        open_archive(None)


def test_a_folder_above_into_which_nobody_may_look(
    shared: Path, monkeypatch: pytest.MonkeyPatch, without_rights: Callable[[], AbstractContextManager[None]]
) -> None:
    """It is passed over, and the answer is that there is no archive."""
    inner = shared / "above" / "inner"
    inner.mkdir(parents=True)
    monkeypatch.chdir(inner)
    monkeypatch.setattr(Path, "cwd", lambda: inner)
    inner.parent.chmod(0o000)
    with without_rights(), pytest.raises(ArchiveError, match="there is no archive in this folder or above it"):
        open_archive(None)
    inner.parent.chmod(0o755)

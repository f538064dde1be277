"""`kinphoto keep` as it is typed."""

from __future__ import annotations

import json
import shutil
from contextlib import closing
from pathlib import Path

import pytest
from building import archive_with
from commands import run_command


@pytest.fixture
def family(tmp_path: Path) -> Path:
    """The folder of an archive with three scans."""
    with closing(archive_with(tmp_path, scans=3)) as archive:
        return archive.folder


def test_an_evening_that_ends_well(family: Path, tmp_path: Path) -> None:
    """A backup, the disk dies, the backup is restored and looked at."""
    made = run_command(family, "keep", "backup", tmp_path / "disk")
    assert made.returncode == 0
    assert "3 scans in it; 3 new files copied" in made.stdout
    assert "WARNING: this backup is on the same disk" in made.stderr
    shutil.rmtree(family)
    shutil.rmtree(tmp_path / "scans")
    back = run_command(tmp_path, "keep", "restore", "disk", "new")
    assert back.returncode == 0
    assert "3 scans put there." in back.stdout
    where = run_command(tmp_path / "new", "scans", "where")
    assert where.stdout == f"{tmp_path / 'new' / 'scans' / 'scans'}: 3 files, all there\n"


def test_what_is_not_in_it_is_said_loudly(family: Path, tmp_path: Path) -> None:
    """On standard error, also when the answer is JSON."""
    made = run_command(family, "keep", "backup", tmp_path / "disk", "--without-scans", "--json")
    assert json.loads(made.stdout)["not_in_it"] == 3
    assert "WARNING: 3 scans NOT in this backup." in made.stderr


def test_packed_and_made_again(family: Path, tmp_path: Path) -> None:
    """One command each; the package says that it is not for everybody."""
    made = run_command(family, "keep", "bag", tmp_path / "packages", "--json")
    assert "includes living people" in made.stderr
    again = run_command(tmp_path, "init", "again", "--from", json.loads(made.stdout)["folder"])
    assert again.returncode == 0
    assert "3 scans put there." in again.stdout
    assert run_command(tmp_path / "again", "list", "--json").stdout.count('"code"') == 3


def test_reading_scans_again(family: Path, tmp_path: Path) -> None:
    """All well: status 0. One is gone: it is named, with what to do, and the status is 1."""
    well = run_command(family, "keep", "verify", "--minutes", "5")
    assert (well.returncode, well.stdout.splitlines()[-1]) == (0, "Everything that was read is as it should be.")
    gone = next((tmp_path / "scans").rglob("*.jpg"))
    gone.unlink()
    bad = run_command(family, "keep", "verify")
    assert bad.returncode == 1
    assert f"{gone}: It is not there." in bad.stdout
    state = run_command(family, "keep", "state")
    assert "1 scan is not as it should be." in state.stdout
    assert run_command(family, "keep", "verify", "--minutes", "soon").returncode == 2


def test_scans_that_moved(family: Path, tmp_path: Path) -> None:
    """`scans where` shows that they are gone, and sets the folder anew; one folder alone is a question."""
    (tmp_path / "scans").rename(tmp_path / "moved")
    assert run_command(family, "scans", "where").stdout == f"{tmp_path / 'scans'}: 3 files, none of them there\n"
    assert "say where they are now" in run_command(family, "scans", "where", tmp_path / "scans").stderr
    set_anew = run_command(family, "scans", "where", tmp_path / "scans", tmp_path / "moved")
    assert set_anew.stdout == f"{tmp_path / 'scans'} is now {tmp_path / 'moved'}: 3 files, all there\n"

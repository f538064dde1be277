"""The page that says how well the archive is kept, and does something about it."""

from __future__ import annotations

from pathlib import Path

import bagit

from kinphoto.archive import Archive
from kinphoto.archive.keeping.backup import backups_in

from .conftest import Browser


def finished(browser: Browser) -> str:
    """The page when what was begun has ended."""
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    return browser.get("/keep")


def test_the_first_page_says_kindly_that_there_is_no_copy(browser: Browser) -> None:
    """And leads to where one is made."""
    page = browser.get("/")
    assert 'href="/keep"' in page
    assert "There is no copy of this archive elsewhere yet." in page


def test_a_backup_from_the_page(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """It is made in the folder that was typed, again without typing it, and every day from then on."""
    answer = browser.post("/keep/backup", {"target": str(tmp_path / "disk"), "daily": "1"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/keep")
    page = finished(browser)
    assert "59 scans in it" in page
    assert "Last backup: today" in page
    assert archive.keep.state().daily == str(tmp_path / "disk")
    browser.post("/keep/backup", {"target": ""})
    assert "0 new files copied" in finished(browser)
    assert archive.keep.state().daily is None
    assert len(backups_in(tmp_path / "disk")) == 1  # of one day the newest


def test_a_backup_that_cannot_be_made_says_why(browser: Browser, archive: Archive) -> None:
    """In the archive's own folder it would be taken for a part of it."""
    browser.post("/keep/backup", {"target": str(archive.folder / "inside")})
    assert "a backup cannot be inside" in finished(browser)


def test_a_package_from_the_page(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """It is a valid bag, and the page says that living people are in it."""
    browser.post("/keep/package", {"target": str(tmp_path / "packages")})
    assert "It includes living people." in finished(browser)
    (package,) = (tmp_path / "packages").iterdir()
    bagit.Bag(str(package)).validate()


def test_scans_that_rotted_are_listed(browser: Browser, archive: Archive) -> None:
    """With the photograph and what to do; the scans are only read."""
    with archive.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE scan SET sha256 = 'other' WHERE id = 3")
    browser.post("/keep/verify", {})
    page = finished(browser)
    assert "59 scans read again, of 59." in page
    assert "Scans and recordings that are not as they were" in page
    assert "No copy is known here" in page


def test_strangers_see_nothing_of_it(stranger: Browser) -> None:
    """Where the archive lies is for those who keep it."""
    assert stranger.client.get("/keep", follow_redirects=False).status_code in (302, 303, 403)
    assert "/keep" not in stranger.get("/")

"""Scans to redo: found by a press, shown beside the picture, accepted by another."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from building import copied, made_once, of_the_run

from kinphoto.archive import Archive
from kinphoto.archive.search.listing import ListQuery

from .conftest import Browser

LAST = ("K00058", "K00059")
"""The photographs whose scans wait to be checked."""


@pytest.fixture(scope="module")
def checked_sample(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with all scans checked but those of two photographs."""

    def make(folder: Path) -> None:
        with closing(copied(sample, folder)) as archive:
            all_of_them = [one.picture.code for one in archive.search.photographs(ListQuery())]
            archive.scans.check([code for code in all_of_them if code not in LAST])

    return made_once(of_the_run(tmp_path_factory) / "checked", make)


@pytest.fixture
def archive(checked_sample: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of it, in a folder of its own."""
    opened = copied(checked_sample, tmp_path / "sample")
    yield opened
    opened.engine.dispose()


def checked(browser: Browser, archive: Archive) -> str:
    """The page once all scans of the sample were checked."""
    archive.scans.check()
    return browser.get("/scan-checks")


def test_the_page_says_what_is_not_checked_and_checks_it(browser: Browser, archive: Archive) -> None:
    """One press begins it in the background; then nothing is waiting."""
    waiting = archive.scans.findings().waiting
    assert waiting
    assert f"{waiting} scans not checked yet" in browser.get("/scan-checks")
    browser.done("/scan-checks/run", {}, "/scan-checks")
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    assert archive.scans.findings().waiting == 0
    assert "not checked yet" not in browser.get("/scan-checks")


def test_every_finding_stands_beside_its_picture(browser: Browser, archive: Archive) -> None:
    """With what was measured, its limit, its source and what to do."""
    text = checked(browser, archive)
    found = archive.scans.findings()
    shown = [scan for scan in found.scans if scan.verdict == ("redo" if found.redo else "look")][:40]
    assert shown
    for scan in shown:
        assert f'id="scan-{scan.id}"' in text
        assert f"/scan/{scan.id}/small.jpg" in text


def test_a_finding_is_accepted_and_shown_again(browser: Browser, archive: Archive) -> None:
    """As `kinphoto scans accept` does; one that there is not is refused."""
    checked(browser, archive)
    scan = next(scan for scan in archive.scans.findings().scans if scan.verdict != "good")
    one = scan.findings[0]
    fields: dict[str, str | list[str]] = {"scan": str(scan.id), "kind": one.kind, "why": "the original is like that"}
    browser.done("/scan-checks/accept", fields, "/scan-checks")
    (now,) = (each for each in archive.scans.findings([scan.scan]).scans)
    assert [each.accepted for each in now.findings if each.kind == one.kind] == [True]
    browser.done("/scan-checks/accept", {**fields, "take_back": "1"}, "/scan-checks")
    (now,) = (each for each in archive.scans.findings([scan.scan]).scans)
    assert not any(each.accepted for each in now.findings)
    browser.refused("/scan-checks/accept", {**fields, "kind": "nonsense"}, archive)


def test_the_page_of_a_photograph_names_what_is_wrong_with_its_scan(browser: Browser, archive: Archive) -> None:
    """And leads to the page with all of it."""
    checked(browser, archive)
    scan = next(scan for scan in archive.scans.findings().scans if scan.verdict != "good" and scan.side == "recto")
    text = browser.get(f"/photograph/{scan.photograph}")
    assert f"/scan-checks?show={scan.verdict}#scan-{scan.id}" in text

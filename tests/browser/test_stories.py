"""Stories in Chromium: recordings of every kind play, in the pages and from a stick; one is made with a microphone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from building import archive_with
from playwright.sync_api import Browser, Page, expect
from recordings import KINDS, write

from kinphoto.archive.statements.telling import NewStory

from .axe import violations
from .conftest import Opened, Served, launched
from .test_valid import fetched, findings, keep

PLAYED = """async (player) => {
  player.muted = true;
  player.load();
  await player.play();
  await new Promise((done, failed) => { player.onended = done; player.onerror = () => failed(player.error.message); });
  return player.currentTime;
}"""
"""Plays a recording to its end; how many seconds that is."""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One photograph, with a recording of each kind about it."""
    place = tmp_path_factory.mktemp("told")
    archive = archive_with(place, scans=1)
    for kind in KINDS:
        archive.stories.tell(
            NewStory(title=kind, by="Edda", about=["K00001"]), write(place / f"a.{kind.lower()}", kind, seconds=0.5)
        )
    archive.give.write_site(place / "site", "household", write=True)
    pages = Served(archive)
    yield pages
    pages.stop()


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    """A page of Chromium with a microphone that beeps (`--use-fake-device-for-media-stream`, Chromium's own)."""
    flags = [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        "--autoplay-policy=no-user-gesture-required",
    ]
    browser = launched(chromium.browser_type, *flags)
    opened = Opened(browser)
    yield opened()
    browser.close()
    assert opened.complaints == []


def players(page: Page) -> dict[str, float]:
    """Every recording of a page, played: how long it is, by its title."""
    return {str(one.get_attribute("aria-label")): one.evaluate(PLAYED) for one in page.locator("audio").all()}


def test_recordings_play_in_the_pages(told: Served, page: Page) -> None:
    """On the page of the photograph, each to its end, half a second later (a coder may add a little)."""
    page.goto(f"{told.address}/photograph/K00001")
    found = players(page)
    assert set(found) == set(KINDS)
    assert all(seconds == pytest.approx(0.5, abs=0.2) for seconds in found.values()), found


def test_recordings_play_from_a_stick(told: Served, page: Page) -> None:
    """From the folder, without a server."""
    page.goto((told.archive.folder.parent / "site" / "stories.html").as_uri())
    found = players(page)
    assert set(found) == set(KINDS)
    assert all(seconds == pytest.approx(0.5, abs=0.2) for seconds in found.values()), found


def test_a_story_is_recorded_in_the_page(told: Served, page: Page) -> None:
    """Press Record and Stop, listen, keep it: what the archive has is what the browser made, and it plays."""
    page.goto(f"{told.address}/stories?about=K00001")
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.locator("#recorded")).to_contain_text("Recording, 0:01")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_label("What you recorded")).to_be_visible()
    page.get_by_label("Title").fill("Recorded here")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Recorded here")
    one = next(each for each in told.archive.stories.list() if each.title == "Recorded here")
    assert one.recording is not None
    assert one.recording.kind in ("WEBM", "OGG", "M4A")
    assert one.photographs == ("K00001",)
    assert Path(one.recording.path).stat().st_size > 1000
    assert players(page)["Recorded here"] > 1


def test_without_scripts_there_is_a_field_for_a_file(told: Served, context: Any) -> None:
    """And no button that does nothing."""
    plain = context(java_script_enabled=False)
    plain.goto(f"{told.address}/stories")
    assert plain.get_by_label("A recording").is_visible()
    assert not plain.get_by_role("button", name="Record", exact=True).is_visible()


WITH_STORIES = {
    "all": "/stories",
    "one": "/story/T1",
    "photograph": "/photograph/K00001",
    "found": "/search?q=wav",
}


def test_pages_with_stories_are_valid(told: Served, tmp_path: Path) -> None:
    """The Nu Html Checker has nothing to say, nor of the pages that are given: the sample, whose pages it sees
    otherwise, has no stories."""
    keep(tmp_path / "pages", {name: fetched(told.address + path) for name, path in WITH_STORIES.items()})
    assert all(
        b'<article class="told' in (tmp_path / "pages" / f"{name}.html").read_bytes()
        for name in WITH_STORIES
        if name != "one"
    )
    assert findings(tmp_path / "pages") == []
    assert findings(told.archive.folder.parent / "site") == []


@pytest.mark.parametrize("name", WITH_STORIES)
def test_pages_with_stories_are_accessible(told: Served, context: Any, name: str) -> None:
    """Neither has axe, and nothing is wider than a window of 320 pixels (WCAG 1.4.10, reflow)."""
    page = context("phone")
    page.goto(told.address + WITH_STORIES[name])
    assert violations(page) == []
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320

"""The site on a stick in Chromium, opened from its folder: with scripts and without, for axe and for the Nu checker."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from building import made_once, of_the_run
from playwright.sync_api import expect

from kinphoto.archive import Archive

from .axe import violations
from .test_valid import findings

PAGES = (
    "index.html", "years/index.html", "years/1920s.html", "people/index.html", "people/I27.html", "boxes/index.html",
    "photo/K00009.html", "stories.html", "search.html?q=lambert",
)  # fmt: skip


@pytest.fixture(scope="session")
def site(shared_sample: Archive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample's site for the household, made once."""

    def make(folder: Path) -> None:
        shared_sample.give.write_site(folder / "site", "household", title="The Quillerns", write=True)

    return made_once(of_the_run(tmp_path_factory) / "given", make) / "site"


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(site: Path, context: Any, name: str) -> None:
    """On a computer, in the dark, and on a phone, where nothing has to be pushed sideways at 320 pixels."""
    page = context("desk", missing=True)  # axe itself asks for the style sheet, which a page from a folder may not
    page.goto(f"{site.as_uri()}/{name}")
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page) == []
    page.set_viewport_size({"width": 320, "height": 640})
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_every_page_is_valid(site: Path) -> None:
    """The Nu Html Checker has nothing to say."""
    assert findings(site) == []


def test_searching_from_a_folder(site: Path, context: Any) -> None:
    """Letters without their accents and the beginnings of words are enough; the address can be kept."""
    page = context("desk")
    page.goto(f"{site.as_uri()}/index.html")
    page.get_by_label("Name, place or year").fill("lambert agn")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("photograph")
    page.get_by_role("link").filter(has_text="Lambert and Agnes").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Lambert and Agnes")
    page.goto(f"{site.as_uri()}/search.html?q=nobody%20at%20all")
    expect(page.get_by_role("status")).to_have_text("0 photographs")


def test_turning_pages_and_the_full_screen(site: Path, context: Any) -> None:
    """Arrow keys go from one photograph to the next; F shows the picture alone."""
    page = context("desk")
    page.goto(f"{site.as_uri()}/photo/K00009.html")
    following = page.locator("[data-turn=after]").get_attribute("href")
    page.keyboard.press("ArrowRight")
    page.wait_for_url(f"**/{following}")
    page.keyboard.press("ArrowLeft")
    page.wait_for_url("**/K00009.html")
    page.keyboard.press("f")
    page.wait_for_function("document.fullscreenElement !== null")
    assert page.evaluate("document.fullscreenElement.tagName") == "IMG"


def test_without_scripts_everything_can_be_reached(site: Path, context: Any) -> None:
    """Years, people and pictures are links."""
    page = context("phone", java_script_enabled=False)
    page.goto(f"{site.as_uri()}/search.html")
    page.get_by_role("main").get_by_role("link", name="people").click()
    page.get_by_role("link", name="Nora Quillern").click()
    page.locator(".sheet a").first.click()
    expect(page.locator(".picture img")).to_be_visible()
    page.locator("[data-full]").click()
    page.wait_for_url("**/pictures/*.jpg")


def test_printed_nothing_has_to_be_pressed(site: Path, context: Any) -> None:
    """On paper there is the picture and what is said of it."""
    page = context("desk")
    page.goto(f"{site.as_uri()}/photo/K00009.html")
    page.emulate_media(media="print")
    expect(page.locator("header nav")).to_be_hidden()
    expect(page.locator(".turn")).to_be_hidden()
    expect(page.locator(".picture img")).to_be_visible()

"""Any page on paper is an index card: nothing that has to be pressed, nothing cut off."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from .conftest import OneAfterTheOther, Served
from .pages import PAGES

A4 = {"width": 687, "height": 1016}
"""ISO 216 A4 less 14 mm all round, at the 96 pixels to the inch of CSS."""


def printed(served: Served, desk: OneAfterTheOther, name: str) -> Page:
    """The page as it goes on paper."""
    page: Page = desk.shown(served.address + PAGES[name], missing=name == "refused")
    if name == "photograph":
        page.get_by_role("button", name="Turn the view").wait_for()
        page.locator("[data-tiles]").focus()
        page.keyboard.press("+")
    page.emulate_media(media="print")
    page.set_viewport_size(A4)
    return page


@pytest.mark.parametrize("name", PAGES)
def test_what_has_to_be_pressed_is_left_out(served: Served, desk: OneAfterTheOther, name: str) -> None:
    """No button, link to other pages, search, or fold that is closed; and nothing is wider than the sheet. The ways out
    of a conflict stay to be read on its own page."""
    page = printed(served, desk, name)
    for what in ("button:not(.ways button)", ".site-header nav", ".find", "summary", "input[type=checkbox]"):
        expect(page.locator(what).filter(visible=True)).to_have_count(0)
    assert page.evaluate("document.documentElement.scrollWidth") <= A4["width"]
    if name == "conflict":
        expect(page.locator(".ways button").first).to_be_visible()
    assert desk.complaints() == []


def test_the_whole_picture_is_printed(served: Served, desk: OneAfterTheOther) -> None:
    """Also when somebody looked closely on the screen: the picture fills its mount, and the frames are on it."""
    page = printed(served, desk, "photograph")
    stage, shown, frames = (page.locator(what).bounding_box() for what in (
        "[data-tiles] > img", ".looking-plane > img", "[data-over]"))  # fmt: skip
    assert stage is not None
    assert shown == pytest.approx(stage, abs=1.5)
    assert frames == pytest.approx(stage, abs=1.5)

"""Every page for everybody, each shown once on a computer and once on a phone: axe finds nothing against WCAG 2.2 AA,
type can be read, a finger meets its targets, and on paper a page is an index card.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from .axe import violations
from .conftest import SIZES, OneAfterTheOther, Served
from .pages import PAGES

SMALLEST = 14
"""Pixels of type, the bound of the project."""
FINGER = 44
"""CSS pixels of a target for fingers: WCAG 2.2, 2.5.5 Target Size (Enhanced); its exception for links within a sentence
holds here too."""
SMALL_TYPE = """(smallest) => {
  const found = new Set(), walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    const words = walker.currentNode.data.trim().slice(0, 30);
    if (!words || element.closest("svg, script, option, datalist") || !element.checkVisibility()) continue;
    const size = parseFloat(getComputedStyle(element).fontSize);
    if (size < smallest) found.add(`${size} ${element.tagName} ${element.className} ${words}`);
  }
  return [...found];
}"""
SMALL_TARGETS = """(least) => [...document.querySelectorAll("button, select, summary, .button, label.tick," +
    "input:not([type=hidden], [type=checkbox], [type=radio], [type=range])")]
  .filter((one) => one.checkVisibility() && !one.closest(".unseen, .looking-tools[hidden]"))
  .map((one) => [one.getBoundingClientRect(), one])
  .filter(([box]) => box.width && box.height && Math.round(box.height) < least)
  .map(([box, one]) => `${Math.round(box.height)} ${one.tagName} ${one.className} ${one.textContent.trim()}`)"""

SMALL_LINKS = """(least) => [...document.querySelectorAll(".site-header a[href], main a[href]:not(svg a)")]
  .filter((one) => one.checkVisibility() && !one.closest(".unseen"))
  .filter((one) => ![...one.parentElement.childNodes].some((other) => other.nodeType === 3 && other.data.trim()))
  .map((one) => [one.getBoundingClientRect(), one])
  .filter(([box]) => box.width && Math.round(box.height) < least)
  .map(([box, one]) => `${Math.round(box.height)} ${one.className} ${one.textContent.trim()}`)"""
"""Links that stand alone, with no words beside them. Lines of the evidence and of a life are as they are drawn."""
A4 = {"width": 687, "height": 1016}
"""ISO 216 A4 less 14 mm all round, at the 96 pixels to the inch of CSS."""
PRESSED = ("button:not(.ways button)", ".site-header nav", ".find", "summary", "input[type=checkbox]")
"""What has to be pressed: buttons, links to other pages, search, a fold that is closed. The ways out of a conflict stay
to be read on its own page."""


@pytest.mark.parametrize("name", PAGES)
def test_on_a_computer(served: Served, desk: OneAfterTheOther, name: str) -> None:
    """With everything folded open nothing violates the guidelines, wide and light, or narrower and dark. No words are
    set smaller than 14 pixels, at any width, and the body has 17. On paper there is nothing that has to be pressed, and
    nothing is wider than the sheet."""
    page = desk.shown(served.address + PAGES[name], missing=name == "refused")
    desk.unfold()
    assert violations(page) == []
    page.set_viewport_size({"width": SIZES["small"][0], "height": SIZES["small"][1]})
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")  # no colour is on its way any more
    assert violations(page) == []
    desk.as_it_was()
    assert page.evaluate("getComputedStyle(document.body).fontSize") == "17px"
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(SMALL_TYPE, SMALLEST) == []
    put_on_paper(page)
    assert_an_index_card(page)
    if name == "conflict":
        expect(page.locator(".ways button").first).to_be_visible()
    assert desk.complaints() == []


@pytest.mark.parametrize("name", PAGES)
def test_on_a_phone(served: Served, phone: OneAfterTheOther, name: str) -> None:
    """Every button, field and fold is 44 pixels high, and every link that stands alone; no key is spoken of; the header
    is one row. With everything folded open nothing violates the guidelines, and no page has to be pushed sideways at
    320 pixels (WCAG 1.4.10, reflow); drawings have a frame of their own."""
    page = phone.shown(served.address + PAGES[name], missing=name == "refused")
    assert page.evaluate(SMALL_TARGETS, FINGER) == []
    assert page.evaluate(SMALL_LINKS, FINGER) == []
    expect(page.locator("kbd").filter(visible=True)).to_have_count(0)
    header = page.locator(".site-header").bounding_box()
    assert header is not None
    assert header["height"] < 70
    phone.unfold()
    assert violations(page) == []
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert phone.complaints() == []


def put_on_paper(page: Page) -> None:
    """The page as it is printed."""
    page.emulate_media(media="print")
    page.set_viewport_size(A4)


def assert_an_index_card(page: Page) -> None:
    """Nothing on it has to be pressed, and nothing is wider than the sheet."""
    for what in PRESSED:
        expect(page.locator(what).filter(visible=True)).to_have_count(0)
    assert page.evaluate("document.documentElement.scrollWidth") <= A4["width"]


def test_the_whole_picture_is_printed(served: Served, desk: OneAfterTheOther) -> None:
    """Also when somebody looked closely on the screen: the picture fills its mount, and the frames are on it."""
    page = desk.shown(served.address + PAGES["photograph"])
    page.get_by_role("button", name="Turn the view").wait_for()
    page.locator("[data-tiles]").focus()
    page.keyboard.press("+")
    put_on_paper(page)
    assert_an_index_card(page)
    stage, shown, frames = (page.locator(what).bounding_box() for what in (
        "[data-tiles] > img", ".looking-plane > img", "[data-over]"))  # fmt: skip
    assert stage is not None
    assert shown == pytest.approx(stage, abs=1.5)
    assert frames == pytest.approx(stage, abs=1.5)
    assert desk.complaints() == []

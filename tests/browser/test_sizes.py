"""Type that can be read, targets that a finger meets, one row of header on a phone, and one page on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

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


@pytest.fixture(scope="module")
def unfilled(chromium: Browser) -> Iterator[OneAfterTheOther]:
    """The browser of a computer whose pages never fill the screen: no window that does can be resized."""
    browser = OneAfterTheOther(chromium, "desk", "Element.prototype.requestFullscreen = undefined")
    yield browser
    browser.close()


@pytest.mark.parametrize("name", PAGES)
def test_type_is_large_enough(served: Served, unfilled: OneAfterTheOther, name: str) -> None:
    """No words of a page are set smaller than 14 pixels, at any width; the body has 17."""
    page = unfilled.shown(served.address + PAGES[name], missing=name == "refused")
    assert page.evaluate("getComputedStyle(document.body).fontSize") == "17px"
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(SMALL_TYPE, SMALLEST) == []
    assert unfilled.complaints() == []


@pytest.mark.parametrize("name", PAGES)
def test_a_finger_meets_what_is_to_be_pressed(served: Served, phone: OneAfterTheOther, name: str) -> None:
    """On a phone every button, field and fold is 44 pixels high, and every link that stands alone; no key is spoken of;
    the header is one row."""
    page = phone.shown(served.address + PAGES[name], missing=name == "refused")
    assert page.evaluate(SMALL_TARGETS, FINGER) == []
    assert page.evaluate(SMALL_LINKS, FINGER) == []
    expect(page.locator("kbd").filter(visible=True)).to_have_count(0)
    header = page.locator(".site-header").bounding_box()
    assert header is not None
    assert header["height"] < 70
    assert phone.complaints() == []


def test_a_size_that_is_chosen_is_remembered(served: Served, context: Any) -> None:
    """Larger photographs in rows, at once and on the next page; and larger type."""
    page = context()
    page.goto(served.address + "/box/9")
    image = page.locator(".shot img").first
    before = image.bounding_box()
    page.get_by_role("link", name="Larger pictures").click()
    expect(page.locator("html")).to_have_class("rows-large")
    after = image.bounding_box()
    assert before is not None
    assert after is not None
    assert 250 <= before["height"] <= 360
    assert after["height"] > 1.3 * before["height"]
    page.goto(served.address + "/years/1920")
    expect(page.locator("html")).to_have_class("rows-large")
    page.get_by_role("button", name="More").click()
    page.get_by_role("link", name="Larger type").click()
    expect(page.locator("html")).to_have_class("text-larger rows-large")


@pytest.mark.parametrize("code", ["K00009", "K00031"])
def test_a_photograph_is_printed_on_one_page(served: Served, context: Any, code: str) -> None:
    """Four faces or sixteen: the picture, an outline with the numbers, names, date and what is written on it, on one
    sheet of A4 (ISO 216)."""
    page = context()
    page.goto(f"{served.address}/photograph/{code}")
    page.get_by_role("button", name="Turn the view").wait_for()
    page.emulate_media(media="print")
    faces = served.archive.photographs.faces(code).faces
    expect(page.locator(".outline-key ellipse")).to_have_count(len(faces))
    expect(page.locator(".outline-key")).to_be_visible()
    sheets = page.pdf(format="A4", margin=dict.fromkeys(("top", "right", "bottom", "left"), "14mm"))
    assert len(re.findall(rb"/Type\s*/Page\b", sheets)) == 1


@pytest.mark.parametrize(("size", "density"), [("desk", 1), ("desk", 2), ("phone", 3)])
def test_the_first_view_of_a_box_is_light(served: Served, context: Any, size: str, density: float) -> None:
    """The pictures that are seen at once are at most 1.5 MB, and as sharp as the screen, as far as their scans are."""
    page = context(size, device_scale_factor=density)
    weights: dict[str, int] = {}
    page.on("response", lambda answer: weights.update({answer.url: int(answer.headers.get("content-length", 0))}))
    for address in ("/", "/box/9", "/boxes", "/years/1920"):
        page.goto(served.address + address)
        page.wait_for_load_state("networkidle")
        seen = page.evaluate("""() => [...document.images]
          .map((one) => [one.getBoundingClientRect().top, one.currentSrc])
          .filter(([top]) => top < innerHeight).map(([, source]) => source)""")
        assert 0 < sum(weights[source] for source in set(seen)) <= 1_500_000, address
        if address == "/box/9" and density > 1:
            assert all("/middle.jpg" in source for source in seen), "the small ones have 512 pixels"

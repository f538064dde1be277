"""Every page for everybody: axe finds nothing against WCAG 2.2 AA, at three widths, light and dark.

Checked by axe-core, the rules of Deque Systems for the Web Content Accessibility Guidelines of the W3C.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from .conftest import SIZES, Opened, Served
from .pages import PAGES

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RULES = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]}
"""Only what is found against a page is gathered: what passed is many times as much, and nobody reads it."""


class OneAfterTheOther:
    """A browser of one size for all pages: in a new one axe has to be made ready again, which takes as long as to use
    it. Each page is shown as to whoever comes for the first time."""

    def __init__(self, chromium: Browser, size: str) -> None:
        self._opened, self._size = Opened(chromium), size
        self._page = self._opened(size)

    def open(self, address: str, *, missing: bool = False) -> Page:
        """The page at an address with everything folded open."""
        page, (width, height) = self._page, SIZES[self._size]
        self._opened.complaints.clear()
        self._missing = missing
        page.context.clear_cookies()
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme="light", reduced_motion="no-preference")
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
        return page

    def complaints(self) -> list[str]:
        """What the console says against this page; not that it is missing, where it is so on purpose."""
        said = self._opened.complaints
        return [one for one in said if not (self._missing and one.startswith("Failed to load resource"))]

    def close(self) -> None:
        """Close it."""
        self._opened.close()


@pytest.fixture(scope="module")
def desk(chromium: Browser) -> Iterator[OneAfterTheOther]:
    """The browser of a computer."""
    browser = OneAfterTheOther(chromium, "desk")
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def phone(chromium: Browser) -> Iterator[OneAfterTheOther]:
    """The browser of a phone."""
    browser = OneAfterTheOther(chromium, "phone")
    yield browser
    browser.close()


def violations(page: Page) -> list[Any]:
    """What axe finds on the page as it is shown."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [(v["id"], [n["html"][:160] for n in v["nodes"][:3]]) for v in found]


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing_on_a_computer(served: Served, desk: OneAfterTheOther, name: str) -> None:
    """No violation of the guidelines on any page, wide and light, or narrower and dark."""
    page = desk.open(served.address + PAGES[name], missing=name == "refused")
    assert violations(page) == []
    page.set_viewport_size({"width": SIZES["small"][0], "height": SIZES["small"][1]})
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")  # no colour is on its way any more
    assert violations(page) == []
    assert desk.complaints() == []


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing_on_a_phone(served: Served, phone: OneAfterTheOther, name: str) -> None:
    """No violation on a phone, and no page has to be pushed sideways at 320 pixels (WCAG 1.4.10, reflow); drawings have
    a frame of their own."""
    page = phone.open(served.address + PAGES[name], missing=name == "refused")
    assert violations(page) == []
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert phone.complaints() == []

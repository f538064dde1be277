"""Every page for everybody: axe finds nothing against WCAG 2.2 AA, at three widths, light and dark.

Checked by axe-core, the rules of Deque Systems for the Web Content Accessibility Guidelines of the W3C.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from .conftest import SIZES, OneAfterTheOther, Served
from .pages import PAGES

AXE = Axe().axe_script
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RULES = {"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]}
"""Only what is found against a page is gathered: what passed is many times as much, and nobody reads it."""


def violations(page: Page) -> list[Any]:
    """What axe finds on the page as it is shown. It is sent to a page once, and only what it finds comes back."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    found = page.evaluate("(rules) => axe.run(rules).then(({ violations }) => violations)", RULES)
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

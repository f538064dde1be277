"""Every page for everybody: axe finds nothing against WCAG 2.2 AA, at three widths, light and dark.

Checked by axe-core, the rules of Deque Systems for the Web Content Accessibility Guidelines of the W3C.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from .conftest import Served
from .pages import PAGES

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RULES = {"runOnly": {"type": "tag", "values": TAGS}}


@pytest.mark.parametrize("size", ["desk", "small", "phone"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(served: Served, context: Any, name: str, size: str) -> None:
    """No violation of the guidelines on any page, with everything folded open."""
    page = context(size, missing=name == "refused", color_scheme="dark" if size == "small" else "light")
    page.goto(served.address + PAGES[name])
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    found = Axe().run(page, options=RULES).response["violations"]
    assert [(v["id"], [n["html"][:160] for n in v["nodes"][:3]]) for v in found] == []


@pytest.mark.parametrize("name", PAGES)
def test_nothing_sticks_out_on_a_phone(served: Served, context: Any, name: str) -> None:
    """No page has to be pushed sideways at 320 pixels (WCAG 1.4.10, reflow), with everything folded open; drawings have
    a frame of their own."""
    page = context("phone", missing=name == "refused")
    page.set_viewport_size({"width": 320, "height": 640})
    page.goto(served.address + PAGES[name])
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320

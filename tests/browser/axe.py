"""Axe-core, the rules of Deque Systems for the Web Content Accessibility Guidelines of the W3C, before a page."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

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

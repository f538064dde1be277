"""Sitting at the scanner, in a browser: the keys, while a folder is watched that was empty at first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import expect

from .conftest import Served


def test_an_evening_by_keys(empty: Served, context: Any, tmp_path: Path) -> None:
    """A scan and its back are seen, B joins them and U takes that back; after N the new box is typed over the old one's
    name, and its scans get names of their own."""
    tin = tmp_path / "tin"
    tin.mkdir()
    page = context()
    page.goto(empty.address + "/scanning")
    page.get_by_label("The folder the scanner writes into").fill(str(tin))
    page.get_by_label("The box they come from").fill("Blue tin")
    page.get_by_role("button", name="Start watching").click()
    expect(page.locator("#glass")).to_contain_text("blue-tin_0001")
    for number in (1, 2):
        Image.linear_gradient("L").rotate(17 * number).resize((60, 40)).save(tin / f"tin_000{number}.png")
        expect(page.locator("#glass")).to_contain_text(f"tin_000{number}.png")
        expect(page.locator("#glass")).to_contain_text(f"tin_000{number + 1}")
    page.keyboard.press("b")
    expect(page.locator("#glass")).to_contain_text("K00001 in Blue tin")
    page.keyboard.press("u")
    expect(page.locator("#glass")).to_contain_text("K00002 in Blue tin")
    page.keyboard.press("n")
    expect(page.locator("#box")).to_be_focused()
    page.keyboard.type("From Clara")
    page.keyboard.press("Enter")
    expect(page.locator("#glass")).to_contain_text("from-clara_0001")
    expect(page.locator("#box")).to_have_value("From Clara")
    page.get_by_role("button", name="Stop watching").click()
    expect(page.get_by_role("button", name="Start watching")).to_be_visible()

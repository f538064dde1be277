"""The words on a back are typed with the back in view: by mouse, by keys, on a phone, with and without scripts."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from .conftest import Served

PATH = "/photograph/K00009/back"


def part_read(page: Page) -> str:
    """Which part of the back is shown, and how large."""
    return str(page.locator(".looking-plane").get_attribute("style"))


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_part_that_is_read_stays_above_the_field(own: Served, context: Any, size: str) -> None:
    """Zoomed in by keys, it stays while words are typed, dates are offered and all of it is saved; and the picture is
    seen together with the field, on a phone in the half of the screen that its keyboard leaves."""
    page = context(size)
    if size == "phone":
        page.set_viewport_size({"width": 390, "height": 480})
    page.goto(own.address + PATH)
    page.locator(".looking").focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    page.keyboard.press("ArrowLeft")
    zoomed = part_read(page)
    page.locator("#read-text").fill("Pfingsten 1905, am Meer")
    expect(page.get_by_text("read as between 10 and 12 June 1905")).to_be_visible()
    assert part_read(page) == zoomed
    page.get_by_label("Who read it").fill("Edda")
    page.locator("#read-text").focus()
    page.locator("#read-text").scroll_into_view_if_needed()
    picture = page.locator(".read-pictures .looking").bounding_box()
    field = page.locator("#read-text").bounding_box()
    assert picture is not None
    assert field is not None
    height = page.viewport_size["height"]  # type: ignore[index]
    assert picture["y"] >= -1
    assert picture["height"] >= 0.3 * height
    assert picture["y"] + picture["height"] <= field["y"]
    assert field["y"] + field["height"] <= height
    page.get_by_label("Pfingsten 1905").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#read-words .lines")).to_contain_text("Pfingsten 1905, am Meer")
    expect(page.locator("#read-text")).to_have_value("")
    assert part_read(page) == zoomed
    (mark,) = [m for m in own.archive.photographs.details("K00009").marks if m.kind == "inscription"]
    assert (mark.words, mark.date, mark.informant) == (
        "Pfingsten 1905, am Meer", "between 10 and 12 June 1905", "Edda",
    )  # fmt: skip


def test_words_typed_before_the_script_was_there_are_looked_at(own: Served, context: Any) -> None:
    """On a slow line somebody types before it has come: the date in the words is offered all the same."""
    page = context()
    held: list[Route] = []
    page.route("**/reading.*js*", lambda route: held.append(route))
    page.goto(own.address + PATH, wait_until="commit")
    page.locator("#read-text").fill("Pfingsten 1905, am Meer")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()
    expect(page.get_by_text("read as between 10 and 12 June 1905")).to_be_visible()


def test_dates_can_be_asked_for_again_when_the_answer_did_not_come(own: Served, context: Any) -> None:
    """The button that pages without scripts have is shown when looking for dates failed, and works."""
    page = context(missing=True)
    page.goto(own.address + PATH)
    look = page.get_by_role("button", name="Look for dates")
    expect(look).to_be_hidden()
    page.route("**/back", lambda route: route.abort())
    page.locator("#read-text").fill("Pfingsten 1905, am Meer")
    expect(look).to_be_visible()
    page.unroute("**/back")
    look.click()
    expect(page.get_by_text("read as between 10 and 12 June 1905")).to_be_visible()
    expect(look).to_be_hidden()


def test_the_front_is_shown_large_and_the_words_stay(own: Served, context: Any) -> None:
    """Nothing is saved by looking at it."""
    page = context("desk")
    page.goto(own.address + PATH)
    before = own.archive.statements.history(1)
    back = page.locator(".read-pictures .looking").get_attribute("data-tiles")
    page.locator("#read-text").fill("half a line")
    page.get_by_role("button", name="Show the front large").click()
    expect(page.locator(".read-pictures .looking")).not_to_have_attribute("data-tiles", str(back))
    expect(page.locator("#read-text")).to_have_value("half a line")
    assert own.archive.statements.history(1) == before


def test_by_keys_alone(own: Served, context: Any) -> None:
    """The field has the focus when the page opens; arrows choose, Ctrl and Enter save."""
    page = context("desk")
    page.goto(own.address + PATH)
    page.keyboard.type("12/8/1905")
    expect(page.get_by_text("could be:")).to_be_visible()
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.get_by_label("8 December 1905")).to_be_checked()
    page.keyboard.press("Control+Enter")
    expect(page.locator("#read-words .lines")).to_contain_text("8 December 1905")


def test_without_scripts(own: Served, context: Any) -> None:
    """The same by the buttons of the page; the picture keeps its place above the field."""
    page = context("desk", java_script_enabled=False)
    page.goto(own.address + PATH)
    page.locator("#read-text").fill("Whitsun 1905, or 12/8/1905")
    page.get_by_role("button", name="Look for dates").click()
    picture = page.locator(".read-pictures .looking").bounding_box()
    field = page.locator("#read-text").bounding_box()
    assert picture is not None
    assert field is not None
    assert picture["height"] > 400
    assert picture["y"] + picture["height"] <= field["y"]
    page.get_by_label("12 August 1905").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#read-words .lines")).to_contain_text("12 August 1905")

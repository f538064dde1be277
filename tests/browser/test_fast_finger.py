"""Faces framed and named by a finger that waits for nothing: no press meets what has just come under it."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, Request, Route, expect

from .conftest import Served

CODE = "K00009"
AGE, PERSON = "#naming [name=age]", "#person"


def place(page: Page, across: float, down: float) -> tuple[float, float]:
    """Where a part of the picture lies in the window."""
    box = page.locator(".looking").bounding_box()
    assert box is not None
    return box["x"] + box["width"] * across, box["y"] + box["height"] * down


def opened(served: Served, context: Any, address: str = f"/photograph/{CODE}?naming=1") -> Page:
    """A photograph on a phone, with nothing chosen and what scripts do in place."""
    page = context("phone")
    page.goto(served.address + address)
    page.get_by_role("button", name="Turn the view").wait_for()
    page.keyboard.press("Escape")
    return page


def tapped_twice(page: Page, x: float, y: float) -> None:
    """A double tap, a tenth of a second from one to the next by the clock of the taps themselves: a machine under load
    sends them farther apart, and a finger doesn't."""
    taps = page.context.new_cdp_session(page)
    now = page.evaluate("(performance.timeOrigin + performance.now()) / 1000")
    for after, what in ((0.0, "touchStart"), (0.04, "touchEnd"), (0.1, "touchStart"), (0.14, "touchEnd")):
        points = [{"x": x, "y": y}] if what == "touchStart" else []
        taps.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": points, "timestamp": now + after})
    taps.detach()


def standing(served: Served) -> list[str]:
    """Who stands on the photograph, a dash for nobody yet."""
    return sorted(face.names[0].name or "–" for face in served.archive.photographs.faces(CODE).faces)


@pytest.mark.parametrize("naming", ["", "?naming=1"])
def test_the_tap_that_frames_a_face_presses_nothing_else(own: Served, context: Any, naming: str) -> None:
    """Wherever in the picture: the fields come, the page stays where it is, and nothing is saved; not by a second tap
    on the same place either."""
    page = opened(own, context, f"/photograph/{CODE}{naming}")
    posted: list[Request] = []
    page.on("request", lambda one: posted.append(one) if one.method == "POST" else None)
    for across, down in ((x, y) for y in (0.15, 0.5, 0.85) for x in (0.2, 0.5, 0.8)):
        page.locator("#frame").tap()
        at = place(page, across, down)
        scrolled = page.evaluate("scrollY")
        tapped_twice(page, *at)
        expect(page.locator(AGE)).to_be_focused()
        assert page.evaluate("scrollY") == scrolled
        assert page.locator(".looking.drawing").count() == 0
        assert page.locator("#several").get_attribute("aria-pressed") == "false"
        page.keyboard.press("Escape")
    assert posted == []


def test_three_faces_one_after_another_at_full_speed(own: Served, context: Any) -> None:
    """Each frame is begun as soon as the last name stands in the list: three names more, and no face without one."""
    page, before = opened(own, context), standing(own)
    for across, letters, name in ((0.2, "elis", "Elise"), (0.5, "tild", "Tilda"), (0.8, "vera", "Vera")):
        page.locator("#frame").tap()
        page.touchscreen.tap(*place(page, across, 0.9))
        page.keyboard.type("30")
        page.keyboard.press("Enter")
        page.keyboard.type(letters)
        page.locator("#offers [role=option]", has_text=name).first.tap()
        page.locator("#who .faces .face-name", has_text=name).wait_for()
    expect(page.locator("[data-face]")).to_have_count(len(before) + 3)
    added = [name.split()[0] for name in standing(own) if name not in before]
    assert added == ["Elise", "Tilda", "Vera"]


def test_a_double_tap_on_a_name_saves_it_once(own: Served, context: Any) -> None:
    """The second tap, which would meet the buttons beneath the sheet, begins no frame."""
    page, before = opened(own, context), standing(own)
    page.locator("#frame").tap()
    page.touchscreen.tap(*place(page, 0.5, 0.9))
    page.keyboard.press("Enter")
    page.keyboard.type("tild")
    offer = page.locator("#offers [role=option]", has_text="Tilda").first.bounding_box()
    assert offer is not None
    tapped_twice(page, offer["x"] + 60, offer["y"] + 20)
    page.locator("#who .faces .face-name", has_text="Tilda").wait_for()
    expect(page.locator(".looking.drawing")).to_have_count(0)
    assert len(standing(own)) == len(before) + 1


def test_several_faces_are_framed_faster_than_they_are_saved(own: Served, context: Any) -> None:
    """Every tap frames a face, also while the last one is on its way; the button keeps saying that it is on, and once
    more it leads to the first face without a name."""
    page, before = opened(own, context), standing(own)
    held: list[Route] = []
    page.route("**/name", lambda route: route.continue_() if held else held.append(route))
    several = page.locator("#several")
    several.tap()
    for across in (0.2, 0.5, 0.8):
        page.touchscreen.tap(*place(page, across, 0.9))
    while not held:
        page.wait_for_timeout(20)
    expect(page.locator("[data-over] .kept")).to_have_count(3)
    held[0].continue_()
    expect(page.locator("[data-face]")).to_have_count(len(before) + 3)
    expect(page.locator("[data-over] .kept")).to_have_count(0)
    assert several.get_attribute("aria-pressed") == "true"
    assert standing(own).count("–") == before.count("–") + 3
    several.tap()
    expect(page.locator(AGE)).to_be_focused()
    assert several.get_attribute("aria-pressed") == "false"


def test_a_frame_that_was_begun_by_mistake_is_left_by_its_button(served: Served, context: Any) -> None:
    """A finger has no Escape: *Frame a face* is on while it is, and pressed again it is off."""
    page = opened(served, context)
    for on in ("true", "false"):
        page.locator("#frame").tap()
        expect(page.locator("#frame")).to_have_attribute("aria-pressed", on)
        expect(page.locator(".looking.drawing")).to_have_count(int(on == "true"))


def test_what_frames_a_face_stays_under_the_thumb(own: Served, context: Any) -> None:
    """Faces are added to the page, and the button is where it was."""
    page = opened(own, context)
    before = page.locator("#frame").bounding_box()
    page.locator("#several").tap()
    page.touchscreen.tap(*place(page, 0.5, 0.9))
    expect(page.locator("[data-face] em", has_text="not named yet")).to_have_count(1)
    assert page.locator("#frame").bounding_box() == before

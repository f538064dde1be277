"""Looking: a photograph fills the screen, and one key, click or tap does it; names, the back, and on to the next."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from kinphoto.archive.statements.descriptions import Description

from .conftest import Served

FACE = """(name) => {
  const image = document.querySelector(".look-picture").getBoundingClientRect();
  return [image.left, image.top, image.width, image.height];
}"""


def shown(page: Page) -> Page:
    """The page, once a photograph fills its screen."""
    expect(page.get_by_role("dialog", name="Looking")).to_be_visible()
    expect(page.locator(".look-picture")).to_have_js_property("complete", True)
    expect(page.locator(".look-note")).to_contain_text(" of ")
    return page


def number(page: Page) -> int:
    """Which one of those that are looked through it is."""
    return int((page.locator(".look-note").text_content() or "").split()[0])


@pytest.mark.parametrize(
    "address", ["/box/9", "/years/1920", "/search?q=clemence", "/person/I24", "/photograph/K00009"]
)
def test_one_key_fills_the_screen_and_one_leaves(served: Served, context: Any, address: str) -> None:
    """From wherever photographs are: L, and the picture is as wide or as high as the window, on near-black. Escape
    leaves, and the page is as it was."""
    page = context()
    page.goto(served.address + address)
    page.keyboard.press("l")
    shown(page)
    box = page.locator(".look-picture").bounding_box()
    assert box is not None
    assert box["width"] == pytest.approx(1440, abs=2) or box["height"] == pytest.approx(900, abs=2)
    assert page.locator(".look").evaluate("(e) => getComputedStyle(e).backgroundColor") == "rgb(16, 15, 13)"
    assert page.locator(".look .frame").count() == 0
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert page.url == served.address + address
    assert page.locator("main").evaluate("(e) => e.inert") is False


def test_arrows_go_on_through_the_box(served: Served, context: Any) -> None:
    """On and back, from the last to the first; whoever leaves is at the photograph that was looked at."""
    page = context()
    page.goto(served.address + "/box/9")
    page.locator("[data-code] a").nth(2).focus()
    page.keyboard.press("l")
    assert number(shown(page)) == 3
    page.keyboard.press("ArrowRight")
    expect(page.locator(".look-note")).to_contain_text("4 of")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Home")
    expect(page.locator(".look-note")).to_contain_text("1 of")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".look-note")).to_have_text("21 of 21")
    page.keyboard.press("l")
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.locator("[data-code] a").nth(20)).to_be_focused()


def test_a_name_appears_under_the_pointer_and_is_gone_beside(served: Served, context: Any) -> None:
    """Where the archive has a face, its name; W shows all of them."""
    page = context()
    page.goto(served.address + "/photograph/K00009")
    page.keyboard.press("l")
    shown(page)
    faces = served.archive.photographs.views(["K00009"])[0].faces
    left, top, width, height = page.evaluate(FACE, "")
    for face in faces:
        x, y, across, down = face.box
        page.mouse.move(left + (x + across / 2) * width, top + (y + down / 2) * height, steps=3)
        expect(page.locator(".look > .look-name")).to_have_text(face.names[0])
        expect(page.locator(".look > .look-name")).to_have_css("opacity", "1")
    page.mouse.move(left + 5, top + height - 100, steps=3)
    expect(page.locator(".look > .look-name")).to_have_css("opacity", "0")
    page.keyboard.press("w")
    expect(page.locator(".look-names .look-name")).to_have_count(len(faces))


def test_the_back_turns_over(served: Served, context: Any) -> None:
    """B shows the scan of the back, and the front again; where there is none, that is said."""
    page = context()
    page.goto(served.address + "/photograph/K00009")
    page.keyboard.press("l")
    shown(page)
    front = page.locator(".look-picture").get_attribute("src") or ""
    page.keyboard.press("b")
    expect(page.locator(".look-note")).to_have_text("The back")
    assert page.locator(".look-picture").get_attribute("src") != front
    page.keyboard.press("b")
    expect(page.locator(".look-picture")).to_have_attribute("src", front)
    page.keyboard.press("ArrowRight")
    expect(page.locator(".look-note")).to_contain_text(" of ")


def test_the_caption_goes_out_by_itself(served: Served, context: Any) -> None:
    """Title and date fade in with a photograph and out again: then there is nothing but the picture."""
    page = context()
    page.goto(served.address + "/photograph/K00008")
    page.keyboard.press("l")
    shown(page)
    expect(page.locator(".look-title")).to_have_text("At the fair")
    expect(page.locator(".look-foot")).to_have_css("opacity", "1")
    expect(page.locator(".look-foot")).to_have_css("opacity", "0")


def test_it_goes_on_slowly_past_what_nobody_asked_for(own: Served, context: Any) -> None:
    """Space has one photograph after the other come; those whose rights call them private are passed over, and arrows
    show them all the same."""
    box = own.archive.photographs.container(9).photographs
    own.archive.photographs.describe(box[1].code, Description(rights="Private, ask Edda first"))
    page = context(new=True)
    page.clock.install()
    page.goto(own.address + "/box/9")
    page.keyboard.press("l")
    page.clock.run_for(1000)
    assert number(shown(page)) == 1
    page.keyboard.press("Space")
    page.clock.run_for(8200)
    expect(page.locator(".look-note")).to_contain_text("3 of")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".look-note")).to_contain_text("2 of")


def test_no_date_beside_faces_that_are_still_to_be_judged(served: Served, context: Any) -> None:
    """The caption of a photograph with a face without a name says no year; and whoever turned it over has seen it."""
    page = context()
    page.goto(served.address + "/photograph/K00016?naming=1")
    page.goto(served.address + "/box/9")
    at = [one.code for one in served.archive.photographs.container(9).photographs].index("K00016")
    page.locator("[data-code] a").nth(at).focus()
    page.keyboard.press("l")
    shown(page)
    expect(page.locator(".look-title")).to_have_text("Aunt Rosamund's class")
    expect(page.locator(".look-when")).to_have_text("")


def swipe(page: Page, across: int, down: int) -> None:
    """Draw a finger over the middle of the screen."""
    client = page.context.new_cdp_session(page)
    x, y = 195, 420
    client.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for part in (0.3, 0.6, 1):
        point = {"x": x + across * part, "y": y + down * part}
        client.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_on_a_phone_by_tap_and_swipe(served: Served, context: Any) -> None:
    """A tap on the picture fills the screen, swiping goes on, a tap on a face says who it is, swiping down leaves."""
    page = context("phone")
    page.goto(served.address + "/photograph/K00009")
    stage = page.locator(".looking").bounding_box()
    assert stage is not None
    page.get_by_role("button", name="Turn the view").wait_for()
    page.touchscreen.tap(stage["x"] + stage["width"] * 0.85, stage["y"] + stage["height"] * 0.2)
    first = number(shown(page))
    swipe(page, -150, 5)
    expect(page.locator(".look-note")).to_contain_text(f"{first + 1} of")
    swipe(page, 150, 5)
    expect(page.locator(".look-note")).to_contain_text(f"{first} of")
    face = served.archive.photographs.views(["K00009"])[0].faces[0]
    left, top, width, height = page.evaluate(FACE, "")
    x, y, across, down = face.box
    page.wait_for_timeout(400)  # a second tap at once would turn it over
    page.touchscreen.tap(left + (x + across / 2) * width, top + (y + down / 2) * height)
    expect(page.locator(".look > .look-name")).to_have_text(face.names[0])
    swipe(page, 0, 200)
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_the_button_back_of_the_browser_leaves(served: Served, context: Any) -> None:
    """As on a phone: back to the box, and not to the page before it."""
    page = context()
    page.goto(served.address + "/boxes")
    page.goto(served.address + "/box/9")
    page.get_by_role("link", name="Look through it").click()
    shown(page)
    page.go_back()
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert page.url == served.address + "/box/9"


def test_without_scripts_it_is_a_page(served: Served, context: Any) -> None:
    """The same by links: on, turned over, and back to the box."""
    page = context(java_script_enabled=False)
    page.goto(served.address + "/box/9")
    page.get_by_role("link", name="Look through it").click()
    expect(page.locator(".look-page img")).to_be_visible()
    page.get_by_role("link", name="Next").click()
    page.get_by_role("link", name="Next", exact=True).click()
    page.get_by_role("link", name="Turn it over").click()
    expect(page.get_by_alt_text("the back")).to_be_visible()
    page.get_by_role("link", name="Back", exact=True).click()
    assert page.url == served.address + "/box/9"

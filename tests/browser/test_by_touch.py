"""By touch alone, on a phone of 390 by 844: the face that is asked about is seen, an answer shows what it did, a
conflict is settled and undone, and nothing waits for a pointer that hovers."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

import kinphoto

from .conftest import Served
from .test_every_page import FINGER

STATIC = Path(kinphoto.__file__).parent / "web" / "static"
IN_VIEW = """(one) => {
  const box = one.getBoundingClientRect();
  const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
  const inside = box.top >= 0 && box.left >= 0 && box.bottom <= innerHeight && box.right <= innerWidth;
  return inside && one.contains(document.elementFromPoint(x, y));
}"""


def seen(one: Locator) -> bool:
    """Whether all of it lies in the window and nothing lies over its middle."""
    return bool(one.evaluate(IN_VIEW))


def box_of(one: Locator) -> dict[str, float]:
    """Where it is."""
    box = one.bounding_box()
    assert box is not None
    return {**box, "bottom": box["y"] + box["height"], "right": box["x"] + box["width"]}


@pytest.mark.parametrize("height", [844, 480])
def test_the_face_is_seen_while_its_age_and_name_are_asked(own: Served, context: Any, height: int) -> None:
    """Large, with nothing over it and the field in view; also above a keyboard, which leaves 480 pixels."""
    page: Page = context("phone")
    page.set_viewport_size({"width": 390, "height": height})
    page.goto(own.address + "/photograph/K00016?naming=1")
    face, age, name = page.locator(".face-now"), page.locator("#naming [name=age]"), page.locator("#person")
    expect(age).to_be_focused()
    assert seen(face)
    assert min(box_of(face)["width"], box_of(face)["height"]) >= 140
    assert seen(age)
    assert box_of(age)["height"] >= FINGER
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    page.keyboard.type("katr")
    offer = page.locator("#offers [role=option]").first
    expect(offer).to_contain_text("Katrin")
    for one in (face, name, offer):
        assert seen(one)
    assert box_of(offer)["height"] >= FINGER
    save = box_of(page.locator("#naming .main"))
    page.locator("#person").press("Backspace")
    expect(page.locator("#offers [data-newcomer=kat]")).to_have_count(1)
    assert box_of(page.locator("#naming .main")) == save, "nothing moves while offers change"


def test_after_the_last_face_a_tap_shows_what_the_answers_did(own: Served, context: Any) -> None:
    """One face is left: its age and its name are given, and the one button leads to what came of it."""
    code = "K00009"
    faces = own.archive.photographs.faces(code).faces
    for face in faces[1:]:
        own.archive.statements.withdraw(face.names[0].id)
    own.archive.statements.take_name_off(faces[0].names[0].id)
    page = context("phone")
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    page.locator("#naming [name=age]").fill("40")
    page.locator("#person").fill(faces[0].names[0].name)
    page.locator(f"#offers [data-person={faces[0].names[0].person}]").tap()
    onward = page.get_by_role("link", name="See what your answers did")
    onward.tap()
    expect(page.locator(".did")).to_be_visible()
    expect(page.locator(".did")).to_contain_text(re.compile("The date|narrower|between|about", re.IGNORECASE))
    assert box_of(page.locator(".did"))["right"] <= 390


def test_a_clue_is_switched_off_by_a_tap_with_the_result_in_view(served: Served, context: Any) -> None:
    """The range stands at the foot of the window while the line that is tapped stands above it."""
    page = context("phone")
    page.goto(served.address + "/photograph/K00024")
    line = page.locator(".strip [data-switch]").first
    line.scroll_into_view_if_needed()
    line.locator(".clue").tap()
    expect(line).to_have_attribute("aria-checked", "false")
    expect(page.locator(".result")).to_be_in_viewport()
    line.locator(".clue").tap()
    expect(line).to_have_attribute("aria-checked", "true")


def test_a_conflict_is_settled_and_undone_by_touch(own: Served, context: Any) -> None:
    """From the list to what is in dispute; each answer says what it would change before it is pressed; undone with the
    button beside the words that say what was done."""
    before = [one.id for one in own.archive.dates.conflicts().stories]
    page = context("phone")
    page.goto(own.address + "/conflicts")
    page.get_by_role("link", name="What could the answer be?").first.tap()
    page.wait_for_url("**/conflicts/**")
    ways = page.locator(".ways > li")
    assert ways.count() > 1
    for way in ways.all()[:-1]:
        assert box_of(way.locator("button, .button").first)["height"] >= FINGER
        assert len(way.locator(".fact").inner_text()) > 10
    ways.first.locator("button").tap()
    expect(page.locator("#done")).to_contain_text("ettled")
    assert len(own.archive.dates.conflicts().stories) < len(before)
    page.locator("#done").get_by_role("button").tap()
    expect(page.locator("#done")).to_contain_text("Undone")
    assert [one.id for one in own.archive.dates.conflicts().stories] == before


def test_what_was_done_is_said_though_other_pages_are_brought_up_to_date(own: Served, context: Any) -> None:
    """While a form is under way, what is open in another window asks for itself again, as every page does
    that something has changed under: the page that comes next says what was done all the same."""
    page = context("phone")
    other = page.context.new_page()
    other.goto(own.address + "/boxes")
    page.goto(own.address + "/conflicts")
    page.get_by_role("link", name="What could the answer be?").first.tap()
    page.wait_for_url("**/conflicts/**")
    sent: list[Any] = []
    page.route("**/settle", lambda route: sent.append(route))
    page.locator(".ways > li").first.locator("button").tap(no_wait_after=True)
    while not sent:
        page.wait_for_timeout(10)
    answer = sent[0].fetch(max_redirects=0)
    assert answer.status == 303
    other.evaluate("async () => (await import(document.querySelector('script[src*=page]').src)).refresh()")
    sent[0].fulfill(response=answer)
    expect(page.locator("#done")).to_contain_text("ettled")
    expect(other.locator("#done")).to_be_empty()


def test_nothing_waits_for_a_pointer_that_hovers() -> None:
    """A pointer over something changes how it looks, and never whether it is there: a finger has no pointer."""
    found = 0
    for path in STATIC.glob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for declared in re.findall(r"[^{}]*:hover[^{}]*\{([^{}]*)\}", text):
            found += 1
            properties = {one.partition(":")[0].strip() for one in declared.split(";") if one.strip()}
            hides = {"display", "visibility", "height", "width", "clip-path", "translate", "transform", "content"}
            assert not properties & hides, (path.name, declared)
    assert found > 10

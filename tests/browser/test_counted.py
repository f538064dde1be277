"""How many keys and clicks the commonest work takes, counted in a real browser as they are pressed."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Locator, Page, expect

from .conftest import Served

MOST_CLICKS = 14
MOST_KEYS = 20
NEAR = 0.5
"""Of the width or height of a face: as far as the middle of a frame may be from the middle of the face."""


class Clicks:
    """A mouse that counts."""

    def __init__(self) -> None:
        self.number = 0

    def on(self, what: Locator) -> None:
        """Click, and count it."""
        what.click()
        self.number += 1


def test_ten_scattered_photographs_go_into_an_album(own: Served, context: Any) -> None:
    """Out of a search through all boxes, with at most fourteen clicks; the album is new, and undone at once."""
    page, clicks = context(), Clicks()
    page.goto(f"{own.address}/search?from=1860&to=1980")
    items = page.locator("[data-code]")
    codes = [items.nth(at).get_attribute("data-code") or "" for at in range(0, 40, 4)]
    boxes = {own.archive.photographs.details(code).boxes[-1].name for code in codes}
    assert len(boxes) > 2, "they lie in several boxes"
    clicks.on(page.get_by_role("button", name="Choose photographs"))
    for code in codes:
        clicks.on(page.locator(f"[data-code={code}] a"))
    clicks.on(page.get_by_text("Where they are kept"))
    clicks.on(page.get_by_label("Box", exact=True).last)
    page.keyboard.type("Best of all")
    clicks.on(page.get_by_role("button", name="Move them there"))
    expect(page.locator("#done")).to_contain_text("Best of all")
    assert {own.archive.photographs.details(code).boxes[-1].name for code in codes} == {"Best of all"}
    assert clicks.number <= MOST_CLICKS
    page.locator("#done button").click()
    expect(page.locator("#status")).to_contain_text("Undone")
    assert {own.archive.photographs.details(code).boxes[-1].name for code in codes} == boxes


FRAME = (
    """() => ["cx", "cy", "rx", "ry"].map((name) => Number(document.querySelector(".frame.new").getAttribute(name)))"""
)


def framed(page: Page, face: tuple[float, float, float, float]) -> int:
    """Bring a frame over a face by keys, as a person would who sees both; returns how many keys that took."""
    x, y = face[0] + face[2] / 2, face[1] + face[3] / 2
    keys = ["f", str(1 + min(int(x * 3), 2) + 3 * min(int(y * 3), 2))]
    for key in keys:
        page.keyboard.press(key)
    for _ in range(30):
        across, down, wide, high = page.evaluate(FRAME)
        if 2 * wide > 1.6 * face[2]:
            keys.append("Shift+ArrowLeft")
        elif 2 * high > 1.6 * face[3]:
            keys.append("Shift+ArrowUp")
        elif abs(across - x) > max(wide, NEAR * face[2]):
            keys.append("ArrowLeft" if across > x else "ArrowRight")
        elif abs(down - y) > max(high, NEAR * face[3]):
            keys.append("ArrowUp" if down > y else "ArrowDown")
        else:
            break
        page.keyboard.press(keys[-1])
    page.keyboard.press("Enter")
    return len(keys) + 1


def test_five_faces_are_framed_and_named_by_keys_alone(own: Served, context: Any) -> None:
    """At most twenty keys each on average: a frame, an age, letters of the name."""
    code, pressed = "K00009", 0
    faces = own.archive.photographs.faces(code).faces
    more = own.archive.photographs.faces("K00008").faces[:1]
    page = context()
    for photograph, some in ((code, faces), ("K00008", more)):
        for face in some:
            own.archive.statements.withdraw(face.names[0].id)
        page.goto(f"{own.address}/photograph/{photograph}?naming=1")
        page.get_by_role("button", name="Turn the view").wait_for()
        for face in some:
            page.keyboard.press("Escape")
            pressed += framed(page, face.box)
            expect(page.locator("#naming [name=age]")).to_be_focused()
            name = face.names[0].name
            for key in ("3", "0", "Enter", *name[:3].lower()):
                page.keyboard.press(key)
                pressed += 1
            offer = page.locator(f"#offers [data-person={face.names[0].person}]")
            page.wait_for_load_state("networkidle")  # what is offered for the last letter has come
            expect(offer).to_be_visible()
            while offer.get_attribute("aria-selected") != "true":
                page.keyboard.press("ArrowDown")
                pressed += 1
            with page.expect_response("**/name"):
                page.keyboard.press("Enter")
            pressed += 1
            expect(page.locator("#offers")).to_be_hidden()
        named = own.archive.photographs.faces(photograph).faces
        for face in some:
            x, y = face.box[0] + face.box[2] / 2, face.box[1] + face.box[3] / 2
            assert any(
                one.names[0].person == face.names[0].person
                and abs(one.box[0] + one.box[2] / 2 - x) <= one.box[2]
                and abs(one.box[1] + one.box[3] / 2 - y) <= one.box[3]
                for one in named
            ), face.names[0].name
    average = pressed / (len(faces) + len(more))
    assert average <= MOST_KEYS, average

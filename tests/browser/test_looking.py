"""Looking closely: what is drawn on a picture stays on it, and tiles show what the scan shows."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page

from kinphoto.archive.statements.appearances import Link

SQUARE = (2100, 600, 2200, 700)
"""Where the scan of 3000 by 2000 pixels is red; a face is framed there."""
WHERE = """() => {
  const stage = document.querySelector("[data-tiles]"), box = stage.querySelector("ellipse").getBoundingClientRect();
  return [box.x, box.y, box.right, box.bottom, ...stage.toPicture(box.x + box.width / 2, box.y + box.height / 2)];
}"""
DRAWING = "(on) => document.querySelector('[data-tiles]').dispatchEvent(new CustomEvent('drawing', { detail: on }))"


@pytest.fixture
def page(empty: Any, context: Any, tmp_path: Path) -> Page:
    """A photograph's page, its picture ready to be looked at closely."""
    picture = Image.new("RGB", (3000, 2000), (60, 150, 90))
    picture.paste((230, 20, 20), SQUARE)
    picture.save(tmp_path / "a.png")
    empty.archive.scans.add([tmp_path / "a.png"])
    empty.archive.statements.link(Link(photograph="K00001", person="-", region=f"0.7,0.3,{1 / 30},0.05"))
    opened: Page = context()
    opened.goto(f"{empty.address}/photograph/K00001")
    opened.get_by_role("button", name="Turn the view").wait_for()
    return opened


PICTURES_THERE = """async () => {
  await Promise.allSettled([...document.images].map((image) => image.decode()));
  for (const frame of [1, 2]) await new Promise(requestAnimationFrame);
}"""
"""In the browser, and drawn in the frame before this one; once, as waiting for a function would evaluate it again and
again, which the pages forbid."""


def red(page: Page) -> np.ndarray:
    """Left, top, right and lower edge of what is red on the screen, in its pixels."""
    down = across = np.array([])
    while not down.size:  # on a busy machine it may not have been drawn
        page.evaluate(PICTURES_THERE)
        pixels = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB")).astype(int)
        down, across = np.nonzero(pixels[..., 0] > 3 * pixels[..., 1])  # also in the shadow of the frame
    return np.array([across.min(), down.min(), across.max() + 1, down.max() + 1])


def check(page: Page) -> None:
    """The frame is where the red square is seen, and the script knows what place on the picture that is."""
    before, now = None, page.evaluate(WHERE)
    while before != now:  # on a busy machine the page may still be on its way
        seen, before = red(page), now
        now = page.evaluate(WHERE)
    *frame, x, y = now
    assert np.abs(seen - frame).max() <= 2
    assert (x, y) == pytest.approx((0.7 + 1 / 60, 0.325), abs=0.002)


def drag(page: Page, across: int, down: int) -> None:
    """Drag from the middle of the picture."""
    box = page.locator("[data-tiles]").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across, y + down, steps=4)
    page.mouse.up()


def test_a_frame_stays_on_the_picture(page: Page) -> None:
    """At first, closer by keys, moved by a drag, in the turned view, and where the wheel brings the tiles."""
    check(page)
    page.locator("[data-tiles]").focus()
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    check(page)
    drag(page, -40, 20)
    check(page)
    page.keyboard.press("r")
    page.keyboard.press("0")
    check(page)
    for _ in range(3):
        page.keyboard.press("r")
    left, top, right, lower, *_ = page.evaluate(WHERE)
    page.mouse.move((left + right) / 2, (top + lower) / 2)
    for _ in range(3):
        page.mouse.wheel(0, -200)
    page.locator(".looking-plane > div > img").first.wait_for()
    check(page)
    now = page.evaluate(WHERE)
    assert now[2] - now[0] > 2 * (right - left)


def test_a_frame_stands_out_from_what_it_lies_on(page: Page) -> None:
    """Also from a white collar: around its white line lies a shadow, narrow however large the picture is."""
    check(page)
    left, _, right, lower, *_ = page.evaluate(WHERE)
    grey = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("L"))
    below = grey[round(lower) + 1 :, round((left + right) / 2)]
    assert below[:3].min() < 0.9 * below[10]
    assert below[5:15].tolist() == [below[10]] * 10


def test_an_arrow_turns_the_page_until_somebody_looks_closer(page: Page) -> None:
    """Whole, it is left to the page; closer, it moves the picture."""
    page.evaluate("addEventListener('keydown', (event) => { window.left = !event.defaultPrevented; })")
    page.locator("[data-tiles]").focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("window.left") is True
    page.keyboard.press("+")
    before = page.evaluate(WHERE)
    page.keyboard.press("ArrowRight")
    assert page.evaluate("window.left") is False
    assert page.evaluate(WHERE)[0] < before[0]


def test_dragging_is_left_to_who_draws(page: Page) -> None:
    """Between "drawing" true and false a drag does not move the picture."""
    page.locator("[data-tiles]").focus()
    page.keyboard.press("+")
    before = page.evaluate(WHERE)
    page.evaluate(DRAWING, True)
    drag(page, 60, 0)
    assert page.evaluate(WHERE) == before
    page.evaluate(DRAWING, False)
    drag(page, 60, 0)
    assert page.evaluate(WHERE)[0] == pytest.approx(before[0] + 60, abs=1)


def test_without_scripts_the_picture_is_there(page: Page, context: Any) -> None:
    """An image that is as wide as the room, and the frame on it."""
    plain = context(java_script_enabled=False)
    plain.goto(page.url)
    photo = plain.locator("[data-tiles] > img")
    photo.wait_for()
    shown, frame = photo.bounding_box(), plain.locator("[data-over] ellipse").bounding_box()
    assert plain.locator(".looking-tools").count() == 0
    assert (frame["x"] - shown["x"]) / shown["width"] == pytest.approx(0.7, abs=0.01)
    assert (frame["y"] - shown["y"]) / shown["height"] == pytest.approx(0.3, abs=0.01)

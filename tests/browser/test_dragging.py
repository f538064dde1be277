"""What is drawn over a scan is dragged with the mouse, and the numbers beside it follow, which are what is sent."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page, expect

from .conftest import Served


def drag(page: Page, what: str, across: int, down: int) -> None:
    """Press on a part of the drawing, move, and let go."""
    page.locator(what).scroll_into_view_if_needed()
    box = page.locator(what).bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + across / 2, y + down / 2)
    page.mouse.move(x + across, y + down)
    page.mouse.up()
    page.mouse.move(x + 300, y + 200)  # nothing is held any more


def test_a_corner_of_a_photographed_print_is_dragged(served: Served, context: Any) -> None:
    """A tenth of the picture to the right and down, as far as the pointer went; the other corners stay."""
    page: Page = context()
    page.goto(f"{served.address}/straighten?scan=K00016")
    shown = page.locator("#on-print svg").bounding_box()
    assert shown is not None
    fields = [page.locator(f"#corners [name={name}]") for name in ("across", "down")]
    before = [[float(one.input_value()) for one in field.all()] for field in fields]
    drag(page, "#on-print [data-corner='0']", round(shown["width"] / 10), round(shown["height"] / 10))
    after = [[float(one.input_value()) for one in field.all()] for field in fields]
    for was, now in zip(before, after, strict=True):
        assert abs(now[0] - was[0] - 10) < 0.5
        assert now[1:] == was[1:]


def test_an_outline_on_a_scan_is_dragged(served: Served, context: Any) -> None:
    """It moves as a whole: left and top change, width, height and turn stay."""
    page: Page = context()
    page.goto(f"{served.address}/cut?scan=K00016")
    page.locator("#add").click()
    row = page.locator("#rows fieldset").last
    expect(row.locator("[name=left]")).not_to_have_value("")

    def numbers() -> list[float]:
        return [
            float(row.locator(f"[name={side}]").input_value()) for side in ("left", "top", "width", "height", "turn")
        ]

    before = numbers()
    drag(page, "#on-bed rect[data-part=move] >> nth=-1", 12, 8)
    after = numbers()
    assert after[0] > before[0]
    assert after[1] > before[1]
    assert after[2:] == before[2:]

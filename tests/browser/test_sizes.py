"""Sizes that are chosen and remembered, a photograph on one sheet of paper, and pages that are light."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from .conftest import Served


def test_a_size_that_is_chosen_is_remembered(served: Served, context: Any) -> None:
    """Larger photographs in rows, at once and on the next page; and larger type."""
    page = context()
    page.goto(served.address + "/box/9")
    image = page.locator(".shot img").first
    before = image.bounding_box()
    page.get_by_role("link", name="Larger pictures").click()
    expect(page.locator("html")).to_have_class("rows-large")
    after = image.bounding_box()
    assert before is not None
    assert after is not None
    assert 250 <= before["height"] <= 360
    assert after["height"] > 1.3 * before["height"]
    page.goto(served.address + "/years/1920")
    expect(page.locator("html")).to_have_class("rows-large")
    page.get_by_role("button", name="More").click()
    page.get_by_role("link", name="Larger type").click()
    expect(page.locator("html")).to_have_class("text-larger rows-large")


@pytest.mark.parametrize("code", ["K00009", "K00031"])
def test_a_photograph_is_printed_on_one_page(served: Served, context: Any, code: str) -> None:
    """Four faces or sixteen: the picture, an outline with the numbers, names, date and what is written on it, on one
    sheet of A4 (ISO 216)."""
    page = context()
    page.goto(f"{served.address}/photograph/{code}")
    page.get_by_role("button", name="Turn the view").wait_for()
    page.emulate_media(media="print")
    faces = served.archive.photographs.faces(code).faces
    expect(page.locator(".outline-key ellipse")).to_have_count(len(faces))
    expect(page.locator(".outline-key")).to_be_visible()
    sheets = page.pdf(format="A4", margin=dict.fromkeys(("top", "right", "bottom", "left"), "14mm"))
    assert len(re.findall(rb"/Type\s*/Page\b", sheets)) == 1


@pytest.mark.parametrize(("size", "density"), [("desk", 1), ("desk", 2), ("phone", 3)])
def test_the_first_view_of_a_box_is_light(served: Served, context: Any, size: str, density: float) -> None:
    """The pictures that are seen at once are at most 1.5 MB, and as sharp as the screen, as far as their scans are."""
    page = context(size, new=True, device_scale_factor=density)
    weights: dict[str, int] = {}
    page.on("response", lambda answer: weights.update({answer.url: int(answer.headers.get("content-length", 0))}))
    for address in ("/", "/box/9", "/boxes", "/years/1920"):
        page.goto(served.address + address)
        page.wait_for_load_state("networkidle")
        seen = page.evaluate("""() => [...document.images]
          .map((one) => [one.getBoundingClientRect().top, one.currentSrc])
          .filter(([top]) => top < innerHeight).map(([, source]) => source)""")
        assert 0 < sum(weights[source] for source in set(seen)) <= 1_500_000, address
        if address == "/box/9" and density > 1:
            assert all("/middle.jpg" in source for source in seen), "the small ones have 512 pixels"

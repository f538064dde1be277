"""What is done most is done by touch alone on a phone, and by keys alone: the first page, choosing, the table, a life,
a back, and undoing. Looking, naming and conflicts have their own tests."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from .conftest import Served

TWO = ("K00009", "K00011")


def tabbed_to(page: Page, selector: str) -> None:
    """Go through the page with Tab until what is meant has the focus."""
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("(css) => document.activeElement.matches(css)", selector):
            return
    pytest.fail(f"Tab never came to {selector}")


def lie(page: Page) -> list[str]:
    """The photographs on the table, in their order."""
    return page.locator("#tray > li").evaluate_all("(all) => all.map((one) => one.dataset.code)")


def tap_two(page: Page, own: Served) -> None:
    """Choose two photographs of a box with a finger."""
    page.goto(own.address + "/box/9")
    page.get_by_role("button", name="Choose photographs").tap()
    for code in TWO:
        page.locator(f"[data-code={code}] a").first.tap()


def test_the_first_page_leads_to_a_face_by_touch(served: Served, context: Any) -> None:
    """One tap on the one button, and the face and its fields are there."""
    page = context("phone")
    page.goto(served.address)
    page.get_by_role("link", name="I might know").tap()
    page.wait_for_url("**naming=1**")
    expect(page.locator("#naming [name=age]")).to_be_in_viewport()


def test_the_first_page_leads_to_a_face_by_a_key(served: Served, context: Any) -> None:
    """N, and the age can be typed."""
    page = context()
    page.goto(served.address)
    page.keyboard.press("n")
    page.wait_for_url("**naming=1**")
    expect(page.locator("#naming [name=age]")).to_be_focused()


def test_choosing_and_the_table_by_touch(own: Served, context: Any) -> None:
    """Two photographs are tapped, laid on the table, put into another order and laid side by side."""
    page = context("phone")
    tap_two(page, own)
    expect(page.get_by_text("2 chosen")).to_be_in_viewport()
    expect(page.get_by_role("button", name="Lay on the table")).to_be_in_viewport(ratio=1)
    assert page.locator(".chosen").bounding_box()["height"] < 120, "the photographs stay in view"
    page.get_by_role("button", name="Lay on the table").tap()
    expect(page.locator("#tray > li")).to_have_count(2)
    before = lie(page)
    page.get_by_label(f"Select {before[1]}").check()
    with page.expect_response("**/table/order"):
        page.get_by_role("button", name="Move the chosen ones earlier").tap()
    expect(page.locator("#tray > li").first).to_have_attribute("data-code", before[1])
    page.reload()
    assert lie(page) == before[::-1], "the order is kept"
    for code in TWO:
        page.get_by_label(f"Select {code}").check()
    page.get_by_role("button", name="Side by side").tap()
    expect(page.locator("#beside figure")).to_have_count(2)


def test_choosing_and_the_table_by_keys(own: Served, context: Any) -> None:
    """C, the box of a photograph with Space, the table, and Alt with an arrow puts them into another order."""
    page = context()
    page.goto(own.address + "/box/9")
    page.keyboard.press("c")
    for code in TWO:
        tabbed_to(page, f"[data-code={code}] input[type=checkbox]")
        page.keyboard.press("Space")
    tabbed_to(page, "button[formaction='/table/lay'], #sheet button:not([formaction], [type=button], [name])")
    page.keyboard.press("Enter")
    expect(page.locator("#tray > li")).to_have_count(2)
    before = lie(page)
    tabbed_to(page, f"#tray [data-code={before[1]}] *")
    with page.expect_response("**/table/order"):
        page.keyboard.press("Alt+ArrowLeft")
    expect(page.locator("#tray > li").first).to_have_attribute("data-code", before[1])
    page.reload()
    assert lie(page) == before[::-1]


@pytest.mark.parametrize("how", ["touch", "keys"])
def test_a_face_of_a_life_opens_its_photograph(served: Served, context: Any, how: str) -> None:
    """The first of the faces of a person; it fills the screen."""
    page = context("phone" if how == "touch" else "desk")
    page.goto(served.address + "/person/I24")
    if how == "touch":
        page.locator(".ages a").first.tap()
    else:
        tabbed_to(page, ".ages a")
        page.keyboard.press("Enter")
    expect(page.locator(".look-picture")).to_be_visible()


def test_a_back_is_read_and_undone_by_touch(own: Served, context: Any) -> None:
    """The words are typed, the date in them is tapped, saved, and undone with the button that says what it undoes."""
    page = context("phone")
    page.goto(own.address + "/photograph/K00018")
    page.get_by_role("link", name="Read the words on it").tap()
    page.locator("#read-text").fill("Henrike, Whitsun 1874")
    page.locator("input[name=choice]:not([value=''])").first.tap()
    page.get_by_role("button", name="Save", exact=True).first.tap()
    expect(page.locator("q", has_text="Whitsun 1874").first).to_be_attached()
    page.goto(own.address + "/photograph/K00018")
    page.locator("#who .undo button").tap()
    expect(page.locator("#status")).to_contain_text("ndone")
    assert not any(one.words == "Henrike, Whitsun 1874" for one in own.archive.photographs.details("K00018").marks)


KEYS_NAMED = re.compile(
    r"\b[A-Z] (frames|undoes|shows|refuses)\b|\bEscape\b|\bEnter\b|\barrow (down|up)\b|\buse\s+with\b|→"
)


def test_two_side_by_side_keep_their_buttons_on_a_phone(own: Served, context: Any) -> None:
    """All four buttons of each lie within its picture, each large enough for a finger."""
    page = context("phone")
    tap_two(page, own)
    page.get_by_role("button", name="Lay on the table").tap()
    pictures = page.locator("#beside .looking")
    expect(pictures).to_have_count(2)
    for picture in pictures.all():
        around = picture.bounding_box()
        buttons = picture.locator(".looking-tools button")
        expect(buttons).to_have_count(4)
        for button in buttons.all():
            box = button.bounding_box()
            assert around["x"] <= box["x"]
            assert box["x"] + box["width"] <= around["x"] + around["width"]
            assert min(box["width"], box["height"]) >= 44
    assert not KEYS_NAMED.search(page.locator("main").inner_text())


def test_a_finger_is_told_nothing_of_keys(own: Served, context: Any) -> None:
    """Neither by what a page says after something was done or could not be, nor by what it will say: with a mouse and
    keys the same line names them."""
    code = "K00016"
    for size in ("phone", "desk"):
        page = context(size)
        page.goto(f"{own.address}/photograph/{code}?naming=1")
        page.locator("#person").fill("zus")
        expect(page.locator("#offers [data-newcomer='zus']")).to_be_visible()
        page.locator("#person").press("Enter")
        said = page.locator("#status")
        expect(said).to_contain_text("Nobody is called “zus”. To add somebody new, choose the offer below.")
        box, window = said.bounding_box(), page.viewport_size["width"]
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= window
        assert box["width"] >= min(300, 0.6 * window), "it is as wide as the words need"
        shown = page.locator("main").inner_text() + " ".join(
            page.locator("[data-quick]").evaluate_all("(all) => all.map((one) => one.dataset.quick)")
        )
        assert bool(KEYS_NAMED.search(shown)) == (size == "desk")


def test_what_stands_beside_a_field_does_not_lie_over_what_is_offered(served: Served, context: Any) -> None:
    """A date with two meanings: both are offered beside the field, and the line at the foot is only heard."""
    page = context("desk", missing=True)
    page.goto(served.address + "/photograph/K00024")
    page.get_by_text("Add words on it").click()
    page.get_by_label("Date or event").fill("before the war")
    page.locator("#marks").get_by_role("button", name="Save").first.click()
    offered = page.locator("#problem button")
    expect(offered).to_have_count(2)
    expect(page.locator("#status")).to_contain_text("Write which war")
    expect(page.locator("#status")).to_have_class(re.compile(r"\bunseen\b"))
    expect(page.locator("#status")).to_have_css("clip-path", "inset(50%)")


@pytest.mark.parametrize("scripts", [True, False])
def test_what_is_hidden_is_not_seen(own: Served, context: Any, scripts: bool) -> None:
    """On the table and elsewhere: what waits for scripts is not there without them, and what belongs to *One over the
    other* comes with it."""
    page = context(java_script_enabled=scripts)
    page.goto(own.address + "/box/9")
    if scripts:
        page.get_by_role("button", name="Choose photographs").click()
    for code in TWO:
        page.get_by_label(f"Select {code}").check()
    page.get_by_role("button", name="Lay on the table").click()
    expect(page.locator("#tray > li")).to_have_count(2)
    shown = """() => [...document.querySelectorAll("[hidden]")].map((one) => [one.id, getComputedStyle(one).display])
        .filter(([_, display]) => display !== "none")"""
    assert page.evaluate(shown) == []
    if scripts:
        expect(page.locator("#through")).to_be_hidden()
        page.get_by_role("button", name="One over the other").click()
        expect(page.locator("#through")).to_be_visible()
    for address in ("/photograph/K00016?naming=1", "/stories", "/bring-in", "/photograph/K00009/back"):
        page.goto(own.address + address)
        assert page.evaluate(shown) == []

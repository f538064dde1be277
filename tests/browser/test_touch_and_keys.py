"""What is done most is done by touch alone on a phone, and by keys alone: the first page, choosing, the table, a life,
a back, and undoing. Looking, naming and conflicts have their own tests."""

from __future__ import annotations

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
    page.goto(own.address + "/box/9")
    page.get_by_role("button", name="Choose photographs").tap()
    for code in TWO:
        page.locator(f"[data-code={code}] a").first.tap()
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

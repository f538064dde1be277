"""A whole evening before the pages: bring in a tree and scans, join a back to its front, name twelve faces, settle a
conflict, find every picture of somebody's line. Once with the mouse, once with the keyboard alone, once on a phone, and
once without scripts, for reading.
"""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from kinphoto.archive.sample import source
from kinphoto.archive.statements.claims import NewClaim

from .conftest import Served

SAMPLE = source()
TWELVE = (
    ("Ambrose Quillern", "30"), ("Johanna Penwell", "25"), ("Nora Quillern", "18"), ("Vera Quillern", "28"),
    ("Lambert Quillern", "60"), ("Clemence Ombry", "52"), ("Rosamund Quillern", "45"), ("Emil Quillern", "20"),
    ("Ottilie Quillern", "55"), ("Felix Quillern", "20"), ("Casper Harsk", "26"), ("Lisbet Quillern", "40"),
)  # fmt: skip
"""Who the evening names, and how old they are said to look; whether it is so is not the matter here."""


def bring_in(page: Page, served: Served) -> None:
    """Send the tree, then a front, its back and a group, as from a phone."""
    page.goto(served.address + "/bring-in")
    page.set_input_files("input[name=tree]", SAMPLE / "family.ged")
    page.get_by_role("button", name="Import the tree").click()
    expect(page.get_by_role("heading", name="Done: importing the tree")).to_be_visible()
    scans = [SAMPLE / "scans" / "box-1" / name for name in ("ferry_0001.jpg", "ferry_0002.jpg", "wedding_0001.jpg")]
    assert all(path.is_file() for path in scans)
    page.set_input_files("input[name=scans]", scans)
    page.get_by_label("Box", exact=True).fill("Willow box")
    page.get_by_role("button", name="Upload").click()
    expect(page.get_by_role("heading", name="Done: reading the pictures")).to_be_visible()
    assert served.archive.search.overview().tally.photographs == 3


def named(served: Served, code: str) -> list[str]:
    """Who is named in a photograph."""
    return [seat.name for face in served.archive.photographs.faces(code).faces for seat in face.names if seat.person]


def test_with_the_mouse(empty: Served, context: Any) -> None:
    """Everything is done by pressing, dragging and typing what has to be typed."""
    page = context()
    bring_in(page, empty)
    page.get_by_role("link", name="Boxes").first.click()
    page.get_by_role("link", name="Willow box").click()
    page.get_by_role("button", name="Choose photographs").click()
    page.get_by_label("Select K00001").check()
    page.get_by_label("Select K00002").check()
    page.get_by_text("Same object").click()
    page.get_by_role("button", name="Join into one photograph").click()
    expect(page.get_by_text("with its back")).to_be_visible()
    assert len(empty.archive.photographs.details("K00001").scans) == 2

    page.get_by_role("link", name="Name faces").click()
    page.goto(empty.address + "/photograph/K00003?naming=1")
    box = page.locator(".looking").bounding_box()
    assert box is not None
    for number, (name, age) in enumerate(TWELVE):
        page.get_by_role("button", name="Frame a face").click()
        x = box["x"] + box["width"] * (0.1 + 0.07 * number)
        y = box["y"] + box["height"] * (0.25 if number % 2 else 0.55)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + box["width"] * 0.05, y + box["height"] * 0.08, steps=4)
        page.mouse.up()
        page.locator("#naming [name=age]").fill(age)
        page.locator("#person").fill(name)
        page.get_by_role("option", name=name).first.click()
        expect(page.locator(".faces > li")).to_have_count(number + 1)
    assert sorted(named(empty, "K00003")) == sorted(name for name, _ in TWELVE)
    ages = [age for face in empty.archive.photographs.faces("K00003").faces for seat in face.names for age in seat.ages]
    assert len(ages) == len(TWELVE)
    assert all(age.blind for age in ages), "the date was covered all the while"

    page.goto(empty.address + "/photograph/K00003")
    page.get_by_text("Add words on it").click()
    page.get_by_label("Date or event").fill("1871")
    page.get_by_label("The words, exactly as they are written").fill("summer 1871")
    page.locator("#marks").get_by_role("button", name="Save").first.click()
    expect(page.locator(".way-out").first).to_be_visible()
    while page.locator(".way-out").count():
        story = page.locator(".way-out").first
        question = story.locator("p").first.text_content()
        story.get_by_role("link", name="What could the answer be?").click()
        page.wait_for_url("**/conflicts/**")
        page.locator(".ways button").first.click()
        page.wait_for_url("**/photograph/K00003")
        expect(page.locator(".way-out", has_text=question or "")).to_have_count(0)
    changes = [change.what for change in empty.archive.statements.history(8)]
    assert any("settled" in what or "withdrew" in what for what in changes), changes

    page.get_by_role("link", name="Clemence Ombry").first.click()
    page.get_by_role("link", name="of her descendants").click()
    expect(page.get_by_role("heading", name="1 photograph")).to_be_visible()


def test_with_the_keyboard_alone(own: Served, context: Any) -> None:
    """The same without a mouse: every control is reached by Tab, and naming has keys of its own."""
    page = context()
    page.goto(own.address + "/box/9")
    page.keyboard.press("n")
    page.wait_for_url("**?naming=1")
    page.goto(own.address + "/photograph/K00014?naming=1")
    before = len(own.archive.photographs.faces("K00014").faces)
    page.keyboard.press("Escape")
    for number in range(2):
        page.keyboard.press("Escape")
        page.keyboard.press("f")
        for _ in range(3 + 5 * number):
            page.keyboard.press("ArrowLeft")
        for _ in range(4):
            page.keyboard.press("Shift+ArrowUp")
        page.keyboard.press("Enter")
        expect(page.locator("#naming [name=age]")).to_be_focused()
        page.keyboard.type("30")
        page.keyboard.press("Enter")
        expect(page.locator("#person")).to_be_focused()
        page.keyboard.type(letters := ("her", "lis")[number])
        expect(page.locator(f"#offers [data-newcomer='{letters}']")).to_have_count(1)  # the offers are of these
        page.keyboard.press("Enter")
        expect(page.locator(".faces > li")).to_have_count(before + number + 1)
    assert own.archive.statements.history(1)[0].what.startswith("named ")
    page.keyboard.press("Escape")
    page.keyboard.press("u")
    expect(page.locator(".faces > li")).to_have_count(before + 1)

    page.goto(own.address + "/photograph/K00023")
    press_by_tab(page, "What could the answer be? Is that Ambrose Quillern (1890 to 1974) in K00023?")
    page.wait_for_url("**/conflicts/**")
    press_by_tab(page, "It may not be Ambrose Quillern (1890 to 1974) in “The lock-keeper's family, and a cousin”")
    page.wait_for_url("**/photograph/K00023")
    expect(page.locator(".way-out")).to_have_count(0)

    page.keyboard.press("/")
    page.keyboard.type("clemence ombry")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("photographs")


def press_by_tab(page: Page, name: str) -> None:
    """Go through the page with Tab until the control of that name has the focus, and press it."""
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == name:
            page.keyboard.press("Enter")
            return
    pytest.fail(f"Tab never came to “{name}”")


def test_on_a_phone(own: Served, context: Any) -> None:
    """On a small screen with a finger: a tap puts a frame, an offer is tapped, a way out is taken."""
    page = context("phone")
    page.goto(own.address + "/photograph/K00014?naming=1")
    before = len(own.archive.photographs.faces("K00014").faces)
    page.get_by_role("button", name="Close").tap()
    page.get_by_role("button", name="Frame a face").tap()
    box = page.locator(".looking").bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] * 0.85, box["y"] + box["height"] * 0.15)
    page.locator("#naming [name=age]").fill("40")
    page.locator("#person").fill("lisb")
    page.get_by_role("option", name="Lisbet Quillern").first.tap()
    expect(page.locator(".faces > li")).to_have_count(before + 1)
    page.goto(own.address + "/conflicts")
    first = page.locator(".story").first
    story = first.get_attribute("id")
    first.get_by_role("link", name="What could the answer be?").tap()
    page.wait_for_url("**/conflicts/**")
    page.locator(".ways button").first.tap()
    expect(page.locator("#done")).to_contain_text("ettled")
    page.goto(own.address + "/conflicts")
    expect(page.locator(f"[id='{story}']")).to_have_count(0)


def test_reading_without_scripts(served: Served, context: Any) -> None:
    """Everything can be read, turned over, followed and searched with scripts off."""
    page = context(java_script_enabled=False)
    page.goto(served.address)
    page.get_by_role("link", name="Boxes").first.click()
    page.get_by_role("link", name="Willow box").click()
    page.get_by_role("link", name="On the ferry").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("between 1904 and 1905", ignore_case=True)
    page.get_by_role("link", name="the back").click()
    expect(page.locator("img.photo")).to_be_visible()
    page.get_by_role("link", name="Rosamund Quillern").first.click()
    expect(page.locator(".lifeline")).to_be_visible()
    page.get_by_label("Search the archive").fill("Clemence 1900-1920")
    page.get_by_label("Search the archive").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("photograph")


def test_a_statement_switched_off_without_scripts(served: Served, context: Any) -> None:
    """A line of the evidence strip is a link: the page without it is another address, and nothing is stored."""
    page = context(java_script_enabled=False)
    page.goto(served.address + "/photograph/K00009")
    before, pulse = page.locator(".result b").text_content(), served.archive.statements.revision()
    code = "K00009"
    whole = served.archive.dates.evidence_strip(code)
    telling = next(b.id for b in whole.bars if served.archive.dates.evidence_strip(code, [b.id]).words != whole.words)
    page.goto(served.address + (page.locator(f".strip [data-switch={telling}]").get_attribute("href") or ""))
    expect(page.get_by_text("1 statement is switched off")).to_be_visible()
    assert page.locator(f".strip [data-switch={telling}]").get_attribute("aria-checked") == "false"
    assert page.locator(".result b").text_content() != before
    assert served.archive.statements.revision() == pulse


def test_what_is_being_pressed_stays_until_it_is_let_go(own: Served, context: Any) -> None:
    """Something changes between the press of a button and its release: the press counts, and the change shows then."""
    page = context()
    page.goto(own.address + "/photograph/K00009")
    listen = "window.renewed = new Promise((done) => document.addEventListener('renewed', done, { once: true }))"
    page.evaluate(f"void ({listen})")
    fold = page.get_by_text("Add words on it")
    fold.hover()
    page.mouse.down()
    own.archive.statements.record(NewClaim(photograph="K00009", kind="inscription", text="by the mill"))
    page.evaluate("window.renewed.then(() => true)")
    page.mouse.up()
    expect(page.get_by_label("The words, exactly as they are written")).to_be_visible()
    expect(page.locator("#marks q", has_text="by the mill")).to_be_visible()


def test_two_browsers_see_each_other_s_changes(own: Served, context: Any) -> None:
    """What one writes down shows in the other by itself, and neither overwrites what the other has not seen."""
    one, other = context(), context(missing=True)
    for page in (one, other):
        page.goto(own.address + "/photograph/K00009")
    own.archive.statements.record(NewClaim(photograph="K00009", kind="inscription", text="by the mill"))
    expect(other.locator("#marks q", has_text="by the mill")).to_be_visible()
    one.get_by_label("Where it was taken").fill("Port Lissom")
    other.get_by_label("Where it was taken").fill("Sandle Point")
    one.locator("#object").get_by_role("button", name="Save").click()
    expect(one.locator("#status")).to_contain_text("Saved")
    other.locator("#object").get_by_role("button", name="Save").click()
    expect(other.locator("#status")).to_contain_text("has just changed the place of K00009 to “Port Lissom”")
    assert own.archive.photographs.details("K00009").place == "Port Lissom"
    assert other.get_by_label("Where it was taken").input_value() == "Sandle Point", "what was typed is still there"

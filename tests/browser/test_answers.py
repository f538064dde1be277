"""What an answer did, seen in a browser: the range that narrows, the result that stays in view, errors beside their
fields, and undoing step by step with a key."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from kinphoto.archive.statements.descriptions import Description

from .conftest import Served


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_result_stays_in_view_while_a_clue_is_switched_off(served: Served, context: Any, size: str) -> None:
    """Wherever among the clues one is, the result is at the foot of the window; what it was is there in outline."""
    page = context(size)
    page.goto(served.address + "/photograph/K00009")
    clue = page.locator("[data-switch]").first
    clue.scroll_into_view_if_needed()
    page.evaluate("document.querySelector('.strip').scrollIntoView({block: 'start'}); scrollBy(0, -420)")
    window = page.viewport_size["height"]
    for _ in range(2):
        box = page.locator(".result").bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= window + 1
        if page.locator(".result .ghost").count():
            return
        clue.click()
        expect(page.locator(".result .ghost")).to_be_attached()
    raise AssertionError("there is no ghost")


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_of_a_clue_can_be_read(served: Served, context: Any, size: str, scheme: str) -> None:
    """What each clue says and who says so stands there to its end, in letters of 14 pixels or more, within its column
    and over nothing that is drawn."""
    page = context(size, color_scheme=scheme)
    for code in ("K00009", "K00023"):
        page.goto(f"{served.address}/photograph/{code}")
        bars = served.archive.dates.evidence_strip(code).bars
        assert max(len(bar.label) for bar in bars) > 50
        shown = page.locator(".strip [data-switch]").evaluate_all(
            """(all) => all.map((one) => [".clue", ".source"].map((css) => one.querySelector(css)).map((words) =>
              words && { text: words.textContent, size: parseFloat(getComputedStyle(words).fontSize),
              right: words.getBoundingClientRect().right, foot: words.getBoundingClientRect().bottom,
              cut: words.scrollWidth > words.clientWidth && getComputedStyle(words).display !== "inline",
              line: one.parentElement.querySelector(".drawn").getBoundingClientRect().toJSON() }))"""
        )
        for bar, (clue, source) in zip(bars, shown, strict=True):
            assert clue["text"].removeprefix("? ") == bar.label
            assert (source["text"] if source else "") == bar.source
            for words in filter(None, (clue, source)):
                assert not words["cut"]
                assert words["size"] >= 14
                assert words["right"] <= words["line"]["left"] if size == "desk" else words["right"] <= 390
                assert size == "desk" or words["foot"] <= words["line"]["top"]


def test_the_old_range_becomes_the_new_one_before_one_s_eyes(own: Served, context: Any) -> None:
    """After a year is saved the drawn range starts as wide as it was and ends as narrow as it is; where somebody wants
    no motion it is narrow at once."""
    for motion in ("no-preference", "reduce"):
        page = context(reduced_motion=motion)
        page.goto(own.address + "/photograph/K00018")
        page.get_by_text("Add words on it").click()
        page.get_by_label("Date or event").fill("1877")
        page.locator("#marks").get_by_label("Who told us").first.fill("Judith Quillern")
        page.locator("#marks").get_by_role("button", name="Save").first.click()
        expect(page.locator(".did")).to_contain_text("Thanks to Judith Quillern")
        width = "(css) => document.querySelector(css).getBoundingClientRect().width"
        settled = """(css) => new Promise((done) => {
          const was = document.querySelector(".ranges .was").getBoundingClientRect().width;
          const slim = () => document.querySelector(css).getBoundingClientRect().width < 0.2 * was;
          const look = () => { if (slim()) done(true); else requestAnimationFrame(look); };
          look();
        })"""
        drawn = ".ranges .moving" if motion == "no-preference" else ".ranges .still"
        starts = page.locator(".ranges animate").evaluate_all("(all) => all.map((one) => one.getAttribute('from'))")
        was = page.locator(".ranges .was")
        assert starts == [was.get_attribute("x"), was.get_attribute("width")]
        assert page.evaluate(settled, drawn)
        assert page.evaluate(width, drawn) > 0
        assert page.locator(".moved li").count() >= 1
        page.keyboard.press("u")
        expect(page.locator(".undo")).to_contain_text("Undone: recorded for K00018")


def test_after_the_last_face_a_key_shows_what_the_answers_did(own: Served, context: Any) -> None:
    """While ages come first there is no date; after the last face D shows it, with what the answers did."""
    code = "K00009"
    faces = own.archive.photographs.faces(code).faces
    for face in faces[1:]:
        own.archive.statements.withdraw(face.names[0].id)
    own.archive.statements.take_name_off(faces[0].names[0].id)
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    expect(page.locator("h1")).to_have_text("How old do they look?")
    page.locator("#naming [name=age]").fill("40")
    page.locator("#person").fill(faces[0].names[0].name)
    page.locator(f"#offers [data-person={faces[0].names[0].person}]").click()
    expect(page.locator("h1")).to_have_text("That was the last framed face")
    page.keyboard.press("Escape")
    page.keyboard.press("d")
    expect(page.locator(".did")).to_be_visible()


def test_an_error_stands_beside_its_field_with_what_may_be_meant(own: Served, context: Any) -> None:
    """The reason and two days to choose from; the field keeps what was typed until one is chosen, and then it is
    saved."""
    page = context(missing=True)
    page.goto(own.address + "/photograph/K00018")
    page.get_by_text("Add words on it").click()
    field = page.get_by_label("Date or event")
    field.fill("12/8/1900")
    page.locator("#marks").get_by_label("The words, exactly as they are written").fill("at the fair")
    save = page.locator("#marks").get_by_role("button", name="Save").first
    save.click()
    expect(page.locator("#problem")).to_contain_text("12/8/1900")
    assert field.input_value() == "12/8/1900"
    assert field.get_attribute("aria-invalid") == "true"
    assert field.evaluate("(one) => one === document.activeElement")
    near = page.locator("#problem").bounding_box()["y"] - field.bounding_box()["y"]
    assert 0 < near < 120
    page.locator("#problem button").first.click()
    expect(page.locator("#problem")).to_have_count(0)
    save.click()
    expect(page.locator("#marks q", has_text="at the fair")).to_be_visible()


def test_u_undoes_one_s_own_steps_and_asks_about_others(own: Served, context: Any) -> None:
    """Two titles of one's own are undone with two presses; then the newest is somebody else's, and a page asks."""
    page = context()
    own.archive.photographs.describe("K00018", Description(title="Somebody else's"))
    page.goto(own.address + "/photograph/K00018")
    for title in ("First", "Second"):
        page.locator("#object").get_by_label("Title", exact=True).fill(title)
        page.locator("#object").get_by_role("button", name="Save").click()
        expect(page.locator("#object [name=was_title]")).to_have_value(title)
        expect(page.locator(".undo")).to_contain_text("described K00018: title")
    page.locator("h1").click()
    for title in ("First", "Somebody else's"):
        page.keyboard.press("u")
        expect(page.locator("#object [name=was_title]")).to_have_value(title)
    assert own.archive.photographs.details("K00018").title == "Somebody else's"
    page.keyboard.press("u")
    expect(page.get_by_role("heading", name="Undo this?")).to_be_visible()
    page.get_by_role("link", name="Leave it as it is").click()
    assert own.archive.photographs.details("K00018").title == "Somebody else's"

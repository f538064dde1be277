"""Naming is fast: the keys that it takes are counted, in a real browser."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from playwright.sync_api import APIResponse, Page, Route, expect

from kinphoto.archive.statements.claims import NewClaim

from .conftest import Served

MOST_KEYS = 8


def test_faces_are_named_with_eight_keys_each(own: Served, context: Any) -> None:
    """Five people of a class, known in the box already, are named anew: an age, Enter, letters, Enter; the keys of each
    are counted as they are pressed."""
    code = "K00016"
    faces = [face for face in own.archive.photographs.faces(code).faces if face.names[0].person][:5]
    for face in faces:
        own.archive.statements.take_name_off(face.names[0].id)
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    for face in faces:
        choose(page, face.region)
        somebody = face.names[0]
        keys = name(page, "12", somebody.name, somebody.person or "")
        assert keys <= MOST_KEYS, f"{somebody.name} took {keys} keys"
    again = {face.region: face.names[0].person for face in own.archive.photographs.faces(code).faces}
    assert [again[face.region] for face in faces] == [face.names[0].person for face in faces]


def choose(page: Page, region: str) -> None:
    """Go to a face; in an evening's work the next one is there by itself, in reading order."""
    page.keyboard.press("Escape")
    page.locator(f"[data-face={region}] .number").click()
    expect(page.locator("#naming [name=age]")).to_be_focused()


def name(page: Page, age: str, called: str, person: str) -> int:
    """Judge the age and type as much of a name as brings the person to the top; returns how many keys that took."""
    pressed = [*age, "Enter"]
    for key in pressed:
        page.keyboard.press(key)
    expect(page.locator("#person")).to_be_focused()
    for letters in itertools.accumulate(called.lower()):
        pressed.append(letters[-1])
        page.keyboard.press(letters[-1])
        expect(page.locator(f"#offers [data-newcomer='{letters.strip()}']")).to_have_count(1)  # the offers are of these
        first = page.locator("#offers [aria-selected=true]")
        expect(first).to_have_count(1)
        if first.get_attribute("data-person") == person:
            break
    pressed.append("Enter")
    with page.expect_response("**/name"):
        page.keyboard.press("Enter")
    expect(page.locator("#offers")).to_be_hidden()
    return len(pressed)


def test_the_next_face_waits_by_itself(own: Served, context: Any) -> None:
    """When a face is named the next one without a name is chosen, with the field for its age ready."""
    code = "K00016"
    open_ = [face.region for face in own.archive.photographs.faces(code).faces if not face.names[0].person]
    assert len(open_) == 2
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", open_[0])
    for key in ("1", "2", "Enter", "z", "u", "s", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", open_[1])
    expect(page.locator("#naming [name=age]")).to_be_focused()


def test_somebody_new_is_never_made_by_a_slip(own: Served, context: Any) -> None:
    """Where nobody is called that, nothing is marked: Enter says so and keeps what was typed, an arrow and Enter add
    somebody new."""
    code = "K00016"
    face = next(face for face in own.archive.photographs.faces(code).faces if not face.names[0].person)
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    press(page, "1", "2", "Enter", *"zus")
    expect(page.locator("#offers [data-newcomer='zus']")).to_have_attribute("aria-selected", "false")
    press(page, "Enter")
    expect(page.locator("#status")).to_contain_text("Nobody is called “zus”")
    expect(page.locator("#person")).to_have_value("zus")
    assert own.archive.photographs.faces(code).faces[0].names[0].name != "zus"
    press(page, "ArrowDown", "Enter")
    expect(page.locator(f"[data-face={face.region}][data-named=yes]")).to_contain_text("zus")


def test_what_is_typed_for_the_next_face_is_not_lost_while_one_is_saved(own: Served, context: Any) -> None:
    """A quick hand does not wait for the answer: age and name of the next face are typed, and kept, meanwhile."""
    code = "K00016"
    open_ = [face.region for face in own.archive.photographs.faces(code).faces if not face.names[0].person]
    page = context()
    held: list[Route] = []
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", open_[0])
    page.route("**/name", lambda route: route.continue_() if held else held.append(route))
    press(page, "1", "2", "Enter", *"katr", "Enter")
    expect(page.locator("#naming [name=age]")).to_be_focused()
    press(page, "9", "Enter", *"tild", "Enter")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()
    expect(page.locator("#naming")).to_have_attribute("data-idle", "")
    named = {face.region: face.names[0] for face in own.archive.photographs.faces(code).faces}
    assert [named[region].ages[0].low for region in open_] == [12.0, 9.0]
    assert [named[region].name.split()[0] for region in open_] == ["Katrin", "Tilda"]


def test_an_age_typed_before_the_script_was_there_is_not_lost(own: Served, context: Any) -> None:
    """On a slow line somebody types before it has come."""
    page = context()
    held: list[Route] = []
    page.route("**/naming.*js*", lambda route: held.append(route))
    page.goto(f"{own.address}/photograph/K00016?naming=1", wait_until="commit")
    page.locator("#naming [name=age]").fill("12")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()
    expect(page.locator("[aria-current=true][data-face]")).to_be_visible()
    expect(page.locator("#naming [name=age]")).to_have_value("12")


def test_somebody_else_s_change_takes_nothing_from_whoever_is_naming(own: Served, context: Any) -> None:
    """A change made elsewhere comes in by itself while a face is being named: the face stays chosen, the age typed."""
    code = "K00016"
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    chosen = page.locator("[aria-current=true][data-face]").get_attribute("data-face")
    expect(page.locator("#naming [name=age]")).to_be_focused()
    taken = next(face for face in own.archive.photographs.faces(code).faces if face.names[0].person)
    own.archive.statements.take_name_off(taken.names[0].id)
    expect(page.locator(f"[data-face={taken.region}]")).to_contain_text("not named yet")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", chosen or "")
    expect(page.locator("#naming [name=age]")).to_be_focused()
    press(page, "1", "2", "Enter")
    left = next(face for face in own.archive.photographs.faces(code).faces if face.region == taken.region)
    own.archive.statements.withdraw(left.names[0].id)
    with page.expect_response(lambda answer: "/pulse" in answer.url and answer.status == 200):
        pass
    page.wait_for_timeout(500)
    expect(page.locator("#person")).to_be_focused()
    expect(page.locator("#naming [name=age]")).to_have_value("12")
    press(page, *"katr", "Enter")
    expect(page.locator(f"[data-face={taken.region}]")).to_have_count(0)
    named = next(face.names[0] for face in own.archive.photographs.faces(code).faces if face.region == chosen)
    assert (named.name.split()[0], named.ages[0].low) == ("Katrin", 12.0)


def test_a_page_that_comes_late_takes_nothing_back(own: Served, context: Any) -> None:
    """A page asked for before something was put down, and answered after it, is dropped: what was put down stays."""
    code = "K00016"
    first, second = (face.region for face in own.archive.photographs.faces(code).faces if not face.names[0].person)
    page = context()
    late: list[tuple[Route, APIResponse]] = []
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    asked = f"**/photograph/{code}?naming=1"
    page.route(asked, lambda route: route.continue_() if late else late.append((route, route.fetch())))
    own.archive.statements.record(NewClaim(photograph=code, kind="inscription", text="by the mill"))
    while not late:
        page.wait_for_timeout(20)
    press(page, "1", "2", "Enter", *"katr", "Enter")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", second or "")
    (route, old), named = late[0], page.locator(f"[data-face={first}][data-named=yes]")
    expect(named).to_have_count(1)
    with page.expect_event("requestfinished", lambda request: request.url == old.url):
        route.fulfill(response=old)
    page.wait_for_timeout(200)
    assert named.count() == 1


def test_a_face_that_could_not_be_saved_is_there_again_with_what_was_typed(own: Served, context: Any) -> None:
    """When the pages do not answer, the age and the letters stand in their fields, and Enter tries once more."""
    code = "K00016"
    first = next(face.region for face in own.archive.photographs.faces(code).faces if not face.names[0].person)
    page = context(missing=True)
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    page.route("**/name", lambda route: route.abort())
    press(page, "1", "2", "Enter", *"katr", "Enter")
    expect(page.locator("#status")).to_contain_text("What you typed is still here")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", first or "")
    expect(page.locator("#naming [name=age]")).to_have_value("12")
    expect(page.locator("#person")).to_have_value("katr")
    expect(page.locator("#person")).to_be_focused()
    page.unroute("**/name")
    expect(page.locator("#offers [aria-selected=true]")).to_contain_text("Katrin Quillern")
    page.keyboard.press("Enter")
    expect(page.locator(f"[data-face={first}][data-named=yes]")).to_have_count(1)
    named = next(face.names[0] for face in own.archive.photographs.faces(code).faces if face.region == first)
    assert (named.name, named.ages[0].low) == ("Katrin Quillern", 12.0)


def test_a_page_that_lay_open_too_long_saves_when_it_is_asked_again(own: Served, context: Any) -> None:
    """Its visit has ended: what was typed stays in its field, and the next Enter saves it."""
    code = "K00016"
    first = next(face.region for face in own.archive.photographs.faces(code).faces if not face.names[0].person)
    page = context(missing=True)
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    expect(page.locator("[aria-current=true][data-face]")).to_have_attribute("data-face", first)
    page.context.clear_cookies()
    press(page, "1", "2", "Enter", *"katr", "Enter")
    expect(page.locator("#status")).to_contain_text("open for too long")
    expect(page.locator("#person")).to_have_value("katr")
    page.locator("#person").press("End")
    expect(page.locator("#offers [aria-selected=true]")).to_contain_text("Katrin Quillern")
    page.locator("#person").press("Enter")
    expect(page.locator(f"[data-face={first}][data-named=yes]")).to_contain_text("Katrin Quillern")


def test_the_next_face_can_be_framed_while_the_last_one_is_saved(own: Served, context: Any) -> None:
    """Where nobody else waits for a name, keys pressed meanwhile are the page's: F frames a face, which stays."""
    code = "K00009"
    face = own.archive.photographs.faces(code).faces[0]
    own.archive.statements.take_name_off(face.names[0].id)
    page = context()
    held: list[Route] = []
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    page.locator(f"[data-face={face.region}] .number").click()
    page.route("**/name", lambda route: held.append(route))
    press(page, "4", "0", "Enter", *"katr", "Enter")
    while not held:
        page.wait_for_timeout(20)
    page.keyboard.press("f")
    expect(page.locator(".looking.drawing")).to_have_count(1)
    held[0].continue_()
    expect(page.locator("#who .undo button")).to_be_enabled()
    expect(page.locator(f"[data-face={face.region}]")).to_contain_text("Katrin Quillern")
    expect(page.locator(".looking.drawing .frame.new")).to_have_count(1)


def test_a_face_framed_while_the_last_one_is_saved_keeps_its_frame_and_its_age(own: Served, context: Any) -> None:
    """Also when it is as old as the one before: the answer brings another form, which must not take either."""
    code = "K00009"
    before = {face.region for face in own.archive.photographs.faces(code).faces}
    page = context()
    held: list[Route] = []
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    page.get_by_role("button", name="Turn the view").wait_for()
    page.route("**/name", lambda route: route.continue_() if held else held.append(route))
    press(page, "Escape", "f", "7", "Enter", "4", "0", "Enter", *"ambr")
    expect(page.locator("#offers [aria-selected=true]")).to_contain_text("Ambrose")
    press(page, "Enter")
    while not held:
        page.wait_for_timeout(20)
    press(page, "f", "9", "Enter", "4", "0")
    held[0].continue_()
    expect(page.locator("#who")).to_contain_text("Ambrose Quillern")
    expect(page.locator("#naming [name=age]")).to_have_value("40")
    press(page, "Enter", *"katr")
    expect(page.locator("#offers [aria-selected=true]")).to_contain_text("Katrin")
    with page.expect_response("**/name"):
        press(page, "Enter")
    placed = [face for face in own.archive.photographs.faces(code).faces if face.region not in before]
    assert [face.names[0].name for face in placed] == ["Ambrose Quillern", "Katrin Quillern"]
    assert [face.names[0].ages[0].low for face in placed] == [40, 40]
    assert placed[0].box[0] < 0.5 < placed[1].box[0]


def press(page: Page, *keys: str) -> None:
    """Press one key after another, as quickly as it goes."""
    for key in keys:
        page.keyboard.press(key)


def test_the_date_is_covered_until_it_is_asked_for(own: Served, context: Any) -> None:
    """In naming neither the date nor other people's ages show; one key shows them, and judging is no longer blind."""
    code = "K00016"
    page = context()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    assert "looks" not in page.locator("#who .faces").inner_text()
    expect(page.locator("#when")).to_be_hidden()
    page.keyboard.press("Escape")
    page.keyboard.press("d")
    expect(page.locator("#when")).to_be_visible()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    expect(page.locator("#when")).to_be_visible()
    for key in ("1", "2", "Enter", "z", "u", "s", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#who .undo .fact")).to_contain_text("looks 12")
    ages = [age for face in own.archive.photographs.faces(code).faces for seat in face.names for age in seat.ages]
    assert [age.blind for age in ages if age.informant is None] == [False]


def test_a_frame_is_moved_with_the_keys(own: Served, context: Any) -> None:
    """The frame of a face is taken hold of, moved by arrows and put down; its names go with it."""
    code = "K00009"
    face = own.archive.photographs.faces(code).faces[0]
    page = context()
    page.goto(f"{own.address}/photograph/{code}")
    page.locator(f"[data-face={face.region}] summary").click()
    page.locator(f"[data-move={face.region}]").click()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    expect(page.locator("#status")).to_contain_text("Frame moved")
    moved = next(one for one in own.archive.photographs.faces(code).faces if one.region == face.region)
    assert moved.box[0] == pytest.approx(face.box[0], abs=0.001)
    assert moved.box[1] == pytest.approx(face.box[1] - 0.06, abs=0.001)
    assert [seat.person for seat in moved.names] == [seat.person for seat in face.names]


def test_a_name_is_taken_off_a_face_that_stays(own: Served, context: Any) -> None:
    """Where only the name was mistaken, the face waits for another, with the age that was judged."""
    code = "K00009"
    face = own.archive.photographs.faces(code).faces[0]
    page = context()
    page.goto(f"{own.address}/photograph/{code}")
    page.locator(f"[data-face={face.region}] summary").click()
    page.locator(f"[data-face={face.region}]").get_by_role("button", name="Remove the name, keep the face").click()
    expect(page.locator(f"[data-face={face.region}]")).to_contain_text("not named yet")
    expect(page.locator(f"[data-face={face.region}]")).to_contain_text("looks 35 to 39")


def test_the_strip_answers_at_once(own: Served, context: Any) -> None:
    """A line is switched off without leaving the page, the words change, and switching it on brings them back."""
    page = context()
    page.goto(f"{own.address}/photograph/K00024")
    before = page.locator(".result b").text_content() or ""
    code = "K00024"
    bars = own.archive.dates.evidence_strip(code).bars
    telling = next(
        bar.id
        for bar in bars
        if own.archive.dates.evidence_strip(code, [bar.id]).words != own.archive.dates.evidence_strip(code).words
    )
    line = page.locator(f".strip [data-switch={telling}]")
    line.click()
    expect(line).to_have_attribute("aria-checked", "false")
    expect(page.locator(".result b")).not_to_have_text(before)
    expect(line).to_be_focused()
    line.click()
    expect(page.locator(".result b")).to_have_text(before)

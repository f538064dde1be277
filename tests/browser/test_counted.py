"""How many keys and clicks the commonest work takes, counted in a real browser as they are pressed."""

from __future__ import annotations

from typing import Any

from hundred_faces import framed_by_keys
from playwright.sync_api import Locator, expect

from .conftest import Served

MOST_CLICKS = 14
MOST_KEYS = 20


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
            pressed += framed_by_keys(page, face.box)
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


FIVE_FACES = (
    ("Ambrose Quillern", "30"), ("Johanna Penwell", "25"), ("Nora Quillern", "18"), ("Vera Quillern", "28"),
    ("Emil Quillern", "20"),
)  # fmt: skip
MOST_FOR_A_FACE = 3
"""Presses of the mouse for one face: the frame, the field, and the name; the rest is typed."""


def test_five_faces_are_framed_and_named_by_mouse(own: Served, context: Any) -> None:
    """At most three presses a face: a button begins, then each face is dragged round, its age and a few letters typed,
    and the name pressed. Nobody gets a wrong name."""
    code = "K00014"
    for face in own.archive.photographs.faces(code).faces:
        own.archive.statements.withdraw(face.names[0].id)
    page, clicks = context(), Clicks()
    page.goto(f"{own.address}/photograph/{code}?naming=1")
    page.get_by_role("button", name="Turn the view").wait_for()
    looking = page.locator(".looking").bounding_box()
    for number, (name, age) in enumerate(FIVE_FACES):
        clicks.on(page.locator("#frame"))
        x = looking["x"] + looking["width"] * (0.08 + 0.17 * number)
        y = looking["y"] + looking["height"] * 0.3
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + looking["width"] * 0.08, y + looking["height"] * 0.12, steps=3)
        page.mouse.up()
        clicks.number += 1
        expect(page.locator("#naming [name=age]")).to_be_focused()
        page.keyboard.type(age)
        page.keyboard.press("Enter")
        page.keyboard.type(name.lower())
        person = own.archive.people.find(name).people[0].id
        clicks.on(page.locator(f"#offers [data-person={person}]"))
        expect(page.locator(".faces > li")).to_have_count(number + 1)
    named = sorted(one.name for face in own.archive.photographs.faces(code).faces for one in face.names)
    assert named == sorted(name for name, _ in FIVE_FACES)
    assert clicks.number <= MOST_FOR_A_FACE * len(FIVE_FACES), clicks.number


MOST_FOR_WORDS = 4
"""Presses for the words on a back, from its photograph: the page with the back, the field, the date, and *Save*."""


def test_an_inscription_is_read_with_its_date(own: Served, context: Any) -> None:
    """From the photograph in at most four presses beside the typing; the date in the words is offered and taken."""
    page, clicks = context(), Clicks()
    page.goto(f"{own.address}/photograph/K00018")
    clicks.on(page.get_by_role("link", name="Read the words on it"))
    clicks.on(page.locator("#read-text"))
    page.keyboard.type("Henrike, Whitsun 1874")
    clicks.on(page.locator("input[name=choice]:not([value=''])").first)
    clicks.on(page.get_by_role("button", name="Save", exact=True).first)
    expect(page.locator("q", has_text="Whitsun 1874").first).to_be_attached()
    marks = own.archive.photographs.details("K00018").marks
    assert any(one.words == "Henrike, Whitsun 1874" and "1874" in one.date for one in marks)
    assert clicks.number <= MOST_FOR_WORDS, clicks.number


MOST_FOR_A_CORRECTION = 4
"""Presses to put another name on a face: *more*, *Remove the name*, the face, and the other name."""


def test_a_wrong_name_is_corrected(own: Served, context: Any) -> None:
    """At most four presses and a few letters; the face keeps its frame and its age, and the wrong name is gone."""
    code = "K00009"
    wrong = own.archive.photographs.faces(code).faces[0]
    page, clicks = context(), Clicks()
    page.goto(f"{own.address}/photograph/{code}")
    row = page.locator(f"#face-{wrong.region}")
    clicks.on(row.get_by_text("more").first)
    clicks.on(row.get_by_role("button", name="Remove the name, keep the face"))
    expect(row).to_contain_text("not named yet")
    clicks.on(row.locator("a.number"))
    page.keyboard.press("Enter")
    page.keyboard.type("emil quil")
    right = own.archive.people.find("Emil Quillern").people[0].id
    clicks.on(page.locator(f"#offers [data-person={right}]"))
    expect(row).to_contain_text("Emil Quillern")
    now = next(one for one in own.archive.photographs.faces(code).faces if one.region == wrong.region)
    assert [one.person for one in now.names] == [right]
    assert now.box == wrong.box
    assert clicks.number <= MOST_FOR_A_CORRECTION, clicks.number

"""Faces that were found are named without framing them: the keys are counted, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import portraits
import pytest
from PIL import Image, ImageOps
from playwright.sync_api import expect

from kinphoto.archive import Archive

from .conftest import Served
from .test_naming import name

MOST_KEYS = 45
FIVE = ("Ada Marsh", "Bertha Holm", "Cora Vane", "Dora Pell", "Elsa Quint")


def group(folder: Path) -> Path:
    """Five faces in a row: scikit-image's astronaut, every second one mirrored."""
    folder.mkdir()
    head = portraits.portrait().crop((110, 0, 370, 300))
    row = Image.new("RGB", (5 * 300, 420), (110, 100, 90))
    for number in range(5):
        row.paste(head if number % 2 else ImageOps.mirror(head), (20 + 300 * number, 60))
    row.save(folder / "five.png")
    return folder


@pytest.fixture
def five(tmp_path: Path) -> Iterator[Served]:
    """An archive with one photograph of five people, searched, and a tree that has them."""
    people = "".join(f"0 @I{n}@ INDI\n1 NAME {who.replace(' ', ' /')}/\n" for n, who in enumerate(FIVE, 1))
    (tmp_path / "family.ged").write_text(f"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n{people}0 TRLR\n")
    archive = Archive.create(tmp_path / "family")
    archive.tree.import_file(tmp_path / "family.ged")
    archive.scans.add([group(tmp_path / "box")])
    archive.faces.turn_on("Aunt Edda")
    archive.faces.find()
    pages = Served(archive)
    yield pages
    pages.stop()


def test_five_faces_are_named_by_keyboard_alone(five: Served, context: Any) -> None:
    """N, and then an age, Enter, letters of a name, Enter for each: the frames are there, from the left, and the next
    one waits by itself."""
    page = context()
    page.goto(f"{five.address}/photograph/K00001")
    expect(page.locator(".frame.offered")).to_have_count(5)
    page.keyboard.press("n")
    keys = 1
    expect(page.locator("#naming [name=age]")).to_be_focused()
    for number, who in enumerate(FIVE):
        keys += name(page, "30", who, f"I{number + 1}")
        expect(page.locator(".frame.offered")).to_have_count(4 - number)
    faces = five.archive.photographs.faces("K00001").faces
    assert [face.names[0].name for face in faces] == list(FIVE)
    assert keys <= MOST_KEYS, f"{keys} keys"
    print(f"\nfive faces: {keys} keys")


def test_one_key_accepts_all_and_one_refuses_the_chosen(five: Served, context: Any) -> None:
    """X refuses the one that was chosen by its number, A accepts the others, U undoes that."""
    page = context()
    page.goto(f"{five.address}/photograph/K00001?naming=1")
    page.keyboard.press("Escape")
    page.keyboard.press("3")
    page.keyboard.press("Escape")
    page.keyboard.press("x")
    expect(page.locator(".frame.offered")).to_have_count(4)
    page.keyboard.press("Escape")
    page.keyboard.press("a")
    expect(page.locator(".frame.offered")).to_have_count(0)
    expect(page.locator("[data-face^=R]")).to_have_count(4)
    page.keyboard.press("Escape")
    page.keyboard.press("u")
    expect(page.locator(".frame.offered")).to_have_count(4)


def test_a_quick_key_is_not_typed_into_the_age(five: Served, context: Any) -> None:
    """On a slow machine the page puts the focus on the age half a second after it is there: somebody has chosen a face
    by then and left the field, and X refuses that face."""
    page = context()
    page.add_init_script(
        "const soon = requestAnimationFrame; window.requestAnimationFrame = (then) => setTimeout(() => soon(then), 500)"
    )
    page.goto(f"{five.address}/photograph/K00001?naming=1#naming")
    for key in ("Escape", "3", "Escape"):
        page.keyboard.press(key)
    page.wait_for_timeout(900)
    page.keyboard.press("x")
    expect(page.locator(".frame.offered")).to_have_count(4)


def test_the_frame_of_an_offer_is_moved(five: Served, context: Any) -> None:
    """It is taken hold of, moved by an arrow, and stands there, accepted."""
    page = context()
    page.goto(f"{five.address}/photograph/K00001?naming=1")
    before = five.archive.faces.offers(["K00001"])[0].frames[0]
    page.locator(f"[data-face={before.id}]").get_by_role("button", name="Move the frame").click()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("[data-face^=R]")).to_have_count(1)
    (face,) = five.archive.photographs.faces("K00001").faces
    assert face.box[0] == pytest.approx(before.box[0] + 0.02, abs=0.002)

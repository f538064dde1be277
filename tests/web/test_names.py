"""The page of names: a plan on a contact sheet, carried out as it was shown or not at all."""

from __future__ import annotations

import re
from pathlib import Path

from PIL import Image

from kinphoto.archive import Archive
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_a_plan_is_shown_and_carried_out(tmp_path: Path) -> None:
    """Old and new names with their pictures; a theme is asked for where the folder's name says nothing; a plan that is
    out of date is refused; and the history renames everything back."""
    folder = tmp_path / "scans"
    folder.mkdir()
    for number in (1, 2, 10):
        Image.linear_gradient("L").rotate(17 * number).resize((60, 40)).save(folder / f"IMG_{number}.png")
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    assert "says nothing about the pictures" in browser.get("/names")
    text = browser.get("/names", params={"box": "scans", "theme": "tin"})
    shown = [text.index(words) for words in ("tin_0001.png", "was IMG_1.png", "tin_0003.png", "was IMG_10.png")]
    assert shown == sorted(shown)
    found = re.search(r'name="key" value="(\w+)"', text)
    assert found is not None
    fields: dict[str, str | list[str]] = {"box": "scans", "theme": "tin", "order": "name", "key": found[1]}
    browser.refused("/names/rename", {**fields, "key": "0" * 12}, archive)
    browser.refused("/names/rename", {**fields, "key": ""}, archive)
    assert "tin_0004" in browser.done("/names/rename", fields, "/names")
    assert sorted(path.name for path in folder.iterdir()) == ["tin_0001.png", "tin_0002.png", "tin_0003.png"]
    browser.post("/undo", {"next": "/log"})
    assert sorted(path.name for path in folder.iterdir()) == ["IMG_1.png", "IMG_10.png", "IMG_2.png"]


def test_a_disc_is_laid_out_in_groups_before_anything_is_named(tmp_path: Path) -> None:
    """Each group has its heading above its pictures, and is planned and named by itself; the rest stays as it was."""
    folder = tmp_path / "disc"
    folder.mkdir()
    for number in range(1, 5):
        size = (300, 200) if number % 2 else (200, 200)
        Image.linear_gradient("L").rotate(17 * number).resize(size).save(folder / f"IMG_{number}.png", dpi=(100, 100))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    text = browser.get("/names", params={"theme": "lab", "order": "looks"})
    first, second = (
        text.index(f"Group {number}: 2 files, {size}") for number, size in ((1, "5.1 × 5.1"), (2, "7.6 × 5.1"))
    )
    assert first < text.index("was IMG_2.png") < second < text.index("was IMG_1.png")
    text = browser.get("/names", params={"theme": "harbour", "order": "looks", "group": "2"})
    assert "Group 1" not in text
    found = re.search(r'name="key" value="(\w+)"', text)
    assert found is not None
    fields: dict[str, str | list[str]] = {
        "box": "",
        "theme": "harbour",
        "order": "looks",
        "group": "2",
        "key": found[1],
    }
    browser.done("/names/rename", fields, "/names")
    assert sorted(path.name for path in folder.iterdir()) == [
        "IMG_2.png", "IMG_4.png", "harbour_0001.png", "harbour_0002.png"
    ]  # fmt: skip

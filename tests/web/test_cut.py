"""The page on which prints are cut apart: outlines by numbers, as without scripts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.collection.bed_outlines import PrintOutline
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_outlines_are_corrected_saved_and_cut_along(tmp_path: Path) -> None:
    """Two prints that touch are shown as unsure; outlines typed as numbers are kept, one is left out, and the rest is
    cut. A number that is none is refused in one line."""
    pixels = np.full((1000, 900, 3), 246, dtype=np.uint8)
    pixels[60:300, 60:420] = 90
    pixels[300:540, 240:600] = 140
    (tmp_path / "tin").mkdir()
    Image.fromarray(pixels).save(tmp_path / "tin" / "bed.png", dpi=(150, 150))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "tin"])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    assert "unsure" in browser.get("/cut?scan=K00001")
    rows: dict[str, str | list[str]] = {
        "scan": "K00001", "left": ["10.2", "40,6", "1", ""], "top": ["10.2", "50.8", "1", ""],
        "width": ["61", "61", "9", ""], "height": ["40.6", "40.6", "9", ""], "turn": ["0", "", "0", ""], "out": ["3"],
        "caption": ["Ada at the weir", "", "", ""],
    }  # fmt: skip
    text = browser.done("/cut/save", rows, "/cut?scan=K00001")
    assert "2 prints, as they were drawn" in text
    assert "'wide' is not a number for left" in browser.refused("/cut/save", {**rows, "left": ["wide"]}, archive)
    browser.done("/cut/apart", {**rows, "theme": "tin"}, "/cut?scan=K00001")
    assert sorted(path.name for path in (tmp_path / "tin" / "cut").iterdir()) == ["tin_0001.tif", "tin_0002.tif"]
    assert "2 prints, 2 cut out" in browser.get("/cut")
    assert "“Ada at the weir”" in browser.get("/cut?scan=K00001")
    assert "Ada at the weir" in browser.get("/photograph/K00002")
    assert "no outline" in browser.refused("/cut/apart", {"scan": "K00001"}, archive)


def test_an_album_page_shows_its_prints_where_they_lie(tmp_path: Path) -> None:
    """Framed on the page, and listed in its order with the words beside each; a print that is only outlined says so."""
    folder = tmp_path / "album"
    folder.mkdir()
    Image.new("RGB", (900, 1000), (60, 50, 45)).save(folder / "album_0001.png", dpi=(150, 150))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    drawn = [PrintOutline(80, 12, 40, 60, caption="The ferry, 1931"), PrintOutline(10, 10, 60, 40, caption="Ada")]
    archive.scans.set_outlines("K00001", drawn)
    archive.scans.cut(["K00001"])
    archive.scans.set_outlines("K00001", [PrintOutline(10, 90, 40, 40, caption="later")])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    text = browser.get("/photograph/K00001")
    assert text.count('<polygon class="frame') == 3
    listed = text.partition('id="on-page"')[2].partition("</ol>")[0]
    places = [listed.index(words) for words in ("1. The ferry, 1931", "2. Ada", "3. later", "not cut out yet")]
    assert places == sorted(places)
    assert "/photograph/K00003" in listed
    assert "polygon" not in browser.get("/photograph/K00002")


def test_frames_of_film_are_recorded_as_one_strip_with_one_press(tmp_path: Path) -> None:
    """The page offers it once film was cut apart; pressed, each is tied to the first in one change, and the offer is
    gone. Another press is refused and changes nothing; undone, it is offered again."""
    folder = tmp_path / "film"
    folder.mkdir()
    Image.new("RGB", (900, 600), (60, 50, 45)).save(folder / "film_0001.png", dpi=(150, 150))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    archive.statements.record_making("K00001", "process", "safety-negative")
    archive.scans.cut(["K00001"], drawn=[PrintOutline(left, 20, 36, 24) for left in (10, 60, 110)])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    assert "They are one strip" in browser.get("/cut?scan=K00001")
    text = browser.done("/cut/strip", {"scan": "K00001"}, "/cut?scan=K00001")
    assert "They are one strip" not in text
    strip = {mark.other for mark in archive.photographs.details("K00002").marks if mark.kind == "same-strip"}
    assert strip == {"K00003", "K00004"}
    assert "not offered" in browser.refused("/cut/strip", {"scan": "K00001"}, archive)
    archive.statements.undo()
    assert "They are one strip" in browser.get("/cut?scan=K00001")

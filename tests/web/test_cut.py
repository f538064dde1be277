"""The page on which prints are cut apart: outlines by numbers, as without scripts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from kinphoto.archive import Archive
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

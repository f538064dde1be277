"""The contact sheet of pairs: side by side, with a press for each and one for all that are sure."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from kinphoto.archive import Archive
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_pairs_are_confirmed_rejected_and_joined_together(tmp_path: Path) -> None:
    """Three fronts with backs: one is confirmed, one rejected, the last is joined with all that are sure."""
    folder = tmp_path / "tin"
    folder.mkdir()
    for number in range(3):
        shapes = np.random.default_rng(number).integers(20, 235, (6, 6), dtype=np.uint8)
        Image.fromarray(shapes).resize((600, 400)).save(folder / f"s{number}a.png")
        back = Image.new("L", (600, 400), 235)
        ImageDraw.Draw(back).text((50, 90 * (number + 1)), f"number {number}", fill=60)
        back.save(folder / f"s{number}z.png")
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    keys = [each.key for each in archive.scans.pairs().proposals if each.kind == "back"]
    assert len(keys) == 3
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    text = browser.get("/pairs")
    assert all(f"pair-{key}" in text for key in keys)
    assert "600 × 400 pixels" in text
    text = browser.done("/pairs/confirm", {"pair": keys[0], "next": "/pairs?order=name"}, "/pairs?order=name")
    assert f"pair-{keys[0]}" not in text
    assert f"pair-{keys[1]}" not in browser.done("/pairs/reject", {"pair": keys[1]}, "/pairs")
    browser.done("/pairs/confirm-all", {"box": "", "order": "name"}, "/pairs")
    assert archive.photographs.details("s2z.png").code == archive.photographs.details("s2a.png").code
    assert archive.photographs.details("s1z.png").code != archive.photographs.details("s1a.png").code
    browser.refused("/pairs/confirm", {"pair": "nonsense"}, archive)

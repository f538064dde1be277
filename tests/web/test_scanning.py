"""The page at the scanner: what is large on it, its keys, and who may watch what."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "tin"
    made.mkdir()
    for number in (1, 2):
        Image.linear_gradient("L").rotate(17 * number).resize((60, 40)).save(made / f"tin_000{number}.png")
    return made


def test_the_newest_scan_and_the_keys(tmp_path: Path, folder: Path) -> None:
    """The name of the newest scan, the next name, tonight's count; back of this, again and one missed, each undone."""
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    text = client.get("/scanning").text
    assert all(word in text for word in ("tin_0002.png", "tin_0003", "Tonight", "nitrate"))
    browser.done("/scanning/missed", {"theme": "tin"}, "/scanning")
    assert "tin_0004" in client.get("/scanning").text
    browser.done("/scanning/back", {}, "/scanning")
    assert archive.photographs.details("K00002").code == "K00001"
    browser.post("/undo", {"next": "/scanning"})
    assert archive.photographs.details("K00002").code == "K00002"
    browser.done("/scanning/again", {}, "/scanning")
    assert archive.photographs.details("K00002").code == "K00001"


def test_watching_from_the_page(tmp_path: Path, folder: Path) -> None:
    """One of the archive's folders is watched, a scan that comes is shown, and another folder is refused."""
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    assert "Choose one of the folders" in browser.refused("/scanning/start", {"folder": "/etc"}, archive)
    browser.done("/scanning/start", {"folder": str(folder), "container": "Blue tin"}, "/scanning")
    Image.linear_gradient("L").rotate(99).resize((60, 40)).save(folder / "tin_0003.png")
    until = time.monotonic() + 60
    while "tin_0003.png is K00003" not in (text := client.get("/scanning").text):
        assert time.monotonic() < until, text
        time.sleep(0.05)
    assert client.get("/scanning/state").json()["good"] is False
    assert "No resolution in the file" in text
    browser.done("/scanning/stop", {}, "/scanning")
    assert "Start watching" in client.get("/scanning").text


def test_an_archive_without_a_scan(tmp_path: Path) -> None:
    """The pages of the scanner are there before the first scan is, and say how to begin."""
    archive = Archive.create(tmp_path / "archive")
    browser = Browser(Client(make_app(archive, ["testserver"])))
    assert "/bring-in#folder" in browser.get("/scanning")
    assert "nothing to pair" in browser.get("/pairs")
    assert "nothing to rename" in browser.get("/names")
    assert "The first print is the hardest." in browser.get("/progress")

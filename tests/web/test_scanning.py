"""The page at the scanner: what is large on it, its keys, and who may watch what."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.collection.tonight import Tonight
from kinphoto.archive.collection.watching import WatchEvent, WatchEventKind
from kinphoto.web.app import make_app
from kinphoto.web.scanner import Scanner

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
    """A scan that comes is shown with what is wrong; a folder that is not there is refused."""
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    assert "no folder" in browser.refused("/scanning/start", {"folder": str(tmp_path / "tni")}, archive)
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
    assert "The folder the scanner writes into" in browser.get("/scanning")
    assert "nothing to pair" in browser.get("/pairs")
    assert "nothing to rename" in browser.get("/names")
    assert "The first print is the hardest." in browser.get("/progress")


def test_the_first_evening_begins_in_an_empty_folder(tmp_path: Path) -> None:
    """A new archive and a folder with nothing in it yet: both the folder and the box are typed on the page."""
    (tmp_path / "tin").mkdir()
    archive = Archive.create(tmp_path / "archive")
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    start = {"folder": str(tmp_path / "tin"), "container": "Green album", "theme": "picnic"}
    text = browser.done("/scanning/start", start, "/scanning")
    assert "Stop watching" in text
    assert "picnic_0001" in text
    assert "the whole page first, and never peel" in text.partition("With this box")[2].partition("</section>")[0]
    text = browser.done("/scanning/start", {**start, "container": "From Clara"}, "/scanning")
    assert "from-clara_0001" in text, "a new box goes on with the names of the last one"
    browser.done("/scanning/stop", {}, "/scanning")


def test_what_is_wrong_is_large_and_sounds_although_something_good_followed(tmp_path: Path) -> None:
    """A disk that drops is not only a line in a list; and of two scans that came at once, the bad one is heard."""
    scanner = Scanner(Archive.create(tmp_path / "archive"), lambda: None)
    count = Tonight(0, 0, None)

    def seen(what: WatchEventKind, photograph: str | None = None, *notes: str) -> WatchEvent:
        return WatchEvent(what, what, "", photograph, notes, "", count)

    scanner._take(seen(WatchEventKind.SCAN, "K00001", "blurred"))
    scanner._take(seen(WatchEventKind.SCAN, "K00002"))
    assert [each.good for each in scanner.since(0)] == [True, False]
    assert [each.good for each in scanner.since(1)] == [True]
    assert scanner.trouble is None
    scanner._take(seen(WatchEventKind.AWAY))
    assert scanner.trouble is not None
    scanner._take(seen(WatchEventKind.GONE))
    assert scanner.trouble.what is WatchEventKind.AWAY
    scanner._take(seen(WatchEventKind.BACK))
    assert scanner.trouble is None

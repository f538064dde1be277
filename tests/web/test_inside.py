"""The page of what other programs wrote into the files."""

from __future__ import annotations

from pathlib import Path

from building import archive_with
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.share.facts import PersonFact, PictureFacts
from kinphoto.share.xmp import packet
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_names_and_words_are_found_and_recorded(tmp_path: Path) -> None:
    """They are recorded with the file as who told us; somebody says who a name is, and has the files read again."""
    archive: Archive = archive_with(tmp_path)
    archive.people.add("Ada Marsh", "1890")
    (tmp_path / "scans").mkdir()
    Image.new("RGB", (60, 40), (9, 9, 9)).save(tmp_path / "scans" / "a.png")
    facts = PictureFacts(identifier="", size=(60, 40), title="The <mill>", people=(PersonFact("Ada M."),))
    (tmp_path / "scans" / "a.xmp").write_bytes(packet(facts))
    archive.scans.add([tmp_path / "scans"])
    browser = Browser(Client(make_app(archive), base_url="http://127.0.0.1:5817"))
    jobs = browser.client.app.state.jobs  # type: ignore[attr-defined]
    page = browser.get("/inside")
    assert "Ada M." in page
    assert "The &lt;mill&gt;" in page
    browser.done("/inside/name", {"name": "Ada M.", "person": "X1"}, "/inside")
    facts = PictureFacts(identifier="", size=(60, 40), title="The pier", people=(PersonFact("Ada M."),))
    (tmp_path / "scans" / "a.xmp").write_bytes(packet(facts))
    browser.done("/inside/again", {}, "/inside")
    jobs.finish()
    assert "The pier" in browser.get("/inside")
    told = {one.name: (one.statements, one.appearances) for one in archive.statements.informants()}
    assert told == {"the file": (2, 1)}
    assert "Ada M." not in browser.get("/inside").partition("<h2>Names</h2>")[2]
    archive.engine.dispose()

"""The page on which photographed prints are shown straight: corners by numbers, as without scripts."""

from __future__ import annotations

from pathlib import Path

from captured_prints import drawn

from kinphoto.archive import Archive
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_corners_are_typed_shown_straight_and_taken_back(tmp_path: Path) -> None:
    """A capture whose file tells nothing: its corners show, numbers straighten it, what is no corner is refused in one
    line, and it is shown as it was taken again."""
    capture = drawn(3000, (800, 600))
    (tmp_path / "phone").mkdir()
    capture.picture.save(tmp_path / "phone" / "a.jpg", quality=92)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "phone"])
    browser = Browser(Client(make_app(archive, ["testserver"])))
    page = browser.get("/straighten?scan=K00001")
    assert "names no lens" in page
    assert 'src="/scan/1/as-taken.jpg"' in page
    rows: dict[str, str | list[str]] = {
        "scan": "K00001", "across": [f"{100 * x:.2f}" for x in capture.shares[:, 0]],
        "down": [f"{100 * y:.2f}".replace(".", ",") for y in capture.shares[:, 1]],
    }  # fmt: skip
    assert "shown straight" in browser.done("/straighten/save", rows, "/straighten?scan=K00001")
    assert "shown straight" in browser.get("/straighten")
    scan = archive.photographs.details("K00001").scans[0]
    assert abs(scan.width / scan.height / capture.ratio - 1) < 0.02
    assert "'wide' is not a number" in browser.refused(
        "/straighten/save", {**rows, "across": ["wide", "1", "2", "3"]}, archive
    )
    assert "four corners" in browser.refused("/straighten/save", {**rows, "down": ["1"]}, archive)
    taken = browser.done("/straighten/as-taken", {"scan": "K00001"}, "/straighten?scan=K00001")
    assert "shown as it was taken" in taken
    assert "It is not a photograph of a print" in browser.done(
        "/straighten/say", {"scan": "K00001", "said": "yes"}, "/straighten?scan=K00001"
    )

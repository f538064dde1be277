"""The first page: what is in the archive, of a new one too, and what to do next."""

from __future__ import annotations

from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.statements.descriptions import Description
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_the_figures_are_those_of_the_archive(browser: Browser, archive: Archive) -> None:
    """The counts of the overview stand on the page, and change when something is changed."""
    shown = archive.search.overview()
    text = browser.get("/")
    assert f"{shown.tally.photographs:,} photographs" in text
    assert f"{shown.tally.photographs - shown.tally.undated}</dd>" in text
    archive.photographs.describe("K00009", Description(container="A new & old box"))
    assert "A new &amp; old box" in browser.get("/")


def test_a_new_archive(tmp_path: Path) -> None:
    """Nothing in it yet: every page is there, and the first says how to begin."""
    browser = Browser(Client(make_app(Archive.create(tmp_path / "new")), base_url="http://127.0.0.1:5817"))
    assert "Add your first scans" in browser.get("/")
    for path in ("/boxes", "/people", "/search?q=a", "/conflicts", "/informants", "/log", "/bring-in", "/box/0"):
        browser.get(path)

"""The first page: what is in the archive, of a new one too, and what to do next."""

from __future__ import annotations

from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.sample import source
from kinphoto.archive.statements.appearances import Link
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
    text = browser.get("/")
    for action in ("/bring-in/scans", "/bring-in/tree"):
        assert f'action="{action}"' in text, "each step has its control in place"
    for path in ("/boxes", "/people", "/search?q=a", "/conflicts", "/informants", "/log", "/bring-in", "/box/0"):
        browser.get(path)


def test_the_three_steps_stay_until_somebody_is_named(archive: Archive, tmp_path: Path) -> None:
    """What is done says so, what is next has its control in place, and the first name ends it."""
    new = Archive.create(tmp_path / "new")
    new.scans.add([archive.folder / "scans" / "slides"])
    browser = Browser(Client(make_app(new), base_url="http://127.0.0.1:5817"))
    text = browser.get("/")
    assert "1. Add some scans: done" in text
    assert 'action="/bring-in/tree"' in text
    assert 'href="/photograph/K00001?naming=1#naming"' in text
    new.tree.import_file(source() / "family.ged")
    text = browser.get("/")
    assert "2. Add your family tree: done" in text
    assert 'action="/bring-in/tree"' not in text
    assert "by-years" in text, "the years show what is there already"
    new.statements.link(Link(photograph="K00001", person="I24"))
    assert "first-steps" not in browser.get("/")

"""The pulse: open pages learn that something was changed."""

from __future__ import annotations

import re

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.collection.photograph_page import PhotographPage
from kinphoto.archive.statements.descriptions import Description

from .conftest import Browser


def test_a_page_learns_that_something_was_changed(browser: Browser, archive: Archive) -> None:
    """204 while nothing was, 200 afterwards with the word to ask by next."""
    seen = re.search(r'data-change="([^"]+)"', browser.get("/boxes"))
    assert seen is not None
    assert browser.client.get("/pulse", params={"after": seen[1]}).status_code == 204
    archive.describe("K00009", Description(title="The ferry"))
    answer = browser.client.get("/pulse", params={"after": seen[1]})
    assert answer.status_code == 200
    assert browser.client.get("/pulse", params={"after": answer.text}).status_code == 204
    assert browser.client.get("/pulse").status_code == 200


def test_what_changes_while_a_page_is_made_is_not_missed(
    browser: Browser, archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page says as of which change it was begun, so that it asks again for what was changed under its hands."""
    read = Archive.photograph

    def slowly(here: Archive, code: str, *, for_anybody: bool = False) -> PhotographPage:
        mount = read(here, code, for_anybody=for_anybody)
        monkeypatch.undo()
        archive.describe("K00009", Description(title="The ferry"))
        return mount

    monkeypatch.setattr(Archive, "photograph", slowly)
    page = browser.get("/photograph/K00009")
    assert "The ferry" not in page
    seen = re.search(r'data-change="([^"]+)"', page)
    assert seen is not None
    assert browser.client.get("/pulse", params={"after": seen[1]}).status_code == 200

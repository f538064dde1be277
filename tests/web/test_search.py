"""Searching: the address is the question, and the page shows what the archive finds."""

from __future__ import annotations

import re

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.search.searching import A_PAGE

from .conftest import Browser


@pytest.mark.parametrize(
    ("query", "question"),
    [
        ("q=nora", SearchQuery(text="nora")),
        ("q=ferry+1920s", SearchQuery(text="ferry 1920s")),
        ("person=I13&from=1900&to=1930", SearchQuery(people=("I13",), since=1900, until=1930)),
        ("descendants=I1&wanting=disputed", SearchQuery(descendants="I1")),
        ("ancestors=I33", SearchQuery(ancestors="I33")),
        ("box=9", SearchQuery(box=9)),
    ],
)  # fmt: skip
def test_the_page_shows_what_is_found(browser: Browser, archive: Archive, query: str, question: SearchQuery) -> None:
    """The same photographs in the same order as the archive finds for the question."""
    from dataclasses import replace

    from kinphoto.archive.collection.container_pages import Missing

    if "wanting" in query:
        question = replace(question, missing=Missing.RESOLUTION)
    found = archive.search.find(question)
    text = browser.get(f"/search?{query}").partition('<ol class="rows found"')[2]
    assert re.findall(r'class="thumbnail[^"]*" href="/photograph/(K\d+)"', text) == [
        one.code for one in found.photographs
    ]


def test_nothing_asked_and_nothing_found(browser: Browser) -> None:
    """A hint how to ask; and when nothing fits, that."""
    assert "Type names, words from the back" in browser.get("/search")
    assert "Nothing found" in browser.get("/search?q=xyzzyq")


def test_a_picture_found_by_words_shows_them(browser: Browser, stranger: Browser) -> None:
    """The words on it, and the name of its file where nothing else has the word; not what its title says anyway, and
    nothing to a stranger."""
    page = browser.get("/search?q=ferry")
    assert "“The ferry, August 1900. Hedda &amp; Florian with Clemence, Nora and little Maud”" in page
    assert "ferry_0001.jpg" not in page  # it is called "On the ferry"
    assert ".jpg</span>" in browser.get("/search?q=jpg")
    assert "Hedda &amp; Florian" not in stranger.get("/search?q=ferry")
    assert ".jpg</span>" not in stranger.get("/search?q=jpg")


def test_pages_are_turned(browser: Browser, archive: Archive) -> None:
    """The second page begins where the first ended, and nothing is behind the last."""
    count = archive.search.find(SearchQuery(since=1800)).count
    assert len(archive.search.find(SearchQuery(since=1800), start=A_PAGE).photographs) == max(
        0, min(count - A_PAGE, A_PAGE)
    )
    assert 'class="thumbnail' not in browser.get("/search?from=1800&start=99999")


def test_somebody_who_cannot_be_told_is_asked_back(browser: Browser) -> None:
    """A name of several gives those, one of nobody says so: 409 and 404."""
    assert browser.client.get("/search?person=Quillern").status_code == 409
    assert browser.client.get("/search?person=Xyzzy").status_code == 404

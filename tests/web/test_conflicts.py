"""Conflicts, a page of them at a time."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from kinphoto.archive import Archive, stories
from kinphoto.web.pages.conflicts import A_PAGE

from .conftest import Browser


@pytest.fixture
def many(archive: Archive) -> list[str]:
    """The ids of as many conflicts as fill two pages and a half, all told like one of the sample's."""
    archive.refresh_estimates()
    book = archive.conflicts(as_kept=True)
    told = tuple(replace(book.stories[0], id=f"C{n:03d}") for n in range(A_PAGE * 5 // 2))
    with archive.working("estimates") as work:
        stories.keep(work.connection, replace(book, stories=told))
    return [story.id for story in told]


def shown(page: str) -> list[str]:
    """The conflicts on a page."""
    return re.findall(r'<article class="card story" id="([^"]+)"', page)


def test_each_page_has_the_next_of_them(browser: Browser, many: list[str]) -> None:
    """Turning the pages shows every conflict once, in their order; the heading counts all."""
    seen: list[str] = []
    address: str | None = "/conflicts"
    while address is not None:
        page = browser.get(address)
        assert f"{len(many)} stories do not fit together" in page
        assert 0 < len(shown(page)) <= A_PAGE
        seen += shown(page)
        onwards = re.search(r'rel="next" href="([^"]+)"', page)
        address = onwards and f"/conflicts{onwards[1]}"
    assert seen == many


@pytest.mark.parametrize("start", ["99999", "x", "-3", "1", "²"])
def test_a_page_that_is_not_there_is_one_that_is(browser: Browser, many: list[str], start: str) -> None:
    """Whatever stands in the address, some page of them is shown: the last one for a number that is too great."""
    expected = many[2 * A_PAGE :] if start == "99999" else many[:A_PAGE]
    assert shown(browser.get("/conflicts", params={"start": start})) == expected

"""Conflicts: told with their ways out, and settled by one press."""

from __future__ import annotations

from building import INDEXED

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.store import tables as t

from .conftest import Browser


def test_every_story_and_each_of_its_ways_out(browser: Browser, archive: Archive) -> None:
    """All that `kinphoto conflicts` tells stands on the page."""
    archive.dates.refresh()
    book = archive.dates.conflicts()
    assert book.stories
    text = browser.get("/conflicts")
    for story in book.stories:
        assert f'id="{story.id}"' in text
        assert text.count(f'action="/conflicts/{story.id}/settle"') == len(story.ways)


def test_one_way_out_is_taken_and_taken_back(browser: Browser, archive: Archive) -> None:
    """As `kinphoto settle` does, in one change; the same way again is not there any more."""
    archive.dates.refresh()
    story = archive.dates.conflicts().stories[0]
    way = next(one for one in story.ways if one.is_best)
    fields: dict[str, str | list[str]] = {"statement": list(way.statements)}
    number = archive.statements.history(1)[0].number
    browser.done(f"/conflicts/{story.id}/settle", fields, "/conflicts")
    assert archive.statements.history(1)[0].number == number + 1
    assert story.id not in [one.id for one in archive.dates.conflicts().stories]
    browser.refused(f"/conflicts/{story.id}/settle", fields, archive)
    browser.done("/undo", {"number": str(number + 1)}, "/log")
    assert story.id in [one.id for one in archive.dates.conflicts().stories]


def test_what_is_no_way_out_is_not_taken(browser: Browser, archive: Archive) -> None:
    """Statements that do not settle it, half a way, or those of another conflict."""
    archive.dates.refresh()
    stories = archive.dates.conflicts().stories
    story = next(one for one in stories if any(len(way.statements) > 1 for way in one.ways))
    whole = next(list(way.statements) for way in story.ways if len(way.statements) > 1)
    elsewhere = next(list(one.ways[0].statements) for one in stories if one is not story)
    for statements in ([], ["S1"], ["nonsense"], ["S999999"], whole[:1], [*whole, "S1"], elsewhere):
        said = browser.refused(f"/conflicts/{story.id}/settle", {"statement": statements}, archive)
        assert "not a way out" in said, statements
    assert archive.dates.conflicts().stories == stories
    browser.done(f"/conflicts/{story.id}/settle", {"statement": whole}, "/conflicts")
    assert story.id not in [one.id for one in archive.dates.conflicts().stories]


def test_a_photograph_of_another_time_than_its_box_stands_on_the_page(browser: Browser, archive: Archive) -> None:
    """As unlikely, with a link to it and to its box; what is said about it is not offered for withdrawal."""
    codes = [f"K{number:05}" for number in range(901, 909)]
    with archive.working("photographs") as work:
        work.insert(t.photograph, [{"code": code, "indexed": INDEXED} for code in codes])
    archive.photographs.move(codes, "Green album")
    archive.statements.record_all([NewClaim(photograph=c, kind="inscription", date="1931") for c in codes[1:]])
    archive.statements.record(NewClaim(photograph=codes[0], kind="inscription", date="1899"))
    archive.dates.refresh()
    found = {one.photograph: one for one in archive.dates.conflicts().out_of_place}[codes[0]]
    text = browser.get("/conflicts")
    assert found.text in text
    assert f'href="/box/{found.container}"' in text

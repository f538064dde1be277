"""Conflicts: told with their ways out, and settled by one press."""

from __future__ import annotations

import html
import re

from building import INDEXED

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.store import tables as t
from kinphoto.web.render import when_short

from .conftest import Browser


def test_every_story_has_a_page_with_each_of_its_ways_out(browser: Browser, archive: Archive) -> None:
    """All that `kinphoto conflicts` tells stands on the pages, with titles for codes, and somebody who does not know
    goes on to the next."""
    archive.dates.refresh()
    book = archive.dates.conflicts()
    assert book.stories
    every = browser.get("/conflicts")
    for number, story in enumerate(book.stories):
        assert f'id="{story.id}"' in every
        assert f'href="/conflicts/{story.id}"' in every
        text = html.unescape(browser.get(f"/conflicts/{story.id}"))
        assert text.count(f'action="/conflicts/{story.id}/settle"') == len(story.ways)
        for statement in story.statements:
            assert re.sub(r"K\d+.*", "", statement.text) in text
        following = book.stories[(number + 1) % len(book.stories)].id
        assert f'href="/conflicts/{following}">I don\'t know yet' in text


def test_what_is_in_dispute_is_shown(browser: Browser, archive: Archive) -> None:
    """The face whose name is doubted, the back on which a date is written, and the life in the tree."""
    archive.dates.refresh()
    story = next(one for one in archive.dates.conflicts().stories if one.photographs[0] == "K00011")
    text = browser.get(f"/conflicts/{story.id}")
    back = next(scan for scan in archive.photographs.details("K00011").scans if scan.side == "verso")
    faces = archive.photographs.faces("K00011").faces
    face = next(one for one in faces if any(name.name == "Maud Quillern" for name in one.names))
    assert f"/face/{face.region[1:]}.jpg" in text
    assert f"/scan/{back.id}/view.jpg" in text
    assert "In the family tree" in text
    assert "was born on 8 March 1905" in text


def test_what_each_answer_would_change_is_what_it_does_change(browser: Browser, archive: Archive) -> None:
    """Before it is pressed the page says which dates a way out would move; taking it moves them so."""
    archive.dates.refresh()
    story = next(one for one in archive.dates.conflicts().stories if one.photographs[0] == "K00011")
    shown = archive.dates.dispute(story.id)
    assert shown is not None
    told = next(one for one in shown.ways if one.moves)
    text = html.unescape(browser.get(f"/conflicts/{story.id}"))
    moved = told.moves[0]
    assert f"would be {when_short(moved.after)}, instead of {when_short(moved.before)}." in text
    fields: dict[str, str | list[str]] = {"statement": list(told.way.statements), "photograph": "K00011"}
    browser.done(f"/conflicts/{story.id}/settle", fields, "/conflicts")
    now = archive.dates.estimates([moved.code])[0].estimate
    assert when_short(now) == when_short(moved.after)


def test_counts_are_true_after_settling(browser: Browser, archive: Archive) -> None:
    """The heading of the list is brought up to date with the list, and a conflict that is settled has no page any
    more: the list comes instead."""
    archive.dates.refresh()
    story, number = archive.dates.conflicts().stories[0], len(archive.dates.conflicts().stories)
    assert f"<h1>{number} conflicts</h1>" in browser.get("/conflicts")
    browser.done(f"/conflicts/{story.id}/settle", {"statement": list(story.ways[0].statements)}, "/conflicts")
    left = len(archive.dates.conflicts().stories)
    assert left < number
    page = browser.get(f"/conflicts/{story.id}")
    assert f"<h1>{left} conflict" in page
    assert re.search(r'<div id="how-many" data-live>\s*<h1>', page), "scripts bring it up to date"


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
        assert "not a way to settle" in said, statements
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

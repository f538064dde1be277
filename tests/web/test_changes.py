"""Taking things back: the log, undoing, withdrawing and reinstating."""

from __future__ import annotations

import re

from kinphoto.archive import Archive
from kinphoto.archive.statements.descriptions import Description

from .conftest import Browser


def test_the_log_tells_every_change_newest_first(browser: Browser, archive: Archive) -> None:
    """As `kinphoto log` does, and page by page."""
    archive.photographs.describe("K00009", Description(title="<i>Ferry</i>"))
    numbers = re.findall(r'<span class="fact number">(\d+)</span>', browser.get("/log"))
    assert numbers == [str(change.number) for change in archive.statements.history(100)]
    before = archive.statements.history(3)[2].number
    earlier = re.findall(r'<span class="fact number">(\d+)</span>', browser.get(f"/log?before={before}"))
    assert earlier == [str(change.number) for change in archive.statements.history(100, before)]


def test_a_change_is_taken_back_and_had_again(browser: Browser, archive: Archive) -> None:
    """By its number, or the newest; what was taken back cannot be taken back twice."""
    was = archive.photographs.details("K00009").title
    archive.photographs.describe("K00009", Description(title="The ferry"))
    number = str(archive.statements.history(1)[0].number)
    browser.done("/undo", {"number": number}, "/log")
    assert archive.photographs.details("K00009").title == was
    browser.refused("/undo", {"number": number}, archive)
    again = {"number": str(archive.statements.history(1)[0].number), "next": "/photograph/K00009"}
    browser.done("/undo", again, "/photograph/K00009")
    assert archive.photographs.details("K00009").title == "The ferry"
    browser.done("/undo", {}, "/log")
    assert archive.photographs.details("K00009").title == was


def test_a_name_is_withdrawn_and_stands_again(browser: Browser, archive: Archive) -> None:
    """As the commands do; it is kept and can be had again."""
    seat = archive.photographs.faces("K00009").faces[0].names[0]
    browser.done("/withdraw", {"statement": seat.id, "next": "/photograph/K00009"}, "/photograph/K00009")
    standing = [s.id for f in archive.photographs.faces("K00009").faces for s in f.names]
    assert seat.id not in standing
    browser.done("/reinstate", {"statement": seat.id}, "/log")
    assert seat.id in [s.id for f in archive.photographs.faces("K00009").faces for s in f.names]


def test_dates_follow_at_once(browser: Browser, archive: Archive) -> None:
    """Whatever is withdrawn, had again or taken back, the next page shows the dates that follow from it."""
    seat = archive.photographs.faces("K00009").faces[0].names[0]
    for path, fields in (
        ("/withdraw", {"statement": seat.id}), ("/reinstate", {"statement": seat.id}), ("/undo", {}),
    ):  # fmt: skip
        assert "being worked out again" not in browser.done(path, fields, "/log")
        assert archive.dates.freshness().fresh


def test_dates_that_are_being_worked_out_are_marked(browser: Browser, archive: Archive) -> None:
    """Until everything is dated after a change that was made elsewhere, every page says so."""
    archive.dates.estimates()
    words = "The dates are being worked out again after a change."
    assert words not in browser.get("/boxes")
    archive.statements.withdraw(archive.photographs.faces("K00009").faces[0].names[0].id)
    assert words in browser.get("/boxes")

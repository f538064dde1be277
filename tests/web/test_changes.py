"""Taking things back: the log, undoing, withdrawing and reinstating."""

from __future__ import annotations

import html
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
    """One's own at once, by its number or as the newest; what was taken back cannot be taken back twice."""
    was = archive.photographs.details("K00009").title
    fields: dict[str, str | list[str]] = {"title": "The ferry", "was_title": was}
    browser.done("/photograph/K00009/describe", fields, "/photograph/K00009")
    number = str(archive.statements.history(1)[0].number)
    browser.done("/undo", {"number": number}, "/log")
    assert archive.photographs.details("K00009").title == was
    browser.refused("/undo", {"number": number}, archive)
    again = {"number": str(archive.statements.history(1)[0].number), "next": "/photograph/K00009"}
    browser.done("/undo", again, "/photograph/K00009")
    assert archive.photographs.details("K00009").title == "The ferry"
    browser.done("/undo", {}, "/log")
    assert archive.photographs.details("K00009").title == was


def test_what_somebody_else_did_is_undone_after_a_question(browser: Browser, archive: Archive) -> None:
    """A change from the command line: the page names it and offers to leave it; only the answer undoes it. The same
    where it is the newest and nothing was named."""
    was = archive.photographs.details("K00009").title
    archive.photographs.describe("K00009", Description(title="The ferry"))
    change = archive.statements.history(1)[0]
    for fields in ({"number": str(change.number)}, {}):
        asked = browser.post("/undo", {"next": "/photograph/K00009", **fields})
        assert asked.status_code == 200
        assert "Undo this?" in asked.text
        assert change.what[1:] in html.unescape(asked.text)
        assert 'href="/photograph/K00009">Leave it as it is' in asked.text
        assert archive.photographs.details("K00009").title == "The ferry"
    browser.done("/undo", {"number": str(change.number), "sure": "1"}, "/log")
    assert archive.photographs.details("K00009").title == was


def test_undo_goes_back_several_steps_and_names_each(browser: Browser, archive: Archive) -> None:
    """Step by step through what this browser did, past what somebody else did in between; before each step the page
    names it, and afterwards it says what was undone and what would be next."""
    titles = [archive.photographs.details(code).title for code in ("K00009", "K00015", "K00016")]
    for code, title in zip(("K00009", "K00015", "K00016"), titles, strict=True):
        fields: dict[str, str | list[str]] = {"title": f"New {code}", "was_title": title}
        browser.done(f"/photograph/{code}/describe", fields, f"/photograph/{code}")
        own = archive.statements.history(1)[0]
        archive.photographs.describe("K00020", Description(title=f"Somebody else's, after {code}"))
        assert own.what in html.unescape(browser.get(f"/photograph/{code}").partition('class="undo"')[2])
    for code, title in zip(("K00016", "K00015", "K00009"), reversed(titles), strict=True):
        text = html.unescape(browser.done("/undo", {}, "/log").partition('id="done"')[2].partition("<main")[0])
        assert archive.photographs.details(code).title == title
        assert f"Undone: described {code}: title" in text
        assert ("Undo also" in text) is (code != "K00009")
        assert "Redo" in text
    assert archive.photographs.details("K00020").title == "Somebody else's, after K00016"


def test_what_was_done_is_said_on_the_page_that_is_opened_next(browser: Browser, archive: Archive) -> None:
    """Not on one that brings itself up to date before that: the page the form was on, or another window's. The page
    that says it goes on saying it when it brings itself up to date."""
    title = archive.photographs.details("K00009").title
    browser.done("/photograph/K00009/describe", {"title": "The ferry", "was_title": title}, "/photograph/K00009")
    onto = browser.post("/undo", {}).headers["location"]
    again, undone = {"X-Again": "1"}, "Undone: described K00009"
    assert undone not in browser.get("/boxes", headers=again)
    assert undone in browser.get(onto)
    assert undone in browser.get(onto, headers=again)
    assert undone not in browser.get("/boxes", headers=again)
    assert undone in browser.get(onto)
    assert undone not in browser.get("/boxes")


def test_a_key_pressed_twice_undoes_two_steps(browser: Browser, archive: Archive) -> None:
    """The second press may come before the page has named the second step."""
    was = archive.photographs.details("K00009")
    page = "/photograph/K00009"
    browser.done(f"{page}/describe", {"title": "One", "was_title": was.title}, page)
    browser.done(f"{page}/describe", {"place": "Two", "was_place": was.place, "title": "One", "was_title": "One"}, page)
    number = str(archive.statements.history(1)[0].number)
    for _ in range(2):
        browser.done("/undo", {"number": number, "step": "1", "next": page}, page)
    assert archive.photographs.details("K00009").title == was.title
    assert archive.photographs.details("K00009").place == was.place


def test_one_s_own_change_is_never_called_somebody_else_s(browser: Browser, archive: Archive) -> None:
    """An open page asks whether anything changed: what this browser did, and dates that follow, are not elsewhere."""
    archive.dates.refresh()
    before = archive.statements.revision()
    browser.done("/photograph/K00009/say", {"kind": "taken", "date": "1905"}, "/photograph/K00009")
    own = browser.client.get(f"/pulse?after={before}")
    assert own.status_code == 200
    assert "x-elsewhere" not in own.headers
    archive.photographs.describe("K00009", Description(title="The ferry"))
    assert browser.client.get(f"/pulse?after={before}").headers["x-elsewhere"] == "1"


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
        ("/withdraw", {"statement": seat.id}), ("/reinstate", {"statement": seat.id}), ("/undo", {}), ("/undo", {}),
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

"""The page that keeps somebody going: quota, boxes, and the list to hand over."""

from __future__ import annotations

from kinphoto.archive import Archive
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser


def test_quota_and_counts_are_set_on_the_page(archive: Archive) -> None:
    """They stand in the page afterwards; what is no number is refused."""
    client = Client(make_app(archive, ["testserver"]))
    browser = Browser(client)
    assert "an evening" in browser.get("/progress")
    assert 'value="40"' in browser.done("/progress/quota", {"prints": "40"}, "/progress")
    box = archive.photographs.container_names()[0].name
    text = browser.done("/progress/expect", {"container": box, "prints": "1234"}, "/progress")
    assert '<td class="number">1234</td>' in text
    browser.refused("/progress/quota", {"prints": "many"}, archive)
    assert f"To hand over: {box}" in browser.get("/progress/hand-over", params={"box": box})


def test_what_was_lent_is_written_down_and_goes_back(archive: Archive) -> None:
    """Lender, day, condition and the care they call for; a day that is none or before it came is refused."""
    browser = Browser(Client(make_app(archive, ["testserver"])))
    envelope = {"container": "From Clara", "by": "Clara Ombry", "came": "2026-03-01", "condition": "stuck in an album"}
    text = browser.done("/progress/lend", envelope, "/progress")
    assert all(words in text for words in ("lent by Clara Ombry, came on 1 March 2026", "stuck in", "never peel"))
    assert "is not a day" in browser.refused("/progress/returned", {"container": "From Clara", "on": "soon"}, archive)
    assert "before it came" in browser.refused(
        "/progress/returned", {"container": "From Clara", "on": "2026-02-01"}, archive
    )
    back = browser.done("/progress/returned", {"container": "From Clara", "on": "2026-03-09"}, "/progress")
    assert "went back on 9 March 2026" in back
    assert "It went back" not in back


def test_the_months_are_drawn(archive: Archive) -> None:
    """The sample was scanned in one month: a column with its number in words, for those who cannot see it."""
    text = Browser(Client(make_app(archive, ["testserver"]))).get("/progress")
    count = archive.photographs.scanning_progress().photographs
    assert f"{count} scanned" in text
    assert '<rect class="done"' in text

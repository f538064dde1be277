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

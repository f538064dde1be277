"""People: found, put down, and told to be somebody else; and the page of one."""

from __future__ import annotations

from kinphoto.archive import Archive

from .conftest import Browser


def test_people_are_found_as_by_the_command(browser: Browser, archive: Archive) -> None:
    """The same people in the same order as `kinphoto people` finds."""
    text = browser.get("/people?name=nora")
    found = archive.people.find("nora").people
    assert found
    places = [text.index(f'href="/person/{one.id}"') for one in found]
    assert places == sorted(places)


def test_somebody_is_put_down(browser: Browser, archive: Archive) -> None:
    """As `kinphoto people add` does, and their page is there."""
    fields: dict[str, str | list[str]] = {
        "name": "Greta /Holm/",
        "born": "ABT 1890",
        "died": "1950",
        "note": "from <next> door",
    }
    answer = browser.post("/people", fields)
    (made,) = archive.people.find("Greta Holm").people
    assert answer.headers["location"] == f"/person/{made.id}"
    text = browser.get(f"/person/{made.id}")
    assert "from &lt;next&gt; door" in text
    assert "about 1890 to 1950" in text

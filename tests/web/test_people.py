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


def test_people_have_faces(browser: Browser, archive: Archive) -> None:
    """Whoever was framed is shown with a face of their own, without a rival name on it; never one of somebody
    photographed after death or of a private photograph."""
    shown = archive.people.find(most=200).people
    faces = archive.people.portraits([one.id for one in shown])
    assert len(faces) > 20
    text = browser.get("/people")
    assert all(f"/face/{region}.jpg" in text for region in faces.values())
    person, region = next(iter(faces.items()))
    owners = {
        name.person: (card.code, face.region)
        for card in archive.photographs.cards([p.photograph.code for p in archive.people.life(person).pictures])
        for face in archive.photographs.faces(card.code).faces
        for name in face.names
        if face.region == f"R{region}"
    }
    assert list(owners) == [person]
    archive.give.mark_private([owners[person][0]])
    assert archive.people.portraits([person]).get(person) != region

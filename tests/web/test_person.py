"""One person's page: every one of the sample, and its forms."""

from __future__ import annotations

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link

from .conftest import Browser


def test_every_picture_of_a_person_is_on_the_page(browser: Browser, archive: Archive) -> None:
    """As many as `kinphoto pictures` lists, each with its link; and the family around."""
    shown = archive.people.life("I13")
    text = browser.get("/person/I13")
    assert len(shown.pictures) > 2
    for one in shown.pictures:
        assert f'href="/photograph/{one.photograph.code}"' in text
    for relative in shown.family:
        assert f'href="/person/{relative.id}"' in text


def test_a_birth_that_photographs_suggest(browser: Browser, archive: Archive) -> None:
    """With its range, and that it is not proof; nothing of the kind where the tree knows the birth."""
    text = browser.get("/person/I8")
    assert "Born about 1865 (between 1862 and 1868, from 6 photographs)." in text
    assert "is not proof" in text
    assert "is not proof" not in browser.get("/person/I13")


def test_what_does_not_fit_about_somebody_is_asked_on_their_page(browser: Browser, archive: Archive) -> None:
    """She died in 1919, and is in a picture of 1948: the question leads to its answers and back. Once settled it is
    gone."""
    asked = 'href="/conflicts/CDL2IAD?back=/person/I13">When did Clemence Ombry die?</a>'
    assert asked in browser.get("/person/I13")
    assert "does not fit:" not in browser.get("/person/I8")
    browser.done("/conflicts/CDL2IAD/settle", {"statement": "E33", "next": "/person/I13"}, "/person/I13")
    assert asked not in browser.get("/person/I13")


def test_strangers_are_not_told_what_does_not_fit(stranger: Browser) -> None:
    """It rests on pictures and names that they may not see."""
    text = stranger.get("/person/I13")
    assert "Clemence Ombry" in text
    assert "does not fit:" not in text


def test_strangers_are_told_of_no_such_birth(stranger: Browser) -> None:
    """Though she died long ago and may be named: it rests on pictures they may not see."""
    text = stranger.get("/person/I8")
    assert "Ottilie Quillern" in text
    assert "Born about" not in text
    assert "proof" not in text


def test_kinship_is_told_from_somebody(browser: Browser, archive: Archive) -> None:
    """As `kinphoto proband` does."""
    text = browser.done("/proband", {"person": "I13", "next": "/person/I13"}, "/person/I13")
    assert archive.people.proband().id == "I13"
    assert "Everybody is shown by how they are related to" in text


def test_somebody_outside_the_tree_turned_out_to_be_another(browser: Browser, archive: Archive) -> None:
    """As `kinphoto people same` does: the pictures are the other's now, and the old address still leads there."""
    somebody = archive.people.add("Mrs Holm").id
    archive.statements.link(Link(photograph="K00009", person=somebody, region="0.01,0.01,0.05,0.05"))
    browser.done(f"/person/{somebody}/same", {"who": "I12"}, "/person/I12")
    assert "K00009" in [one.photograph.code for one in archive.people.life("I12").pictures]
    assert 'href="/photograph/K00009"' in browser.get(f"/person/{somebody}")


def test_a_date_of_the_tree_is_withdrawn_and_reinstated(browser: Browser, archive: Archive) -> None:
    """As `kinphoto withdraw` and `reinstate` do."""
    event = next(one for one in archive.people.life("I12").events if one.date_text)
    for address, withdrawn in (("/withdraw", True), ("/reinstate", False)):
        browser.done(address, {"statement": event.id, "next": "/person/I12"}, "/person/I12")
        assert next(one for one in archive.people.life("I12").events if one.id == event.id).withdrawn is withdrawn

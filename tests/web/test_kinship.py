"""How two people are related: any two, found by name or id, in the words of `kinphoto kin`."""

from __future__ import annotations

import html
import re
from urllib.parse import quote

from kinphoto.archive import Archive
from kinphoto.archive.people.kin_sentences import how, sentences

from .conftest import Browser


def test_any_two_people(browser: Browser, archive: Archive) -> None:
    """Both sentences, each relation with how close it is, their faces, and a link that turns it round."""
    found = archive.people.kinship("I24", "I13")
    text = html.unescape(browser.get("/kinship?one=I24&other=I13"))
    for line in sentences(found, lambda one: one.name):
        assert line in text
    for path in found.paths:
        assert "; ".join(how(path, lambda one: one.name)) in text
    faces = archive.people.portraits(["I24", "I13"])
    assert len(faces) == 2
    assert all(f"/face/{region}.jpg" in text for region in faces.values())
    assert "/kinship?one=I13&other=I24" in text
    assert 'href="/kinship?one=I24"' in browser.get("/person/I24")


def test_a_mother_and_her_child_by_hand(browser: Browser) -> None:
    """Read from the sample's tree (`sample_tree`): Ambrose is the father-in-law of Henrik, who married his daughter."""
    text = html.unescape(browser.get("/kinship?one=I24&other=I70"))
    assert "Ambrose Quillern is Henrik Vale's father-in-law." in text
    assert "Henrik Vale is Ambrose Quillern's son-in-law." in text


def test_namesakes_are_offered_with_their_years(browser: Browser) -> None:
    """A name that two people have, and one that nobody has: each stands beside its field, and what was typed stays."""
    text = html.unescape(browser.get("/kinship?one=Lambert+Quillern&other=Clemens+Ombry"))
    assert 'name="one" value="Lambert Quillern"' in text
    assert '<button name="one" value="I7">Lambert Quillern (1861–1938)</button>' in text
    assert "There is nobody called 'Clemens Ombry'" in text
    assert ">Clemence Ombry</button>" in text, "a name that is spelled nearly the same"
    assert "is Henrik" not in text


def test_namesakes_stand_in_their_fields_with_their_years(browser: Browser) -> None:
    """Whoever comes from the page of a person sees a name and no id, and the words in the field are understood."""
    asked = "/kinship?one=I24&other=I70"
    assert 'name="one" value="Ambrose Quillern (1890–1974)"' in html.unescape(browser.get(asked))
    for words in ("Ambrose Quillern (1890–1974)", "ambrose quillern (1890 to 1974)", "Ambrose Quillern (1890-1974)"):
        text = html.unescape(browser.get(f"/kinship?one={quote(words)}&other=I70"))
        assert "Ambrose Quillern is Henrik Vale's father-in-law." in text, words
    other_years = quote("Ambrose Quillern (1891–1974)")
    assert "There is nobody called" in html.unescape(browser.get(f"/kinship?one={other_years}"))


def test_names_are_offered_while_one_is_typed(browser: Browser, archive: Archive) -> None:
    """Those in pictures, each once, though some have a namesake."""
    offered = re.findall(r'<option value="([^"]+)">', html.unescape(browser.get("/kinship")))
    assert {one.name for one in archive.people.find().people if one.pictures and one.name} <= set(offered)
    assert len(offered) == len(set(offered))


def test_what_is_typed_is_shown_as_it_is(browser: Browser, archive: Archive) -> None:
    """Markup in a name or in what is typed does nothing."""
    made = archive.people.add("<b>Greta</b> Holm")
    for address in (f"/kinship?one={made.id}&other=I24", "/kinship?one=<b>x</b>&other=I24"):
        assert "<b>" not in browser.get(address).partition("<main")[2]


def test_strangers_sign_in_first(stranger: Browser) -> None:
    """Who is related to whom is not for visitors."""
    assert stranger.client.get("/kinship?one=I24&other=I13", follow_redirects=False).status_code == 303

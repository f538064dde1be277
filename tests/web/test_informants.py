"""Informants: made known, tied to the tree, renamed, and put together."""

from __future__ import annotations

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim

from .conftest import Browser


def test_an_informant_is_made_known(browser: Browser, archive: Archive) -> None:
    """As `kinphoto informant` does."""
    fields: dict[str, str | list[str]] = {"name": "Aunt Edda", "person": "I13", "note": "writes <letters>"}
    text = browser.done("/informants", fields, "/informants")
    made = next(one for one in archive.statements.informants() if one.name == "Aunt Edda")
    assert (made.person, made.note) == ("I13", "writes <letters>")
    assert "writes &lt;letters&gt;" in text


def test_two_names_of_one_informant_are_put_together(browser: Browser, archive: Archive) -> None:
    """What both said is one person's from then on."""
    archive.statements.record(NewClaim(photograph="K00009", kind="recollection", date="1924", by="Aunt Nora Q."))
    entries = {entry.name: entry for entry in archive.statements.informants()}
    one, other = entries["Aunt Nora Q."], entries["Nora Quillern"]
    browser.done("/informants/rename", {"old": one.name, "new": other.name}, "/informants")
    left = {entry.name: entry.statements + entry.appearances for entry in archive.statements.informants()}
    assert one.name not in left
    assert left[other.name] == sum(entry.statements + entry.appearances for entry in (one, other))


def test_two_people_of_the_tree_stay_two(browser: Browser, archive: Archive) -> None:
    """Informants who are two people of the tree are not put together by a slip."""
    one, other = [entry for entry in archive.statements.informants() if entry.person][:2]
    said = browser.refused("/informants/rename", {"old": one.name, "new": other.name}, archive)
    assert "are two different people in the tree" in said

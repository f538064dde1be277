"""Reading a back: the words are typed with the picture in view, and a date in them is offered, never used unasked."""

from __future__ import annotations

import re

import pytest

from kinphoto.archive import Archive

from .conftest import Browser

HERE = "/photograph/K00009"
READING = f"{HERE}/back"


def inscriptions(archive: Archive) -> list[tuple[str, str]]:
    """The words on the photograph that are recorded as an inscription, with their dates."""
    return [(m.words, m.date) for m in archive.photographs.details("K00009").marks if m.kind == "inscription"]


def test_the_back_is_large_and_the_front_beside_it(browser: Browser, archive: Archive) -> None:
    """Another scan changes places with it, and what was typed stays; nothing is saved."""
    front, back = (str(scan.id) for scan in archive.photographs.details("K00009").scans)
    page = browser.get(READING)
    assert re.search(r'class="looking" data-tiles="/scan/(\d+)/', page)[1] == back  # type: ignore[index]
    assert f'name="scan" value="{front}"' in page
    before = archive.statements.history(1)
    turned = browser.post(READING, {"scan": front, "text": "At the <ferry>", "date": "1905"}).text
    assert re.search(r'class="looking" data-tiles="/scan/(\d+)/', turned)[1] == front  # type: ignore[index]
    assert "At the &lt;ferry&gt;</textarea>" in turned
    assert archive.statements.history(1) == before


def test_dates_are_offered_and_the_chosen_one_is_saved(browser: Browser, archive: Archive) -> None:
    """What is not chosen is not used."""
    words = "Whitsun 1905, or was it 12/8/1905?"
    before = archive.statements.history(1)
    page = browser.post(READING, {"do": "look", "text": words}).text
    assert "“Whitsun 1905”, read as <b>between 10 and 12 June 1905</b>" in page
    assert "“12/8/1905?” could be" in page
    assert 'name="choice" value="" checked' in page
    assert archive.statements.history(1) == before
    browser.done(READING, {"do": "save", "kind": "inscription", "text": words, "choice": ""}, READING)
    assert inscriptions(archive) == [(words, "")]
    page = browser.get(READING)
    assert "Use “Whitsun 1905”, read as between 10 and 12 June 1905" in page
    assert 'data-quick="Saved."' in page
    browser.done(READING, {"do": "save", "kind": "inscription", "text": words, "choice": "Whitsun 1905"}, READING)
    assert inscriptions(archive) == [(words, "between 10 and 12 June 1905")]


@pytest.mark.parametrize(
    ("date", "said"),
    [
        ("12/8/1905", "12 August 1905"),
        ("before the war", "before the First World War (before 1914)"),
        ("Aug. &#39;08", "August 1908"),
        ("soon", "cannot be understood. Write it like 1931"),
        ("1799", "Did you mean 1899 or 1999?"),
    ],
)
def test_what_cannot_be_saved_keeps_what_was_typed(browser: Browser, archive: Archive, date: str, said: str) -> None:
    """The problem stands beside the field, with the choices where there are some."""
    before = archive.statements.history(1)
    typed = date.replace("&#39;", "'")
    answer = browser.post(READING, {"do": "save", "text": "At the ferry", "date": typed, "by": "Edda"})
    assert answer.status_code == 422
    assert said in answer.text
    assert f'name="date" size="16" placeholder="summer 1900, um 1905" value="{date}"' in answer.text
    assert "At the ferry</textarea>" in answer.text
    assert archive.statements.history(1) == before


def test_nothing_typed_is_nothing_saved(browser: Browser, archive: Archive) -> None:
    """In one line, and the page is still there."""
    assert "Type the words as they are written." in browser.refused(READING, {"do": "save"}, archive)


@pytest.mark.parametrize(
    "words", ["a" * 10_000, "1905 " * 2000, "12.8.05 " * 1200, "Пасха 1905\r\n" * 5, "١٩٠٥", "((("]
)
def test_odd_words_are_looked_through(browser: Browser, words: str) -> None:
    """Long, in other letters, nothing but numbers."""
    assert browser.post(READING, {"do": "look", "text": words}).status_code == 200


def test_a_stranger_reads_no_back(stranger: Browser) -> None:
    """It may name anybody: they are asked to sign in."""
    answer = stranger.client.get(READING, follow_redirects=False)
    assert answer.status_code in (302, 303, 307)
    assert answer.headers["location"].startswith("/sign-in")


def test_whoever_has_read_the_back_knows_the_date(browser: Browser) -> None:
    """Ages judged after that are not judged blind."""
    covered = "until you have judged the ages"
    assert covered in browser.get("/photograph/K00016?naming=1")
    browser.get("/photograph/K00016/back")
    assert covered not in browser.get("/photograph/K00016?naming=1")

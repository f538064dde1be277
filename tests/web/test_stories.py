"""The pages of stories: written down, put in as a recording, heard, changed, and shown where they belong."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from recordings import write

from kinphoto.archive import Archive
from kinphoto.archive.statements.telling import NewStory
from kinphoto.web.access import Access, Credentials

from .client import Client
from .conftest import Browser


def tell(browser: Browser, sound: tuple[str, bytes] | None = None, **fields: str) -> str:
    """Send the form as the page does, without scripts; where it leads."""
    files = {"sound": sound or ("", b"")}
    answer = browser.post("/stories/new", {**fields}, files=files)
    assert answer.status_code == 303, answer.text[:600]
    return answer.headers["location"]


def test_a_story_is_written_down_and_shown_where_it_belongs(browser: Browser, archive: Archive) -> None:
    """On its own page, among all, on the photograph and the person it is about, and by the search."""
    to = tell(browser, text="The <b>ferry</b> sank.", by="Aunt Edda", when="Christmas 1998", about="K00009; I24")
    assert to == "/story/T1"
    (one,) = archive.stories.list()
    assert (one.teller, one.when, one.photographs, [who.id for who in one.people]) == (
        "Aunt Edda", "Christmas 1998", ("K00009",), ["I24"],
    )  # fmt: skip
    for page in (to, "/stories", "/photograph/K00009", "/person/I24", "/search?q=ferry"):
        assert "The &lt;b&gt;ferry&lt;/b&gt; sank." in browser.get(page), page
    assert "ferry" not in browser.get("/photograph/K00016").partition('id="stories"')[2]


def test_a_recording_is_heard_as_it_was_sent(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """The same bytes, as sound, in parts where a player asks for them (RFC 9110, 14.2)."""
    data = write(tmp_path / "a.ogg", "OGG").read_bytes()
    to = tell(browser, ("../../Edda's ferry.ogg", data), by="Aunt Edda")
    (one,) = archive.stories.list()
    assert one.recording is not None
    assert one.recording.name == "Edda's ferry.ogg"
    assert Path(one.recording.path).parent == archive.folder / "sounds"
    heard = browser.client.get(f"{to}/sound")
    assert (heard.headers["content-type"], heard.content) == ("audio/ogg", data)
    part = browser.client.get(f"{to}/sound", headers={"range": "bytes=10-19"})
    assert (part.status_code, part.content) == (206, data[10:20])
    assert not list(archive.folder.glob(".kinphoto-*"))


def test_what_is_no_recording_is_refused_and_not_kept(browser: Browser, archive: Archive) -> None:
    """In one line; nothing of it is left."""
    answer = browser.post("/stories/new", {"text": "x"}, files={"sound": ("a.mp3", b"<html>")})
    assert answer.status_code == 422
    assert "This is not a recording that can be kept" in answer.text
    assert "a.mp3" in answer.text
    assert archive.stories.list() == ()
    assert not list(archive.folder.glob(".kinphoto-*"))


def test_the_tellers_consent_stands_beside_it(browser: Browser, archive: Archive) -> None:
    """Given with the story or later, gone through, and revoked."""
    to = tell(browser, text="The ferry sank.", by="Edda", agreed="public", asked_by="Nora")
    browser.done(f"{to}/agreed", {"what": "words", "to": "public", "by": "Nora"}, to)
    assert archive.give.report("public").stories == ("T1",)
    page = browser.get(to)
    assert "Its teller agreed for public" in page
    assert "Gone through for public" in page
    consent = archive.give.consents()[0].id
    browser.done("/give/revoke", {"consent": consent, "next": to}, to)
    assert archive.give.report("public").stories == ()
    browser.done(f"{to}/agreed", {"what": "telling", "to": "public", "by": "Nora", "on": "3 May 2026"}, to)
    assert archive.give.report("public").stories == ("T1",)
    browser.done(f"{to}/private", {"what": "private"}, to)
    assert [one.reason for one in archive.give.report("household").stories_held] == ["private"]


def test_a_story_is_changed_and_withdrawn(browser: Browser, archive: Archive) -> None:
    """What the form has is saved; an empty field empties it."""
    to = tell(browser, text="The ferry sank.", by="Edda", about="K00009")
    fields: dict[str, str | list[str]] = {
        "text": "The mill burned.",
        "title": "Mill",
        "by": "Edda",
        "when": "",
        "about": "",
    }
    browser.done(f"{to}/change", fields, to)
    one = archive.stories.details("T1")
    assert (one.text, one.title, one.photographs) == ("The mill burned.", "Mill", ())
    assert "Without its words" in browser.refused(f"{to}/change", {"text": " "}, archive)
    browser.done("/withdraw", {"statement": "T1", "next": to}, to)
    assert archive.stories.list() == ()


def test_only_the_page_that_records_may_use_the_microphone(browser: Browser) -> None:
    """As its Permissions-Policy says; and what was recorded may be played before it is sent."""
    policies = {path: browser.client.get(path).headers for path in ("/stories", "/photograph/K00009", "/give")}
    assert "microphone=(self)" in policies["/stories"]["permissions-policy"]
    assert "media-src 'self' blob:" in policies["/stories"]["content-security-policy"]
    for path in ("/photograph/K00009", "/give"):
        assert "microphone=()" in policies[path]["permissions-policy"]
        assert "blob:" not in policies[path]["content-security-policy"]


@pytest.mark.parametrize("path", ["/stories", "/story/T1", "/story/T1/sound"])
def test_strangers_neither_read_nor_hear_stories(browser: Browser, archive: Archive, tmp_path: Path, path: str) -> None:
    """Not even one that may go to the public: they are asked to sign in, and no page of theirs has one."""
    archive.stories.tell(
        NewStory(text="The ferry sank.", by="Edda", about=["K00009", "I24"]), write(tmp_path / "a.wav")
    )
    browser.client.app.state.access = Access(Credentials("x" * 40, "x"), True)  # type: ignore[attr-defined]
    stranger = Client(browser.client.app, base_url="http://127.0.0.1:5817")  # type: ignore[attr-defined]
    answer = stranger.get(path, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"].partition("?")[0]) == (303, "/sign-in")
    for page in ("/photograph/K00009", "/person/I24", "/search?q=ferry"):
        assert not re.search("ferry sank|/story/", stranger.get(page).text), page


def test_a_recording_that_is_gone_is_said(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """With where it was, so that it is found in a backup."""
    archive.stories.tell(NewStory(by="Edda"), write(tmp_path / "a.wav"))
    one = archive.stories.details("T1")
    assert one.recording is not None
    Path(one.recording.path).unlink()
    assert "The recording is not in its place any more" in browser.get("/story/T1")
    assert browser.client.get("/story/T1/sound").status_code == 404

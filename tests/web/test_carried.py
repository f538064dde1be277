"""A form without scripts is sent by somebody who is no longer signed in: what was typed comes back after the password,
to be sent once more, and nothing is saved before.

What a stranger could make of that is from memory of the OWASP Cheat Sheets: sending a form in the keeper's name
(cross-site request forgery), words that a page shows unescaped (reflected cross-site scripting), and an address that
leads elsewhere (unvalidated redirects).
"""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import MutableMapping
from typing import Any
from urllib.parse import urlencode

import pytest
from httpx2 import Response

from kinphoto.archive import Archive
from kinphoto.web.app import LARGE, make_app
from kinphoto.web.carried import MOST_CARRIED
from kinphoto.web.passwords import choose

from .client import Client
from .conftest import LAN, PASSWORD, Browser
from .crawling import Document, Form
from .test_odd_values import filled, routes

SAY = "/photograph/K00009/say"
TYPED: dict[str, str | list[str]] = {
    "kind": "inscription", "text": 'Aunt "Wilma" at the <pier>,\r\nWhitsun & 1912', "by": "Edda", "next": "/boxes",
}  # fmt: skip
FORMS = sorted(set(routes("POST")) - {"/sign-in", "/sign-out"})


@pytest.fixture
def left(stranger: Browser) -> tuple[Browser, str]:
    """A browser that has forgotten that it was signed in, and the token of a page that is still open in it."""
    stranger.post("/sign-in", {"password": PASSWORD})
    token = stranger.token()
    stranger.client.cookies.clear()
    return stranger, token


def form_of(page: str, action: str) -> Form:
    """The form of a page that goes there."""
    return next(one for one in Document(page).forms if one.action == action)


def typed_in(page: str, action: str) -> dict[str, str]:
    """What stands in the fields of a form, without its token."""
    fields = form_of(page, action).fields
    words = {name: html.unescape(text) for name, text in re.findall(r'<textarea name="(\w+)"[^>]*>([^<]*)<', page)}
    return {name: words.get(name, value) for name, value in fields.items() if name != "token"}


def send(browser: Browser, path: str, fields: dict[str, str | list[str]], token: str) -> Response:
    """Send a form with the token of the page it stood on."""
    return browser.post(
        path, {**fields, "token": token}, headers={"referer": "http://192.168.7.7:5817/photograph/K00009"}
    )


def sign_in(browser: Browser, page: str, password: str = PASSWORD) -> Response:
    """Fill in the password on the page that asks for it."""
    return browser.client.post("/sign-in", data={**hidden_in(page), "password": password}, follow_redirects=False)


def hidden_in(page: str) -> dict[str, list[str]]:
    """All fields of the form that asks for the password, as often as each occurs."""
    inside = page.partition('action="/sign-in"')[2].partition("</form>")[0]
    found: dict[str, list[str]] = {}
    for name, value in re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', inside):
        found.setdefault(html.unescape(name), []).append(html.unescape(value))
    return found


def test_what_was_typed_comes_back_after_the_password(left: tuple[Browser, str], archive: Archive) -> None:
    """Every field, through a wrong password too; it is saved when it is sent once more, and not before."""
    browser, token = left
    before = archive.statements.revision()
    asked = send(browser, SAY, TYPED, token)
    assert asked.status_code == 403
    assert "Wilma" not in re.sub(r'<input type="hidden"[^>]*>', "", asked.text)
    wrong = sign_in(browser, asked.text, "something else")
    assert "That is not the password." in wrong.text
    shown = sign_in(browser, wrong.text)
    assert shown.status_code == 200
    assert "Nothing was saved. What you typed is still here" in shown.text
    assert 'href="/photograph/K00009">Back to where you were' in shown.text
    assert typed_in(shown.text, SAY) == {name: value for name, value in TYPED.items() if isinstance(value, str)}
    assert archive.statements.revision() == before
    done = browser.client.post(
        SAY, data={**TYPED, "token": form_of(shown.text, SAY).fields["token"]}, follow_redirects=False
    )
    assert (done.status_code, done.headers["location"]) == (303, "/boxes")
    assert any("Wilma" in (mark.words or "") for mark in archive.photographs.details("K00009").marks)


def test_every_form_waits_for_the_password(left: tuple[Browser, str], archive: Archive) -> None:
    """Each form there is, with a field that occurs twice; and signing in carries none of them out."""
    browser, token = left
    before = archive.statements.revision()
    fields: dict[str, str | list[str]] = {"photograph": ["K00009", "K00017"], "name": "Blue & green"}
    for path in FORMS:
        with_files = {"files": {"tree": ("a.ged", b"0 HEAD")}} if path in LARGE else {}
        asked = browser.post(filled(path), {**fields, "token": token}, **with_files)
        assert asked.status_code == 403, path
        shown = sign_in(browser, asked.text)
        assert typed_in(shown.text, filled(path))["name"] == "Blue & green"
        assert shown.text.count('name="photograph"') == 2
        assert ('type="file" name="tree"' in shown.text) == (path in LARGE)
        browser.client.cookies.clear()
    assert archive.statements.revision() == before


@pytest.mark.parametrize("token", ["", "0" * 96, "é", "of a stranger", "of before the password was changed"])
def test_nothing_is_carried_that_no_page_of_ours_has_sent(
    left: tuple[Browser, str], archive: Archive, token: str
) -> None:
    """Made up, or of a page that was shown to a stranger or before the secret changed: it leads to where one signs in,
    and none of the words is shown to anybody."""
    browser, good = left
    if token == "of a stranger":
        token = browser.token()
    if token == "of before the password was changed":
        choose(archive.folder, "another three words")
        token, browser = good, Browser(Client(make_app(archive, ["192.168.7.7"], open_to_house=True), base_url=LAN))
    answer = send(browser, SAY, TYPED, token)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in?next=%2Fphotograph%2FK00009"
    assert answer.text == ""


def test_a_post_from_another_page_is_not_carried(left: tuple[Browser, str]) -> None:
    """Not even with a token that holds, where the browser says that it comes from elsewhere."""
    browser, token = left
    answer = browser.post(SAY, {**TYPED, "token": token}, headers={"origin": "http://evil.example"})
    assert answer.status_code == 403
    assert "Wilma" not in answer.text


def test_markup_is_carried_as_words(left: tuple[Browser, str]) -> None:
    """In names and in values, on both pages."""
    browser, token = left
    harm = '"><script>alert(1)</script>'
    asked = send(browser, SAY, {"text": harm, harm: harm, "title": "x"}, token)
    shown = sign_in(browser, asked.text)
    for page in (asked.text, shown.text):
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


@pytest.mark.parametrize("elsewhere", ["http://evil.example/", "//evil.example", "/\\evil.example", "javascript:1", ""])
def test_it_goes_to_our_own_pages_only(stranger: Browser, elsewhere: str) -> None:
    """Whatever the form that brings the password says where what was typed is to go: elsewhere it is dropped."""
    stranger.token()
    answer = stranger.post("/sign-in", {"password": PASSWORD, "typed_to": elsewhere, "typed/text": "words"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")


def test_passwords_are_not_carried(left: tuple[Browser, str]) -> None:
    """Nor the token of the page that is gone."""
    browser, token = left
    asked = send(browser, SAY, {**TYPED, "password": "my other password"}, token)
    assert "my other password" not in asked.text
    assert token not in asked.text
    shown = browser.post("/sign-in", {
        "password": PASSWORD, "typed_to": SAY, "typed/text": "words", "typed/password": "x1y2", "typed/token": "z3",
    })  # fmt: skip
    assert "x1y2" not in shown.text
    assert "z3" not in shown.text


def test_a_long_story_is_carried_and_a_longer_one_is_not_lost_silently(left: tuple[Browser, str]) -> None:
    """As long as a field may be; beyond what is carried, the page says how to keep it."""
    browser, token = left
    story = "The ferry ran aground. " * 2_100
    assert 48_000 < len(story) < 50_000
    shown = sign_in(browser, send(browser, SAY, {"text": story}, token).text)
    assert story.strip() in shown.text
    browser.client.cookies.clear()
    for words in ("x" * (MOST_CARRIED + 1), "ü" * (MOST_CARRIED // 3)):
        answer = send(browser, SAY, {"text": words}, token)
        assert answer.status_code == 403
        assert "Go back to it, sign in in another tab, and send it again." in answer.text
        assert words[:50] not in answer.text


def test_the_words_of_a_story_come_back_without_its_recording(left: tuple[Browser, str]) -> None:
    """However large the recording is that was sent before them; it is chosen once more."""
    browser, token = left
    parts = [
        ("token", (None, token)), ("sound", ("ferry.wav", b"RIFF" + bytes(300_000))),
        ("text", (None, "The ferry ran aground.")), ("by", (None, "Judith")),
    ]  # fmt: skip
    asked = browser.client.post("/stories/new", files=parts, follow_redirects=False)
    shown = sign_in(browser, asked.text)
    assert typed_in(shown.text, "/stories/new") == {"text": "The ferry ran aground.", "by": "Judith", "sound": ""}
    assert "the files have to be chosen once more" in shown.text
    assert 'type="file" name="sound"' in shown.text


def test_what_strangers_send_is_not_read_on(stranger: Browser) -> None:
    """Files without the token of somebody signed in: what comes after the first 64 KB is left alone."""
    head = b'--x\r\nContent-Disposition: form-data; name="sound"; filename="a.wav"\r\n\r\n'
    asked = 0
    answers: list[MutableMapping[str, Any]] = []

    async def receive() -> dict[str, Any]:
        nonlocal asked
        asked += 1
        return {"type": "http.request", "body": head if asked == 1 else bytes(16_384), "more_body": asked < 100}

    async def send(message: MutableMapping[str, Any]) -> None:
        answers.append(message)

    headers = {"host": "192.168.7.7", "content-type": "multipart/form-data; boundary=x", "content-length": "1600000"}
    scope = {
        "type": "http", "method": "POST", "path": "/stories/new", "query_string": b"", "client": ("1.1.1.1", 5),
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
    }  # fmt: skip
    asyncio.run(stranger.client.app(scope, receive, send))
    assert answers[0]["status"] == 303
    assert asked <= 2 + MOST_CARRIED // 16_384


def test_a_script_asks_for_the_password_over_its_page(left: tuple[Browser, str]) -> None:
    """It is led to where one signs in, as before: what was typed still stands on its page."""
    browser, token = left
    answer = browser.post(SAY, {**TYPED, "token": token}, headers={"X-Part": "1"})
    assert (answer.status_code, answer.text) == (303, "")


@pytest.mark.parametrize("password", ["", "wrong", PASSWORD.upper()])
def test_nothing_is_shown_without_the_password(left: tuple[Browser, str], archive: Archive, password: str) -> None:
    """Whoever does not know it sees no page with the form, and nothing is saved."""
    browser, token = left
    before = archive.statements.revision()
    answer = sign_in(browser, send(browser, SAY, TYPED, token).text, password)
    assert answer.status_code == 403
    assert "still here" not in answer.text
    assert archive.statements.revision() == before


def test_a_body_that_is_no_form(left: tuple[Browser, str]) -> None:
    """Bytes that are no text, or parts that are none: no fault of the program."""
    browser, _ = left
    for path, kind, body in (
        (SAY, "application/x-www-form-urlencoded", b"text=%ED%A0%80%FF&%00=1" + urlencode({"token": "x"}).encode()),
        ("/stories/new", "multipart/form-data; boundary=x", b"--x\r\nnothing"),
        ("/stories/new", "multipart/form-data", b"--x\r\n\r\n"),
    ):
        answer = browser.client.post(path, content=body, headers={"content-type": kind}, follow_redirects=False)
        assert answer.status_code in (303, 403), path

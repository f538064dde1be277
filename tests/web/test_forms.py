"""Forms are read within bounds, by whom they may be sent first, and in a time that grows with their length only."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from starlette.types import Message, Scope

from kinphoto.archive import Archive
from kinphoto.errors import InvalidValueError
from kinphoto.web import forms, guard
from kinphoto.web.app import LARGE, make_app
from kinphoto.web.carried import MOST_CARRIED
from kinphoto.web.forms import LARGEST_OF_ANYBODY, MOST_FIELDS, Form
from kinphoto.web.guard import PageLimiter, name_of

from .client import Client
from .conftest import PASSWORD, Browser
from .test_house import posts


class Counted(str):
    """A name that counts how often it is compared."""

    compared = 0
    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        Counted.compared += 1
        return str.__eq__(self, other)  # type: ignore[arg-type]

    __hash__ = str.__hash__


def finished(work: Coroutine[Any, Any, None]) -> None:
    """Run this to its end, on a thread of its own: a browser of other tests may hold the loop of this one."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(asyncio.run, work).result()


def test_a_form_of_many_fields_is_not_read_again_for_each() -> None:
    """As many fields as there may be, all of different names: some comparisons for each, not one with every other."""
    Counted.compared = 0
    form = Form([(Counted(f"f{number}"), str(number)) for number in range(MOST_FIELDS)])
    assert form.all("f7") == ["7"]
    assert Counted.compared < 20 * MOST_FIELDS


def test_a_field_that_stands_several_times() -> None:
    """It has its last value, and all of them in order."""
    form = Form([("photograph", "K1"), ("by", "x"), ("photograph", "K2")])
    assert form["photograph"] == "K2"
    assert form.all("photograph") == ["K1", "K2"]
    assert form.all("nothing") == []


@pytest.mark.parametrize("number", [*range(0x00, 0x09), 0x0B, 0x0C, *range(0x0E, 0x20), *range(0x7F, 0xA0)])
def test_control_characters_are_refused(number: int) -> None:
    """All of Unicode's category Cc (C0, DEL and C1), but for tabs and the ends of lines."""
    with pytest.raises(InvalidValueError, match="cannot be shown"):
        Form([("text", f"a{chr(number)}b")]).check()
    Form([("text", "a\tb\r\nc é \u202e")]).check()


def asked(client: Client, path: str, length: int) -> tuple[int, bool]:
    """The status of a post that announces a body of some length, and whether any of the body was read."""
    read = False
    status = 0

    async def receive() -> Message:
        nonlocal read
        read = True
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        nonlocal status
        status = message.get("status", status)

    headers = {"host": "192.168.7.7:5817", "content-type": forms_of(path), "content-length": str(length)}
    scope: Scope = {
        "type": "http", "method": "POST", "path": path, "raw_path": path.encode(), "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()], "client": ("10.0.0.9", 4711),
        "http_version": "1.1", "scheme": "http", "server": ("192.168.7.7", 5817), "root_path": "",
    }  # fmt: skip
    finished(client.app(scope, receive, send))  # type: ignore[arg-type]
    return status, read


def forms_of(path: str) -> str:
    """The kind of form that is sent to an address."""
    return "multipart/form-data; boundary=b" if path in LARGE else "application/x-www-form-urlencoded"


def test_forms_of_strangers_are_not_even_read(house: Client) -> None:
    """Whoever has not signed in is asked to, before a byte is looked at of what is too long to be carried meanwhile.
    (Files that strangers send are read no further than that: `test_carried`.)"""
    for path in posts():
        if path not in ("/sign-in", "/sign-out") and forms_of(path) != forms_of("/bring-in/scans"):
            assert asked(house, path, MOST_CARRIED + 1) == (403, False), path


def test_what_anybody_may_send_is_short(house: Client) -> None:
    """A password is: more is refused unread, whether or not its length is announced."""
    most = LARGEST_OF_ANYBODY + MOST_CARRIED  # the password, and what was typed before one was signed out
    assert asked(house, "/sign-in", most + 1) == (413, False)
    body = iter([b"password=" + b"x" * most])
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert house.post("/sign-in", content=body, headers=kind).status_code == 413
    assert Browser(house).post("/sign-in", {"password": PASSWORD}).status_code == 303


@pytest.mark.parametrize("path", ["/bring-in/scans", "/bring-in/tree"])
def test_more_files_than_can_be_sent_are_refused_unread(archive: Archive, path: str) -> None:
    """What is announced is looked at first, also where files are sent; numbers of any length."""
    here = Client(make_app(archive, ["192.168.7.7"]), base_url="http://192.168.7.7:5817")
    for length in (3 * 1024**3, 10**30):
        assert asked(here, path, length) == (413, False)


def test_a_form_that_does_not_arrive_is_given_up(house: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sends the beginning of a form and then nothing: the connection is ended after a while."""
    monkeypatch.setattr(forms, "READ_WITHIN", 0.05)
    sent: list[Message] = []

    async def receive() -> Message:
        await asyncio.sleep(60)
        return {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    scope: Scope = {
        "type": "http", "method": "POST", "path": "/sign-in", "raw_path": b"/sign-in", "query_string": b"",
        "headers": [(b"host", b"192.168.7.7"), (b"content-length", b"9")], "client": ("10.0.0.9", 4711),
        "http_version": "1.1", "scheme": "http", "server": ("192.168.7.7", 5817), "root_path": "",
    }  # fmt: skip
    finished(house.app(scope, receive, send))  # type: ignore[arg-type]
    assert sent[0]["status"] == 408
    assert (b"connection", b"close") in [(name.lower(), value) for name, value in sent[0]["headers"]]


BORDER = b"--b\r\nContent-Disposition: form-data; name="


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data; boundary=b; charset=idna", BORDER + b'"token"\r\n\r\n\xff..\xff\r\n--b--\r\n'),
        ("multipart/form-data; boundary=b; charset=undefined", BORDER + b'"token"\r\n\r\nx\r\n--b--\r\n'),
        ("multipart/form-data; boundary=b; charset=raw_unicode_escape", BORDER + b'"token"\r\n\r\n\\ud800\r\n--b--'),
        ("multipart/form-data; boundary=b; charset=hex", BORDER + b'"token"\r\n\r\nx\r\n--b--\r\n'),
        ("multipart/form-data; boundary=b", b"--b\r\n\r\n"),
        ("multipart/form-data; boundary=b", b"no border at all"),
        ("multipart/form-data; boundary=b", b"--b\r\nContent-Disposition\r\n\r\nx"),
        ("multipart/form-data; boundary=b", BORDER + b'"a"\r\n\r\nx\r\n' * 50 + b"--b--"),
        ("multipart/form-data; boundary=b", BORDER + b'"a"; filename="f"\r\n\r\nx\r\n' * 300 + b"--b--"),
        ("multipart/form-data; boundary=" + "b" * 3000, b"--b"),
        ("multipart/form-data", b"--b"),
        ("multipart/mixed; boundary=b", b"--b"),
        ("application/x-www-form-urlencoded", b"token=x&" * 1000),
    ],
)
def test_files_that_are_sent_broken(browser: Browser, kind: str, body: bytes) -> None:
    """Borders that are none, letters in a set that cannot be read, too many parts: one line, or the form again."""
    for path in ("/bring-in/tree", "/bring-in/scans", "/bring-in/sheet"):
        answer = browser.client.post(path, content=body, headers={"content-type": kind}, follow_redirects=False)
        assert answer.status_code in (400, 403), answer.text
        assert answer.text.count("\n") <= 1 or "page was open for too long to be sent" in answer.text


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("127.0.0.1:5817", "127.0.0.1"),
        ("localhost", "localhost"),
        ("[::1]:80", "[::1]"),
        ("[::1", ""),
        ("[::1]x", ""),
        ("[::1]:", ""),
        ("127.0.0.1:", ""),
        ("127.0.0.1:port", ""),
        ("127.0.0.1:99999999", ""),
        ("127.0.0.1@evil.example", ""),
        ("127.0.0.1/x", ""),
        ("", ""),
    ],
)
def test_the_name_in_a_host(host: str, name: str) -> None:
    """`uri-host [ ":" port ]` (RFC 9110, 7.2); anything else is no host, and of nobody's name."""
    assert name_of(host) == name


def test_a_host_that_is_none_is_refused(client: Client) -> None:
    """Brackets that are left open are not read as one of our names, and break nothing."""
    for host in ("[::1", "[::1]evil", "127.0.0.1:x", "localhost:1:2"):
        assert client.get("/nothing", headers={"host": host}).status_code == 421, host


@pytest.mark.parametrize(("addresses", "fits"), [(1, guard.OF_ONE), (5, guard.STRANGERS_AT_ONCE)])
def test_strangers_take_turns(addresses: int, fits: int) -> None:
    """Of one address two pages are made at a time, of all strangers four, and everybody's in the end."""
    at_once = most = made = 0

    async def make(limiter: PageLimiter, address: str) -> None:
        nonlocal at_once, most, made
        async with limiter.slot(address):
            at_once += 1
            most = max(most, at_once)
            await asyncio.sleep(0.001)
            at_once -= 1
            made += 1

    async def everybody() -> None:
        limiter = PageLimiter()
        await asyncio.gather(*(make(limiter, f"10.0.0.{n % addresses}") for n in range(100)))
        assert not limiter._of, "an address that asks nothing any more is still remembered"

    finished(everybody())
    assert (most, made) == (fits, 100)


def test_a_form_of_an_earlier_visit_comes_again(browser: Browser, archive: Archive) -> None:
    """A page that lay open for weeks: it is said in the look of all pages, what was typed is there, and once more sends
    it."""
    path, typed = "/photograph/K00009/say", {"kind": "inscription", "text": "by the <mill>, 1905", "date": "1905"}
    before = archive.statements.revision()
    answer = browser.client.post(
        path, data={"token": "0" * 64, **typed}, headers={"referer": "http://127.0.0.1:5817/photograph/K00009"}
    )
    assert answer.status_code == 403
    assert archive.statements.revision() == before
    assert "This page was open for too long to be sent" in answer.text
    assert "by the &lt;mill&gt;, 1905" in answer.text
    assert 'href="/photograph/K00009">Back to where you were' in answer.text
    assert 'class="site-header"' in answer.text
    fields = dict(re.findall(r'name="(token|kind|date)" value="([^"]*)"', answer.text.partition('class="fields"')[2]))
    assert fields.keys() == {"token", "kind", "date"}
    answer = browser.client.post(path, data={**fields, "text": typed["text"]}, follow_redirects=False)
    assert answer.status_code == 303
    assert archive.statements.revision() != before


def test_a_password_is_never_shown_again(stranger: Browser) -> None:
    """Signing in from a page that lay open too long begins anew."""
    answer = stranger.client.post("/sign-in", data={"token": "0" * 64, "password": "three odd words"})
    assert answer.status_code == 403
    assert "open for too long" in answer.text
    assert "three odd words" not in answer.text

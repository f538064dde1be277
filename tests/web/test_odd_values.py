"""Values that nobody types, in every place where a page takes one: each path, each question of an address, each field
of each form, one at a time with the others as the page has them.

The numbers are those at which 64-bit integers and IEEE 754 doubles end (2^63, 1e400, NaN), and what testers send first:
nothing, very much, NUL, a lone surrogate (RFC 3629), marks that turn the direction of text, and escape codes of
terminals (ECMA-48); from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from starlette.routing import Route

from kinphoto.archive import Archive
from kinphoto.web.access import Access, Credentials
from kinphoto.web.app import LARGE, PAGES, make_app

from .client import Client
from .conftest import Browser
from .crawling import Document

ODD = {
    "2^63": str(2**63).encode(), "-1": b"-1", "1e400": b"1e400", "NaN": b"NaN", "nothing": b"", "long": b"9" * 900,
    "NUL": b"1\0", "surrogate": b"\xed\xa0\x80", "direction": "\u202e12\u202c".encode(), "escape": b"\x1b[31m1\x9b",
    "four regions": b"nan,inf,1e400,-0", "letters for digits": "²٣".encode(),
}  # fmt: skip
WITH_FORMS = (
    "/", "/boxes", "/box/9", "/box/0", "/people", "/person/I12", "/person/X1", "/photograph/K00009",
    "/photograph/K00015?naming=1", "/photograph/K00048", "/photograph/K00009/back",
    "/questions", "/conflicts", "/informants", "/log", "/bring-in",
    "/search?q=a&person=I12&ancestors=I12&descendants=I1", "/sign-in", "/give", "/keep", "/names?box=Tin+trunk",
    "/straighten", "/straighten?scan=K00018",
    "/pairs", "/cut", "/cut?scan=K00018", "/progress", "/scan-checks", "/faces", "/scanning", "/table", "/tree-check",
    "/hindsight", "/stories", "/inside",
)  # fmt: skip
ELSEWHERE = {
    "/conflicts/{id}/settle": {"statement": "A18", "photograph": "K00023", "next": "/conflicts"},
    "/undo": {"number": "1", "sure": "1", "step": "1", "next": "/log"},
    "/reinstate": {"statement": "S1"}, "/sign-in": {"password": "x", "next": "/"}, "/sign-out": {"next": ""},
    "/give/revoke": {"consent": "C1", "to": "public"}, "/scanning/stop": {"next": "/scanning"},
    "/names/rename": {"key": "x", "theme": "tin", "order": "name", "box": "Tin trunk", "next": "/names"},
    "/pairs/confirm": {"pair": "rescan-1-2", "next": "/pairs"}, "/pairs/reject": {"pair": "back-1-2", "next": "/pairs"},
    "/pairs/confirm-all": {"box": "", "order": "name", "next": "/pairs"},
    "/cut/anew": {"scan": "K00009"}, "/cut/strip": {"scan": "K00009"},
    "/straighten/sure": {"next": ""}, "/straighten/as-taken": {"scan": "K00009"},
    "/straighten/say": {"scan": "K00009", "said": "yes"},
    "/scan-checks/accept": {"scan": "1", "kind": "tilt", "why": "so it is", "take_back": "", "next": "/scan-checks"},
    "/faces/off": {"next": "/faces"}, "/faces/find": {"next": "/faces"}, "/faces/stop": {"next": "/faces"},
    "/faces/leave-out": {"person": "I12"},
    "/faces/apart": {"face": "F1", "group": "F2", "next": "/faces/alike"}, "/faces/right": {"face": "R1"},
    "/faces/name": {"face": "F1", "person": "I12", "by": "", "next": "/faces/alike"},
    "/photograph/{code}/accept-frames": {"frame": "F1", "next": "/faces"},
    "/photograph/{code}/refuse-frames": {"frame": "F1", "next": "/faces"},
    "/story/{story}/change": {"text": "x", "title": "x", "by": "x", "when": "1998", "about": "K00009; I12", "next": ""},
    "/story/{story}/agreed": {"what": "telling", "to": "public", "by": "x", "on": "", "note": "", "next": ""},
    "/story/{story}/private": {"what": "private", "next": ""},
    "/inside/name": {"name": "Ada M.", "person": "I12"}, "/inside/again": {"next": ""},
    "/give/stop": {"next": ""}, "/progress/returned": {"container": "From Clara", "on": "2026-03-01"},
    "/table/off": {"photograph": "K00009", "all": ""}, "/table/order": {"photograph": "K00009"},
}  # fmt: skip
"""Forms that stand on none of these pages."""
QUESTIONS = {
    "/search": ("q", "person", "ancestors", "descendants", "box", "from", "to", "wanting", "start"),
    "/box/{id:int}": ("wanting", "start"),
    "/photograph/{code}": ("naming", "seen", "face", "off", "scan"),
    "/photograph/{code}/back": ("scan",),
    "/photograph/{code}/offers": ("letters", "age", "region"),
    "/people": ("name",),
    "/kinship": ("one", "other"),
    "/stories": ("about", "start"),
    "/conflicts": ("start",),
    "/conflicts/{id}": ("back",),
    "/questions": ("of", "passed"),
    "/log": ("before",),
    "/pulse": ("after",),
    "/sign-in": ("next",),
}
FILL = {"{code}": "K00009", "{id:int}": "9", "{id}": "I12", "{scan:int}": "9", "{region:int}": "9", "{level:int}": "0",
        "{column:int}": "0", "{row:int}": "0", "{version}": "x", "{name}": "page.js", "{size}": "view",
        "{decade}": "1920", "{story}": "T1", "{face:int}": "1"}  # fmt: skip


def routes(method: str) -> list[str]:
    """The paths of the program for this method."""
    found = [r for module in PAGES for r in module.routes if isinstance(r, Route)]
    return [route.path for route in found if method in (route.methods or ())]


def filled(path: str, but: str = "", value: bytes = b"") -> str:
    """A path with something in each of its places, and `value` in the place `but`."""
    for place, usual in FILL.items():
        path = path.replace(place, urlencode({"": value})[1:].replace("+", "%20") if place == but else usual)
    assert "{" not in path
    return path


def asked(path: str) -> Iterator[tuple[str, str]]:
    """Every address of a path with one odd value in it, and what that is."""
    for what, value in ODD.items():
        for place in re.findall(r"\{[^}]*\}", path):
            yield what, filled(path, place, value)
        for name in QUESTIONS.get(path, ()):
            yield what, f"{filled(path)}?{urlencode({name: value})}"


@pytest.mark.parametrize("path", sorted(set(routes("GET"))))
def test_odd_values_in_addresses(pages: Client, path: str) -> None:
    """An answer, a refusal, or nothing there."""
    for what, address in asked(path):
        answer = pages.get(address, follow_redirects=False)
        assert answer.status_code < 500, (what, address[:80])
        assert "Traceback" not in answer.text


def forms(client: Client) -> dict[str, dict[str, str]]:
    """For each path that takes forms, the fields that any of our pages has for it, with a value."""
    found = {path: dict(fields) for path, fields in ELSEWHERE.items()}
    waiting = {path: re.compile(re.sub(r"\\\{[^}]*\\\}", "[^/]+", re.escape(path)) + "$") for path in routes("POST")}
    for page in WITH_FORMS:
        for form in Document(client.get(page).text).forms:
            for action in (form.action, *form.elsewhere) if form.method == "post" else ():
                path = next(one for one, pattern in waiting.items() if pattern.match(urlsplit(action).path))
                known = found.setdefault(path, {})
                known |= {name: value for name, value in form.fields.items() if value or name not in known}
    return found


def test_odd_values_in_every_field_of_every_form(
    browser: Browser, archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Carried out or refused, never a fault of the program; and the archive is read as before."""
    monkeypatch.chdir(tmp_path)  # a folder for copies that is named without a path is made where the program runs
    every = forms(browser.client)
    files = {path for path in every if path in LARGE}
    assert set(every) == set(routes("POST"))
    sent = 0
    for path in sorted(set(every) - files):
        fields = {name: value for name, value in every[path].items() if name != "token"}
        for what, value in ODD.items():
            places = [(place, None) for place in re.findall(r"\{[^}]*\}", path)] + [(None, name) for name in fields]
            for place, name in places:
                body = urlencode({"token": browser.token(), **fields, **({name: value} if name else {})})
                answer = browser.client.post(
                    filled(path, place or "", value), content=body, follow_redirects=False,
                    headers={"content-type": "application/x-www-form-urlencoded"},
                )  # fmt: skip
                assert answer.status_code < 500, (path, place or name, what)
                assert "Traceback" not in answer.text
                sent += 1
    assert sent > 1000
    for page in WITH_FORMS:
        browser.client.get(page)


@pytest.mark.parametrize("action", ["order", "rename", "nest", "in-order"])
def test_a_box_of_a_number_that_no_database_holds(browser: Browser, archive: Archive, action: str) -> None:
    """Said to be missing in one line, as any other number that is no box's."""
    fields: dict[str, str | list[str]] = {"photograph": ["K00009"], "name": "Blue", "into": "Willow box"}
    for number in (2**63 - 1, 2**63, 10**40):
        assert "no" in browser.refused(f"/box/{number}/{action}", fields, archive)


MANY_WORDS = "%20".join(f"{letter}{number}" for number in range(60) for letter in "abcdefghijklmnopqrst")


@pytest.mark.parametrize(
    "address",
    [
        "/search?person=" + MANY_WORDS, "/search?ancestors=" + MANY_WORDS, "/search?q=" + MANY_WORDS,
        "/people?name=" + MANY_WORDS, "/person/" + MANY_WORDS[:1900], "/photograph/K00009/offers?letters=" + MANY_WORDS,
        "/photograph/K00009/offers?region=R" + "9" * 5000, "/photograph/K00009/offers?age=" + "9" * 5000,
        "/photograph/K00009?off=" + "&off=".join(["S1"] * 900), "/search?" + "person=I12&" * 900,
    ],
    ids=lambda address: address[:24],
)  # fmt: skip
def test_very_long_questions(pages: Client, address: str) -> None:
    """More words than a database looks for, more digits than Python reads: an answer for everybody."""
    access = Access(Credentials("secret", "a hash"), open_to_house=True)
    stranger = Client(make_app(pages.app.state.archive), base_url="http://127.0.0.1:5817")  # type: ignore[attr-defined]
    stranger.app.state.access = access  # type: ignore[attr-defined]
    for who in (pages, stranger):
        assert who.get(address, follow_redirects=False).status_code in (200, 303, 404, 422)


def test_questions_longer_than_any_page_asks(pages: Client) -> None:
    """They are not read."""
    assert pages.get("/search?q=" + "a" * 16_000).status_code == 414

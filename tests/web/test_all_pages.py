"""Every page of the sample: there, whole, and without anything that the browser would not run or another could misuse.

The directives are those of Content Security Policy Level 3 (W3C): with `script-src 'self'` and `style-src 'self'` no
script, handler or style that stands in the page itself is taken, so none may stand there.
"""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.routing import Route
from typer.main import get_command

import kinphoto
from kinphoto.cli.main import app
from kinphoto.web.app import PAGES
from kinphoto.web.guard import HEADERS
from kinphoto.web.pages.stories import RECORDING

from .client import Client
from .conftest import Browser
from .crawling import Crawl, crawl

ROOT = Path(kinphoto.__file__).parent
COMMAND = re.compile(rf"kinphoto ({'|'.join(get_command(app).commands)})\b")  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def everything(pages: Client) -> Crawl:
    """All that can be reached from the first page."""
    return crawl(pages)


def test_no_link_leads_nowhere(everything: Crawl) -> None:
    """Every page, picture and file that a page links to is there; and all kinds of pages were met."""
    assert {a: (s, everything.linked_from[a]) for a, s in everything.status.items() if s != 200} == {}
    kinds = {urlsplit(address).path.split("/")[1] for address in everything.pages}
    assert kinds >= {
        "",
        "boxes",
        "box",
        "photograph",
        "people",
        "person",
        "search",
        "conflicts",
        "informants",
        "log",
        "bring-in",
    }
    assert len(everything.pages) > 200
    for address, document in everything.documents.items():
        inside = [link[1:] for link in document.addresses("href") if link.startswith("#") and len(link) > 1]
        assert set(inside) <= document.ids, address


def test_nothing_in_a_page_is_run(everything: Crawl) -> None:
    """No script or style in the page, no handler, no address that is a script, nothing from elsewhere."""
    for address, document in everything.documents.items():
        assert not any(words.strip() for words in document.scripts), address
        for tag, attributes in document.tags:
            assert tag not in ("style", "iframe", "object", "embed", "base"), address
            assert "style" not in attributes, (address, tag)
            assert not any(name.startswith("on") for name in attributes), (address, tag)
            assert tag != "script" or attributes["src"].startswith("/static/"), address
        for link in document.addresses("href", "src", "action", "formaction"):
            assert link.startswith(("/", "?", "#")), (address, link)
            assert not link.startswith("//"), (address, link)


HEAVIEST = 60_000
"""Bytes of scripts that a page may load before anybody does anything."""


def loaded(names: set[str]) -> set[str]:
    """These scripts with those that they import at once."""
    every = set(names)
    for name in names:
        text = (ROOT / "web" / "static" / name).read_text(encoding="utf-8")
        every |= loaded(set(re.findall(r'^import .* from "\./(\S+)";$', text, re.MULTILINE)))
    return every


def test_the_scripts_of_a_page_are_light(everything: Crawl) -> None:
    """Of any page, with what its scripts import; what only somebody who looks needs is loaded when they do."""
    for address, document in everything.documents.items():
        names = {given["src"].rpartition("/")[2] for tag, given in document.tags if tag == "script"}
        weight = sum((ROOT / "web" / "static" / name).stat().st_size for name in loaded(names))
        assert weight <= HEAVIEST, (address, weight)
    assert "gestures.js" in loaded({"looking.js"})


def test_no_page_names_a_command(everything: Crawl) -> None:
    """Nobody who sits before the pages is sent to a command line: not by a page, nor by what a script says."""
    for address, text in everything.pages.items():
        found = COMMAND.search(re.sub(r"<[^>]*>", "", text))
        assert found is None, (address, found and found[0])
    for path in (ROOT / "web").rglob("*"):
        if path.suffix in (".html", ".js", ".svg"):
            assert not COMMAND.search(path.read_text(encoding="utf-8")), path.name


def test_every_form_has_its_token_and_leads_to_a_page(everything: Crawl) -> None:
    """Forms that change something are posts with the token, and a route waits for each; the others only ask."""
    routes = [route for module in PAGES for route in module.routes if isinstance(route, Route)]
    for address, document in everything.documents.items():
        for form in document.forms:
            method = {"post": "POST", "get": "GET"}[form.method]
            assert ("token" in form.fields) == (method == "POST"), (address, form.action)
            for action in (form.action, *form.elsewhere):
                waiting = [
                    r for r in routes if method in (r.methods or ()) and r.path_regex.match(urlsplit(action).path)
                ]
                assert waiting, (address, action)


def test_every_answer_has_the_headers(everything: Crawl) -> None:
    """Pages, pictures and files: each says what the browser may do, and pages are not kept by it. Only the page that
    records a story may do more: what that is, `test_stories` says."""
    for address, headers in everything.headers.items():
        may_record = urlsplit(address).path == "/stories"
        for name, value in (HEADERS | RECORDING if may_record else HEADERS).items():
            assert headers[name.lower()] == value, (address, name)
        assert "server" not in headers
        if address in everything.pages:
            assert headers["cache-control"] == "no-store", address
        else:
            assert headers["cache-control"].partition(",")[0] in ("private", "public", "no-store"), address


ids = st.one_of(
    st.integers(-5, 10**25).map(str),
    st.sampled_from(["K00009", "I12", "X1", "R44", "A7", "S1", "9", "-", "C1"]),
    st.text(max_size=30),
)
fields = st.sampled_from(
    "person new region age stated_age role trust by why blind naming denied kind date text made relation other "
    "title place was_title container note scan turn face name born died who old photograph side statement number "
    "next password q from to box wanting start ancestors descendants letters seen off after before".split()
)  # fmt: skip
values = st.one_of(
    ids,
    st.text(max_size=60),
    st.binary(max_size=20),
    st.sampled_from(["1", "before", "process albumen", "taken", "1924", "ABT 1924", "30", "0.1,0.1,0.2,0.2"]),
)
filled = st.lists(st.tuples(fields, values), max_size=8)


@pytest.fixture(scope="module")
def asking(pages: Client) -> Browser:
    """Who asks and sends all of these."""
    return Browser(pages)


def addresses() -> list[tuple[str, str]]:
    """Every route with each of its methods."""
    routes = [route for module in PAGES for route in module.routes if isinstance(route, Route)]
    return sorted((method, route.path) for route in routes for method in route.methods or () if method != "HEAD")


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(where=st.sampled_from(addresses()), numbers=st.lists(ids, min_size=4, max_size=4), asked=filled, sent=filled)
def test_whatever_is_asked_and_sent_nothing_breaks(
    asking: Browser,
    where: tuple[str, str],
    numbers: list[str],
    asked: list[tuple[str, str]],
    sent: list[tuple[str, str]],
) -> None:
    """Random numbers and words in every address and form: an answer or a refusal, never a fault of the program."""
    from re import sub
    from urllib.parse import quote, urlencode

    method, path = where
    given_numbers = iter(numbers)
    path = sub(r"\{[^}]*\}", lambda _: quote(next(given_numbers), safe="", errors="surrogatepass") or "0", path)
    url = f"{path}?{urlencode(asked, errors='surrogatepass')}"
    if method == "GET":
        answer = asking.client.get(url, follow_redirects=False)
    else:
        body = urlencode([*sent, ("token", asking.token())], errors="surrogatepass")
        kind = {"content-type": "application/x-www-form-urlencoded"}
        answer = asking.client.post(url, content=body, headers=kind, follow_redirects=False)
    assert answer.status_code < 500
    assert "Traceback" not in answer.text

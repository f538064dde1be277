"""Strangers are kept out: other names, other pages, other people's scripts.

The attacks are those of the OWASP Cheat Sheets (cross-site request forgery, DNS rebinding) and the directives those of
Content Security Policy Level 3 (W3C); both from memory.
"""

from __future__ import annotations

import pytest

from kinphoto.archive import Archive
from kinphoto.web.guard import LARGEST_FORM

from .client import Client
from .conftest import Browser


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "", "localhost.evil.example:5817", "10.0.0.1"]
)
def test_a_foreign_name_that_points_here_is_refused(client: Client, host: str) -> None:
    """A page under another name that was pointed at this machine (DNS rebinding) gets nothing."""
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:5817", "localhost:5817", "[::1]:5817", "LOCALHOST"])
def test_the_names_of_this_machine_are_served(client: Client, host: str) -> None:
    """The three names of this machine are ours."""
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "https://127.0.0.1:5817"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_post_from_another_page_changes_nothing(browser: Browser, archive: Archive, headers: dict[str, str]) -> None:
    """What the browser says comes from elsewhere is refused, even with a token that holds."""
    before = archive.statements.revision()
    answer = browser.post("/undo", {}, headers=headers)
    assert answer.status_code == 403
    assert archive.statements.revision() == before


@pytest.mark.parametrize("token", ["", "0" * 64, "é"])
def test_a_post_without_the_token_of_a_page_changes_nothing(browser: Browser, archive: Archive, token: str) -> None:
    """A form that did not stand on one of our pages is refused."""
    before = archive.statements.revision()
    browser.token()
    answer = browser.client.post("/undo", data={"token": token}, follow_redirects=False)
    assert answer.status_code == 403
    assert archive.statements.revision() == before


def test_the_token_of_another_visit_does_not_hold(browser: Browser, client: Client, archive: Archive) -> None:
    """Each visit has its own token."""
    stolen = browser.token()
    client.cookies.clear()
    browser.token()
    before = archive.statements.revision()
    assert client.post("/undo", data={"token": stolen}).status_code == 403
    assert archive.statements.revision() == before


def test_a_form_of_ours_is_carried_out(browser: Browser, archive: Archive) -> None:
    """With the token, from our own page, the same post is done: the tests above fail for the right reason."""
    before = archive.statements.revision()
    ours = {"origin": "http://127.0.0.1:5817", "sec-fetch-site": "same-origin"}
    answer = browser.post("/undo", {"sure": "1"}, headers=ours)
    assert answer.status_code == 303
    assert archive.statements.revision() != before


@pytest.mark.parametrize("announced", [True, False])
def test_a_form_is_bounded_whether_or_not_its_size_is_announced(browser: Browser, announced: bool) -> None:
    """More than a form can hold is refused before it is taken apart."""
    body = b"x=" + b"y" * (LARGEST_FORM + 1)
    pieces = body if announced else iter([body])
    headers = {"content-type": "application/x-www-form-urlencoded"}
    assert browser.client.post("/undo", content=pieces, headers=headers).status_code == 413


def test_no_other_method_is_taken(client: Client) -> None:
    """These pages can only be read and sent forms."""
    assert {client.request(method, "/").status_code for method in ("PUT", "DELETE", "PATCH", "TRACE")} == {405}


@pytest.mark.parametrize("path", ["/", "/boxes", "/people", "/search?q=ada", "/nothing", "/static/x/page.js"])
def test_every_answer_says_what_the_browser_may_do(client: Client, path: str) -> None:
    """No inline script, no other host, no frame: on pages, files and refusals alike."""
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "path", ["/static/x/..%2fapp.py", "/static/x/%2e%2e/app.py", "/static/x//etc/passwd", "/static/x/nothing.js"]
)
def test_no_path_from_outside_reaches_the_disk(client: Client, path: str) -> None:
    """Only the files that came with the program are served, by their names."""
    assert client.get(path).status_code == 404


@pytest.mark.parametrize(
    "elsewhere", ["http://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_a_form_never_leads_to_another_site(browser: Browser, elsewhere: str) -> None:
    """Where a form asks to go afterwards has to be one of our own pages."""
    answer = browser.post("/undo", {"next": elsewhere, "sure": "1"})
    assert answer.headers["location"] == "/log"

"""What could not be saved: the page shows the form again with what was typed, says why beside the field it is about,
suggests, leads on to more than one page, and names no command of the command line."""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.main import get_command

from kinphoto.archive import Archive
from kinphoto.cli.main import app
from kinphoto.errors import AmbiguousError, InvalidValueError, UnclearDateError
from kinphoto.web.refusal import about, suggestions
from kinphoto.web.remedies import PLACES, on_pages

from .conftest import Browser
from .crawling import Document

ROOT = Path(__file__).parents[2] / "kinphoto"
COMMANDS = sorted(get_command(app).commands)  # type: ignore[attr-defined]
COMMAND = re.compile(rf"kinphoto ({'|'.join(COMMANDS)})\b")


def refused(browser: Browser, path: str, fields: dict[str, str | list[str]]) -> str:
    """The page that answers a form which cannot be carried out."""
    answer = browser.post(path, fields)
    assert 400 <= answer.status_code < 500
    return answer.text


def test_what_was_typed_stands_in_the_form_again(browser: Browser) -> None:
    """Every field, also those one does not see; the one that is meant is marked, and sending it corrected works."""
    fields: dict[str, str | list[str]] = {
        "person": "I75", "age": "soon", "region": "0.1,0.1,0.2,0.2", "by": "Aunt <Edda>", "naming": "1",
    }  # fmt: skip
    page = refused(browser, "/photograph/K00014/name", fields)
    form = next(one for one in Document(page).forms if one.action == "/photograph/K00014/name")
    assert {name: html.unescape(form.fields[name]) for name in fields} == fields
    assert re.search(r'<input name="age" value="soon" aria-invalid="true"', page)
    assert page.count("aria-invalid") == 1
    corrected = {name: value for name, value in form.fields.items() if name != "token"} | {"age": "30"}
    assert browser.post("/photograph/K00014/name", corrected).status_code == 303


def test_every_refusal_leads_on(browser: Browser) -> None:
    """Back to the page one came from, and to the pages where one can look; also from an address that is not there."""
    answer = browser.post(
        "/photograph/K00009/say",
        {"kind": "taken", "date": "one day"},
        headers={"referer": "http://127.0.0.1:5817/photograph/K00009"},
    )
    for page in (answer.text, browser.client.get("/person/I9999").text, browser.client.get("/nowhere").text):
        onward = page.partition('class="turns onward"')[2]
        assert {"/", "/boxes", "/people", "/search"} <= set(Document(onward).addresses("href"))
    assert 'href="/photograph/K00009">Back to where you were' in answer.text


@pytest.mark.parametrize("elsewhere", ["http://evil.example/x", "http://127.0.0.1:5817//evil.example", "javascript:0"])
def test_it_leads_back_to_our_own_pages_only(browser: Browser, elsewhere: str) -> None:
    """Whatever the browser says it came from."""
    fields: dict[str, str | list[str]] = {"kind": "taken", "date": "one day"}
    answer = browser.post("/photograph/K00009/say", fields, headers={"referer": elsewhere})
    assert "evil" not in answer.text
    assert "Back to where you were" not in answer.text


def test_namesakes_and_unclear_dates_are_suggested(browser: Browser, archive: Archive) -> None:
    """Each as a button that sends the form with it; pressing one saves what was meant."""
    fields: dict[str, str | list[str]] = {"person": "Lambert Quillern", "region": "0.1,0.1,0.2,0.2"}
    page = html.unescape(refused(browser, "/photograph/K00014/name", fields))
    offered = re.findall(r'<button name="person" value="(\w+)" data-suggests>([^<]+)<', page)
    assert len(offered) > 1
    assert all("Lambert Quillern" in words for _, words in offered)
    assert browser.post("/photograph/K00014/name", {**fields, "person": offered[0][0]}).status_code == 303
    unclear: dict[str, str | list[str]] = {"kind": "taken", "date": "12/8/1900"}
    page = html.unescape(refused(browser, "/photograph/K00009/say", unclear))
    meant = re.findall(r'<button name="date" value="([^"]+)" data-suggests>', page)
    assert meant == ["12 August 1900", "8 December 1900"] or len(meant) == 2
    assert browser.post("/photograph/K00009/say", {**unclear, "date": meant[0]}).status_code == 303


def test_which_field_an_error_is_about() -> None:
    """The one whose words it quotes; where it quotes none, the one its words name, an empty one first."""
    typed = {"age": "soon", "by": "so"}
    assert about(typed, InvalidValueError("'soon' is not an age")) == "age"
    assert about({"age": "", "date": "1900"}, InvalidValueError("no age was typed")) == "age"
    assert about({"by": "", "name": "x"}, InvalidValueError("the disk is full")) == ""
    assert suggestions(InvalidValueError("x")) == ()
    assert [s.value for s in suggestions(AmbiguousError("x", ["Ada Marsh (1850–1920), I12", "and 3 more"]))] == ["I12"]
    unclear = UnclearDateError("12/8/1900", ["12 August 1900", "8 December 1900"], remedy="")
    assert [s.value for s in suggestions(unclear)] == ["12 August 1900", "8 December 1900"]


def sentences() -> Iterator[tuple[str, str]]:
    """Every text below the pages that names a command, with where it stands; what is filled in as a code."""
    for path in sorted(ROOT.rglob("*.py")):
        if "cli" in path.parts or path.name == "remedies.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.JoinedStr):
                parts = (str(v.value) if isinstance(v, ast.Constant) else "K00012" for v in node.values)
                text = "".join(parts)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                text = node.value
            else:
                continue
            if COMMAND.search(text) and "\n" not in text:
                yield path.name, text


def test_no_advice_of_the_archive_names_a_command_on_a_page() -> None:
    """Each remedy and each line of advice, as it stands in the code: a place in the pages stands for the command."""
    found = list(sentences())
    assert len(found) > 80
    for where, text in found:
        assert not COMMAND.search(str(on_pages(text))), (where, text)


def test_every_command_has_a_place() -> None:
    """None is left out, and the addresses are those of pages."""
    assert {name.split()[0] for name in PLACES} == set(COMMANDS)
    assert on_pages("To see them all: kinphoto log.") == 'To see them all: <a href="/log">History</a>.'
    assert on_pages("To see them all: kinphoto log.", "/log") == "To see them all: see below."
    assert on_pages("`kinphoto log` lists <them>.") == '<a href="/log">History</a> lists &lt;them&gt;.'
    assert on_pages("kinphoto cannot read this.") == "kinphoto cannot read this."


def test_the_places_are_there(browser: Browser) -> None:
    """Every address of the table is a page."""
    for address in sorted({address for _, address in PLACES.values() if address}):
        assert browser.client.get(address).status_code == 200, address

"""Forms that cannot be carried out: one clear line, nothing is changed, and what was typed comes back escaped.

What is sent is what a person can mistype, what a script can send, and the strings that testers send first (markup, NUL,
lone surrogates as in RFC 3629, marks that turn the direction of text, very long ones); from memory.
"""

from __future__ import annotations

from urllib.parse import urlencode

import pytest

from kinphoto.archive import Archive

from .conftest import Browser

MARKUP = "<script>alert(1)</script>"
LONG = "x" * 60_000
HERE = "/photograph/K00009"

REFUSED: list[tuple[str, dict[str, str | list[str]]]] = [
    (f"{HERE}/name", {}),
    (f"{HERE}/name", {"person": "Nobody Ofthisname"}),
    (f"{HERE}/name", {"person": MARKUP}),
    (f"{HERE}/name", {"person": "Quillern"}),
    (f"{HERE}/name", {"person": "Ada\0Marsh"}),
    (f"{HERE}/name", {"person": "I12", "age": "soon"}),
    (f"{HERE}/name", {"person": "I12", "age": "400"}),
    (f"{HERE}/name", {"person": "I12", "age": "-3"}),
    (f"{HERE}/name", {"person": "I12", "age": MARKUP}),
    (f"{HERE}/name", {"person": "I12", "region": "here"}),
    (f"{HERE}/name", {"person": "I12", "region": "nan,nan,nan,nan"}),
    (f"{HERE}/name", {"person": "I12", "region": "0,0,1e400,1"}),
    (f"{HERE}/name", {"person": "I12", "region": "R999999999999999999999999"}),
    (f"{HERE}/name", {"person": "I12", "region": "A0"}),
    (f"{HERE}/name", {"person": "I12", "role": "king"}),
    (f"{HERE}/name", {"person": "I12", "trust": "blind"}),
    (f"{HERE}/name", {"person": "-", "denied": "1", "region": "R44"}),
    (f"{HERE}/name", {"new": "Mrs Holm", "age": "soon"}),
    (f"{HERE}/name", {"new": "Mrs Holm", "region": "here"}),
    (f"{HERE}/name", {"new": " / "}),
    (f"{HERE}/name", {"new": "M" * 1001}),
    (f"{HERE}/name", {"person": "I12", "by": "B" * 1001}),
    ("/photograph/K99999/name", {"person": "I12"}),
    (f"/photograph/{MARKUP}/name".replace("/script", "%2Fscript"), {"person": "I12"}),
    (f"{HERE}/frame", {}),
    (f"{HERE}/frame", {"face": "R99999", "region": "0.1,0.1,0.1,0.1"}),
    (f"{HERE}/frame", {"face": "R44", "region": "2,2,2,2"}),
    (f"{HERE}/frame", {"face": MARKUP, "region": "0.1,0.1,0.1,0.1"}),
    (f"{HERE}/say", {}),
    (f"{HERE}/say", {"kind": "taken"}),
    (f"{HERE}/say", {"kind": "taken", "date": "one day"}),
    (f"{HERE}/say", {"kind": "taken", "date": "99999999999"}),
    (f"{HERE}/say", {"kind": "taken", "date": MARKUP}),
    (f"{HERE}/say", {"kind": MARKUP, "date": "1924"}),
    (f"{HERE}/say", {"kind": "event", "date": "F999:MARR"}),
    (f"{HERE}/say", {"kind": "inscription", "text": "a\0b"}),
    (f"{HERE}/say", {"kind": "inscription", "text": LONG}),
    (f"{HERE}/made", {}),
    (f"{HERE}/made", {"made": "process magic"}),
    (f"{HERE}/made", {"made": MARKUP}),
    (f"{HERE}/relate", {}),
    (f"{HERE}/relate", {"relation": "copy-of", "other": "K99999"}),
    (f"{HERE}/relate", {"relation": "copy-of", "other": "K00009"}),
    (f"{HERE}/relate", {"relation": MARKUP, "other": "K00008"}),
    (f"{HERE}/describe", {"title": "T" * 1001}),
    (f"{HERE}/describe", {"title": "a\x1bb"}),
    (f"{HERE}/turn", {}),
    (f"{HERE}/turn", {"scan": "1", "turn": "left"}),
    (f"{HERE}/turn", {"scan": "x", "turn": "left"}),
    (f"{HERE}/turn", {"scan": "9" * 5000, "turn": "left"}),
    (f"{HERE}/turn", {"scan": "²", "turn": "left"}),
    (f"{HERE}/part", {"scan": "-1"}),
    (f"{HERE}/part", {"scan": "999999999"}),
    (f"{HERE}/remove", {}),
    (f"{HERE}/remove", {"scan": "x"}),
    (f"{HERE}/remove", {"scan": "999999999"}),
    (f"{HERE}/replace", {}),
    (f"{HERE}/replace", {"better": "K00008"}),
    (f"{HERE}/replace", {"better": "K99999", "scan": "1"}),
    (f"{HERE}/replace", {"better": MARKUP}),
    ("/people", {}),
    ("/people", {"name": "///"}),
    ("/people", {"name": "Mrs Holm", "born": "soon"}),
    ("/people", {"name": "Mrs Holm", "born": "1950", "died": "1900"}),
    ("/people", {"name": "M" * 1001}),
    ("/people", {"name": MARKUP, "born": MARKUP}),
    ("/person/I12/same", {"who": "I13"}),
    ("/person/X1/same", {"who": "nobody of this name"}),
    ("/person/X1/same", {}),
    ("/person/X1/same", {"who": "Quillern"}),
    ("/proband", {"person": MARKUP}),
    ("/proband", {}),
    ("/informants", {}),
    ("/informants", {"name": "Aunt Edda", "person": MARKUP}),
    ("/informants/rename", {}),
    ("/informants/rename", {"old": "Nobody", "new": "Somebody"}),
    ("/informants/rename", {"old": "Judith Quillern", "new": "  "}),
    ("/several/join", {}),
    ("/several/join", {"photograph": ["K00017"]}),
    ("/several/join", {"photograph": ["K00017", "K99999"]}),
    ("/several/move", {"photograph": ["K00017"]}),
    ("/several/move", {"container": "Blue album"}),
    ("/several/move", {"photograph": ["K00017", "K99999"], "container": "Another"}),
    ("/several/together", {"photograph": ["K00017", "K00018", "K99999"], "relation": "before"}),
    ("/several/together", {"photograph": ["K00017", "K00017"], "relation": "before"}),
    ("/several/together", {"photograph": ["K00017", "K00018"], "relation": MARKUP}),
    ("/several/describe", {"photograph": ["K00017", "K99999"], "place": "Skerry"}),
    ("/several/describe", {"photograph": ["K00017"]}),
    ("/several/describe", {"place": "Skerry"}),
    ("/box/9/rename", {"name": " "}),
    ("/box/0/rename", {"name": "Blue"}),
    ("/box/999999999999999999999/rename", {"name": "Blue"}),
    ("/conflicts/nothing/settle", {"statement": ["S1"]}),
    ("/conflicts/C1/settle", {}),
    ("/questions", {}),
    ("/questions", {"kind": "age"}),
    ("/questions", {"kind": "age", "photograph": "K00016", "person": "I12"}),
    ("/questions", {"kind": "age", "photograph": "K00016", "person": "I12", "age": MARKUP}),
    ("/questions", {"kind": "age", "photograph": "K99999", "person": "I12", "age": "30"}),
    ("/questions", {"kind": "date", "photograph": "K00016", "date": "soon"}),
    ("/questions", {"kind": "date", "photograph": "K00016"}),
    ("/questions", {"kind": "order", "photograph": ["K00016", "K00017"]}),
    ("/questions", {"kind": "order", "photograph": ["K00016", "K00017"], "first": "K00018"}),
    ("/questions", {"kind": "order", "photograph": "K00016", "first": "K00016"}),
    ("/questions", {"kind": "who", "photograph": "K00016", "person": "nobody of this name", "region": "A55"}),
    ("/questions", {"kind": "who", "photograph": "K00016", "region": "A55"}),
    ("/questions", {"kind": "birth", "photograph": "K00016"}),
    ("/questions", {"kind": MARKUP, "photograph": "K00016"}),
    ("/withdraw", {}),
    ("/withdraw", {"statement": MARKUP}),
    ("/withdraw", {"statement": "S99999999999999999999999"}),
    ("/reinstate", {"statement": "E0"}),
    ("/undo", {"number": "the last"}),
    ("/undo", {"number": "9" * 5000}),
    ("/undo", {"number": "999999"}),
    ("/undo", {"number": "0"}),
    ("/undo", {"number": "²"}),
]  # fmt: skip


def test_what_cannot_be_done_is_refused_in_one_line_and_changes_nothing(browser: Browser, archive: Archive) -> None:
    """Each form with what it cannot mean; the refusals are told apart by what was sent."""
    for path, fields in REFUSED:
        said = browser.refused(path, fields, archive)
        assert len(said) < 5_000, (path, fields)


def test_nobody_is_put_down_for_a_name_that_could_not_be_placed(browser: Browser, archive: Archive) -> None:
    """Somebody new on a face that is none: neither the name nor the person stays."""
    before = len(archive.people.find().people)
    browser.refused(f"{HERE}/name", {"new": "Mrs Holm", "region": "here"}, archive)
    assert len(archive.people.find().people) == before


@pytest.mark.parametrize("field", ["person", "by", "why", "region"])
def test_bytes_that_are_no_text(browser: Browser, archive: Archive, field: str) -> None:
    """A lone surrogate and broken UTF-8 in a form are read as replacement characters; a name of them is nobody's."""
    body = urlencode({"token": browser.token(), "person": "nobody so called"}) + f"&{field}=%ED%A0%80%FF"
    headers = {"content-type": "application/x-www-form-urlencoded"}
    before = archive.statements.history(1)
    answer = browser.client.post(f"{HERE}/name", content=body, headers=headers)
    assert 400 <= answer.status_code < 500
    assert archive.statements.history(1) == before


@pytest.mark.parametrize(
    "words",
    [
        MARKUP,
        '"><img src=x onerror=alert(1)>',
        "{{ 7 * 7 }}",
        "שלום \u202eabc\u202c",
        "ナ\u200f",
        "'; drop table person; --",
    ],
)
def test_words_are_kept_as_they_are_and_shown_escaped(browser: Browser, archive: Archive, words: str) -> None:
    """Whatever stands on a back can be put down as title, words, informant and somebody's name, and harms no page."""
    was = archive.photographs.details("K00009").title
    browser.done(f"{HERE}/describe", {"title": words, "was_title": was}, HERE)
    browser.done(f"{HERE}/say", {"kind": "inscription", "text": words, "by": words}, HERE)
    answer = browser.post(f"{HERE}/name", {"new": words, "by": words})
    assert answer.status_code == 303
    assert archive.photographs.details("K00009").title == words
    assert words in [mark.words for mark in archive.photographs.details("K00009").marks]
    for path in (HERE, "/people", "/log", "/informants", "/boxes", f"/search?{urlencode({'q': words})}"):
        text = browser.get(path)
        for harm in ("<script>alert", "<img src=x", "{{ 7 * 7 }}</title>49"):
            assert harm not in text, path


def test_who_is_written_down_for_is_remembered_in_any_letters(browser: Browser) -> None:
    """The name of an informant in other letters comes back in the field of the next face (RFC 6265: a cookie holds
    ASCII only)."""
    browser.done(f"{HERE}/name", {"person": "I12", "by": 'Łucja; Żółć, "Ü" 祖母'}, HERE)
    assert 'value="Łucja; Żółć, &#34;Ü&#34; 祖母"' in browser.get(HERE)


@pytest.mark.parametrize("next_", ["//[", "/a\nb", "/\t/evil.example", "http://[::1", "\\\\evil"])
def test_an_address_that_is_none_leads_home(browser: Browser, next_: str) -> None:
    """What cannot be read as an address is not followed and does no harm."""
    asked = browser.post("/undo", {"next": next_})
    assert 'href="/log">Leave it as it is' in asked.text
    answer = browser.post("/undo", {"next": next_, "sure": "1"})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/log"


ODD = [
    "/box/999999999999999999999", "/box/0?start=-1", "/box/9?start=99999999999", "/box/9?start=²", "/box/9?wanting=x",
    f"/box/{'9' * 5000}", "/box/-1", "/log?before=" + str(9**30), "/log?before=-1", "/log?before=²",
    "/log?before=" + "9" * 5000, "/search?q=" + "x" * 5000, "/search?start=-1&q=a", "/search?from=0&to=99999",
    "/search?from=-5", "/search?box=99999999", "/search?box=" + "9" * 400, "/search?person=nobody",
    "/search?wanting=x", "/search?q=%00", "/search?q=%ED%A0%80", "/search?q=%22*%22", "/search?q=NEAR(a%20b)",
    "/search?ancestors=%00", "/search?descendants=I99999", "/search?" + "person=I12&" * 300, "/people?name=%00",
    "/people?name=%25", "/people?name=" + "a" * 5000, "/person/%00", "/person/I99999999999999999999",
    "/person/%3Cscript%3E", "/person/" + "x" * 1900, "/photograph/%00", "/photograph/K" + "9" * 300, "/photograph/..",
    "/photograph/%2e%2e%2f%2e%2e", "/photograph/K00009?scan=x", "/photograph/K00009?scan=" + "9" * 5000,
    "/photograph/K00009?face=x&naming=1", "/photograph/K00009?off=x&off=S1&off=%00",
    "/photograph/K00009/offers?letters=%00&age=x", "/photograph/K00009/offers?age=" + "9" * 500,
    "/photograph/K00009/offers?region=1,2", "/photograph/K00009/offers?letters=" + "a%20" * 1000,
    "/photograph/K99999/offers", "/pulse?after=%00", "/conflicts?x=%FF", "/face/999999999999999999999999.jpg",
    "/scan/" + "9" * 1000 + "/small.jpg", "/static/%00/%00", "/sign-in?next=//evil.example", "/bring-in/progress?x",
    "/%ff%fe", "//", "/..%2f..%2fetc/passwd",
]  # fmt: skip


def test_addresses_nobody_links_to(browser: Browser) -> None:
    """Numbers out of range, letters for numbers, bytes that are no text: an answer, a refusal or nothing there."""
    for path in ODD:
        answer = browser.client.get(path, follow_redirects=False)
        assert answer.status_code in (200, 204, 303, 400, 404, 409, 414, 422), (path[:80], answer.status_code)
        assert "Traceback" not in answer.text
        assert "<script>" not in answer.text

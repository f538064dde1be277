"""The evening's questions: read aloud, answered where they stand, passed over; and whom unnamed faces could be."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from urllib.parse import parse_qs, urlsplit

from kinphoto.archive import Archive
from kinphoto.archive.asking.questions import AskedQuestion

from .conftest import Browser

JUDITH = "/questions?of=Judith+Quillern"


def cards(page: str) -> list[str]:
    """The questions on a page, in order."""
    return [html.unescape(text) for text in re.findall(r'<article class="card question".*?<h2>(.*?)</h2>', page, re.S)]


def as_shown(questions: Sequence[AskedQuestion]) -> list[str]:
    """Their words; beside the only photograph that one is about, "this photograph" stands for its code."""
    return [
        q.text.replace(f" ({q.photographs[0]})", "").replace(q.photographs[0], "this photograph")
        if len(q.photographs) == 1
        else q.text
        for q in questions
    ]


def first(archive: Archive, kind: str) -> AskedQuestion:
    """The best question of a kind."""
    return next(q for q in archive.asking.kept_questions().questions if q.kind == kind)


def fields(q: AskedQuestion, **more: str) -> dict[str, str | list[str]]:
    """What the form of a question sends."""
    given: dict[str, str | list[str]] = {"kind": q.kind, "photograph": list(q.photographs), "next": JUDITH, **more}
    return given | {"by": "Judith Quillern", "region": q.region or q.appearance or ""}


def test_the_most_telling_come_first(browser: Browser, archive: Archive) -> None:
    """The page shows the best questions of the list, for anybody or for one informant, in the same order."""
    assert cards(browser.get("/questions")) == as_shown(archive.asking.questions().questions[:8])
    assert cards(browser.get(JUDITH)) == as_shown(archive.asking.questions("Judith Quillern").questions[:8])
    assert "is no longer living" in browser.get("/questions", params={"of": "Nora Quillern"})


def test_no_date_leads_the_one_who_is_asked(browser: Browser, archive: Archive) -> None:
    """Neither an estimate nor the years of a life stand on the page, and beside an age no title."""
    page = browser.get("/questions")
    parts = re.findall(r'<article class="card question".*?</article>', page, re.S)
    shown = archive.asking.kept_questions().questions[: len(parts)]
    estimates = {d.code: d.estimate for d in archive.dates.estimates()}
    for q, part in zip(shown, parts, strict=True):
        text = re.sub(r"<[^>]*>", " ", part)
        assert all(f"{estimates[code].best}" not in text for code in q.photographs)
        assert not re.search(r"\b1[89]\d\d–|\bborn \d|inferred", text)
    ages = [
        (title, html.unescape(part))
        for q, part in zip(shown, parts, strict=True)
        if q.kind == "age" and (title := archive.photographs.details(q.photographs[0]).title)
    ]
    assert ages
    assert all(title not in part for title, part in ages)


def test_an_age_is_put_down_where_it_stands(browser: Browser, archive: Archive) -> None:
    """The age goes to the face by the informant, not blind, for the name was read; and the list moves on."""
    q = first(archive, "age")
    page = browser.done("/questions", fields(q, person=q.people[0], age="30"), onto=JUDITH)
    assert as_shown([q])[0] not in cards(page)
    names = [
        seat
        for face in archive.photographs.faces(q.photographs[0]).faces
        for seat in face.names
        if seat.person == q.people[0]
    ]
    assert [(a.low, a.high, a.blind, a.informant) for a in names[0].ages] == [(30, 30, False, "Judith Quillern")]


def test_a_remembered_year_is_put_down(browser: Browser, archive: Archive) -> None:
    """A date becomes a recollection, with the words in which it was told."""
    q = first(archive, "date")
    browser.done("/questions", fields(q, date="ABT 1931", text="the year of the flood"), onto=JUDITH)
    marks = archive.photographs.details(q.photographs[0]).marks
    assert any("1931" in str(mark) and "flood" in str(mark) for mark in marks)
    assert q.key not in {one.key for one in archive.asking.kept_questions().questions}


def test_which_was_first(browser: Browser, archive: Archive) -> None:
    """Either button puts down the order; the second one's photograph then comes before the first's."""
    q = first(archive, "order")
    browser.done("/questions", fields(q, first=q.photographs[1]), onto=JUDITH)
    assert f"{q.photographs[1]}" in archive.statements.history(1)[0].what
    assert q.key not in {one.key for one in archive.asking.kept_questions().questions}
    ties = [line for line in archive.dates.explanation(q.photographs[0]).parts if line.kind in ("before", "after")]
    assert any(f"{q.photographs[1]} was taken before {q.photographs[0]}" in part.text for part in ties)


def test_on_the_same_occasion(browser: Browser, archive: Archive) -> None:
    """Two of one day are said to be of one occasion."""
    q = first(archive, "order")
    browser.done("/questions", fields(q, first="both"), onto=JUDITH)
    assert "same occasion" in archive.statements.history(1)[0].what.replace("-", " ")


def test_who_it_is(browser: Browser, archive: Archive) -> None:
    """A name that is typed, or one of those suggested, goes on the face."""
    q = first(archive, "who")
    browser.done("/questions", fields(q, guess=q.people[0]), onto=JUDITH)
    named = {
        seat.person
        for face in archive.photographs.faces(q.photographs[0]).faces
        if face.region == q.region
        for seat in face.names
    }
    assert named == {q.people[0]}
    assert q.key not in {one.key for one in archive.asking.kept_questions().questions}


def test_what_nobody_knows_is_passed_over(browser: Browser) -> None:
    """ "Nobody here knows" leaves a question out for the evening, changes nothing, and can be taken back."""
    page = browser.get(JUDITH)
    onward = html.unescape(re.findall(r'<a href="([^"]*passed=[^"]*)">Nobody here knows', page)[0])
    assert parse_qs(urlsplit(onward).query)["of"] == ["Judith Quillern"]
    assert cards(browser.get(onward))[:7] == cards(page)[1:]
    assert "1 question skipped" in browser.get(onward)


def test_guesses_stand_beside_an_unnamed_face(browser: Browser, archive: Archive) -> None:
    """The five likeliest with their reasons, to be put down by a press, and said to be guesses."""
    page = browser.get("/photograph/K00014")
    (one,) = archive.asking.candidates("K00014", 5).unnamed
    part = re.findall(r'<details class="more guess">.*?</details>', page, re.S)
    assert len(part) == 1
    for s in one.suggestions:
        assert s.name in part[0]
        assert s.reasons[0] in html.unescape(part[0])
    assert "not evidence" in part[0]


def test_guesses_are_covered_with_the_date(browser: Browser) -> None:
    """While ages are asked first, nothing that rests on the date is shown."""
    assert "guess" not in browser.get("/photograph/K00014?naming=1")
    assert "more guess" in browser.get("/photograph/K00014?naming=1&seen=1")


def test_an_album_page_and_named_faces_have_none(browser: Browser) -> None:
    """Where everybody has a name nothing is guessed."""
    assert "more guess" not in browser.get("/photograph/K00001")
    assert "more guess" not in browser.get("/photograph/K00009")


def test_an_archive_without_anything_says_so(browser: Browser, archive: Archive) -> None:
    """An informant nobody has heard of is refused in one line."""
    assert browser.client.get("/questions?of=nobody").status_code == 404

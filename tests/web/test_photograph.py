"""One photograph's page: each form does what the command of the same meaning does, and nothing is lost that two people
do at once."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from building import INDEXED, archive_with, numbered_tin
from making import make_scans
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.store import tables as t
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser

HERE = "/photograph/K00009"


def names(archive: Archive) -> list[str]:
    """Who is on a face of the photograph."""
    return [seat.name for face in archive.photographs.faces("K00009").faces for seat in face.names]


def test_a_name_an_age_and_who_said_so(browser: Browser, archive: Archive) -> None:
    """As `kinphoto link` records it: the seat, the age, the informant; and the page shows all of it."""
    fields = {"person": "I12", "region": "0.01,0.02,0.05,0.06", "age": "30", "stated_age": "31", "by": "Aunt Edda",
              "role": "likeness", "trust": "weak", "why": "the hat"}  # fmt: skip
    text = browser.done(f"{HERE}/name", fields, HERE)
    face = next(f for f in archive.photographs.faces("K00009").faces if f.box[0] == pytest.approx(0.01))
    (seat,) = face.names
    assert (seat.person, seat.informant, str(seat.role), seat.trust, seat.why) == (
        "I12", "Aunt Edda", "likeness", "weak", "the hat",
    )  # fmt: skip
    assert sorted((age.low, str(age.basis), age.blind) for age in seat.ages) == [
        (30, "apparent", False), (31, "stated", False),
    ]  # fmt: skip
    assert seat.name in text
    assert "says Aunt Edda; the hat" in text


def test_somebody_new_is_one_change(browser: Browser, archive: Archive) -> None:
    """The newcomer and their name on the face come together and are taken back together."""
    browser.done(f"{HERE}/name", {"new": "Mrs Holm", "region": "0.01,0.02,0.05,0.06"}, HERE)
    assert "Mrs Holm" in names(archive)
    assert archive.people.find("Mrs Holm").people[0].outside
    archive.statements.undo()
    assert "Mrs Holm" not in names(archive)
    assert not archive.people.find("Mrs Holm").people or archive.people.find("Mrs Holm").similar


def test_a_face_is_moved(browser: Browser, archive: Archive) -> None:
    """As `kinphoto frame` does."""
    face = archive.photographs.faces("K00009").faces[0].region
    browser.done(f"{HERE}/frame", {"face": face, "region": "0.5,0.5,0.1,0.1"}, HERE)
    assert next(f.box for f in archive.photographs.faces("K00009").faces if f.region == face) == pytest.approx(
        (0.5, 0.5, 0.1, 0.1)
    )


def test_it_is_not_them(browser: Browser, archive: Archive) -> None:
    """Somebody says that it is not the one who is named: the name stays, contested."""
    face = archive.photographs.faces("K00009").faces[0]
    fields = {"person": face.names[0].person or "", "region": face.region, "denied": "1", "by": "Aunt Edda"}
    text = browser.done(f"{HERE}/name", fields, HERE)
    assert [d.informant for d in archive.photographs.faces("K00009").faces[0].denied] == ["Aunt Edda"]
    assert "somebody says it is not" in text


def test_words_dates_process_and_ties(browser: Browser, archive: Archive) -> None:
    """As `kinphoto state`, `process` and `relate` record them; the page is dated anew at once."""
    browser.done(f"{HERE}/say", {"kind": "inscription", "text": "At the ferry", "date": "ABT 1924", "by": "Edda"}, HERE)
    browser.done(f"{HERE}/made", {"made": "process gelatin-silver"}, HERE)
    text = browser.done(f"{HERE}/relate", {"relation": "same-occasion", "other": "K00008"}, HERE)
    marks = {(m.kind, m.words or m.other, m.date, m.informant) for m in archive.photographs.details("K00009").marks}
    assert ("inscription", "At the ferry", "about 1924", "Edda") in marks
    assert any(kind == "process" and "gelatin" in str(words).lower() for kind, words, _, _ in marks)
    assert any(m.kind == "same-occasion" and m.other == "K00008" for m in archive.photographs.details("K00009").marks)
    assert "At the ferry" in text
    with archive.reading() as connection:
        sound = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    assert sound == []


def test_a_scan_is_turned(browser: Browser, archive: Archive) -> None:
    """As `kinphoto scans turn` does: width and height change places, the file stays."""
    scan = archive.photographs.details("K00009").recto
    assert scan is not None
    browser.done(f"{HERE}/turn", {"scan": str(scan.id), "turn": "left"}, HERE)
    turned = archive.photographs.details("K00009").recto
    assert turned is not None
    assert (turned.width, turned.height) == (scan.height, scan.width)


def test_a_scan_becomes_a_photograph_of_its_own(browser: Browser, archive: Archive) -> None:
    """As `kinphoto scans part` does; only a scan of this photograph can be parted from it here."""
    code = next(d.code for d in archive.dates.estimates() if len(archive.photographs.details(d.code).scans) > 1)
    other = archive.photographs.details(code).scans[-1]
    answer = browser.post(f"/photograph/{code}/part", {"scan": str(other.id)})
    onto = answer.headers["location"].rpartition("/")[2]
    assert [scan.id for scan in archive.photographs.details(onto).scans] == [other.id]
    assert other.id not in [scan.id for scan in archive.photographs.details(code).scans]
    browser.refused(f"/photograph/{code}/part", {"scan": str(other.id)}, archive)


def test_a_photograph_is_removed_and_brought_back(browser: Browser, archive: Archive) -> None:
    """As `kinphoto remove` does: what goes with it is told and has to be ticked, and the log takes it back."""
    before = archive.photographs.details("K00009")
    assert "Also 4 names, " in browser.get(HERE)
    browser.refused(f"{HERE}/remove", {}, archive)
    text = browser.done(f"{HERE}/remove", {"with_statements": "1"}, "/log")
    assert "removed K00009 with 4 names" in text
    assert browser.client.get(HERE).status_code == 404
    browser.done("/undo", {}, "/log")
    again = archive.photographs.details("K00009")
    assert again.estimate is not None  # undoing dates it at once
    assert replace(again, estimate=None) == replace(before, estimate=None)


def test_one_scan_is_removed(browser: Browser, archive: Archive) -> None:
    """Only a scan of this photograph, and not the front that faces are framed on."""
    front, back = archive.photographs.details("K00009").scans
    browser.refused(f"{HERE}/remove", {"scan": str(front.id)}, archive)
    browser.refused(f"{HERE}/remove", {"scan": "999999"}, archive)
    browser.done(f"{HERE}/remove", {"scan": str(back.id)}, HERE)
    assert archive.photographs.details("K00009").scans == (front,)


def test_a_better_scan_is_used(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """Brought in first, named by its code; faces keep their places, and other proportions are said."""
    front = archive.photographs.details("K00009").recto
    assert front is not None
    faces = [face.box for face in archive.photographs.faces("K00009").faces]
    with Image.open(front.path) as picture:
        picture.resize((picture.width * 2, picture.height * 2)).save(tmp_path / "better.png")
        picture.resize((picture.width, picture.height * 2)).save(tmp_path / "narrow.png")
    archive.scans.add([tmp_path / "better.png", tmp_path / "narrow.png"])
    text = browser.done(f"{HERE}/replace", {"scan": str(front.id), "better": "better.png"}, HERE)
    assert "replaced by a better scan" in text
    assert "cropped differently" not in text
    shown = archive.photographs.details("K00009")
    assert [(Path(s.path).name, s.superseded) for s in shown.scans][:2] == [
        ("better.png", False), (Path(front.path).name, True)
    ]  # fmt: skip
    assert [face.box for face in archive.photographs.faces("K00009").faces] == faces
    better = shown.scans[0].id
    text = browser.done(f"{HERE}/replace", {"scan": str(better), "better": "narrow.png"}, HERE)
    assert "check that the frames still fit the faces" in text
    for wrong in ("", "K99999", "narrow.png"):
        browser.refused(f"{HERE}/replace", {"scan": str(better), "better": wrong}, archive)


def test_a_visitor_neither_removes_nor_replaces(stranger: Browser, archive: Archive) -> None:
    """Strangers of the house are sent to sign in, and nothing is changed; their pages have no such form."""
    before = archive.statements.history(1)
    for form in ("remove", "replace"):
        answer = stranger.post(f"{HERE}/{form}", {"with_statements": "1", "better": "K00008"})
        assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert archive.statements.history(1) == before
    assert "/remove" not in stranger.get(HERE)


def as_shown(archive: Archive) -> dict[str, str | list[str]]:
    """The fields of the object as a page shows them now, unchanged."""
    shown = archive.photographs.details("K00009")
    inside = shown.boxes[-1].name if shown.boxes else ""
    fields = {f: getattr(shown, f) for f in ("title", "place", "maker", "former_number", "rights", "note")}
    fields["container"] = inside
    return {**fields, **{f"was_{name}": value for name, value in fields.items()}}


def test_what_two_people_change_at_once_is_not_lost(browser: Browser, archive: Archive) -> None:
    """Both opened the page; one saves a title, the other a place and a title. The second is told, nothing of theirs is
    saved by halves, and what the first said stands. Another field of the same page goes through."""
    first, second, third = as_shown(archive), as_shown(archive), as_shown(archive)
    browser.done(f"{HERE}/describe", {**first, "title": "The ferry"}, HERE)
    said = browser.refused(f"{HERE}/describe", {**second, "title": "A boat", "place": "Skerry"}, archive)
    assert "somebody else has just changed the title of K00009 to “The ferry”" in said[0].lower() + said[1:]
    assert "A boat" in said
    shown = archive.photographs.details("K00009")
    assert (shown.title, shown.place) == ("The ferry", first["place"])
    browser.done(f"{HERE}/describe", {**third, "place": "Skerry"}, HERE)
    shown = archive.photographs.details("K00009")
    assert (shown.title, shown.place) == ("The ferry", "Skerry")


def test_saving_what_stands_there_changes_nothing(browser: Browser, archive: Archive) -> None:
    """No line of the log for a form that was sent as it came; long words from elsewhere may come back, too."""
    archive.photographs.describe("K00009", Description(title="T" * 3000))
    before = archive.statements.history(1)
    browser.done(f"{HERE}/describe", as_shown(archive), HERE)
    assert archive.statements.history(1) == before
    browser.done(f"{HERE}/describe", {**as_shown(archive), "place": "Skerry"}, HERE)
    assert archive.photographs.details("K00009").place == "Skerry"


def test_statements_are_switched_off_for_a_look_only(browser: Browser, archive: Archive) -> None:
    """The page tells what it would be without it, and nothing is changed."""
    before = archive.statements.revision()
    bar = archive.dates.evidence_strip("K00009").bars[0]
    text = browser.get(f"{HERE}?off={bar.id}")
    assert "1 statement is switched off to see the difference" in text
    assert f'data-switch="{bar.id}" role="switch" aria-checked="false"' in text
    assert archive.statements.revision() == before


def test_a_number_is_switched_off_alone_and_withdrawn(tmp_path: Path) -> None:
    """Its line is one of its own: off, the date is another and what it was is in outline. *Don't use this any more*
    beside it withdraws it, *Use it again* brings it back."""
    tin = numbered_tin(tmp_path)
    browser = Browser(Client(make_app(tin), base_url="http://127.0.0.1:5817"))
    here = "/photograph/K00002"
    plain, without = browser.get(here), browser.get(f"{here}?off=N2")
    dates = tin.dates.evidence_strip("K2").words, tin.dates.evidence_strip("K2", ["N2"]).words
    assert dates[0] != dates[1]
    assert 'data-switch="N2" role="switch" aria-checked="true"' in plain
    assert "Its number 12 comes between 11 of 1931 and 14 of 1934" in plain
    assert 'data-switch="N2" role="switch" aria-checked="false"' in without
    assert 'data-switch="B1" role="switch" aria-checked="true"' in without
    assert f"In outline, with everything switched on: {dates[0]}" in without
    assert 'class="ghost"' in without
    assert 'name="statement" value="N2"' in plain
    gone = browser.done("/withdraw", {"statement": "N2", "next": here}, here)
    assert re.search(r'<li class="withdrawn">\s*<span class="fact">Number</span>\s*12', gone)
    assert f"It was {dates[0]}; now it is {dates[1]}." in gone
    again = browser.done("/reinstate", {"statement": "N2", "next": here}, here)
    assert f"It was {dates[1]}; now it is {dates[0]}." in again


@pytest.mark.skipif(sys.platform == "win32", reason="its file systems take no such names")
def test_the_name_of_a_file_is_shown_as_it_is(tmp_path: Path) -> None:
    """With what would break a line, or turn it round, written out: it can be found again by what stands there."""
    tin = archive_with(tmp_path)
    (tmp_path / "tin").mkdir()
    make_scans(tmp_path, 1, seed=1)[0].rename(tmp_path / "tin" / "pier\n\u202egpj.0001.jpg")
    tin.scans.add([tmp_path / "tin"])
    text = Browser(Client(make_app(tin), base_url="http://127.0.0.1:5817")).get("/photograph/K00001")
    assert '<span class="file">pier\\x0a\\u202egpj.0001.jpg</span>' in text


def test_an_age_that_cannot_be_read_is_told_while_a_name_is_typed(browser: Browser) -> None:
    """Whoever it could be is offered as if no age were given, with the words that say what is wrong with it."""
    plain = browser.client.get(f"{HERE}/offers", params={"letters": "no"}).json()
    told = browser.client.get(f"{HERE}/offers", params={"letters": "no", "age": "old"}).json()
    assert plain["unread"] == ""
    assert told["people"] == plain["people"]
    assert "'old'" in told["unread"]


def test_offers_are_those_of_the_archive(browser: Browser, archive: Archive) -> None:
    """The same people in the same order as the command line offers, as JSON."""
    browser.get(HERE)
    told = browser.client.get(f"{HERE}/offers", params={"letters": "no", "age": "20"}).json()["people"]
    assert [row["person"] for row in told] == [
        one.id for one in archive.asking.name_suggestions("K00009", "no", age="20").people
    ]
    assert told


def test_somebody_is_taken_off_a_face_of_several(browser: Browser, archive: Archive) -> None:
    """Two names on one face are rivals, and the page says so."""
    face = archive.photographs.faces("K00009").faces[0]
    archive.statements.link(Link(photograph="K00009", person="I12", region=face.region))
    assert "one of 2 names on this face" in browser.get(HERE)


def test_an_undated_picture_shows_what_is_kept_with_it(browser: Browser, archive: Archive) -> None:
    """From the collection alone, in words that say that it is no date."""
    codes = [f"K{number:05}" for number in range(901, 909)]
    with archive.working("photographs") as work:
        work.insert(t.photograph, [{"code": code, "indexed": INDEXED} for code in codes])
    archive.photographs.move(codes, "Green album")
    archive.statements.record_all([NewClaim(photograph=code, kind="taken", date="1931") for code in codes[1:]])
    archive.dates.refresh()
    page = browser.get(f"/photograph/{codes[0]}")
    assert "From the collection alone: it may be from 19" in page
    assert "That is not a date of its own." in page
    assert "From the collection alone" not in browser.get(f"/photograph/{codes[1]}")

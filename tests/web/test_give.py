"""The page Give: what would go, consents, private marks, sheets as PDF; for the keeper alone."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from threading import Event

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.giving.selection import Wanted
from kinphoto.web.forms import photographs_in
from kinphoto.web.jobs import Progress

from .conftest import Browser


def test_the_page_shows_what_would_go_and_whom_to_ask(browser: Browser) -> None:
    """The public first of all gets what shows nobody living; those in the way are named with their photographs."""
    text = browser.get("/give?for=public")
    assert "32 photographs would go to the public" in text
    assert "somebody in them may be living and has not agreed" in text
    assert "Judith Quillern" in text


def test_a_consent_is_recorded_and_revoked(browser: Browser, archive: Archive) -> None:
    """As `kinphoto give consent` and `give revoke` do; then more goes, and no longer."""
    before = len(archive.give.report("public").going)
    fields: dict[str, str | list[str]] = {"person": "I68", "to": "public", "by": "Susanne", "on": "3 May 2026"}
    browser.done("/give/consent", fields, "/give?for=public")
    (made,) = archive.give.consents()
    assert (made.person.name if made.person else "", made.on, made.asked_by) == (
        "Judith Quillern", "2026-05-03", "Susanne",
    )  # fmt: skip
    assert len(archive.give.report("public").going) > before
    browser.done("/give/revoke", {"consent": made.id}, "/give")
    assert archive.give.consents() == ()


def test_private_cleared_and_a_new_audience(browser: Browser, archive: Archive) -> None:
    """Photographs by their codes, with commas or without."""
    browser.done("/give/audience", {"name": "cousins", "who": "Ruth <in Hull>"}, "/give")
    assert "Ruth &lt;in Hull&gt;" in browser.get("/give?for=cousins")
    browser.done("/give/private", {"photographs": "K00008, K00009", "what": "private"}, "/give")
    assert {one.photograph for one in archive.give.report("household").held_back} >= {"K00008", "K00009"}
    sent: dict[str, str | list[str]] = {"photographs": "K00021", "to": "cousins", "by": "S", "what": "words"}
    browser.done("/give/clear", sent, "/give?for=cousins")
    assert "K00021" not in archive.give.report("cousins").words_held
    said = browser.refused("/give/clear", {**sent, "by": " "}, archive)
    assert "who asked" in said


def test_sheets_and_labels_are_pdfs(browser: Browser) -> None:
    """To be printed from the browser, and kept nowhere."""
    for address in ("/give/sheets.pdf?for=household&ask=Aunt+May&photographs=K00009", "/give/labels.pdf?boxes=1"):
        answer = browser.client.get(address)
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")


def finished(browser: Browser) -> str:
    """Wait for what is being made; the page then."""
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    return browser.get("/give?for=public")


def test_a_site_is_made_and_downloaded(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """One zip whose pages open; nothing is left but that file, and it is for whoever was chosen."""
    fields: dict[str, str | list[str]] = {"to": "public", "what": "site", "of": "I24", "rights_asked": "1"}
    browser.done("/give/make", fields, "/give?for=public")
    page = finished(browser)
    assert "a site for public.zip" in page
    answer = browser.client.get("/give/made.zip")
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        assert packed.testzip() is None
        names = set(packed.namelist())
        packed.extractall(tmp_path / "stick")
    report = archive.give.report("public", Wanted(of="I24"))
    assert {f"a site for public/photo/{code}.html" for code in report.going} <= names
    assert not any(one.photograph in name for one in report.held_back for name in names)
    assert (tmp_path / "stick" / "a site for public" / "index.html").is_file()
    made = browser.client.app.state.made  # type: ignore[attr-defined]
    place = made.last.path.parent
    assert [path.name for path in place.iterdir()] == ["a site for public.zip"]
    made.remove()
    assert not place.exists()
    assert browser.client.get("/give/made.zip").status_code == 404


@pytest.mark.parametrize("what", ["copies", "mail", "package"])
def test_it_is_made_in_a_folder_where_one_is_named(browser: Browser, tmp_path: Path, what: str) -> None:
    """As the command does, and said on the page."""
    place = tmp_path / "given"
    fields: dict[str, str | list[str]] = {"to": "household", "what": what, "of": "I24", "target": str(place)}
    browser.done("/give/make", fields, "/give?for=household")
    assert f"It is in {place}" in finished(browser)
    assert any(place.rglob("*.jpg"))
    if what == "mail":
        for path in place.glob("*.jpg"):
            with Image.open(path) as image:
                assert max(image.size) <= 2048


def test_prints_are_made_to_order(browser: Browser, tmp_path: Path) -> None:
    """Of one size, whole with a white border; how many are good enough stands beside it before anything is made."""
    page = browser.get("/give?for=household")
    assert "Prints to order" in page
    assert "10 × 15" in page
    place = tmp_path / "to print"
    fields: dict[str, str | list[str]] = {
        "to": "household", "what": "prints", "photographs": "K00009, K00010", "size": "13x18", "fit": "border",
        "target": str(place),
    }  # fmt: skip
    browser.done("/give/make", fields, "/give?for=household")
    page = finished(browser)
    made = sorted(path.stem for path in place.glob("*.jpg"))
    left_out = [code for code in ("K00009", "K00010") if code not in made]
    assert ("Left out, because they have too few pixels" in page) is bool(left_out)
    assert f"{len(made)} print" in page
    for path in place.glob("*.jpg"):
        with Image.open(path) as image:
            assert max(image.size) / min(image.size) == pytest.approx(18 / 13, rel=0.01)


def test_an_unknown_size_is_refused(browser: Browser) -> None:
    """With the sizes there are."""
    browser.done("/give/make", {"to": "household", "what": "prints", "size": "9x9"}, "/give?for=household")
    assert "10x15, 13x18, 20x25, 30x40" in finished(browser)


def test_a_disk_without_room_for_the_download_is_said(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before it is packed, in one line with what to do; nothing is left to download."""
    monkeypatch.setattr("kinphoto.web.made.free_space", lambda _: 10)
    fields: dict[str, str | list[str]] = {"to": "household", "what": "copies", "of": "I24"}
    browser.done("/give/make", fields, "/give?for=household")
    page = finished(browser)
    assert "the file to download needs" in page
    assert "Make room there, or name a folder." in page
    assert browser.client.get("/give/made.zip").status_code == 404


def test_what_is_made_can_be_stopped(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """At its next step; nothing of it is left."""
    reached, go_on = Event(), Event()

    def slowly(place: Path, *_: object, progress: Progress, **__: object) -> None:
        place.mkdir()
        (place / "half a picture").write_bytes(b"x")
        progress(1, 9)
        reached.set()
        go_on.wait(30)
        progress(2, 9)

    give = browser.client.app.state.archive.give  # type: ignore[attr-defined]
    monkeypatch.setattr(give, "write_site", slowly, raising=False)
    monkeypatch.setattr("tempfile.tempdir", None)
    browser.post("/give/make", {"to": "household", "what": "site"})
    assert reached.wait(30)
    assert "Stop</button>" in browser.get("/give")
    browser.done("/give/stop", {}, "/give")
    assert "Stopping" in browser.get("/give")
    go_on.set()
    page = finished(browser)
    assert "It was stopped." in page
    assert "made.zip" not in page


def test_a_part_of_a_path_is_refused(browser: Browser, archive: Archive) -> None:
    """On both pages where folders are typed: it would be made wherever the program was started."""
    fields: dict[str, str | list[str]] = {"to": "household", "what": "site", "target": "stick/album"}
    for path in ("/give/make", "/keep/backup", "/keep/package"):
        said = browser.refused(path, fields, archive)
        assert "is only a part of a path" in said
        assert "Type all of it" in said


def test_photographs_are_found_by_their_titles(browser: Browser, archive: Archive) -> None:
    """No code has to be typed: titles stand with semicolons between, also one with a comma in it."""
    typed = "On the ferry; The lock-keeper's family, and a cousin"
    browser.done("/give/private", {"photographs": typed, "what": "private"}, "/give")
    assert {one.photograph for one in archive.give.report("household").held_back} >= {"K00009", "K00023"}
    assert photographs_in("K00001, k00002 K00003;On the ferry\n Cutting ") == [
        "K00001", "k00002", "K00003", "On the ferry", "Cutting"
    ]  # fmt: skip

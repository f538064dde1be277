"""Bringing things in from a page: what is sent becomes what the same command line makes of it, or is refused and gone.

File names that are traps (paths, names of devices, no stem, very long, other letters) and the picture whose header
promises a thousand million pixels are those testers try first; from memory.
"""

from __future__ import annotations

import html
import io
import re
import struct
import time
import zlib
from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.sample import source
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import ArchiveError
from kinphoto.web.app import make_app
from kinphoto.web.jobs import Job
from kinphoto.web.pages.bring_in import LARGEST_SCANS, LARGEST_TREE, MOST_FILES

from .client import Client
from .conftest import Browser


@pytest.fixture
def empty(tmp_path: Path) -> Archive:
    """A new archive in a folder of its own."""
    return Archive.create(tmp_path / "family")


@pytest.fixture
def browser(empty: Archive) -> Browser:
    """The keeper's browser before its pages."""
    return Browser(Client(make_app(empty), base_url="http://127.0.0.1:5817"))


def jpeg(colour: int = 0) -> bytes:
    """A small picture."""
    made = io.BytesIO()
    Image.new("RGB", (40, 30), (colour * 13 % 256, colour * 7 % 256, 90)).save(made, "JPEG")
    return made.getvalue()


def send(browser: Browser, files: list[tuple[str, bytes]], box: str = "Willow box") -> str:
    """Send pictures as the page does, wait until they are read, and return what is said then (or the refusal)."""
    sent = [("scans", (name, data)) for name, data in files]
    answer = browser.post("/bring-in/scans", {"container": box}, files=sent)
    if answer.status_code != 303:
        return f"{answer.status_code} {answer.text}"
    return done(browser)


def done(browser: Browser) -> str:
    """Wait for the job; the page then."""
    job: Job = browser.client.app.state.jobs.last  # type: ignore[attr-defined]
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    assert not job.running
    return browser.get("/bring-in")


def files(archive: Archive) -> dict[str, int]:
    """What lies in the folder of the archive and around it, but for what is its own."""
    own = ("kinphoto.db", "pages.json", "thumbs", "views", "tiles")
    around = archive.folder.parent
    found = (path for path in around.rglob("*") if path.is_file())
    relative = ((str(path.relative_to(around)), path.stat().st_size) for path in found)
    return {name: size for name, size in relative if not name.removeprefix("family/").startswith(own)}


def test_scans_are_indexed_into_their_box(browser: Browser, empty: Archive) -> None:
    """Two pictures: in the folder of the archive with their bytes, in the box that was named, and told so."""
    told = send(browser, [("ferry.jpg", jpeg(1)), ("Fähre 2.JPG", jpeg(2))])
    assert "2 new, 0 already here" in told
    folder = empty.folder / "scans" / "Willow_box"
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == {"ferry.jpg": jpeg(1), "Fähre_2.jpg": jpeg(2)}
    assert [box.name for box in empty.photographs.containers()] == ["Willow box"]
    assert empty.photographs.containers()[0].tally.photographs == 2


def test_the_pages_of_a_pdf_are_photographs(browser: Browser, empty: Archive) -> None:
    """Sent as one file: each page has a code, which the page says."""
    data = io.BytesIO()
    Image.new("L", (40, 30), 90).save(data, "PDF", save_all=True, append_images=[Image.new("L", (40, 30), 150)])
    told = send(browser, [("album.pdf", data.getvalue())])
    assert "2 new, 0 already here" in told
    assert "The new ones are K00001 to K00002." in told
    assert empty.search.overview().tally.photographs == 2


def test_what_is_odd_about_a_sheet_is_told(browser: Browser, empty: Archive) -> None:
    """A column that is ignored is named, as on the command line; one that is nearly ours is refused."""
    send(browser, [("ferry.jpg", jpeg(1))])
    browser.post("/bring-in/sheet", {"kind": "links"}, files={"sheet": ("a.csv", b"photo,person,colour\nK1,-,blue\n")})
    told = done(browser)
    assert "1 row saved as names on faces." in told
    assert "ignored colour" in told
    browser.post("/bring-in/sheet", {"kind": "links"}, files={"sheet": ("a.csv", b"photo,person,age\nK1,-,7\n")})
    assert "there is no column called age" in done(browser)


def test_the_tree_is_imported_as_by_the_command(browser: Browser, empty: Archive, tmp_path: Path) -> None:
    """The same people as `kinphoto tree import` makes of the file, and no copy but the archive's own is left."""
    tree = source() / "family.ged"
    answer = browser.post("/bring-in/tree", {}, files={"tree": ("../../family.ged", tree.read_bytes())})
    assert answer.status_code == 303
    assert "Done: importing the tree" in done(browser)
    other = Archive.create(tmp_path / "other")
    other.tree.import_file(tree)
    assert empty.people.find() == other.people.find()
    assert not list(empty.folder.glob("*.ged*"))


def test_the_tree_of_another_family_is_remarked_upon(browser: Browser, empty: Archive) -> None:
    """Nobody of the tree is in the file: then the page says where the import is undone."""
    for names in (("Gorm /Holm/", "Tora /Holm/"), ("Rosa /Lind/", "Knut /Lind/")):
        people = "".join(f"0 @I{n}@ INDI\n1 NAME {name}\n" for n, name in enumerate(names))
        tree = f"0 HEAD\n1 GEDC\n2 VERS 7.0\n{people}0 TRLR\n".encode()
        browser.post("/bring-in/tree", {}, files=[("tree", ("family.ged", tree))])
        said = done(browser)
    assert "Of the 2 people who were in the tree, nobody is in this file." in said
    assert "undo it under History" in said


def test_what_is_uncertain_is_asked_and_can_be_settled_on_the_page(browser: Browser, empty: Archive) -> None:
    """Somebody with a picture who is gone while a namesake has the id: both are named, and the page of the one who is
    gone has the form that makes them one."""
    tree = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n0 @I1@ INDI\n1 NAME Nils /Berg/\n1 BIRT\n2 DATE {}\n0 @I2@ INDI\n0 TRLR\n"
    browser.post("/bring-in/tree", {}, files={"tree": ("a.ged", tree.format(1901).encode())})
    done(browser)
    send(browser, [("a.jpg", jpeg(1))])
    empty.statements.link(Link(photograph="K00001", person="I1"))
    browser.post("/bring-in/tree", {}, files={"tree": ("a.ged", tree.format(1931).encode())})
    told = html.unescape(done(browser))
    assert "Uncertain: Nils Berg (1901–), I1-gone (1 picture)" in told
    assert "Nils Berg (1931–), I1. If they are the same person, record it on" in told
    assert '<a href="/person/I1-gone">the page of I1-gone</a>' in told
    assert 'action="/person/I1-gone/same"' in browser.get("/person/I1-gone")
    browser.post("/person/I1-gone/same", {"who": "I1"})
    assert [one.code for one in empty.people.pictures("I1").photographs] == ["K00001"]


def test_looking_again_finds_what_was_sent_when_the_pages_were_stopped(browser: Browser, empty: Archive) -> None:
    """A picture that was put into the folder and not read any more is found by "Look for new scans"."""
    folder = empty.folder / "scans" / "sent"
    folder.mkdir(parents=True)
    (folder / "a.jpg").write_bytes(jpeg())
    (folder / "b.jpg.part").write_bytes(jpeg(1)[:100])
    assert browser.post("/bring-in/again", {}).status_code == 303
    done(browser)
    assert empty.search.overview().tally.photographs == 1


TRAPS = [
    "../../x.jpg", "/etc/x.jpg", "..\\..\\x.jpg", "C:\\x.jpg", "con.jpg", "LPT1.jpg", "x.jpg/../../y.jpg", "-rf.jpg",
    "~.jpg", "a\N{RIGHT-TO-LEFT OVERRIDE}gpj.jpg", "祖母.jpg", "\N{FAMILY}.jpg", "\U00020000" * 300 + ".jpg",
    "a" * 300 + ".jpg", "a b;c&d.jpg", "a\nb.jpg", "%2e%2e%2fx.jpg", "....jpg",
]  # fmt: skip


def test_a_file_never_chooses_where_it_is_put(browser: Browser, empty: Archive) -> None:
    """Whatever it is called, it lands in the one folder, under a short name of letters and digits that no other has."""
    told = send(browser, [(name, jpeg(number)) for number, name in enumerate(TRAPS)], box="../../../etc")
    assert f"{len(TRAPS)} new" in told
    placed = files(empty)
    assert len(placed) == len(TRAPS)
    for path in placed:
        assert path.startswith("family/scans/etc/")
        assert path.count("/") == 3
        name = path.rpartition("/")[2]
        assert len(name.encode()) < 200
        assert name.rpartition(".")[0].replace("-", "").replace("_", "").isalnum()
        assert name.lower() not in ("con.jpg", "lpt1.jpg")


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.jpg", b"<script>alert(1)</script>"), ("a.jpg", b""), ("a.jpg", b"GIF89a" + bytes(100)),
        ("a.svg", b"<svg/>"), ("a.exe", jpeg()), (".jpg", jpeg()), ("a", jpeg()), ("a.jpg.html", jpeg()),
        ("a.html", b"<!doctype html>"),
    ],
)  # fmt: skip
def test_what_is_no_picture_is_refused_and_gone(browser: Browser, empty: Archive, name: str, data: bytes) -> None:
    """By its first bytes or its name: one line, and no file is left of it."""
    before = empty.statements.revision()
    told = send(browser, [(name, data)])
    assert told.startswith("422 ")
    assert "a picture that kinphoto reads" in told
    assert files(empty) == {}
    assert empty.statements.revision() == before


def test_the_good_ones_of_a_mixed_sending_are_kept(browser: Browser, empty: Archive) -> None:
    """What is no picture is named, escaped, and the others are read."""
    told = send(browser, [("a.jpg", jpeg()), ("<script>b.jpg", b"no picture"), ("c.exe", jpeg(1))])
    assert "1 new" in told
    assert "&lt;script&gt;b.jpg is not a picture kinphoto can read" in told
    assert list(files(empty)) == ["family/scans/Willow_box/a.jpg"]


def bomb() -> bytes:
    """A PNG whose header says 32,000 by 32,000 pixels, a thousand million, with almost nothing in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 32_000, 32_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "data",
    [bomb(), jpeg()[:200], b"\xff\xd8\xff" + bytes(5000), b"II*\0" + b"\xff" * 60],
    ids=["bomb", "cut short", "rubbish", "rubbish in a TIFF"],
)
def test_what_cannot_be_read_is_told_and_not_kept(browser: Browser, empty: Archive, data: bytes) -> None:
    """A picture bomb, a picture cut short, and rubbish behind good first bytes: named with the reason, and gone."""
    told = send(browser, [("bad.png" if data[:1] == b"\x89" else "bad.jpg", data), ("good.jpg", jpeg())])
    assert "1 new" in told
    assert "bad." in told
    assert list(files(empty)) == ["family/scans/Willow_box/good.jpg"]
    assert empty.search.overview().tally.photographs == 1


def test_too_many_files(browser: Browser, empty: Archive) -> None:
    """One more than may be sent at once: none is kept."""
    told = send(browser, [(f"{number}.jpg", b"\xff\xd8\xff") for number in range(MOST_FILES + 1)])
    assert told.startswith("400 ")
    assert files(empty) == {}


@pytest.mark.parametrize(("path", "most"), [("/bring-in/scans", LARGEST_SCANS), ("/bring-in/tree", LARGEST_TREE)])
@pytest.mark.parametrize("length", ["over", "none", "-1", "x", "9" * 30])
def test_the_size_has_to_be_announced_and_is_bounded(
    browser: Browser, empty: Archive, path: str, most: int, length: str
) -> None:
    """Too much, no size (RFC 9112: chunked), and no number: refused before anything is read."""
    kind = {"content-type": "multipart/form-data; boundary=x"}

    if length != "none":
        kind["content-length"] = str(most + 1) if length == "over" else length
    answer = browser.client.post(path, content=b"--x--" if length != "none" else iter([b"--x--"]), headers=kind)
    assert answer.status_code == 413
    assert files(empty) == {}


@pytest.mark.parametrize("kind", ["multipart/form-data; boundary=x", "multipart/form-data", "text/plain", "text/json"])
@pytest.mark.parametrize("path", ["/bring-in/scans", "/bring-in/tree"])
def test_a_form_of_another_kind(browser: Browser, empty: Archive, path: str, kind: str) -> None:
    """Something that is no form with files, or a broken one, has no token and is refused."""
    for body in (b"", b"--x\r\n", b'--x\r\nContent-Disposition: form-data; name="token"\r\n\r\n\xff', b"{}" * 100):
        answer = browser.client.post(path, content=body, headers={"content-type": kind})
        assert answer.status_code in (400, 403)
    assert files(empty) == {}


def test_without_the_token_nothing_is_kept(browser: Browser, empty: Archive) -> None:
    """Files from a page that is not ours."""
    browser.get("/bring-in")
    answer = browser.client.post("/bring-in/scans", files={"scans": ("a.jpg", jpeg())}, data={"token": "0" * 64})
    assert answer.status_code == 403
    assert files(empty) == {}


@pytest.mark.parametrize("token", ["", "0" * 64])
def test_a_refused_upload_keeps_the_name_of_the_box(browser: Browser, empty: Archive, token: str) -> None:
    """Whether nothing of it is a picture or the page is of an earlier visit: the form comes again with what was typed,
    and asks for the files, which no page may choose."""
    sent = {"scans": ("a.jpg", b"no picture", "image/jpeg")}
    typed = {"token": token or browser.token(), "container": "Oma's <tin>"}
    answer = browser.client.post("/bring-in/scans", files=sent, data=typed)
    assert answer.status_code == (403 if token else 422)
    assert 'action="/bring-in/scans" enctype="multipart/form-data"' in answer.text
    assert 'name="container" value="Oma&#39;s &lt;tin&gt;"' in answer.text
    assert 'type="file" name="scans" multiple' in answer.text
    again = re.search(
        r'enctype="multipart/form-data"><input type="hidden" name="token" value="([0-9a-f]+)"', answer.text
    )
    assert again is not None
    fine = {"scans": ("a.jpg", jpeg(), "image/jpeg")}
    answer = browser.client.post(
        "/bring-in/scans", files=fine, data={**typed, "token": again[1]}, follow_redirects=False
    )
    assert answer.status_code == 303
    done(browser)
    assert [box.name for box in empty.photographs.containers()] == ["Oma's <tin>"]


@pytest.mark.parametrize("path", ["/bring-in/scans", "/bring-in/tree", "/bring-in/again"])
def test_one_thing_at_a_time(browser: Browser, empty: Archive, path: str) -> None:
    """While something else is being read, what is sent is refused and gone, and the first goes on."""
    (empty.folder / "scans").mkdir()
    jobs, stop = browser.client.app.state.jobs, []

    def slow(_: object) -> list[str]:
        while not stop:
            time.sleep(0.01)
        return ["done"]

    job = jobs.start("slow work", slow)
    try:
        answer = browser.post(
            path,
            {},
            files=[("scans", ("a.jpg", jpeg())), ("tree", ("a.ged", b"0 HEAD"))] if path != "/bring-in/again" else None,
        )
    finally:
        stop.append(1)
        jobs.finish()
    assert answer.status_code == 422
    assert "Something else is still running: slow work" in answer.text
    assert files(empty) == {}
    assert job.lines == ["done"]


def test_a_tree_that_is_none(browser: Browser, empty: Archive) -> None:
    """It is said so, the archive stays empty, and the file is gone."""
    for data in (b"", b"no tree", jpeg(), b"PK\x03\x04rubbish"):
        for name in ("a.ged", "a.gdz"):
            browser.post("/bring-in/tree", {}, files={"tree": (name, data)})
            page = done(browser)
            assert "That did not work" in page
            assert "fault in kinphoto" not in page
            assert files(empty) == {}
    assert empty.people.find().people == ()


def test_no_room_for_what_is_sent(browser: Browser, empty: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk is full it is said in one line, and no part is left."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kinphoto.web.pages.bring_in.shutil.copyfileobj", full)
    told = send(browser, [("a.jpg", jpeg())])
    assert told.startswith("422 ")
    assert "No space left on device" in told
    assert files(empty) == {}


def test_a_job_that_fails_says_why(browser: Browser) -> None:
    """A refusal of ours is shown as it is; another fault is told as one of the program."""
    jobs = browser.client.app.state.jobs

    def refuse(_: object) -> list[str]:
        raise ArchiveError("the archive is in use", remedy="Try again.")

    jobs.start("something", refuse)
    assert "the archive is in use. Try again." in done(browser)


def test_how_far_it_has_got(browser: Browser) -> None:
    """The figures for the script of the page, before, during and after."""
    assert browser.client.get("/bring-in/progress").json() == {"running": False}
    stop: list[int] = []

    def slow(told: object) -> list[str]:
        told(3, 7)  # type: ignore[operator]
        while not stop:
            time.sleep(0.01)
        return []

    browser.client.app.state.jobs.start("slow", slow)
    while browser.client.get("/bring-in/progress").json()["done"] == 0:
        time.sleep(0.01)
    assert browser.client.get("/bring-in/progress").json() == {"running": True, "done": 3, "total": 7, "what": "slow"}
    assert 'max="7" value="3"' in browser.get("/bring-in")
    stop.append(1)
    browser.client.app.state.jobs.finish()
    assert browser.client.get("/bring-in/progress").json()["running"] is False


def test_a_folder_of_this_computer_is_added(browser: Browser, empty: Archive, tmp_path: Path) -> None:
    """With what is below it, each folder a box, as `kinphoto scans add` does; the scans stay where they are, and the
    next press looks there again."""
    folder = tmp_path / "prints"
    (folder / "ferry").mkdir(parents=True)
    (folder / "ferry" / "one.jpg").write_bytes(jpeg(1))
    (folder / "two.jpg").write_bytes(jpeg(2))
    browser.done("/bring-in/folder", {"folder": str(folder)}, "/bring-in")
    assert "2 new" in done(browser)
    assert empty.search.overview().tally.photographs == 2
    assert str(folder) in empty.scans.folders()
    assert {path.name for path in folder.rglob("*.jpg")} == {"one.jpg", "two.jpg"}
    (folder / "three.jpg").write_bytes(jpeg(3))
    browser.done("/bring-in/again", {}, "/bring-in")
    assert "1 new" in done(browser)


def test_a_folder_that_is_not_there_is_looked_for(browser: Browser, empty: Archive, tmp_path: Path) -> None:
    """A slip in its name: the one that is meant is named, what was typed stays, and nothing is changed."""
    (tmp_path / "grandmother").mkdir()
    said = browser.refused("/bring-in/folder", {"folder": str(tmp_path / "grandmothr")}, empty)
    assert "there is no folder" in said.lower()
    assert "Did you mean grandmother?" in said
    for typed in ("", "no/such/place/at/all"):
        browser.refused("/bring-in/folder", {"folder": typed}, empty)


def test_what_one_brought_in_is_undone_after_a_question(browser: Browser, empty: Archive, tmp_path: Path) -> None:
    """An import is one's own, and so never called somebody else's; but it is large, so it is asked about first."""
    before = empty.statements.revision()
    (tmp_path / "one.jpg").write_bytes(jpeg(1))
    browser.done("/bring-in/folder", {"folder": str(tmp_path)}, "/bring-in")
    done(browser)
    assert "x-elsewhere" not in browser.client.get(f"/pulse?after={before}").headers
    assert "Undo this?" in browser.post("/undo", {}).text
    assert empty.search.overview().tally.photographs == 1

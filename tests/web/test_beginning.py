"""The page before there is an archive: it makes one, opens one, and refuses what cannot be a folder."""

from __future__ import annotations

import asyncio
import html
import os
import re
import shutil
from collections.abc import Awaitable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

import httpx2
import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.web.begin import Beginning
from kinphoto.web.pages import beginning

T = TypeVar("T")


class Started:
    """The application as a server runs it, in an event loop and a thread of its own: a browser that was started in this
    process before has one that never rests."""

    def __init__(self, here: Path) -> None:
        self.opened: list[Path] = []
        self._thread = ThreadPoolExecutor(1)
        self._loop = asyncio.new_event_loop()
        app = Beginning(here, lambda archive: self.opened.append(archive.folder))
        self._life = app._app.router.lifespan_context(app._app)
        self._run(self._life.__aenter__())
        self.jobs = app._app.state.jobs
        self._client = httpx2.AsyncClient(
            transport=httpx2.ASGITransport(app, client=("127.0.0.1", 50_000)), base_url="http://127.0.0.1:5817"
        )

    def _run(self, what: Awaitable[T]) -> T:
        return self._thread.submit(self._loop.run_until_complete, what).result()

    def get(self, path: str, **headers: str) -> httpx2.Response:
        """What is at a path, redirects not followed."""
        return self._run(self._client.get(path, headers=headers))

    def post(self, fields: dict[str, str], *, token: str | None = None, **headers: str) -> httpx2.Response:
        """Send the form of the page, as the page does."""
        found = re.search(r'name="token" value="([0-9a-f]+)"', self.get("/").text)
        fields = {"token": token if token is not None else found[1] if found else "", **fields}
        return self._run(self._client.post("/begin", data=fields, headers=headers))

    def stop(self) -> None:
        """End as the server does."""
        self._run(self._client.aclose())
        self._run(self._life.__aexit__(None, None, None))
        self._loop.close()
        self._thread.shutdown()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder with nothing in it."""
    made = tmp_path / "home"
    made.mkdir()
    monkeypatch.setenv("HOME", str(made))
    return made


@pytest.fixture
def started(home: Path) -> Iterator[Started]:
    """The page, started in the home folder."""
    page = Started(home)
    yield page
    page.stop()


def said(answer: httpx2.Response) -> str:
    """What the page says against what was typed."""
    assert answer.status_code == 422, answer.text[:300]
    found = re.search(r'id="problem"[^>]*>(.*?)</p>', answer.text)
    assert found is not None
    return html.unescape(re.sub("<[^>]+>", "", found[1]))


def test_an_archive_is_made_and_its_pages_follow(started: Started, home: Path) -> None:
    """A name is enough: the folder is made, and the same address shows the first three steps."""
    answer = started.post({"do": "make", "name": " Marsh  family ", "where": str(home)})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert (home / "Marsh family" / "kinphoto.db").is_file()
    assert started.opened == [home / "Marsh family"]
    page = started.get("/").text
    assert "1. Add some scans" in page
    assert '<a class="name" href="/">Marsh family</a>' in page
    assert started.get("/boxes").status_code == 200


def test_the_first_page_of_a_stranger_names_no_command(started: Started) -> None:
    """Nothing on it has to be understood that is not about photographs, and every address leads to it."""
    page = started.get("/").text
    assert not re.search(r"kinphoto (?!sample)[a-z]+ |command|terminal|--[a-z]", page.partition("<main")[2])
    assert "GEDCOM" not in page
    answer = started.get("/boxes")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "The archive needs a name"),
        ("Marsh/Quillern", "cannot be called “Marsh/Quillern” because of /"),
        ("../escaped", "because of /"),
        ("what?", "because of ?"),
        ("..", "cannot be called “..”"),
        (".hidden", "cannot be called “.hidden”"),
        ("con", "cannot be called “con”"),
        ("a" * 101, "That name is too long"),
        ("M\u00fc" * 60, "That name is too long"),
    ],
)
def test_a_name_that_no_folder_can_have(started: Started, home: Path, name: str, words: str) -> None:
    """It is said why, beside the field, with what was typed still there; nothing is made."""
    answer = started.post({"do": "make", "name": name, "where": str(home)})
    assert words in said(answer)
    assert f'name="name" value="{html.escape(name)}"' in answer.text
    assert list(home.iterdir()) == []


def test_where_it_is_kept_has_to_be_there(started: Started, home: Path) -> None:
    """A slip of the finger makes no folder: near names are suggested, and part of a path is no place."""
    (home / "Pictures").mkdir()
    typed = str(home / "Pictuers")
    answer = started.post({"do": "make", "name": "Marsh", "where": typed})
    assert said(answer) == f"There is no folder '{typed}' on this computer. Did you mean Pictures?"
    assert f'value="{typed}"' in answer.text
    assert 'name="name" value="Marsh"' in answer.text
    assert "only a part of a path" in said(started.post({"do": "make", "name": "Marsh", "where": "Pictures"}))
    assert "no folder was named" in said(started.post({"do": "make", "name": "Marsh", "where": ""})).lower()
    assert [one.name for one in home.iterdir()] == ["Pictures"]
    answer = started.post({"do": "make", "name": "Marsh", "where": "~/Pictures"})
    assert answer.status_code == 303
    assert (home / "Pictures" / "Marsh" / "kinphoto.db").is_file()


def test_nothing_that_is_there_is_built_over(started: Started, home: Path) -> None:
    """A folder with something in it is left alone, and an archive is offered to be opened instead."""
    (home / "Marsh").mkdir()
    (home / "Marsh" / "letter.txt").write_text("dear Ada")
    assert "something called “Marsh” there already" in said(
        started.post({"do": "make", "name": "Marsh", "where": str(home)})
    )
    Archive.create(home / "Quillern").close()
    answer = started.post({"do": "make", "name": "Quillern", "where": str(home)})
    assert "an archive called “Quillern” already" in said(answer)
    assert "Open Quillern" in answer.text
    assert started.opened == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_place_where_nobody_may_write(started: Started, home: Path) -> None:
    """The reason is given, and what to do."""
    home.chmod(0o500)
    try:
        assert "cannot be made" in said(started.post({"do": "make", "name": "Marsh", "where": str(home)}))
    finally:
        home.chmod(0o700)


def test_an_archive_near_by_is_opened_with_one_press(home: Path) -> None:
    """Whoever comes again the next evening finds it, also from another folder; one elsewhere is opened by its path."""
    Archive.create(home / "Quillern").close()
    other = home / "Downloads"
    other.mkdir()
    page = Started(other)
    assert "Open Quillern" in page.get("/").text
    assert "There is no archive in '~/Downloads'" in said(page.post({"do": "open", "folder": "~/Downloads"}))
    assert page.post({"do": "open", "folder": str(home / "Quillern")}).status_code == 303
    assert page.opened == [home / "Quillern"]
    page.stop()
    again = Started(other)
    assert again.post({"do": "open", "folder": str(home / "Quillern" / "kinphoto.db")}).status_code == 303
    again.stop()


def test_the_sample_is_a_press_away(started: Started, home: Path) -> None:
    """The invented family is built beside everything else, and found again later."""
    assert started.post({"do": "sample"}).status_code == 303
    assert beginning.sample_folder(home).joinpath("kinphoto.db").is_file()
    assert "photographs from" in started.get("/").text


@pytest.mark.parametrize("source", ["package", "backup"])
def test_an_archive_is_made_again_from_what_was_kept(started: Started, home: Path, tmp_path: Path, source: str) -> None:
    """The old one is gone: from a package or a backup it is made again in the pages, with its scans, and opened with
    one press."""
    (tmp_path / "box").mkdir()
    Image.new("RGB", (60, 40), (90, 60, 30)).save(tmp_path / "box" / "mill.jpg")
    archive = Archive.create(tmp_path / "old")
    archive.scans.add([tmp_path / "box"])
    archive.statements.record(NewClaim(photograph="K00001", kind="recollection", text="The old mill", by="May"))
    kept = tmp_path / "disk"
    if source == "package":
        kept = Path(archive.keep.make_package(kept).folder)
    else:
        archive.keep.back_up(kept)
    archive.close()
    for gone in ("old", "box"):
        shutil.rmtree(tmp_path / gone)
    answer = started.post({"do": "again", "source": str(kept), "name": "Marsh", "where": str(home)})
    assert answer.status_code == 303
    started.jobs.finish()
    page = started.get("/").text
    assert f"is now in {home / 'Marsh'}" in page
    assert "Open Marsh" in page
    assert started.post({"do": "open", "folder": str(home / "Marsh")}).status_code == 303
    assert "The old mill" in started.get("/photograph/K00001").text


def test_what_cannot_be_made_again(started: Started, home: Path) -> None:
    """A folder that is not there is said beside its field; one without a backup when it was looked into; and nothing is
    put where something is."""
    fields = {"do": "again", "name": "Marsh", "where": str(home)}
    assert "Is the disk plugged in?" in said(started.post({**fields, "source": "/nowhere/at all"}))
    (home / "empty").mkdir()
    assert started.post({**fields, "source": str(home / "empty")}).status_code == 303
    started.jobs.finish()
    page = started.get("/").text
    assert "there is no backup here" in page
    assert "Open Marsh" not in page
    (home / "Marsh").mkdir()
    (home / "Marsh" / "letter.txt").write_text("dear Ada")
    assert "called “Marsh” there already" in said(started.post({**fields, "source": str(home / "empty")}))


def test_only_our_own_page_makes_an_archive(started: Started, home: Path) -> None:
    """What another site sends is refused, as is a form without the token, and another name for this machine; the page
    that is shown then works."""
    fields = {"do": "make", "name": "Marsh", "where": str(home)}
    assert started.post(fields, **{"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert started.post(fields, **{"Origin": "http://elsewhere.example"}).status_code == 403
    assert started.get("/", Host="elsewhere.example").status_code == 421
    answer = started.post(fields, token="0" * 64)
    assert "open for longer than kinphoto runs" in said(answer)
    assert 'value="Marsh"' in answer.text
    assert list(home.iterdir()) == []
    assert started.post(fields).status_code == 303


def test_a_page_left_open_leads_to_the_archive(started: Started, home: Path) -> None:
    """Pressing twice, or in another window, makes nothing more."""
    fields = {"do": "make", "name": "Marsh", "where": str(home)}
    assert started.post(fields).status_code == 303
    for answer in (started.post({**fields, "name": "Other"}), started.get("/begin")):
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert [one.name for one in home.iterdir()] == ["Marsh"]

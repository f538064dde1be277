"""The pages opened to the house network: somebody who has not signed in changes nothing, and neither sees nor reads of
anybody who may be living.

Who may be living is what `Archive.people.living` says of the sample; a reader who follows every link from the first
page must not meet their names anywhere, nor a picture they are in.
"""

from __future__ import annotations

import re
from datetime import date

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.collection.photograph_cards import PhotographCard
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.web.app import LARGE, make_app

from .client import Client
from .conftest import LAN, PASSWORD, Browser
from .crawling import crawl
from .test_odd_values import filled, routes

ONLY_AFTER_SIGNING_IN = (
    "/conflicts",
    "/questions",
    "/log",
    "/informants",
    "/bring-in",
    "/bring-in/progress",
    "/photograph/K00009/offers",
)


def posts() -> list[str]:
    """Every address of the program to which forms are sent, with something in place of what stands for a number."""
    paths = [filled(path) for path in routes("POST")]
    assert len(paths) > 20
    return [path for path in paths if path != "/sign-in"]


def test_nothing_is_changed_without_signing_in(stranger: Browser, archive: Archive) -> None:
    """Every form there is, a new one too, leads to where one signs in; also with the token of the stranger's visit."""
    before, files_before = archive.statements.revision(), files(archive)
    fields: dict[str, str | list[str]] = dict.fromkeys(("person", "who", "statement", "name", "new"), "I12")
    fields |= {"photograph": ["K00009", "K00017"], "container": "Blue", "number": "1", "made": "process albumen"}
    for path in posts():
        sent = {
            "files": {"scans": ("a.jpg", b"\xff\xd8\xff"), "tree": ("a.ged", b"0 HEAD"), "sound": ("a.wav", b"RIFF")}
        }
        answer = stranger.post(path, fields, **(sent if path in LARGE else {}))
        assert answer.status_code == 303, path
        assert answer.headers["location"].startswith("/sign-in"), path
    assert archive.statements.revision() == before
    assert files(archive) == files_before


def files(archive: Archive) -> set[str]:
    """The files of the archive but for those that the database keeps beside itself while it is open."""
    return {str(path) for path in archive.folder.rglob("*") if not path.name.endswith(("-wal", "-shm"))}


@pytest.mark.parametrize("path", ONLY_AFTER_SIGNING_IN)
def test_what_is_for_those_who_have_signed_in(house: Client, path: str) -> None:
    """Conflicts, log, informants, bringing in and offers lead strangers to where one signs in, and back afterwards."""
    answer = house.get(path, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/sign-in?next=%2F")
    assert answer.text == ""


def the_living(archive: Archive) -> dict[str, str]:
    """The names of everybody who may be living, by id; without those whose name a dead person has too."""
    people = archive.people.find().people
    living = archive.people.living([one.id for one in people])
    dead = {one.name for one in people if one.id not in living}
    return {one.id: one.name for one in people if one.id in living and one.name and one.name not in dead}


def whisper(archive: Archive, names: list[str]) -> None:
    """Put the names of living people wherever words can be put about photographs that may be shown: who says so, why,
    on the back, who made it, whose rights, a note, and who it is said not to be."""
    for code in ("K00009", "K00017", "K00018"):
        assert archive.photographs.shown_to_anybody([code]), "the sample has changed: take others"
        for name in names[:3]:
            archive.statements.record(
                NewClaim(photograph=code, kind="recollection", date="1920", text=f"{name} says so", by=name)
            )
        archive.photographs.describe(code, Description(note=f"ask {names[0]}", rights=names[1], maker=names[2]))
        archive.statements.link(
            Link(photograph=code, person=archive_id(archive, names[0]), denied=True, by=names[1], why=names[2])
        )
    archive.dates.refresh_photographs(["K00009", "K00017", "K00018"])


def archive_id(archive: Archive, name: str) -> str:
    """The id of the one person of this name."""
    return next(id_ for id_, known in the_living(archive).items() if known == name)


def test_no_page_tells_of_the_living(house: Client, archive: Archive) -> None:
    """From the first page every link is followed: no name of theirs stands anywhere, in no letters and in no picture's
    description; and no picture of theirs is linked to."""
    names = the_living(archive)
    assert len(names) > 8
    whisper(archive, list(names.values()))
    seen = crawl(house)
    assert len(seen.pages) > 120
    for address, page in seen.pages.items():
        for id_, name in names.items():
            assert name not in page, f"{address} tells of {name}"
            assert f'/person/{id_}"' not in page, f"{address} leads to {id_}"
    kept_back = {one.code for one in all_mounted(archive)} - archive.photographs.shown_to_anybody(
        [one.code for one in all_mounted(archive)]
    )
    assert len(kept_back) > 10
    pictures = {str(scan.id) for code in kept_back for scan in archive.photographs.details(code).scans}
    told = " ".join(seen.pages.values())
    assert pictures.isdisjoint(re.findall(r"/scan/(\d+)/", told))
    faces = {face.region.removeprefix("R") for code in kept_back for face in archive.photographs.faces(code).faces}
    assert faces.isdisjoint(re.findall(r"/face/(\d+)\.jpg", told))
    assert set(seen.status.values()) == {200}, [a for a, s in seen.status.items() if s != 200]


def all_mounted(archive: Archive) -> list[PhotographCard]:
    """Every photograph."""
    return archive.photographs.cards([dated.code for dated in archive.dates.estimates()])


def test_pictures_of_the_living_are_not_given_out(house: Client, archive: Archive) -> None:
    """Whoever guesses the number of a scan or of a face gets neither the small nor the large picture, nor a tile."""
    codes = [one.code for one in all_mounted(archive)]
    shown = archive.photographs.shown_to_anybody(codes)
    allowed = refused = 0
    for code in codes:
        for scan in archive.photographs.details(code).scans:
            status = house.get(f"/scan/{scan.id}/small.jpg").status_code
            fine = code in shown and scan.side != "verso"
            assert status == (200 if fine else 404), (code, scan.side)
            allowed, refused = allowed + fine, refused + (not fine)
            if not fine:
                for more in ("view.jpg", "tiles.json", "tiles/0/0-0.jpg"):
                    assert house.get(f"/scan/{scan.id}/{more}").status_code == 404
        for face in archive.photographs.faces(code).faces:
            if code not in shown:
                assert house.get(f"/face/{face.region[1:]}.jpg").status_code == 404
    assert allowed > 10
    assert refused > 10


def test_asking_for_somebody_does_not_tell_whether_they_are_there(house: Client, archive: Archive) -> None:
    """A page of somebody living, of nobody, and of a name that several have answer alike; so does a search."""
    id_, name = next(iter(the_living(archive).items()))
    for path in (id_, name, "Nobody Ofthisname", "I99999", "Quillern"):
        answer = house.get(f"/person/{path}", follow_redirects=False)
        assert (answer.status_code, answer.text) == (303, "")
    for path in ("K99999", "jpg"):
        assert house.get(f"/photograph/{path}", follow_redirects=False).status_code == 303
    for parameter in ("person", "ancestors", "descendants"):
        answers = {
            house.get("/search", params={parameter: asked}).text.replace(asked, "…") for asked in (name, "Xyz Nobody")
        }
        told = {re.sub(r'(name="(person|ancestors|descendants)" )?value="[^"]*"', "", text) for text in answers}
        assert len(told) == 1
        assert not re.search(r"fits \d+ people", answers.pop())
    counts = [
        re.search(r"<h1>(.*?)</h1>", house.get("/search", params={"q": asked}).text) for asked in (name, "Xyzzy Qq")
    ]
    assert [found and found[1] for found in counts] == ["Nothing found", "Nothing found"]
    lists = [house.get("/people", params={"name": asked}).text.replace(asked, "…") for asked in (name, "Xyzzy Qq")]
    assert lists[0] == lists[1]


def test_a_living_persons_name_on_an_old_photograph(archive: Archive, house: Client) -> None:
    """Named by mistake on a photograph from before anybody living was born: neither name nor picture is shown."""
    dated = [one for one in archive.dates.estimates() if archive.photographs.shown_to_anybody([one.code])]
    code = min(dated, key=lambda one: one.estimate.latest).code
    assert archive.photographs.details(code).estimate.latest < date(1910, 1, 1).toordinal()
    id_ = next(iter(the_living(archive)))
    archive.statements.link(Link(photograph=code, person=id_, region="0.1,0.1,0.1,0.1"))
    archive.dates.refresh()
    assert archive.photographs.shown_to_anybody([code]) == frozenset()
    assert house.get(f"/photograph/{code}", follow_redirects=False).status_code == 303


def test_whoever_has_the_password_sees_and_changes_everything(house: Client, archive: Archive) -> None:
    """After signing in the same browser is the keeper's: the tests above fail for the right reason."""
    browser = Browser(house)
    assert browser.post("/sign-in", {"password": PASSWORD}).status_code == 303
    id_, name = next(iter(the_living(archive).items()))
    assert name in browser.get(f"/person/{id_}")
    assert browser.post("/proband", {"person": id_}).status_code == 303
    for path in ONLY_AFTER_SIGNING_IN:
        browser.get(path)


def test_on_this_machine_nobody_has_to_sign_in(archive: Archive) -> None:
    """Without the house network whoever sits here is the keeper, and their cookie says nothing that holds there."""
    here = Client(make_app(archive), base_url="http://127.0.0.1:5817")
    assert here.get("/log", follow_redirects=False).status_code == 200
    cookie = here.cookies["kinphoto"]
    opened = Client(make_app(archive, ["192.168.7.7"], open_to_house=True), base_url=LAN, cookies={"kinphoto": cookie})
    assert opened.get("/log", follow_redirects=False).status_code == 303

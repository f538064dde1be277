"""What somebody who has not signed in can find: nothing that they cannot read.

What can be read is taken from the pages themselves, as a stranger gets them, and not from what the program thinks may
be read: whatever a search, a list or a link leads to has to stand on one of them.
"""

from __future__ import annotations

import re
import secrets
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from building import copied
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.search.searching import search
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.store import tables as t
from kinphoto.web.access import Credentials
from kinphoto.web.app import make_app

from .client import Client
from .conftest import LAN, PASSWORD, Browser

SHOWN = "K00009"
"""A photograph that may be shown to anybody; K00015 is one that may not."""
TITLED = {"K00015": "Qqwillow terrace", SHOWN: "Qqferry landing"}
LONGEST = 24
"""Letters of the longest word whose every beginning is asked for. Only digests of files are longer."""
HIDDEN = ("zznote", "zzrights", "zzmaker", "zzformer", "zzinscribed", "zzremembered", "zzinformant", "zzreason")


@pytest.fixture(scope="module")
def annotated(sample: Path, hashed: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Archive]:
    """The sample with a word of its own in every kind of text that is for those who have signed in, about a photograph
    that may be shown, and with titles on it and on one that may not. Nobody changes it any more."""
    archive = copied(sample, tmp_path_factory.mktemp("annotated") / "sample")
    Credentials(secrets.token_urlsafe(32), hashed).keep(archive.folder)
    assert archive.photographs.shown_to_anybody(list(TITLED)) == {SHOWN}, "the sample has changed: take others"
    archive.photographs.describe(
        SHOWN, Description(note="zznote", rights="zzrights", maker="zzmaker", former_number="zzformer")
    )
    archive.statements.record(
        NewClaim(photograph=SHOWN, kind="inscription", date="1911", text="zzinscribed 1911", by="zzinformant")
    )
    archive.statements.record(
        NewClaim(photograph=SHOWN, kind="recollection", date="1912", text="zzremembered", by="zzinformant")
    )
    archive.statements.link(Link(photograph=SHOWN, person="I33", denied=True, why="zzreason", by="zzinformant"))
    for code, title in TITLED.items():
        archive.photographs.describe(code, Description(title=title, place=f"{title.split()[0]} quay"))
    archive.dates.refresh()
    yield archive
    archive.close()


@pytest.fixture
def guest(annotated: Archive) -> Client:
    """The browser of a stranger in the house network, before its pages."""
    return Client(make_app(annotated, ["192.168.7.7"], open_to_house=True), base_url=LAN)


def words_of(*texts: str) -> set[str]:
    """The words of some texts as a search compares them."""
    return {word for text in texts for word in fold(text).split()}


def everything_written(archive: Archive) -> set[str]:
    """Every word in any column that holds text of people's own, of any table."""
    tables = (t.photograph, t.statement, t.appearance, t.informant, t.person, t.name, t.event, t.container, t.scan)
    texts: list[str] = []
    with archive.reading() as connection:
        for table in tables:
            for row in connection.execute(select(table)):
                texts += [value for value in row if isinstance(value, str)]
    return words_of(*texts)


def beginnings(words: set[str]) -> set[str]:
    """Every word and every beginning of one. Of a file's digest, those that may begin another too: a longer one finds
    what the whole does."""
    long = {word for word in words if len(word) > LONGEST}
    assert all(re.fullmatch("[0-9a-f]+", word) for word in long), "people write no such words"
    assert len({word[:LONGEST] for word in long}) == len(long), "so many letters tell each from all others"
    return long | {word[:end] for word in words for end in range(1, min(len(word), LONGEST) + 1)}


def text_of(page: str) -> str:
    """What can be read on a page, without its header."""
    main = page.partition("<main")[2]
    return unescape(re.sub(r"<[^>]*>", " ", main))


class Readable:
    """What a stranger can read, photograph by photograph: on its page, on those of the people named on it, and the
    names of the boxes around it."""

    def __init__(self, house: Client, archive: Archive) -> None:
        self.house = house
        self.words: dict[str, str] = {}
        self._people: dict[str, str] = {}
        for code in sorted(archive.photographs.shown_to_anybody([one.code for one in archive.dates.estimates()])):
            page = house.get(f"/photograph/{code}", follow_redirects=False)
            assert page.status_code == 200, code
            people = sorted(set(re.findall(r'href="(/person/[^"]+)"', page.text)))
            self.words[code] = " ".join(["", fold(text_of(page.text)), *map(self._words_of_person, people)])

    def _words_of_person(self, path: str) -> str:
        if path not in self._people:
            answer = self.house.get(path, follow_redirects=False)
            assert answer.status_code == 200, path
            self._people[path] = fold(text_of(answer.text))
        return self._people[path]


@pytest.fixture
def readable(annotated: Archive, guest: Client) -> Readable:
    """The same of the sample."""
    return Readable(guest, annotated)


def test_no_word_finds_a_photograph_on_which_it_cannot_be_read(readable: Readable, annotated: Archive) -> None:
    """Each word written anywhere in the archive, and each beginning of one: a stranger finds only photographs on whose
    pages it stands, and of people only those whom the pages name."""
    asked = beginnings(everything_written(annotated))
    assert len(asked) > 3_000
    names = " ".join(readable.words.values())
    living = cache(lambda person: annotated.people.living([person]))
    found_by: dict[str, int] = defaultdict(int)
    with annotated.reading() as rows:  # one view for all of them
        found_with = {word: search(rows, SearchQuery(text=word), for_anybody=True) for word in sorted(asked)}
    for word, found in found_with.items():
        for one in found.photographs:
            assert one.code in readable.words, f"{word} finds {one.code}, which may not be shown"
            if not word.isdigit() or len(word) != 4:  # four digits are a year, not a word
                assert word in readable.words[one.code], f"{word} finds {one.code}"
        assert found.count <= len(readable.words)
        for person in found.people:
            assert fold(person.name) in names or not person.pictures, f"{word} names {person.name}"
            assert not living(person.id), f"{word} names {person.name}"
        found_by[word] = found.count
    assert found_by["qqferry"] == 1  # what can be read is found


@pytest.mark.parametrize("word", HIDDEN)
def test_words_for_those_who_have_signed_in_are_found_by_them_alone(
    guest: Client, annotated: Archive, word: str
) -> None:
    """Letter by letter a stranger gets the same page as for letters that nobody wrote; the keeper finds the words."""
    nothing = guest.get("/search", params={"q": "xqxq"}).text
    for end in range(3, len(word) + 1):
        assert guest.get("/search", params={"q": word[:end]}).text == nothing.replace("xqxq", word[:end])
    browser = Browser(guest)
    browser.post("/sign-in", {"password": PASSWORD})
    found = re.findall(r'class="thumbnail[^"]*" href="/photograph/(K\d+)"', browser.get(f"/search?q={word}"))
    assert found == ([] if word in ("zzinformant", "zzreason") else [SHOWN])


def test_a_title_that_may_be_read_is_found_and_one_that_may_not_is_not(guest: Client, annotated: Archive) -> None:
    """Of two photographs with a title, a stranger finds the one that may be shown."""
    assert f'href="/photograph/{SHOWN}"' in guest.get("/search?q=qqferry").text
    assert "Nothing found" in guest.get("/search?q=qqwillow").text


def walked(house: Client, start: str, rel: str) -> list[str]:
    """The photographs on which one comes from a photograph by the link of this kind, until there is none."""
    codes = [start]
    while True:
        answer = house.get(f"/photograph/{codes[-1]}", follow_redirects=False)
        assert answer.status_code == 200, f"{codes[-1]} leads to where one signs in"
        onward = re.search(rf'href="/photograph/(K\d+)"[^>]* rel="{rel}"', answer.text)
        if onward is None:
            return codes
        assert onward[1] not in codes
        codes.append(onward[1])


def boxes(archive: Archive) -> Iterator[tuple[int, list[str]]]:
    """Every box, and the photographs in it in their order."""
    for box in archive.photographs.containers():
        yield box.id, [one.code for one in archive.photographs.container(box.id or None).photographs]


def test_before_and_after_lead_past_what_may_not_be_shown(house: Client, archive: Archive) -> None:
    """From the first to the last photograph of each box and back: exactly those that may be shown, in their order, and
    their place is counted among those."""
    skipped = walks = 0
    for _, codes in boxes(archive):
        shown = [code for code in codes if archive.photographs.shown_to_anybody([code])]
        skipped += len(codes) - len(shown)
        if not shown:
            continue
        walks += 1
        assert walked(house, shown[0], "next") == shown
        assert walked(house, shown[-1], "prev") == shown[::-1]
        last = house.get(f"/photograph/{shown[-1]}").text
        assert re.search(rf"<li>{len(shown)}\w\w of {len(shown)}</li>", last)
    assert skipped > 10
    assert walks > 2


def test_a_box_counts_and_shows_what_may_be_shown(house: Client, archive: Archive) -> None:
    """No figure and no gap tells how many photographs are kept back; a box of nothing else is not there at all."""
    total = empty = 0
    for id_, codes in boxes(archive):
        shown = [code for code in codes if archive.photographs.shown_to_anybody([code])]
        answer = house.get(f"/box/{id_}")
        assert re.findall(r'class="thumbnail[^"]*" href="/photograph/(K\d+)"', answer.text) == shown
        assert answer.status_code == (200 if shown else 404)
        if shown:
            assert re.search(rf'<p class="fact">{len(shown)} photographs?</p>', answer.text)
        total, empty = total + len(shown), empty + (not shown)
    assert f"{total} photographs in all" in text_of(house.get("/boxes").text)
    assert f"{total} photographs from" in text_of(house.get("/").text)
    assert empty


def test_a_box_of_the_living_alone_is_neither_shown_nor_found(house: Client, archive: Archive) -> None:
    """Its name may be theirs: it is on no page, in no choice and in no search, and its number is nobody's."""
    archive.photographs.move(["K00015"], "Zzyear book")
    id_ = next(box.id for box in archive.photographs.container_names() if box.name == "Zzyear book")
    for path in ("/boxes", "/search", "/search?q=zzyear", "/", f"/search?box={id_}&q=a"):
        assert "Zzyear" not in house.get(path).text
    refusals = [house.get(f"/box/{number}") for number in (id_, 9999)]
    assert [answer.status_code for answer in refusals] == [404, 404]
    assert refusals[0].text == refusals[1].text.replace("9999", str(id_))


def test_what_is_disputed_is_told_to_nobody_who_has_not_signed_in(house: Client, archive: Archive) -> None:
    """What does not fit together can touch what a family never said: no figure, no red, no list of it."""
    codes = [d.code for d in archive.dates.estimates() if d.estimate.state == "disputed"]
    shown = sorted(archive.photographs.shown_to_anybody(codes))
    assert shown, "the sample has changed: dispute something"
    for path in ("/", "/boxes", *(f"/photograph/{code}" for code in shown), "/search?q=k0", "/search?wanting=undated"):
        page = house.get(path).text
        assert "disputed" not in page, path
        assert not re.search(r'class="[^"]*\bred\b', page), path
        assert "does not fit" not in page, path
        assert "conflict" not in page.casefold(), path
    assert "Nothing found" in house.get("/search?wanting=disputed").text


def test_counts_of_pictures_are_those_that_may_be_shown(house: Client, archive: Archive) -> None:
    """Of everybody on the list of people: as many pictures as a search for them shows."""
    listed = re.findall(r'<li><a href="/person/([^"]+)">(.*?)</li>', house.get("/people").text, re.S)
    rows = [(id_, re.search(r'<span class="fact">(?:(\d+) pictures?|no picture)</span>$', one)) for id_, one in listed]
    assert len(rows) > 15
    differ = 0
    for id_, number in rows:
        found = archive.search.find(SearchQuery(people=(id_,)), for_anybody=True)
        assert number is not None, id_
        assert int(number[1] or 0) == found.count, id_
        differ += archive.search.find(SearchQuery(people=(id_,))).count != found.count
    assert differ  # the sample has people with pictures that may not be shown


def test_a_namesake_who_may_be_living_changes_nothing(house: Client, archive: Archive) -> None:
    """Somebody dead is found by their name whether or not somebody living is called the same."""
    archive.people.add("Ada Zzmarsh", born="1850", died="1920")
    alone = [house.get("/person/Ada%20Zzmarsh", follow_redirects=False).status_code]
    alone.append(house.get("/search?person=Ada%20Zzmarsh").status_code)
    archive.people.add("Ada Zzmarsh", born="1990")
    beside = [house.get("/person/Ada%20Zzmarsh", follow_redirects=False).status_code]
    beside.append(house.get("/search?person=Ada%20Zzmarsh").status_code)
    assert alone == beside == [200, 200]


def test_the_surname_of_a_living_husband_does_not_find_his_wife(house: Client, archive: Archive) -> None:
    """Women are found by the surname of whom they married, unless that would tell a name of the living."""
    with archive.working("a marriage") as work:
        ids = {}
        for code, name, sex, living in (("I900", "Ada Zzmarsh", "F", 0), ("I901", "Tom Zzholm", "M", 1)):
            ids[code] = work.insert_one(t.person, code=code, name=name, sex=sex, living=living)
            work.insert_one(t.name, person_id=ids[code], text=name, surname=name.split()[1], folded=fold(name))
        family = work.insert_one(t.family, code="F900")
        for id_ in ids.values():
            work.insert_one(t.partner, family_id=family, person_id=id_)
    assert "Ada Zzmarsh" in Browser(house).get("/people?name=zzmarsh")
    assert [one.name for one in archive.people.find("zzholm").people] == ["Tom Zzholm", "Ada Zzmarsh"]
    for path in ("/people?name=zzholm", "/search?q=zzholm", "/person/Ada%20Zzholm"):
        assert "Zzmarsh" not in house.get(path).text, path


def test_what_files_are_called_is_not_asked_out(house: Client, archive: Archive) -> None:
    """A stranger opens a photograph by its code, never by the end of a path, which could be tried letter by letter."""
    path = archive.photographs.details(SHOWN).scans[0].path
    for end in (path, path.rpartition("/")[2], path[-5:]):
        answer = house.get(f"/photograph/{end.replace('/', '%2F')}", follow_redirects=False)
        assert answer.status_code in (303, 404), end
    assert house.get(f"/photograph/{SHOWN}").status_code == 200


def test_faces_that_may_not_be_shown_are_answered_like_faces_that_are_not_there(
    house: Client, archive: Archive
) -> None:
    """The refusal names no scan, and is the same in all but the number that was asked for."""
    region = archive.photographs.faces("K00015").faces[0].region[1:]
    answers = [house.get(f"/face/{number}.jpg") for number in (region, "99999")]
    assert [answer.status_code for answer in answers] == [404, 404]
    assert answers[0].text.replace(region, "…") == answers[1].text.replace("99999", "…")


def test_strangers_are_not_told_when_something_is_changed(house: Client, archive: Archive) -> None:
    """What the keeper changes may be something they may not see: their pages carry no number of a change."""
    before = house.get("/boxes").text
    archive.photographs.describe("K00015", Description(note="somebody changed this"))
    assert house.get("/boxes").text == before
    assert 'data-change=""' in before
    assert house.get("/pulse?after=0").status_code == 204


def test_a_stranger_does_not_uncover_a_date_for_the_keeper(house: Client) -> None:
    """Two hundred visits of strangers do not make the pages forget what the keeper has seen."""
    seen = house.app.state.seen  # type: ignore[attr-defined]
    for _ in range(5):
        house.cookies.clear()
        house.get(f"/photograph/{SHOWN}")
    assert len(seen._seen) == 0

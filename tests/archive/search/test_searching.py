"""Searching by one line and by what is chosen: which photographs, people and containers fit."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from datetime import date
from functools import partial
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import event, insert, select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.search import searching, word_index
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.search.word_index import FILE
from kinphoto.store import tables as t

BOXES = {"box 1": None, "box 12": None, "Blue album": "box 1"}
PHOTOGRAPHS = {
    "K00001": ("box 1", "The ferry", ("Cora Askvold",)),
    "K00002": ("box 12", "Harvest", ("Cora Askvold", "Jens Lundmark")),
    "K00003": ("Blue album", "", ("Jens Lundmark",)),
    "K00004": ("Blue album", "Ferry in the harvest", ()),
    "K00005": (None, "Askvold's boathouse", ("Ida Lundmark",)),
}
"""Where each lies, what is written on it, and who is in it. Cora Askvold married Jens Lundmark."""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Those photographs."""
    made = Archive.create(tmp_path / "archive")
    with made.working("everything") as work:
        boxes: dict[str | None, int] = {}
        for name, parent in BOXES.items():
            boxes[name] = work.insert_one(t.container, name=name, parent_id=boxes.get(parent))
        people = {}
        for n, (name, sex) in enumerate((("Cora Askvold", "F"), ("Jens Lundmark", "M"), ("Ida Lundmark", "F")), 1):
            people[name] = work.insert_one(t.person, code=f"I{n}", name=name, sex=sex)
            surname = name.split()[1]
            work.insert_one(t.name, person_id=people[name], text=name, surname=surname, folded=fold(name))
        family = work.insert_one(t.family, code="F1")
        for name in ("Cora Askvold", "Jens Lundmark"):
            work.insert_one(t.partner, family_id=family, person_id=people[name])
        for code, (box, title, there) in PHOTOGRAPHS.items():
            photo = work.insert_one(
                t.photograph, code=code, indexed=738_000, title=title, container_id=boxes.get(box) if box else None
            )
            for name in there:
                work.insert_one(t.appearance, photograph_id=photo, person_id=people[name], said_at="2021-07-21")
    return made


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("ferry", "14"),
        ("ferry harvest", "4"),
        ("cora", "12"),
        ("askvold", "125"),  # by her name, and by a word
        ("cora lundmark", "12"),  # her married name
        ("jens harvest", "2"),
        ("box 12", "2"),
        ("box 1", "1234"),  # box 12 begins so; the album lies in box 1
        ("blue album", "34"),
        ("album jens", "3"),
        ("album ferry", "4"),
        ("k00003", "3"),
        ("nobody", ""),
    ],
)
def test_every_word_has_to_stand_somewhere(archive: Archive, text: str, codes: str) -> None:
    """In the name of somebody in the picture, of a container above it, or on the photograph itself."""
    found = archive.search.find(SearchQuery(text=text))
    assert sorted(one.code[-1] for one in found.photographs) == list(codes)
    assert found.count == len(codes)


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("the ferry", "14"),
        ("Cora at the harvest", "2"),
        ("Cora and Jens", "2"),
        ("all pictures of Cora", "12"),
        ("Bilder von Jens in der box 12", "2"),
        ("the", "14"),  # nothing else is asked
        ("pictures", ""),
    ],
)
def test_it_is_asked_as_one_speaks(archive: Archive, text: str, codes: str) -> None:
    """Small words need not stand anywhere, and "pictures of" asks for nothing by itself."""
    found = archive.search.find(SearchQuery(text=text))
    assert sorted(one.code[-1] for one in found.photographs) == list(codes)


def test_small_words_mean_nobody_in_whose_name_their_letters_are(archive: Archive) -> None:
    """ "as" is in Askvold, "in" is not looked for in a name; in a name they count as whole words."""
    assert [one.name for one in archive.search.find(SearchQuery(text="Jens as a boy")).people] == ["Jens Lundmark"]
    archive.people.add("Ida von Berg")
    archive.people.add("Ida Berg")
    assert [one.name for one in archive.search.find(SearchQuery(text="ida von berg")).people] == ["Ida von Berg"]


def test_what_is_chosen_narrows_what_is_typed(archive: Archive) -> None:
    """People all have to be in the picture; a box holds what lies in those inside it."""
    both = archive.search.find(SearchQuery(people=("I1", "I2")))
    assert [one.code for one in both.photographs] == ["K00002"]
    assert [(one.name, one.pictures) for one in both.chosen] == [("Cora Askvold", 2), ("Jens Lundmark", 2)]
    box = next(box.id for box in archive.photographs.container_names() if box.name == "box 1")
    assert [one.code for one in archive.search.find(SearchQuery(text="harvest", box=box)).photographs] == ["K00004"]


def test_the_people_and_containers_that_words_mean_are_named(archive: Archive) -> None:
    """Those in most pictures first, also when they are in none; containers when all words stand in their name."""
    meant = archive.search.find(SearchQuery(text="lundmark"))
    assert [(one.id, one.pictures) for one in meant.people] == [("I1", 2), ("I2", 2), ("I3", 1)]
    assert [box.name for box in archive.search.find(SearchQuery(text="box 1")).boxes] == ["box 1", "box 12"]


def test_a_page_beyond_the_last_still_counts(archive: Archive) -> None:
    """What fits is counted whichever page is asked for."""
    found = archive.search.find(SearchQuery(text="cora"), start=60)
    assert (found.photographs, found.count) == ((), 2)


@pytest.mark.parametrize(
    ("text", "codes"), [("cora 1920s", "1"), ("cora 1920-1999", "12"), ("1920s", "14"), ("jens 1920s", "")]
)
def test_years_narrow_what_is_typed(archive: Archive, text: str, codes: str) -> None:
    """Few years and many alike: what is likely to have been taken then and fits the words."""
    years = {"K00001": 1921, "K00002": 1950, "K00003": 1951, "K00004": 1925}
    with archive.working("estimates") as work:
        ids = dict(work.connection.execute(select(t.photograph.c.code, t.photograph.c.id)).all())
        for code, year in years.items():
            first, last = (date(year, month, 1).toordinal() for month in (1, 12))
            work.connection.execute(
                insert(t.estimate).values(
                    photograph_id=ids[code], earliest=first, latest=last, likely_from=first, likely_to=last,
                    best=first, state="dated",
                )
            )  # fmt: skip
    assert [one.code[-1] for one in archive.search.find(SearchQuery(text=text)).photographs] == list(codes)


def test_of_very_many_namesakes_those_in_the_pictures_shown_are_named(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counting the pictures of thousands would take longer than all else; where nobody is shown, all count again."""
    with archive.reading() as connection:
        album = connection.scalar(select(t.container.c.id).where(t.container.c.name == "Blue album"))
    few = archive.search.find(SearchQuery(text="lundmark", box=album)).people
    assert {one.name for one in few} == {"Cora Askvold", "Jens Lundmark", "Ida Lundmark"}
    monkeypatch.setattr(searching, "MANY", 2)
    assert [one.name for one in archive.search.find(SearchQuery(text="lundmark", box=album)).people] == [
        "Jens Lundmark"
    ]
    assert len(archive.search.find(SearchQuery(text="lundmark 1700s")).people) == 3


def test_words_are_found_where_nothing_may_be_written(
    shared: Path, without_rights: Callable[[], AbstractContextManager[None]]
) -> None:
    """The index is made in memory then, and no file is left or thrown away."""
    made = Archive.create(shared / "archive")
    with made.working("a photograph") as work:
        work.insert_one(t.photograph, code="K00001", indexed=738_000, title="The ferry")
    made.search.find(SearchQuery(text="ferry"))
    made.close()
    (made.folder / FILE).unlink()
    for path in (made.folder / "kinphoto.db", made.folder):
        path.chmod(0o555)
    with without_rights():
        assert [each.code for each in Archive.open(made.folder).search.find(SearchQuery(text="ferry")).photographs] == [
            "K00001"
        ]
    assert [path.name for path in made.folder.iterdir()] == ["kinphoto.db"]


def test_the_names_of_files_are_searched(tmp_path: Path) -> None:
    """What somebody wrote into the name of a file finds the photograph, whatever the alphabet, also after its scan was
    renamed, and after it was joined to another photograph; nobody else reads it."""
    folder = tmp_path / "scans"
    folder.mkdir()
    for number, name in enumerate(("Omas Album 1.png", "свадьба 1925.png", "the ferry back.png")):
        Image.linear_gradient("L").rotate(90 * number).save(folder / name)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])

    def found(text: str, *, for_anybody: bool = False) -> list[str]:
        question = SearchQuery(text=text)
        return [one.code for one in archive.search.find(question, for_anybody=for_anybody).photographs]

    assert (found("oma"), found("СВАДЬБА"), found("back")) == (["K00001"], ["K00003"], ["K00002"])
    assert found("oma", for_anybody=True) == []
    archive.scans.rename(["K00001"], "harbour")
    assert (found("omas album"), found("harbour 0001")) == (["K00001"], ["K00001"])
    archive.scans.join(["K00001", "K00002"])
    assert found("back") == ["K00001"]
    archive.statements.undo(archive.statements.history()[0].number)
    assert found("back") == ["K00002"]


def test_an_index_that_another_holds_is_not_thrown_away(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever waited long enough makes one in memory for this search."""
    monkeypatch.setattr(word_index, "_TIMEOUT", 0.05)
    archive.search.find(SearchQuery(text="ferry"))
    kept = (archive.folder / FILE).stat().st_ino
    with archive.working("another title") as work:
        work.update(t.photograph, [1], title="The rowing boat")
    with closing(sqlite3.connect(archive.folder / FILE, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE").close()
        assert [each.code for each in archive.search.find(SearchQuery(text="rowing")).photographs] == ["K00001"]
    assert (archive.folder / FILE).stat().st_ino == kept


def test_a_search_that_finds_nothing_asks_little(archive: Archive) -> None:
    """Letters that nobody wrote are answered with a few statements: one for where the scans are, one for what may be
    shown, the others for what has changed since the last search."""
    search = partial(archive.search.find, SearchQuery(text="xqxq"), for_anybody=True)
    search()
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_more: object) -> None:
        asked.append(statement)

    event.listen(archive.engine, "before_cursor_execute", note)
    try:
        assert search().count == 0
    finally:
        event.remove(archive.engine, "before_cursor_execute", note)
    assert len([statement for statement in asked if statement.startswith("SELECT")]) <= 5

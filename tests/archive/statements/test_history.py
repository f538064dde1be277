"""What bears on a date, recorded, related and withdrawn; the log tells it in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Three photographs; the front of K00001 was taken by a camera, its back was scanned later."""
    made = Archive.create(tmp_path / "archive")
    blank = {"sha256": "", "size": 1, "mtime_ns": 1, "file_type": "JPEG", "width": 1, "height": 1, "indexed_at": "",
             "first_sha256": ""}  # fmt: skip
    with made.working("filled") as work:
        ids = work.insert(t.photograph, [{"code": f"K0000{n}", "indexed": 738000} for n in (1, 2, 3)])
        for path, side, when in (("/b", "verso", "2019:01:01 00:00:00"), ("/a", "recto", "2004:07:11 18:02:11")):
            work.insert_one(t.scan, **blank, photograph_id=ids[0], path=path, side=side, exif_original=when)
        work.insert_one(t.scan, **blank, photograph_id=ids[1], path="/c", exif_original="2004:13:45 00:00:00")
    return made


def tie(archive: Archive, one: str, relation: str, other: str, **said: Any) -> tuple[str, bool]:
    """Relate two photographs; the statement, and whether it is new."""
    done = archive.statements.relate(Tie(photograph=one, relation=relation, other=other, **said))[0]
    return done.statement, done.changed


@pytest.mark.parametrize(
    ("one", "relation", "other"), [("K2", "before", "K1"), ("K1", "after", "K2"), ("K2", "Before", "K1")]
)
def test_the_opposite_order_is_told_at_once_and_is_a_conflict(
    archive: Archive, one: str, relation: str, other: str
) -> None:
    """Ada says that K00001 was before K00002, Tom the opposite, from either side: both are kept, and both told."""
    first = archive.statements.relate(Tie(photograph="K1", relation="before", other="K2", by="Ada"))
    assert first[1] == []
    second, (warning,) = archive.statements.relate(Tie(photograph=one, relation=relation, other=other, by="Tom"))
    assert warning.startswith(f"{first[0].statement} says the opposite")
    assert "\n" not in warning
    (story,) = archive.dates.conflicts().stories
    assert {said.id for said in story.statements} == {first[0].statement, second.statement}
    assert story.tie


def test_the_same_order_again_is_no_opposite(archive: Archive) -> None:
    """Two people agree, one of them from the other photograph."""
    archive.statements.relate(Tie(photograph="K1", relation="before", other="K2", by="Ada"))
    assert archive.statements.relate(Tie(photograph="K2", relation="after", other="K1", by="Tom"))[1] == []
    assert archive.dates.conflicts().stories == ()


def is_page(archive: Archive, code: str) -> bool:
    """Whether a photograph is an album page."""
    with archive.reading() as connection:
        return bool(connection.scalar(select(t.photograph.c.page).where(t.photograph.c.code == code)))


def test_a_file_born_digital_takes_the_day_of_its_camera(archive: Archive) -> None:
    """The front's DateTimeOriginal (EXIF 2.3: YYYY:MM:DD HH:MM:SS), as a date and with the word for it."""
    done, _ = archive.statements.record(NewClaim(photograph="K1", kind="taken", date="exif"))
    assert done.words == "taken on 11 July 2004, by its camera"
    with archive.reading() as connection:
        row = connection.execute(select(t.statement)).mappings().one()
    assert (row["date_text"], row["text"]) == ("2004-07-11", "born digital")


@pytest.mark.parametrize("photograph", ["K2", "K3"])
def test_no_day_of_a_camera_is_made_up(archive: Archive, photograph: str) -> None:
    """Neither from an impossible date nor from none."""
    with pytest.raises(NotFoundError, match="records when it was taken"):
        archive.statements.record(NewClaim(photograph=photograph, kind="taken", date="EXIF"))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("K1", "before", "K2"), ("K2", "after", "K1")),
        (("K1", "after", "K2"), ("K2", "before", "K1")),
        (("K1", "same-occasion", "K2"), ("K2", "same-occasion", "K1")),
        (("K1", "same-negative", "K2"), ("K2", "same-negative", "K1")),
        (("K1", "copy-of", "K2"), ("K1", "copy-of", "K2")),
    ],
)
def test_the_same_from_the_other_side_is_once(archive: Archive, one: Any, other: Any) -> None:
    """Before this is after that; by another informant it is another statement."""
    first, _ = tie(archive, *one)
    assert tie(archive, *other) == (first, False)
    again, new = tie(archive, *other, by="Per")
    assert new
    assert again != first


def test_orders_that_contradict_each_other_may_both_be_said(archive: Archive) -> None:
    """The reasoner finds what does not fit together; recording refuses nobody's word."""
    assert tie(archive, "K1", "before", "K2") != tie(archive, "K2", "before", "K1")


@pytest.mark.parametrize("relation", ["copy-of", "part-of"])
def test_neither_is_the_copy_of_the_other_both_ways(archive: Archive, relation: str) -> None:
    """The answer names the statement to withdraw if it was the wrong way round."""
    first, _ = tie(archive, "K1", relation, "K2")
    with pytest.raises(InvalidValueError, match=f"kinphoto withdraw {first}"):
        tie(archive, "K2", relation, "K1")


def test_a_page_is_a_page_as_long_as_something_is_on_it(archive: Archive) -> None:
    """Withdrawing the last picture makes it a photograph again; so does undo."""
    one, _ = tie(archive, "K1", "part-of", "K3")
    two, _ = tie(archive, "K2", "part-of", "K3")
    archive.statements.withdraw(one)
    assert is_page(archive, "K00003")
    archive.statements.withdraw(two)
    assert not is_page(archive, "K00003")
    archive.statements.undo()
    assert is_page(archive, "K00003")


def test_an_object_has_one_process_and_any_number_of_formats(archive: Archive) -> None:
    """A better look at the paper replaces the first; a second opinion stands beside it."""
    first, _ = archive.statements.record_making("K1", "process", "albumen", by="Edda")
    better, _ = archive.statements.record_making("K1", "process", "salted paper print", by="Edda")
    archive.statements.record_making("K1", "process", "albumen", by="Per")
    archive.statements.record_making("K1", "format", "real-photo-postcard")
    archive.statements.record_making("K1", "format", "postcard-divided-back-us")
    assert f"{first.statement}, withdrawn" in better.words
    with archive.reading() as connection:
        s = t.statement.c
        rows = connection.execute(select(s.kind, s.value).where(s.withdrawn == 0).order_by(s.id)).all()
    assert [tuple(row) for row in rows] == [
        ("process", "salted-paper"),
        ("process", "albumen"),
        ("format", "real-photo-postcard"),
        ("format", "postcard-divided-back-us"),
    ]


def test_a_dangerous_object_is_told_to_be_one(archive: Archive) -> None:
    """Nitrate film: severe fire hazard, toxic gases (National Park Service, Conserve O Gram 2/22)."""
    done, _ = archive.statements.record_making("K1", "process", "nitrate film")
    assert "fire hazard" in done.cautions[0]


def test_a_description_can_be_emptied(archive: Archive) -> None:
    """Empty words take a title away and an object out of its container."""
    archive.photographs.describe("K1", Description(title="At sea", container="Tin trunk"))
    done = archive.photographs.describe("K1", Description(title="", container=""))
    assert done.changed
    with archive.reading() as connection:
        row = connection.execute(select(t.photograph).where(t.photograph.c.code == "K00001")).mappings().one()
    assert (row["title"], row["container_id"]) == ("", None)
    assert not archive.photographs.describe("K1", Description(title="", container="")).changed


def test_the_log_says_what_was_withdrawn(archive: Archive) -> None:
    """In words, not only as a number."""
    said, _ = archive.statements.record(NewClaim(photograph="K1", kind="inscription", text="Skerry Point,\n1924?"))
    done = archive.statements.withdraw(said.statement.lower())
    assert done.changed
    assert archive.statements.history(1)[0].what == "withdrew S1, inscription “Skerry Point, 1924?” of K00001"
    assert not archive.statements.withdraw(said.statement).changed


@pytest.mark.parametrize("number", [0, -3, 99, 10**30])
def test_changes_that_never_were(archive: Archive, number: int) -> None:
    """Whatever number is typed."""
    with pytest.raises(NotFoundError, match="kinphoto log"):
        archive.statements.undo(number)


def test_undo_goes_back_one_by_one_and_then_says_so(archive: Archive) -> None:
    """Without a number the newest change that stands is taken back, undos left aside."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    assert "1924" in archive.statements.undo().what
    assert archive.statements.undo().what == "filled"
    with pytest.raises(ArchiveError, match="nothing to undo"):
        archive.statements.undo()
    newest = archive.statements.history()
    assert [(c.number, c.undoes, c.undone_by) for c in newest] == [
        (4, 1, None), (3, 2, None), (2, None, 3), (1, None, 4)]  # fmt: skip


def test_a_family_event_is_asked_for_by_its_key(archive: Archive) -> None:
    """What is no key, and what is not in the tree, is told apart."""
    with pytest.raises(InvalidValueError, match="F3:MARR"):
        archive.statements.record(NewClaim(photograph="K1", kind="event", date="the wedding"))
    with pytest.raises(NotFoundError, match="F9"):
        archive.statements.record(NewClaim(photograph="K1", kind="event", date="@F9@:MARR"))


def test_the_log_is_read_page_by_page(archive: Archive) -> None:
    """Each page goes on before the last number of the one before; nothing is told twice or left out."""
    for year in range(1920, 1927):
        archive.statements.record(NewClaim(photograph="K1", kind="taken", date=str(year)))
    whole = archive.statements.history()
    pages, before = [], None
    while page := archive.statements.history(3, before):
        pages.append([change.number for change in page])
        before = page[-1].number
    assert pages == [[8, 7, 6], [5, 4, 3], [2, 1]]
    assert [change.number for change in whole] == [number for page in pages for number in page]
    assert archive.statements.history(3, 0) == []
    assert archive.statements.history(1, 10**30) == whole[:1]


def test_the_log_names_the_photographs_a_change_touched(archive: Archive) -> None:
    """Of a relation both; of what was undone as well, as long as its rows are there; none where they are many."""
    tie(archive, "K1", "before", "K2")
    archive.photographs.describe("K3", Description(title="At sea"))
    archive.statements.add_informant("Aunt Edda")
    archive.statements.withdraw("S1")
    assert [change.photographs for change in archive.statements.history(4)] == [
        ("K00001", "K00002"),
        (),
        ("K00003",),
        ("K00001", "K00002"),
    ]
    with archive.working("a boxful") as work:
        work.insert(t.photograph, [{"code": f"K{n:05}", "indexed": 738000} for n in range(10, 30)])
    assert archive.statements.history(1)[0].photographs == ()

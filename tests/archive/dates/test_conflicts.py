"""Conflicts as stories that are kept, and settling one in one step."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.dates import estimates
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.words.conflict_stories import ConflictStory, StoryBook
from kinphoto.errors import InvalidValueError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Ada, born in 1931, is in K00001, which was taken in 1910: one of the two dates, or the name, does not fit."""
    made = archive_with(tmp_path, photographs=2)
    made.people.add("Ada Marsh", born="4 JUN 1931")
    made.statements.link(Link(photograph="K1", person="X1"))
    made.statements.record(NewClaim(photograph="K1", kind="taken", date="1910", by="Uncle Per"))
    return made


def only_story(archive: Archive) -> ConflictStory:
    """The one conflict."""
    (story,) = archive.dates.conflicts().stories
    return story


def another(archive: Archive) -> None:
    """A second conflict that has nothing to do with the first."""
    archive.people.add("Tom Holm", born="1940")
    archive.statements.link(Link(photograph="K2", person="X2"))
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1905"))


def withdrawn(archive: Archive) -> list[str]:
    """What stands as withdrawn."""
    with archive.reading() as connection:
        return [
            f"{letter}{id_}"
            for letter, table in (("S", t.statement), ("A", t.appearance), ("E", t.event))
            for id_ in connection.scalars(select(table.c.id).where(table.c.withdrawn == 1))
        ]


def test_each_way_out_says_what_it_would_mean(archive: Archive) -> None:
    """One phrase each, short enough for a key; each names the statements it would withdraw."""
    story = only_story(archive)
    assert {way.statements: way.words for way in story.ways} == {
        ("A1",): "It may not be Ada Marsh in K00001",
        ("S1",): "K00001 may not have been taken in 1910",
        ("E1",): "The birth date of Ada Marsh may not be right",
    }
    assert story.ways[0].statements == story.aside
    assert all(way.words in story.advice for way in story.ways)


@pytest.mark.parametrize("at", [0, 1, 2])
def test_each_way_settles_the_conflict_in_one_change(archive: Archive, at: int) -> None:
    """One line of the log that tells which way; undo takes it back whole, and the conflict has its id again."""
    story = only_story(archive)
    way = story.ways[at]
    done = archive.dates.settle(story.id.lower(), [each.lower() for each in way.statements])
    assert [each.statement for each in done.withdrawn] == list(way.statements) == withdrawn(archive)
    assert archive.dates.conflicts().stories == ()
    newest = archive.statements.history(1)[0]
    assert newest.number == done.change
    assert newest.what.startswith(f"settled {story.id} ({story.headline}): withdrew {way.statements[0]}, ")
    archive.statements.undo()
    assert only_story(archive) == story


def test_a_way_by_its_letter(archive: Archive) -> None:
    """Ways are told with letters, and the letter is enough; one that is none names those there are."""
    story = only_story(archive)
    with pytest.raises(InvalidValueError, match=r"Choose one of: a \(\w+\); or b \(\w+\); or c"):
        archive.dates.settle(story.id, ["d"])
    assert [each.statement for each in archive.dates.settle(story.id, ["b"]).withdrawn] == list(
        story.ways[1].statements
    )


def test_a_way_of_two_statements(archive: Archive) -> None:
    """Two say 1910 and the birth is certain: both go at once, under one number."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1910", by="Aunt Edda"))
    story = only_story(archive)
    both = next(way for way in story.ways if len(way.statements) == 2)
    assert both.words == "K00001 may not have been taken in 1910"
    before = archive.statements.history(1)[0].number
    assert {each.statement for each in archive.dates.settle(story.id, both.statements[::-1]).withdrawn} == {"S1", "S2"}
    assert archive.statements.history(1)[0].number == before + 1
    assert archive.dates.conflicts().stories == ()


@pytest.mark.parametrize("way", [[], ["A9"], ["A1", "S1"], ["nonsense"]])
def test_what_is_no_way_out_is_refused(archive: Archive, way: list[str]) -> None:
    """The remedy lists the ways there are; nothing is changed."""
    story, newest = only_story(archive), archive.statements.history(1)[0]
    with pytest.raises(InvalidValueError, match="not a way to settle") as caught:
        archive.dates.settle(story.id, way)
    assert "A1" in caught.value.remedy
    assert archive.statements.history(1)[0] == newest


def test_a_conflict_that_somebody_else_settled_meanwhile(archive: Archive) -> None:
    """Whoever still has it before them is told to look again; nothing more is withdrawn."""
    story = only_story(archive)
    archive.statements.withdraw("S1")
    with pytest.raises(InvalidValueError, match="any more"):
        archive.dates.settle(story.id, ["A1"])
    assert withdrawn(archive) == ["S1"]


def test_several_are_settled_without_dating_everything_in_between(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was withdrawn of one conflict leaves another, of which nothing was touched, as it was found."""
    another(archive)
    book = archive.dates.conflicts()
    monkeypatch.setattr(estimates, "gather", None)
    for story in book.stories:
        name = next(way for way in story.ways if way.statements[0].startswith("A"))
        assert archive.dates.settle(story.id, name.statements).withdrawn
    assert withdrawn(archive) == ["A1", "A2"]
    assert archive.dates.kept_conflicts().stories == ()


def test_a_conflict_is_found_anew_when_its_people_turned_out_to_be_others(archive: Archive) -> None:
    """Ada Marsh was somebody born in 1880: nothing is left to settle, though none of the statements was touched."""
    story = only_story(archive)
    archive.people.add("Ada Holm", born="1880")
    archive.people.identify("X1", "X2")
    with pytest.raises(InvalidValueError, match="any more"):
        archive.dates.settle(story.id, story.ways[0].statements)
    assert withdrawn(archive) == []


def test_stories_as_kept_are_the_stories_found(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is read back is what was told, without dating anything anew."""
    assert archive.dates.kept_conflicts() == StoryBook((), (), (), 0.0, current=False)
    found = archive.dates.conflicts()
    monkeypatch.setattr(estimates, "gather", None)
    assert archive.dates.kept_conflicts() == found
    assert found.current


def test_stories_as_kept_leave_out_what_was_settled_since(archive: Archive) -> None:
    """They say that something was changed; what still stands is still told."""
    another(archive)
    one, other = archive.dates.conflicts().stories
    archive.statements.withdraw(one.ways[0].statements[0])
    kept = archive.dates.kept_conflicts()
    assert (kept.stories, kept.current) == ((other,), False)
    archive.dates.conflicts()
    assert archive.dates.kept_conflicts().current


def test_a_conflict_keeps_its_id_between_two_refreshes(archive: Archive) -> None:
    """Though another that comes before it was found meanwhile."""
    story = only_story(archive)
    another(archive)
    assert story.id in {each.id for each in archive.dates.conflicts().stories}


def test_a_photograph_of_another_time_than_its_box(tmp_path: Path) -> None:
    """A picture of 1908 in an album of 1931 is told as unlikely, with both ranges; and no longer once it is moved."""
    made = archive_with(tmp_path, photographs=8)
    made.photographs.move([f"K{i}" for i in range(1, 9)], "Green album")
    for i in range(1, 9):
        made.statements.record(NewClaim(photograph=f"K{i}", kind="inscription", date="1908" if i == 5 else "1931"))
    book = made.dates.conflicts()
    assert book.stories == ()
    [found] = book.out_of_place
    assert (found.photograph, found.container_name) == ("K00005", "Green album")
    assert (found.own_from[:4], found.own_to[:4]) == ("1908", "1908")
    assert found.text.startswith(
        "on its own evidence it is from 1908, but what else is in Green album is likely from 19"
    )
    made.photographs.rename_container("Green album", "Blue album")
    assert made.dates.conflicts().out_of_place[0].container_name == "Blue album"
    made.photographs.move(["K5"], "Tin")
    assert made.dates.kept_conflicts().out_of_place == ()
    assert made.dates.conflicts().out_of_place == ()


def test_a_photograph_of_another_time_than_its_strip(tmp_path: Path) -> None:
    """A picture of 1935 that is said to be on a strip of 1911 is told as unlikely, and keeps its date; no longer once
    somebody no longer uses that statement."""
    made = archive_with(tmp_path, photographs=4)
    for number, year in enumerate((1911, 1911, 1935), start=1):
        made.statements.record(NewClaim(photograph=f"K{number}", kind="taken", date=str(year)))
    said, _ = made.statements.relate(Tie(photograph="K1", relation="same-strip", other="K2"))
    wrong, _ = made.statements.relate(Tie(photograph="K1", relation="same-strip", other="K3"))
    book = made.dates.conflicts()
    assert book.stories == ()
    [found] = book.out_of_place
    assert (found.photograph, found.container, found.own_from[:4]) == ("K00003", None, "1935")
    assert found.text.startswith(
        "on its own evidence it is from 1935, but the rest of its strip of film is likely from"
    )
    made.statements.withdraw(wrong.statement)
    assert made.dates.kept_conflicts().out_of_place == ()
    assert made.dates.conflicts().out_of_place == ()
    made.statements.withdraw(said.statement)

"""Stories are kept as they were told, with who told them, when, and what they are about; and are found again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from building import archive_with, tree_of
from recordings import write

from kinphoto.archive import Archive
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.statements.telling import NewStory, StoryChange
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError, NotFoundError


@pytest.fixture
def family(tmp_path: Path) -> Iterator[Archive]:
    """Ada and Tom in the tree, and three photographs."""
    with closing(archive_with(tmp_path, tree_of("Ada /Marsh/ 1890", "Tom /Holm/ 1888"), photographs=3)) as archive:
        yield archive


def test_words_are_kept_as_they_were_told(family: Archive) -> None:
    """Line ends and all; with the teller, the day as it was typed, and what it is about."""
    done = family.stories.tell(
        NewStory(text="The ferry sank.\r\n\r\nNobody drowned.", by="Aunt Edda", when="Christmas 1998",
                 about=["K2", "Ada Marsh", "i1"], title=" The  ferry ")
    )  # fmt: skip
    one = family.stories.details("t1")
    assert done.story == one
    assert (one.title, one.text) == ("The ferry", "The ferry sank.\n\nNobody drowned.")
    assert (one.teller, one.when, one.photographs) == ("Aunt Edda", "Christmas 1998", ("K00002",))
    assert [who.id for who in one.people] == ["I1"]


def test_a_recording_is_copied_byte_for_byte(family: Archive, tmp_path: Path) -> None:
    """Into the archive's own folder, with the SHA-256 that Python's own library finds; the one it came from stays."""
    sound = write(tmp_path / "Edda & the ferry, 1998.mp3", "MP3", artist="Edda")
    before = sound.read_bytes()
    one = family.stories.tell(NewStory(by="Edda"), sound).story
    assert one.recording is not None
    kept = Path(one.recording.path)
    assert kept.parent == family.folder / "sounds"
    assert kept.read_bytes() == before == sound.read_bytes()
    assert one.recording.sha256 == hashlib.sha256(before).hexdigest()
    assert (one.recording.kind, one.recording.name) == ("MP3", sound.name)
    assert not list((family.folder / "sounds").glob(".*"))


def test_the_same_recording_twice_is_said(family: Archive, tmp_path: Path) -> None:
    """Both stories are kept, on one file."""
    sound = write(tmp_path / "a.wav")
    family.stories.tell(NewStory(by="Edda"), sound)
    done = family.stories.tell(NewStory(by="Edda"), sound)
    assert "T1 has the same recording" in " ".join(done.warnings)
    assert len(list((family.folder / "sounds").iterdir())) == 1


def test_undo_takes_a_story_back_and_its_undo_brings_the_recording_again(family: Archive, tmp_path: Path) -> None:
    """The file stays for that."""
    family.stories.tell(NewStory(by="Edda", about=["K1"]), write(tmp_path / "a.wav"))
    family.statements.undo()
    assert family.stories.list() == ()
    family.statements.undo(family.statements.history(1)[0].number)
    (one,) = family.stories.about("K1")
    assert one.recording is not None
    assert not one.recording.missing


def test_what_is_changed_is_changed_and_nothing_else(family: Archive) -> None:
    """A field that is not given stays; what a story is about is given as a whole; saving the same is no change."""
    family.stories.tell(NewStory(text="The ferry sank.", by="Edda", when="1998", about=["K1", "K2"]))
    assert family.stories.change("T1", StoryChange(about=["K2", "Tom Holm"])).changed
    one = family.stories.details("T1")
    assert (one.text, one.teller, one.when, one.photographs) == ("The ferry sank.", "Edda", "1998", ("K00002",))
    again = family.stories.change("T1", StoryChange(text=one.text, by="edda", when="1998", about=["I2", "K2"]))
    assert (again.changed, again.change) == (False, None)


def test_withdrawn_stories_are_kept_and_shown_no_more(family: Archive) -> None:
    """By the same command as any statement, and used again by the other."""
    family.stories.tell(NewStory(text="The ferry sank.", by="Edda"))
    family.statements.withdraw("T1")
    assert family.stories.list() == ()
    assert family.search.find(SearchQuery(text="ferry")).stories == ()
    assert [one.withdrawn for one in family.stories.list(with_withdrawn=True)] == [True]
    family.statements.reinstate("T1")
    assert len(family.stories.list()) == 1


@pytest.mark.parametrize("words", ["ferr", "edda", "marsh", "edda FERRY", "1998"])
def test_stories_are_found_by_their_words_tellers_and_people(family: Archive, words: str) -> None:
    """Whole words or their beginnings, in any order; a story that has them not is not found."""
    family.stories.tell(NewStory(text="The ferry sank in 1998.", by="Aunt Edda", about=["I1"]))
    family.stories.tell(NewStory(text="The mill burned.", by="Uncle Ned", about=["I2"]))
    question = SearchQuery(text=words) if words != "1998" else SearchQuery(people=("I1",))
    assert [one.id for one in family.search.find(question).stories] == ["T1"]
    assert family.search.find(question, for_anybody=True).stories == ()


def test_a_changed_story_is_found_by_its_new_words(family: Archive) -> None:
    """The index follows the history."""
    family.stories.tell(NewStory(text="The ferry sank."))
    assert family.search.find(SearchQuery(text="ferry")).stories
    family.stories.change("T1", StoryChange(text="The mill burned."))
    assert not family.search.find(SearchQuery(text="ferry")).stories
    assert family.search.find(SearchQuery(text="mill")).stories
    family.statements.undo()
    assert family.search.find(SearchQuery(text="ferry")).stories


@pytest.mark.parametrize(
    ("new", "kind", "said"),
    [
        (NewStory(), InvalidValueError, "there is nothing to keep"),
        (NewStory(text="x", when="when I was small"), InvalidValueError, "is not a date"),
        (NewStory(text="x", about=["K9"]), NotFoundError, "K9"),
        (NewStory(text="x", about=["Ada Quillern of Nowhere"]), NotFoundError, "there is no photograph or person"),
        (NewStory(text="x", agreed="cousins", asked_by="me"), NotFoundError, "no audience called 'cousins'"),
        (NewStory(text="x", agreed="public"), InvalidValueError, "who asked"),
        (NewStory(text="x" * 500_001), InvalidValueError, "longer than 500,000 letters"),
    ],
)
def test_what_cannot_be_kept_is_refused_whole(
    family: Archive, new: NewStory, kind: type[KinphotoError], said: str
) -> None:
    """In one line, and nothing is left of it: no story, no informant."""
    before = family.statements.revision()
    with pytest.raises(kind, match=said):
        family.stories.tell(new)
    assert family.statements.revision() == before
    assert family.stories.list() == ()


def test_a_picture_is_no_recording(family: Archive, tmp_path: Path) -> None:
    """Nothing of it is left in the archive."""
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff\xe0 a picture")
    with pytest.raises(InvalidValueError, match="not a recording that can be kept"):
        family.stories.tell(NewStory(by="Edda"), tmp_path / "a.jpg")
    assert not (family.folder / "sounds").exists()


def test_a_full_disk_is_said(family: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before a row says that there is a recording."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kinphoto.archive.statements.telling.copy_hashed", full)
    with pytest.raises(ArchiveError, match="cannot be copied into the archive"):
        family.stories.tell(NewStory(by="Edda"), write(tmp_path / "a.wav"))
    assert family.stories.list() == ()


def test_joining_and_removing_photographs_keep_the_stories(family: Archive) -> None:
    """A story about a photograph that is removed stays; it is about what is left."""
    family.stories.tell(NewStory(text="The ferry sank.", about=["K1", "K2"]))
    family.photographs.remove(["K1"], with_statements=True)
    assert family.stories.details("T1").photographs == ("K00002",)
    family.statements.undo()
    assert family.stories.details("T1").photographs == ("K00001", "K00002")


def test_what_was_told_about_a_private_photograph_stays_private_without_it(family: Archive) -> None:
    """Removing the photograph is no way to let the story out."""
    family.stories.tell(NewStory(text="What nobody should know.", about=["K1"]))
    family.give.mark_private(["K1"])
    family.photographs.remove(["K1"], with_statements=True)
    assert family.stories.details("T1").private


def test_two_names_of_one_teller_become_one(family: Archive) -> None:
    """As with everything else they told."""
    family.stories.tell(NewStory(text="The ferry sank.", by="Edda"))
    family.statements.add_informant("Aunt Edda")
    family.statements.rename_informant("Edda", "Aunt Edda")
    assert family.stories.details("T1").teller == "Aunt Edda"


def test_somebody_whom_a_story_is_about_stays_when_the_tree_loses_them(family: Archive, tmp_path: Path) -> None:
    """As somebody with a picture does."""
    family.stories.tell(NewStory(text="Tom rowed.", about=["Tom Holm"]))
    (tmp_path / "tree.ged").write_text(tree_of("Ada /Marsh/ 1890"), encoding="utf-8")
    family.tree.import_file(tmp_path / "tree.ged")
    assert [who.name for who in family.stories.details("T1").people] == ["Tom Holm"]

"""What is held in memory of the compared faces is brought up to date piece by piece, and is always what reading all of
it anew gives."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from kinphoto.archive import Archive
from kinphoto.archive.faces import compared as memory
from kinphoto.archive.faces.compared import ComparedFaces, _Memory, compared
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.store import face_file


def place(archive: Archive, code: str) -> str:
    """The place of the first frame on offer."""
    return ",".join(f"{side:.5f}" for side in archive.faces.offers([code])[0].frames[0].box)


def name(archive: Archive, code: str, person: str) -> None:
    archive.statements.link(Link(photograph=code, person=person, region=place(archive, code)))


LONG_AGO = NewClaim(photograph="K00002", kind="taken", date="1890", trust="certain")
STEPS: list[tuple[str, Callable[[Archive], object]]] = [
    ("named", lambda a: name(a, "K00001", "I1")),
    ("another named", lambda a: name(a, "K00002", "I2")),
    (
        "dated long ago",
        lambda a: a.statements.record(NewClaim(photograph="K00002", kind="taken", date="1890", trust="certain")),
    ),
    ("dates worked out", lambda a: a.dates.refresh()),
    ("name taken off", lambda a: a.statements.take_name_off("A1")),
    ("undone", lambda a: a.statements.undo()),
    ("the living not compared", lambda a: a.faces.turn_on("", living=False)),
    ("searched again", lambda a: a.faces.find(again=True)),
    ("the living compared", lambda a: (a.faces.turn_on("", living=True), a.faces.find())),
    ("turned", lambda a: a.scans.turn("K00001", "left")),
    ("mirrored", lambda a: a.scans.turn("K00002", "mirror")),
    ("refused", lambda a: a.faces.refuse("K00004")),
    ("somebody new", lambda a: a.people.add("Zoe Ash")),
    ("named after them", lambda a: a.statements.link(Link(photograph="K00001", person="Zoe Ash", region="R1"))),
    ("who is somebody else", lambda a: a.people.identify("Zoe Ash", "I3")),
    ("left out", lambda a: a.faces.leave_out("I2")),
    ("let in again", lambda a: a.faces.leave_out("I2", take_back=True)),
    ("refusal undone", lambda a: a.statements.undo()),
    ("laid apart", lambda a: a.faces.lay_apart(*([face.key] for face in now(a).faces[:2]))),
    ("a scan removed", lambda a: a.photographs.remove(["K00001"], with_statements=True)),
    ("which is undone", lambda a: a.statements.undo()),
    ("described again", lambda a: a.faces.find()),
    ("not compared", lambda a: a.faces.turn_on("", compare=False)),
]
"""What somebody does, one after the other."""


def now(archive: Archive) -> ComparedFaces:
    with archive.reading() as rows:
        return compared(rows)


def test_after_each_step_it_is_what_reading_all_of_it_gives(archive: Archive) -> None:
    """Whoever is on which face, when it was taken, whether it may be compared at all: the same as in a program that has
    just been started."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    seen = set()
    for words, step in STEPS:
        step(archive)
        kept = now(archive)
        with archive.reading() as rows:
            anew = _Memory().brought_up_to_date(rows)
        assert {face.id: face for face in kept.faces} == {face.id: face for face in anew.faces}, words
        for face in anew.faces:
            numbers = (each.numbers[[one.id for one in each.faces].index(face.id)] for each in (kept, anew))
            np.testing.assert_array_equal(*numbers, err_msg=words)
        people = {face.person for face in kept.faces} - {None}
        assert {who: kept.born.get(who) for who in people} == {who: anew.born.get(who) for who in people}, words
        assert kept.said == anew.said, words
        seen.add(tuple(face.person for face in kept.faces))
    assert len(seen) > 5  # the steps do change it


def test_only_the_photograph_that_was_named_is_read_again(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing at all where nothing has changed, and one photograph after a name."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    now(archive)
    read: list[int] = []
    fronts = memory.fronts
    monkeypatch.setattr(memory, "fronts", lambda rows, ids: (read.append(len(ids)), fronts(rows, ids))[1])
    assert now(archive) is now(archive)
    assert read == []
    name(archive, "K00001", "I1")
    assert [face.person for face in now(archive).faces if face.photograph_id == 1] != [None]
    assert read == [1]


def test_nothing_is_left_in_memory_when_it_is_turned_off(archive: Archive) -> None:
    """Neither a description nor who is on which face."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    now(archive)
    archive.faces.turn_off()
    now(archive)
    assert archive.engine not in memory._MEMORY
    assert not face_file.is_there(archive.folder)

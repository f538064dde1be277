"""Frames that are moved, and names taken off faces that stay."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from building import archive_with, tree_of

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.recorded_faces import RecordedFace
from kinphoto.errors import InvalidValueError, NotFoundError

HERE, THERE, NEARBY = "0.10,0.10,0.20,0.20", "0.60,0.10,0.20,0.20", "0.11,0.12,0.22,0.20"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two sisters and one photograph."""
    return archive_with(tmp_path, tree_of("Ada /Marsh/", "Beth /Marsh/"), photographs=1)


def link(archive: Archive, person: str, **said: Any) -> str:
    """Record a link in K00001 and return its appearance."""
    return archive.statements.link(Link(photograph="K1", person=person, **said))[0].appearance


def faces(archive: Archive) -> tuple[RecordedFace, ...]:
    """The faces of K00001."""
    return archive.photographs.faces("K1").faces


def test_a_frame_is_moved_with_all_names_on_it(archive: Archive) -> None:
    """Rivals stay rivals; undo puts the frame back where it was."""
    first = link(archive, "I1", region=HERE)
    link(archive, "I2", region=HERE)
    done = archive.statements.move_face("K1", first, NEARBY)
    (face,) = faces(archive)
    assert (face.region, face.box) == (done.region, (0.11, 0.12, 0.22, 0.20))
    assert [name.rival for name in face.names] == [True, True]
    assert archive.statements.history(1)[0].what == "framed Ada Marsh (I1) or Beth Marsh (I2) in K00001"
    archive.statements.undo()
    assert faces(archive)[0].box == (0.10, 0.10, 0.20, 0.20)


def test_framed_as_it_was_changes_nothing(archive: Archive) -> None:
    """The log gets no line."""
    link(archive, "I1", region=HERE)
    done = archive.statements.move_face("K1", "R1", HERE)
    assert (done.changed, done.change) == (False, None)


def test_somebody_without_a_region_gets_one(archive: Archive) -> None:
    """A name that was on the photograph only is on a face of it from now on."""
    named = link(archive, "I1", age="7")
    archive.statements.move_face("K1", named, HERE)
    (face,) = faces(archive)
    assert [(name.id, name.ages[0].low) for name in face.names] == [(named, 7)]
    assert archive.photographs.faces("K1").elsewhere == ()


def test_a_frame_is_not_moved_onto_another_face(archive: Archive) -> None:
    """That would put two bodies into one; the way to record a rival is told."""
    link(archive, "I1", region=HERE)
    other = link(archive, "I2", region=THERE)
    with pytest.raises(InvalidValueError, match=r"there is already a face framed there \(R1\).*--region R1"):
        archive.statements.move_face("K1", other, NEARBY)


def test_a_frame_that_holds_nothing_any_more_is_in_nobodys_way(archive: Archive) -> None:
    """Where a face was drawn by mistake and withdrawn, another may be framed."""
    archive.statements.withdraw(link(archive, "-", region=HERE))
    named = link(archive, "I2", region=THERE)
    assert archive.statements.move_face("K1", named, HERE).changed


@pytest.mark.parametrize(
    ("what", "error"), [("R9", NotFoundError), ("A9", NotFoundError), ("the left one", InvalidValueError)]
)
def test_what_is_no_face_is_refused(archive: Archive, what: str, error: type[Exception]) -> None:
    """An id that is not there, and words that are no id."""
    with pytest.raises(error):
        archive.statements.move_face("K1", what, HERE)


def test_a_name_taken_off_leaves_the_face_and_what_the_eye_saw(archive: Archive) -> None:
    """The judged age stays with the face and keeps its mark; the age that was told of Ada goes with her name."""
    named = link(archive, "I1", region=HERE, age="6-8", stated_age="7", by="Per", blind=True)
    done = archive.statements.take_name_off(named)
    (face,) = faces(archive)
    (left,) = face.names
    assert (left.id, left.person) == (done.face, None)
    assert [(age.low, age.high, age.basis, age.blind) for age in left.ages] == [(6, 8, "apparent", True)]
    assert archive.statements.history(1)[0].what == "removed a name: Ada Marsh (I1) in K00001"
    archive.statements.undo()
    assert [name.person for name in faces(archive)[0].names] == ["I1"]
    assert len(faces(archive)[0].names[0].ages) == 2


def test_one_of_two_rivals_is_taken_off(archive: Archive) -> None:
    """The other stays; a judgement of the face passes to it unless the same informant has judged it there already."""
    first = link(archive, "I1", region=HERE, age="6-8", by="Per")
    second = link(archive, "I2", region=HERE, age="9", by="Edda")
    assert archive.statements.take_name_off(first).face == second
    (face,) = faces(archive)
    (left,) = face.names
    assert (left.person, left.rival) == ("I2", False)
    assert sorted((age.low, age.informant) for age in left.ages) == [(6, "Per"), (9, "Edda")]


def test_a_name_on_no_face_is_withdrawn_whole(archive: Archive) -> None:
    """Where there is no face, nothing is left to wait for a name."""
    done = archive.statements.take_name_off(link(archive, "I1"))
    assert done.face is None
    assert archive.photographs.faces("K1").elsewhere == ()


def test_nobody_cannot_be_unnamed(archive: Archive) -> None:
    """A face without a name is withdrawn instead, and a name taken off is not there to be taken off again."""
    with pytest.raises(InvalidValueError, match="kinphoto withdraw A1"):
        archive.statements.take_name_off(link(archive, "-", region=HERE))
    named = link(archive, "I1", region=HERE)
    archive.statements.take_name_off(named)
    with pytest.raises(NotFoundError):
        archive.statements.take_name_off(named)

"""Ids of earlier files of a tree go on meaning the same people, wherever somebody is named by an id."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from again import FAMILY, One, Scene, Tree, changed, renumbered
from sqlalchemy import select

from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.store import tables as t

WEDDED: Tree = (
    [
        One("I3", "Ida /Holm/", "1 JUN 1890", extra="1 GRAD\n2 DATE 1908\n") if one.code == "I3" else one
        for one in FAMILY[0]
    ],
    FAMILY[1],
)
"""The family, with a leaving of school."""


def numbered(first: str) -> Callable[[str], str]:
    """I7 becomes P7, or whatever the letter is."""
    return lambda code: f"{first}{code[1:]}"


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    """The family, whose ids began with I, then with P, and begin with Q now."""
    scene = Scene(tmp_path, WEDDED)
    scene.bring(renumbered(WEDDED, numbered("P")))
    scene.bring(renumbered(WEDDED, numbered("Q")))
    return scene


@pytest.mark.parametrize("text", ["Q3", "P3", "I3", "@I3@", "i3", " p3 "])
def test_ids_of_all_imports_lead_to_the_same_person(scene: Scene, text: str) -> None:
    """The ids of two earlier files, with or without @ and in either letter case."""
    assert scene.archive.person(text).id == "Q3"
    assert [one.id for one in scene.archive.people(text).people] == ["Q3"]


def test_wherever_somebody_is_named(scene: Scene, tmp_path: Path) -> None:
    """Names on photographs, pictures, kinship, informants, events, spreadsheets, and who turned out to be whom."""
    archive = scene.archive
    assert archive.link(Link(photograph="K00001", person="I3"))[0].person == "Q3"
    assert "K00001" in [one.code for one in archive.pictures("P3").photographs]
    assert archive.kin("I7", "P1").words == archive.kin("Q7", "Q1").words
    assert archive.informant("Aunt Ida", "I3").person == "Q3"
    assert archive.proband("I7").id == "Q7"
    archive.state(NewClaim(photograph="K00001", kind="event", date="I3:GRAD"))
    with archive.reading() as connection:
        assert connection.scalar(select(t.statement.c.value).where(t.statement.c.kind == "event")) == "Q3:GRAD"
    archive.add_person("Mrs Lund")
    assert archive.same_person("X1", "I6").id == "Q6"
    sheet = tmp_path / "links.csv"
    sheet.write_text("photo,person\nK00002,I4\nK00003,@P5@\n")
    assert archive.apply_sheet("links", sheet).applied == 2
    assert {"K00002"} <= {one.code for one in archive.pictures("Q4").photographs}


def test_an_id_that_somebody_has_now_is_theirs(tmp_path: Path) -> None:
    """I1 was Gorm and is the last of the family now: an old id never stands before one of today."""
    scene = Scene(tmp_path)
    scene.bring(renumbered(FAMILY, lambda code: f"I{12 - int(code[1:])}"))
    for one in FAMILY[0]:
        assert scene.archive.person(one.code).id == one.code
    assert scene.archive.person("I1").name == "Ane Vik"


def test_a_name_goes_before_an_old_id(tmp_path: Path) -> None:
    """Somebody's id was "tora"; whoever says Tora means Tora."""
    scene = Scene(tmp_path, renumbered(FAMILY, lambda code: {"I3": "tora"}.get(code, code)))
    scene.bring(FAMILY)
    assert scene.archive.person("tora").id == "I6"


def test_an_id_that_two_people_had_is_asked_about(tmp_path: Path) -> None:
    """I1 was Gorm's in one file and Ane's in the next, and nobody's in the third."""
    scene = Scene(tmp_path)
    scene.bring(renumbered(FAMILY, lambda code: f"I{12 - int(code[1:])}"))
    scene.bring(renumbered(FAMILY, numbered("Q")))
    with pytest.raises(AmbiguousError, match=r"'I1' was the id of 2 people.*Gorm Holm \(1860–1931\), Q1; Ane Vik"):
        scene.archive.person("I1")
    assert {one.id for one in scene.archive.people("I1").people} == {"Q1", "Q11"}
    with pytest.raises(AmbiguousError, match="I2 was the id of 2"):
        scene.archive.state(NewClaim(photograph="K00001", kind="event", date="I2:GRAD"))


def test_whoever_was_removed_has_no_old_id(tmp_path: Path) -> None:
    """Nobody is found by the id of somebody who is not in the archive any more, though he had two."""
    scene = Scene(tmp_path, pictured=["I1"])
    scene.bring(renumbered(FAMILY, numbered("P")))
    people, families = renumbered(FAMILY, numbered("P"))
    done = scene.bring(([one for one in people if one.code != "P11"], families))
    assert done.removed == 1
    for text in ("P11", "I11"):
        with pytest.raises(NotFoundError):
            scene.archive.person(text)


def test_ids_are_left_to_whom_somebody_turned_out_to_be(tmp_path: Path) -> None:
    """Ida twice in the tree: the second record goes, is said to be the first, and is removed with the next import;
    the id that somebody may have written down leads to the first."""
    twice: Tree = ([*FAMILY[0], One("I30", "Ida /Holm/", "1891", sex="F")], FAMILY[1])
    scene = Scene(tmp_path, twice)
    scene.bring(FAMILY)
    scene.archive.same_person("I30", "I3")
    scene.bring(changed(FAMILY, I3={"born": "2 JUN 1890"}))
    with scene.archive.reading() as connection:
        assert connection.scalar(select(t.person.c.id).where(t.person.c.code == "I30")) is None
    assert scene.archive.person("I30").id == "I3"


def test_undo_takes_old_ids_back(scene: Scene) -> None:
    """After undo Q is unknown and P the id again; the letter before goes on leading to it."""
    scene.archive.undo(None)
    assert scene.archive.person("I3").id == "P3"
    with pytest.raises(NotFoundError):
        scene.archive.person("Q3")


def test_somebody_outside_the_tree_gets_no_old_id(tmp_path: Path) -> None:
    """X1 was somebody of the tree: the neighbour is X2."""
    scene = Scene(tmp_path, renumbered(FAMILY, numbered("X")))
    scene.bring(FAMILY)
    assert scene.archive.add_person("Mrs Moe").id == "X12"
    assert scene.archive.person("X1").id == "I1"

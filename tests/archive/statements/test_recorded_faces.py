"""Who is where in a photograph, as a page draws it."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from building import archive_with, tree_of

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.recorded_faces import AgeSaid, RecordedFace, in_reading_order
from kinphoto.archive.words.dates import life_years
from kinphoto.reason.model.evidence import AgeBasis, Role

LEFT, RIGHT = "0.10,0.10,0.20,0.20", "0.60,0.10,0.20,0.20"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two sisters and one photograph."""
    return archive_with(tmp_path, tree_of("Ada /Marsh/ 1890", "Beth /Marsh/ 1893"), photographs=1)


def link(archive: Archive, person: str, **said: Any) -> str:
    """Record a link in K00001 and return its appearance."""
    return archive.statements.link(Link(photograph="K1", person=person, **said))[0].appearance


def test_everything_said_of_a_face(archive: Archive) -> None:
    """Name, life, role, trust, who said so and why, and each age with its basis, mark, informant and id."""
    link(archive, "I1", region=LEFT, role="laid-out", trust="weak", by="Per", why="the ribbon")
    link(archive, "I1", region=LEFT, age="6-8", by="Edda", blind=True)
    (face,) = archive.photographs.faces("K1").faces
    (name,) = face.names
    assert (face.region, face.box) == ("R1", (0.10, 0.10, 0.20, 0.20))
    assert (name.id, name.person, name.name) == ("A1", "I1", "Ada Marsh")
    assert life_years(name.life.begin, name.life.end) == "born 1890"
    assert (name.role, name.trust) == (Role.LAID_OUT, "weak")
    assert (name.informant, name.why) == ("Per", "the ribbon; Edda says so too")
    (age,) = name.ages
    assert age == AgeSaid("S1", 6, 8, AgeBasis.APPARENT, True, "Edda")


def test_rivals_and_denials_stand_apart(archive: Archive) -> None:
    """Two names on one face are rivals; a name that somebody denies is contested and no rival of its denial."""
    for person, denied in (("I1", False), ("I2", False), ("I2", True)):
        link(archive, person, region=LEFT, denied=denied)
    link(archive, "I1", region=RIGHT, denied=True)
    left, right = archive.photographs.faces("K1").faces
    assert [(n.person, n.rival, n.contested) for n in left.names] == [("I1", True, False), ("I2", True, True)]
    assert [n.person for n in left.denied] == ["I2"]
    assert [(n.person, n.rival) for n in right.names] == [(None, False)]
    assert [n.person for n in right.denied] == ["I1"]


def test_those_on_no_face(archive: Archive) -> None:
    """Somebody who is in it somewhere, and somebody who is nowhere in it."""
    link(archive, "I1")
    link(archive, "I2", denied=True)
    found = archive.photographs.faces("K1")
    assert [n.person for n in found.elsewhere] == ["I1"]
    assert [n.person for n in found.denied] == ["I2"]
    assert found.faces == ()


def test_a_face_drawn_by_mistake_is_gone(archive: Archive) -> None:
    """Its appearance withdrawn, the region shows no more, whatever it was said not to be."""
    drawn = link(archive, "-", region=LEFT, age="30")
    link(archive, "I1", region=LEFT, denied=True)
    archive.statements.withdraw(drawn)
    assert archive.photographs.faces("K1").faces == ()


def test_faces_are_read_row_by_row() -> None:
    """Those who stand behind, those who sit, the child in front: each row from the left, however they came."""
    standing = [(0.1 + 0.2 * n, 0.10 + (-1) ** n * 0.03, 0.1, 0.12) for n in range(4)]
    sitting = [(0.2 + 0.2 * n, 0.32 - (-1) ** n * 0.03, 0.1, 0.12) for n in range(3)]
    places = [*standing, *sitting, (0.45, 0.6, 0.1, 0.12)]
    found = [RecordedFace(f"R{n}", place, (), ()) for n, place in enumerate(places)]
    shuffled = random.Random(1).sample(found, len(found))
    assert in_reading_order(shuffled) == found

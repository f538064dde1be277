"""A likeness is one more hint when names are offered, and lays faces without a name side by side."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from kinphoto.archive import Archive
from kinphoto.archive.faces.kept import keep_found
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import face_file

OLD = "1912"
"""A year so long ago that nobody photographed then is living."""


def region(archive: Archive, code: str, at: int = 0) -> str:
    """The place of a frame on offer."""
    return ",".join(f"{side:.5f}" for side in archive.faces.offers([code])[0].frames[at].box)


def named_and_compared(archive: Archive) -> None:
    """Ada is named on the portrait of 1912, and the faded print of it is of 1913, without a name."""
    archive.statements.link(Link(photograph="K00001", person="I1", region=region(archive, "K00001")))
    for code, year in (("K00001", OLD), ("K00002", "1913")):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date=year, trust="certain"))
    archive.dates.refresh()
    archive.faces.find()


def offered(archive: Archive) -> dict[str, str]:
    """Who is offered for the face on the faded print, first to last, and why."""
    found = archive.asking.name_suggestions("K00002", region=region(archive, "K00002"))
    return {one.id: one.why for one in found.people}


def described(archive: Archive) -> int:
    """Faces with a description."""
    return archive.faces.state().compared


def test_nobody_who_may_be_living_is_compared_unless_allowed(archive: Archive) -> None:
    """In the beginning no photograph has a date, so every face may be a living person's; when that is allowed, all four
    are described."""
    assert described(archive) == 0
    archive.faces.turn_on("", living=True)
    assert archive.faces.find().compared == 4
    archive.faces.turn_on("", living=False)
    archive.faces.find()
    assert described(archive) == 0


def test_the_dead_and_faces_older_than_any_life_are_compared(archive: Archive) -> None:
    """Ada, who died in 1970, and whoever was photographed in 1913; when a name turns out to be a living person's, her
    face is described no more."""
    named_and_compared(archive)
    assert described(archive) == 2
    archive.statements.take_name_off("A1")
    archive.statements.link(Link(photograph="K00004", person="I2", region=region(archive, "K00004")))
    archive.faces.find()
    assert described(archive) == 2  # Una, who may be living, is not; the two old ones are nobody's


def test_a_likeness_is_told_in_words_beside_the_other_hints(archive: Archive) -> None:
    """Cora, one year older, comes first by her age alone, or Ada does; with the likeness it is Ada, and it is said
    why."""
    named_and_compared(archive)
    reasons = offered(archive)
    assert next(iter(reasons)) == "I1"
    assert "looks like her in K00001" in reasons["I1"]
    assert not any("looks like" in why for person, why in reasons.items() if person != "I1")


def test_who_tells_it_too(archive: Archive) -> None:
    """For a face that is framed and has no name."""
    named_and_compared(archive)
    archive.faces.accept("K00002")
    (unnamed,) = archive.asking.candidates("K00002").unnamed
    with_it = {one.person: one.probability for one in unnamed.suggestions}
    assert any("looks like her in K00001" in one.reasons for one in unnamed.suggestions)
    archive.faces.turn_on("", compare=False)
    (unnamed,) = archive.asking.candidates("K00002").unnamed
    without = {one.person: one.probability for one in unnamed.suggestions}
    assert with_it["I1"] > without["I1"]


def test_it_can_be_switched_off(archive: Archive) -> None:
    """Then nothing is described, and nobody is offered for looking alike."""
    named_and_compared(archive)
    archive.faces.turn_on("", compare=False)
    assert described(archive) == 0
    assert not any("looks like" in why for why in offered(archive).values())


def test_two_faces_of_one_photograph_are_never_one_person(archive: Archive) -> None:
    """Not offered for each other, however alike: here it is even a picture of her."""
    archive.faces.turn_on("", living=True)
    archive.statements.link(Link(photograph="K00004", person="I1", region=region(archive, "K00004")))
    archive.faces.find()
    found = archive.asking.name_suggestions("K00004", region=region(archive, "K00004"))
    assert not any("looks like" in one.why for one in found.people)
    for group in archive.faces.alike().groups:
        assert len({face.photograph for face in group}) == len(group)


def test_unnamed_faces_that_look_alike_are_named_together(archive: Archive) -> None:
    """The portrait, its faded print and the third are laid side by side; those chosen are named in one change."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    (group,) = archive.faces.alike().groups
    assert {face.photograph for face in group} == {"K00001", "K00002", "K00004"}
    chosen = [face.face for face in group if face.photograph != "K00004"]
    archive.faces.name_together("I1", chosen, by="Aunt Edda")
    assert [archive.photographs.faces(code).faces[0].names[0].person for code in ("K00001", "K00002")] == ["I1", "I1"]
    assert archive.photographs.faces("K00004").faces == ()
    archive.statements.undo()
    assert archive.photographs.faces("K00001").faces == ()
    with pytest.raises(NotFoundError, match="there is no face 'F999'"):
        archive.faces.name_together("I1", ["F999"])


def test_what_was_refused_is_laid_beside_nothing(archive: Archive) -> None:
    """A picture in the picture is no face to be named."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    archive.faces.refuse("K00004")
    (group,) = archive.faces.alike().groups
    assert {face.photograph for face in group} == {"K00001", "K00002"}


def test_faces_that_are_laid_apart_stay_apart(archive: Archive) -> None:
    """One of three is somebody else: the other two are still side by side. Turning it off forgets that."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    (group,) = archive.faces.alike().groups
    other = next(face.face for face in group if face.photograph == "K00004")
    rest = [face.face for face in group if face.face != other]
    left = archive.faces.lay_apart([other], rest).groups
    assert other not in {face.face for each in left for face in each if set(rest) & {one.face for one in each}}
    assert {face.face for face in left[0]} >= set(rest)
    with pytest.raises(InvalidValueError, match="no face was left out"):
        archive.faces.lay_apart([], rest)
    with pytest.raises(NotFoundError, match="there is no face 'R77'"):
        archive.faces.lay_apart(["R77"], rest)


def with_faces_like(archive: Archive, prints: Path, cosines: list[float]) -> None:
    """As many photographs of Ada, in years one after the other, whose faces are so alike: descriptors made by hand, the
    first along one axis and each other at its angle from it, all else orthogonal."""
    box = prints.parent / f"more-{archive.folder.parent.name}"
    box.mkdir()
    for number in range(len(cosines)):
        shutil.copy(prints / "c_wall.png", box / f"m{number}.png")
        with (box / f"m{number}.png").open("ab") as file:
            file.write(bytes([number]))  # other bytes, another scan
    archive.scans.add([box])
    for number, cosine in enumerate(cosines):
        code = f"K{5 + number:05}"
        sha256 = archive.scans.picture(archive.photographs.details(code).recto.id).source.sha256
        numbers = np.zeros(128, dtype="<f4")
        numbers[0], numbers[1 + number] = cosine, (1 - cosine**2) ** 0.5
        with face_file.writing(archive.folder) as file:
            keep_found(
                file, sha256, {"faces": [{"region": [0.4, 0.4, 0.1, 0.1], "score": 0.9, "points": []}], "turn": 0}
            )
            file.execute("UPDATE face SET descriptor = ? WHERE sha256 = ?", [numbers.tobytes(), sha256])
        archive.statements.link(Link(photograph=code, person="I1", region="0.4,0.4,0.1,0.1"))
        archive.statements.record(NewClaim(photograph=code, kind="taken", date=str(1920 + number), trust="certain"))
    archive.dates.refresh()


def test_a_name_that_looks_like_nobody_of_that_name_is_told_as_unlikely(archive: Archive, prints: Path) -> None:
    """Of four faces of Ada within four years one is like no other; it is no conflict, and nothing is changed."""
    with_faces_like(archive, prints, [1.0, 0.8, 0.8, -0.1])
    conflicts, revision = archive.dates.conflicts(), archive.statements.revision()
    (doubtful,) = archive.faces.alike().doubtful
    assert (doubtful.photograph, doubtful.person) == ("K00008", "Ada Marsh (I1)")
    assert {face.photograph for face in doubtful.others} == {"K00005", "K00006", "K00007"}
    assert archive.faces.lay_apart([doubtful.face]).doubtful == ()  # the name is right
    assert archive.dates.conflicts() == conflicts
    assert archive.statements.revision() == revision


def test_one_other_picture_is_no_reason_for_a_doubt(archive: Archive, prints: Path) -> None:
    """Of two faces nobody knows which is the other's."""
    with_faces_like(archive, prints, [1.0, -0.1])
    assert archive.faces.alike().doubtful == ()

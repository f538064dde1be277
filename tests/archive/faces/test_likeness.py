"""A likeness is one more hint when names are offered, and lays faces without a name side by side."""

from __future__ import annotations

import portraits
import pytest

from kinphoto.archive import Archive
from kinphoto.archive.faces.alike import FaceAlike
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import InvalidValueError, NotFoundError

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


@pytest.mark.usefixtures("by_processes")
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
        assert len({face.photograph for face in group.faces}) == len(group.faces)


def test_unnamed_faces_that_look_alike_are_named_together(archive: Archive) -> None:
    """The portrait, its faded print and the third are laid side by side; those chosen are named in one change."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    (group,) = archive.faces.alike().groups
    assert {face.photograph for face in group.faces} == {"K00001", "K00002", "K00004"}
    chosen = [face.face for face in group.faces if face.photograph != "K00004"]
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
    assert {face.photograph for face in group.faces} == {"K00001", "K00002"}


def place(face: FaceAlike) -> tuple[str, float]:
    """The photograph and the left edge of a face: its id is another one when it is searched again."""
    return face.photograph, round(face.box[0], 3)


def are_together(archive: Archive, *faces: FaceAlike) -> bool:
    """Whether these are in one group."""
    groups = [{place(face) for face in group.faces} for group in archive.faces.alike().groups]
    return any(group.issuperset(map(place, faces)) for group in groups)


def test_faces_that_are_laid_apart_stay_apart(archive: Archive) -> None:
    """One of three is somebody else: the other two are still side by side, also when everything was searched anew, and
    turned off and on again. Undoing it is the way back."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    (group,) = archive.faces.alike().groups
    other = next(face for face in group.faces if face.photograph == "K00004")
    one, two = (face for face in group.faces if face is not other)
    done = archive.faces.lay_apart([other.face], [one.face, two.face])
    words = "said that the faces in K00004 and in K00001 and K00002 are not the same person"
    assert archive.statements.history(1)[0].what == words

    def stay_apart() -> bool:
        return are_together(archive, one, two) and not are_together(archive, one, other)

    assert stay_apart()
    archive.faces.find(again=True)
    assert stay_apart()
    archive.faces.turn_off()
    archive.faces.turn_on("Aunt Edda", living=True)
    archive.faces.find()
    assert stay_apart()
    assert done.change is not None
    archive.statements.undo(done.change)
    assert are_together(archive, one, two, other)


def test_what_cannot_be_laid_apart_is_said_in_one_line(archive: Archive) -> None:
    """No face, one that is not there, and one without a name whose name is right."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    with pytest.raises(InvalidValueError, match="no face was left out"):
        archive.faces.lay_apart([], ["F1"])
    with pytest.raises(NotFoundError, match="there is no face 'R77'"):
        archive.faces.lay_apart(["R77"], ["F1"])
    with pytest.raises(InvalidValueError, match="has no name to confirm"):
        archive.faces.lay_apart(["F1"])


def test_whoever_is_laid_apart_from_somebody_is_not_said_to_look_like_them(archive: Archive) -> None:
    """The faded print is somebody else than Ada: her name is offered for her age alone."""
    named_and_compared(archive)
    (mine,) = (frame.id for frame in archive.faces.offers(["K00002"])[0].frames)
    (hers,) = (face.region for face in archive.photographs.faces("K00001").faces)
    archive.faces.lay_apart([mine], [hers])
    assert not any("looks like" in why for why in offered(archive).values())


def test_a_name_that_looks_like_nobody_of_that_name_is_told_as_unlikely(archive: Archive) -> None:
    """Of four faces of Ada within four years one is like no other; it is no conflict, and nothing is changed."""
    portraits.like_each_other(archive, [("I1", 1.0, 1920), ("I1", 0.8, 1921), ("I1", 0.8, 1922), ("I1", -0.1, 1923)])
    conflicts, revision = archive.dates.conflicts(), archive.statements.revision()
    (doubtful,) = archive.faces.alike().doubtful
    assert (doubtful.photograph, doubtful.person) == ("K00008", "Ada Marsh (I1)")
    assert {face.photograph for face in doubtful.others} == {"K00005", "K00006", "K00007"}
    assert archive.dates.conflicts() == conflicts
    assert archive.statements.revision() == revision
    done = archive.faces.lay_apart([doubtful.face])
    assert archive.statements.history(1)[0].what == "said that 1 face in K00008 is Ada Marsh (I1)"
    assert archive.faces.alike().doubtful == ()
    assert done.change is not None
    archive.statements.undo(done.change)
    assert len(archive.faces.alike().doubtful) == 1


def test_one_other_picture_is_no_reason_for_a_doubt(archive: Archive) -> None:
    """Of two faces nobody knows which is the other's."""
    portraits.like_each_other(archive, [("I1", 1.0, 1920), ("I1", -0.1, 1921)])
    assert archive.faces.alike().doubtful == ()


def test_brothers_and_sisters_near_in_age_are_shown_beside(archive: Archive) -> None:
    """Three unnamed faces look most like Ruth's. Her sister, two years younger, and her brother, who was three years
    older and of whom there is no face, are shown too; their brother of twenty years later is not. The years are those
    of the tree."""
    portraits.like_each_other(
        archive, [("I4", 0.9, 1911), ("I5", 0.4, 1912), (None, 0.8, 1913), (None, 0.8, 1914), (None, 0.8, 1915)]
    )
    (group,) = archive.faces.alike().groups
    assert [face.photograph for face in group.faces] == ["K00007", "K00008", "K00009"]
    assert group.like is not None
    assert (group.like.name, group.like.face.photograph) == ("Ruth Pell", "K00005")
    brother, sister = group.siblings
    assert (brother.name, brother.words, brother.face) == ("Walter Pell", "3 years older", None)
    assert (sister.name, sister.words, sister.face.photograph) == ("Vera Pell", "2 years younger", "K00006")


def test_nobody_is_said_to_be_looked_like_who_is_laid_apart(archive: Archive) -> None:
    """The group is somebody else than Ruth: then she is not shown beside it."""
    portraits.like_each_other(archive, [("I4", 0.9, 1911), (None, 0.8, 1913), (None, 0.8, 1914)])
    (group,) = archive.faces.alike().groups
    hers = archive.photographs.faces("K00005").faces[0].region
    archive.faces.lay_apart([face.face for face in group.faces], [hers])
    (group,) = archive.faces.alike().groups
    assert (group.like, group.siblings) == (None, ())

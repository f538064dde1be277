"""Names on faces: what a link adds to, what it fills in, and what stands beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t

FACE, SAME_FACE, OTHER_FACE = "0.10,0.10,0.20,0.20", "0.12,0.10,0.20,0.21", "0.60,0.10,0.20,0.20"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two sisters, a stranger who is later found to be one of them, and one photograph."""
    made = Archive.create(tmp_path / "archive")
    with made.working("filled") as work:
        for code, name in (("I1", "Ada Marsh"), ("I2", "Beth Marsh"), ("X7", "The girl next door")):
            id_ = work.insert_one(t.person, code=code, name=name, outside=int(code == "X7"))
            work.insert_one(t.name, person_id=id_, text=name, folded=fold(name))
        work.insert_one(t.photograph, code="K00001", indexed=738000)
    return made


def link(archive: Archive, person: str, **said: Any) -> str:
    """Record a link in K00001 and return its appearance."""
    return archive.statements.link(Link(photograph="K1", person=person, **said))[0].appearance


def standing(archive: Archive) -> list[dict[str, Any]]:
    """The appearances that were not withdrawn, each with its ages and informant's name."""
    with archive.reading() as connection:
        names = {None: None} | {r.id: r.name for r in connection.execute(select(t.informant))}
        codes = {None: None} | {r.id: r.code for r in connection.execute(select(t.person))}
        s = t.statement.c
        told = select(s.appearance_id, s.kind, s.age_low, s.age_high, s.informant_id).where(s.withdrawn == 0)
        ages = [tuple(row) for row in connection.execute(told)]
        seen = connection.execute(select(t.appearance).where(t.appearance.c.withdrawn == 0)).mappings().all()
    return [
        dict(a)
        | {"who": codes[a["person_id"]], "by": names[a["informant_id"]]}
        | {"ages": [(kind, low, high, names[by]) for of, kind, low, high, by in ages if of == a["id"]]}
        for a in seen
    ]


def blind_ages(archive: Archive) -> list[tuple[float, int]]:
    """Lowest age and mark of the ages that stand."""
    s = t.statement.c
    with archive.reading() as connection:
        rows = connection.execute(select(s.age_low, s.blind).where(s.withdrawn == 0).order_by(s.age_low))
        return [(low, blind) for low, blind in rows]


def test_who_names_an_unknown_face_is_the_one_who_said_so(archive: Archive) -> None:
    """The name is the namer's statement; the age stays that of whoever judged it."""
    link(archive, "-", region=FACE, age="7", by="Per")
    link(archive, "I1", region=SAME_FACE, by="Edda", why="the ribbon")
    (only,) = standing(archive)
    assert (only["who"], only["by"], only["why"]) == ("I1", "Edda", "the ribbon")
    assert only["ages"] == [("apparent-age", 7, 7, "Per")]


def test_nobody_on_a_named_face_changes_nothing(archive: Archive) -> None:
    """A list of faces read again after they were named leaves the names; an age given with it is theirs."""
    named = link(archive, "I1", region=FACE, by="Edda")
    assert link(archive, "-", region=SAME_FACE, age="6-8", by="Per") == named
    (only,) = standing(archive)
    assert (only["who"], only["by"]) == ("I1", "Edda")
    assert only["ages"] == [("apparent-age", 6, 8, "Per")]


def test_a_person_known_to_be_there_is_found_on_a_face(archive: Archive) -> None:
    """The link without a place gets it, and takes the ages of the face that nobody had named."""
    known = link(archive, "I1", stated_age="7", by="Edda")
    link(archive, "-", region=FACE, age="6-8", by="Per")
    assert link(archive, "I1", region=FACE) == known
    (only,) = standing(archive)
    assert only["region_id"] is not None
    assert sorted(only["ages"]) == [("apparent-age", 6, 8, "Per"), ("stated-age", 7, 7, "Edda")]


def test_another_witness_stands_beside_the_first(archive: Archive) -> None:
    """Who said it first stays so, both reasons are kept, both ages count, and saying it twice adds nothing."""
    link(archive, "I1", region=FACE, by="Edda", why="the ribbon", age="7")
    for _ in range(2):
        link(archive, "I1", region=FACE, by="Per", why="the dog is hers", age="8")
    (only,) = standing(archive)
    assert only["by"] == "Edda"
    assert only["why"] == "the ribbon; Per: the dog is hers"
    assert [age[1:] for age in only["ages"]] == [(7, 7, "Edda"), (8, 8, "Per")]


def test_another_age_by_the_same_informant_replaces_the_first(archive: Archive) -> None:
    """A second look is the better one; the first is kept withdrawn."""
    link(archive, "I1", age="7", by="Edda")
    link(archive, "I1", age="9", by="Edda")
    assert standing(archive)[0]["ages"] == [("apparent-age", 9, 9, "Edda")]


def test_trust_and_role_are_brought_up_to_date(archive: Archive) -> None:
    """The same name with another role is the same body."""
    first = link(archive, "I1")
    assert link(archive, "I1", role="laid-out", trust="weak") == first
    (only,) = standing(archive)
    assert (only["role"], only["trust"]) == ("laid-out", "weak")


def test_a_photograph_of_her_on_the_wall_is_another_appearance(archive: Archive) -> None:
    """Present without a place, and a likeness in its own place: two appearances."""
    assert link(archive, "I1") != link(archive, "I1", region=OTHER_FACE, role="likeness")
    assert {a["role"] for a in standing(archive)} == {"present", "likeness"}


def test_two_sisters_and_nobody_knows_which_is_which(archive: Archive) -> None:
    """Each may be either: four names on two faces, of which two are right."""
    for region in (FACE, OTHER_FACE):
        link(archive, "I1", region=region)
        link(archive, "I2", region=region)
        if region is FACE:
            assert len(standing(archive)) == 2
    assert len(standing(archive)) == 4


def test_a_stranger_who_turned_out_to_be_her_is_no_second_body(archive: Archive) -> None:
    """The appearance recorded for X7 is the one that a link to I1 repeats, and no rival of it."""
    first = link(archive, "X7", region=FACE)
    archive.people.identify("X7", "I1")
    again = archive.statements.link(Link(photograph="K1", person="I1", region=SAME_FACE))[0]
    assert (again.appearance, again.rivals, again.changed) == (first, (), False)


def test_it_is_her_and_it_is_not_her_both_stand(archive: Archive) -> None:
    """A denial stands beside the name it denies, and is no rival."""
    link(archive, "I1", region=FACE, by="Edda")
    denied = archive.statements.link(Link(photograph="K1", person="I1", region=FACE, denied=True, by="Per"))[0]
    assert denied.rivals == ()
    assert [(a["by"], a["denied"]) for a in standing(archive)] == [("Edda", 0), ("Per", 1)]


def test_a_denial_does_not_name_the_unknown(archive: Archive) -> None:
    """ "It is not Ada" leaves the face waiting for its name."""
    link(archive, "-", region=FACE)
    link(archive, "I1", region=FACE, denied=True)
    assert [(a["who"], a["denied"]) for a in standing(archive)] == [(None, 0), ("I1", 1)]


@pytest.mark.parametrize("said", [{"person": "-", "denied": True}, {"person": "I1", "denied": True, "age": "7"}])
def test_a_denial_needs_a_person_and_takes_no_age(archive: Archive, said: dict[str, Any]) -> None:
    """Nobody is not nobody, and somebody who is not there has no age."""
    with pytest.raises(InvalidValueError, match="--not"):
        link(archive, **said)


def test_pixels_are_told_how_to_become_parts(archive: Archive) -> None:
    """The remedy says what to divide by."""
    with pytest.raises(InvalidValueError, match="Divide pixels by the picture's width and height"):
        link(archive, "I1", region="412,300,80,95")


def test_the_log_tells_it_in_words(archive: Archive) -> None:
    """Who, where, how old; and the answer carries the number of the change."""
    done, _ = archive.statements.link(Link(photograph="K1", person="Ada Marsh", age="6-8", stated_age="7"))
    newest = archive.statements.history(1)[0]
    assert newest.what == "named Ada Marsh (I1) in K00001, looks 6 to 8, aged 7"
    assert done.change == newest.number


def test_a_nearly_known_informant_is_asked_about(archive: Archive) -> None:
    """A slip of the pen would make a second aunt; letter case and accents do not."""
    link(archive, "I1", by="Aunt Käthe")
    _, warnings = archive.statements.link(Link(photograph="K1", person="I1", by="AUNT KATHE"))
    assert warnings == []
    _, warnings = archive.statements.link(Link(photograph="K1", person="I1", by="Aunt Kathi"))
    assert len(warnings) == 1
    assert "you already have Aunt Käthe" in warnings[0]


def test_an_age_judged_unseen_keeps_its_mark_when_the_face_is_named(archive: Archive) -> None:
    """The mark belongs to the judgement: naming the face later, or saying the same age again, leaves it."""
    link(archive, "-", region=FACE, age="7", by="Per", blind=True)
    link(archive, "I1", region=SAME_FACE, by="Edda")
    link(archive, "I1", region=SAME_FACE, age="7", by="Per")
    assert blind_ages(archive) == [(7, 1)]


def test_an_age_judged_again_after_seeing_is_not_blind(archive: Archive) -> None:
    """Another age by the same informant takes the place of the blind one; that of another informant stays."""
    link(archive, "-", region=FACE, age="7", by="Per", blind=True)
    link(archive, "-", region=FACE, age="6", by="Edda", blind=True)
    link(archive, "-", region=FACE, age="9", by="Per")
    assert blind_ages(archive) == [(6, 1), (9, 0)]


def test_the_log_says_that_an_age_was_judged_unseen(archive: Archive) -> None:
    """Whoever reads the log sees how the age came about; without an age there is nothing to mark."""
    link(archive, "I1", age="7", blind=True)
    link(archive, "I2", blind=True)
    whats = [change.what for change in archive.statements.history(2)]
    assert whats == [
        "named Beth Marsh (I2) in K00001",
        "named Ada Marsh (I1) in K00001, looks 7 (judged before the date was seen)",
    ]


def test_a_face_and_an_appearance_are_meant_by_their_ids(archive: Archive) -> None:
    """R1 is the face as if its region were given again; A2 somebody who has no region, named without a second body."""
    named = link(archive, "-", region=FACE)
    assert link(archive, "I1", region="r1") == named
    waiting = link(archive, "-", age="30")
    assert link(archive, "I2", region=waiting, role="likeness") == waiting
    assert [(a["who"], a["role"]) for a in standing(archive)] == [("I1", "present"), ("I2", "likeness")]


def test_an_id_of_another_photograph_is_refused(archive: Archive) -> None:
    """What is not there is said to be not there, for faces and appearances alike."""
    for id_ in ("R7", "A7"):
        with pytest.raises(NotFoundError, match=f"there is no {id_} in K00001"):
            link(archive, "I1", region=id_)


def test_a_rival_needs_a_face(archive: Archive) -> None:
    """Two names for one body that has no region cannot be told from two bodies, so the face comes first."""
    first = link(archive, "I1")
    with pytest.raises(InvalidValueError, match="Frame the face first"):
        link(archive, "I2", region=first)
    archive.statements.move_face("K1", first, FACE)
    assert archive.statements.link(Link(photograph="K1", person="I2", region=first))[0].rivals == (first,)


def test_a_face_that_is_not_hers_is_somebodys(archive: Archive) -> None:
    """ "Not Ada" about a face nobody had drawn yet leaves the face waiting for its name."""
    link(archive, "I1", region=FACE, denied=True, by="Per")
    assert [(a["who"], a["denied"]) for a in standing(archive)] == [("I1", 1), (None, 0)]
    link(archive, "I2", region=FACE)
    assert [(a["who"], a["denied"]) for a in standing(archive)] == [("I1", 1), ("I2", 0)]


def test_a_face_drawn_again_is_where_it_was_drawn_last(archive: Archive) -> None:
    """After the only name on a face was withdrawn, its old frame holds nothing any more."""
    archive.statements.withdraw(link(archive, "-", region=FACE))
    link(archive, "I1", region=SAME_FACE)
    (face,) = archive.photographs.faces("K1").faces
    assert face.box == (0.12, 0.10, 0.20, 0.21)

"""Questions in words, and who could answer them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.asking.questions import AskedQuestion
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.errors import NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(own_sample: Archive) -> Archive:
    """A copy of the sample."""
    return own_sample


def of_kind(archive: Archive, kind: str) -> list[AskedQuestion]:
    """The questions of one kind."""
    return [q for q in archive.asking.questions().questions if q.kind == kind]


def test_every_question_can_be_read_aloud(archive: Archive) -> None:
    """Each ends with a question mark, names its photographs or its person, and no id of the tree; best first, and
    which of two pictures is the older only after everything else."""
    asked = archive.asking.questions().questions
    assert len(asked) > 50
    assert {"age", "date", "order", "who"} <= {q.kind for q in asked}
    assert list(asked) == sorted(asked, key=lambda q: (q.kind == "order", -q.bits))
    assert len({q.key for q in asked}) == len(asked)
    for q in asked:
        assert q.text.endswith("?")
        named = q.names[:1] if q.kind in ("birth", "death") else q.photographs[:2]
        assert all(name in q.text for name in named)
    age = next(q for q in asked if q.kind == "age")
    assert age.text.startswith(f"How old does {age.names[0]} look in {age.photographs[0]}")


def test_an_answer_is_not_asked_for_again(archive: Archive) -> None:
    """An age, a date, an order and a name each take their question off the list, also before all is dated again."""
    asked = {kind: of_kind(archive, kind)[0] for kind in ("age", "date", "order", "who")}
    age, dated, order, who = asked["age"], asked["date"], asked["order"], asked["who"]
    archive.statements.link(Link(photograph=age.photographs[0], person=age.people[0], region=age.region, age="30"))
    archive.statements.record(NewClaim(photograph=dated.photographs[0], kind="recollection", date="ABT 1920"))
    archive.statements.relate(Tie(photograph=order.photographs[0], relation="before", other=order.photographs[1]))
    archive.statements.link(Link(photograph=who.photographs[0], person=who.people[0], region=who.region))
    for questions in (archive.asking.kept_questions, archive.asking.questions):
        keys = {q.key for q in questions().questions}
        assert keys.isdisjoint(q.key for q in asked.values())


def test_who_could_know(archive: Archive) -> None:
    """Whoever is living and is in the photograph comes first, then who shared five years with somebody in it; somebody
    who died is not to be asked."""
    asked = archive.asking.questions().questions
    everybody = {name for q in asked for name in q.informants}
    assert everybody == {"Peter Quillern", "Judith Quillern"}
    for of in everybody:
        evening = archive.asking.questions(of)
        assert evening.known
        assert evening.living
        assert evening.questions == tuple(q for q in asked if of in q.informants)
    nora = archive.asking.questions("nora quillern")
    assert (nora.informant, nora.living, nora.questions) == ("Nora Quillern", False, ())


def test_somebody_who_is_in_no_tree_can_be_asked_everything(archive: Archive) -> None:
    """Of an informant whose life is not known nothing tells what they cannot know; an unknown name is refused."""
    archive.statements.add_informant("The postman")
    evening = archive.asking.questions("The postman")
    assert not evening.known
    assert evening.questions == archive.asking.questions().questions
    with pytest.raises(NotFoundError, match="no informant"):
        archive.asking.questions("Nobody at all")


def test_the_living_are_not_asked_to_have_died(archive: Archive) -> None:
    """Nobody who may be living is asked about as if they were dead."""
    living = archive.people.living([p for q in of_kind(archive, "death") for p in q.people])
    assert living == frozenset()


def test_an_empty_archive_has_no_questions(tmp_path: Path) -> None:
    """Before there is a photograph there is nothing to ask."""
    archive = Archive.create(tmp_path / "empty")
    assert archive.asking.questions().questions == ()
    assert archive.asking.kept_questions().questions == ()
    archive.engine.dispose()


CHILDREN = "".join(f"1 CHIL @I{n}@\n" for n in range(3, 8))
FAMILY = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n" + "".join(
    f"0 @I{n}@ INDI\n1 NAME {name} /Holm/\n1 SEX {sex}\n1 BIRT\n2 DATE {born}\n1 {'FAMS' if n < 3 else 'FAMC'} @F1@\n"
    for n, (name, sex, born) in enumerate(
        (("Ada", "F", 1880), ("Tom", "M", 1876), ("Ruth", "F", 1902), ("Per", "M", 1904), ("Lise", "F", 1907),
         ("Jan", "M", 1911), ("Edda", "F", 1920)), 1)
) + "0 @F1@ FAM\n1 HUSB @I2@\n1 WIFE @I1@\n" + CHILDREN + "0 TRLR\n"  # fmt: skip
"""Ada and Tom with five children."""


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Archive]:
    """Three photographs in one tin: Ada with somebody not named, all of the family, and one in which nobody was
    noted."""
    archive = Archive.create(tmp_path / "small")
    (tmp_path / "tree.ged").write_text(FAMILY)
    archive.tree.import_file(tmp_path / "tree.ged")
    with archive.working("photographs") as work:
        tin = work.insert_one(t.container, code="C1", name="Tin")
        work.insert(t.photograph, [{"code": f"K0000{n}", "indexed": 738000, "container_id": tin} for n in (1, 2, 3)])
    archive.statements.link(Link(photograph="K1", person="I1"))
    archive.statements.link(Link(photograph="K1", person="-", region="0.1,0.1,0.2,0.2"))
    for n in range(1, 8):
        archive.statements.link(Link(photograph="K2", person=f"I{n}", age="10" if n == 7 else None))
    yield archive
    archive.engine.dispose()


def test_a_name_is_asked_for_where_it_tells_most(small: Archive) -> None:
    """Who is beside Ada tells nearly as much as her own age, for it leads to a life and to how old they look: it is
    among the first questions."""
    first = [(q.kind, q.photographs) for q in small.asking.questions().questions][:5]
    assert ("who", ("K00001",)) in first


def test_who_is_in_a_photograph_in_which_nobody_was_noted(small: Archive) -> None:
    """It is asked before anybody is asked for its date, and no more once somebody is noted there."""
    asked = [q.text for q in small.asking.questions().questions]
    assert asked.index("Who is in K00003?") == asked.index("When was K00003 taken?") - 1
    small.statements.link(Link(photograph="K3", person="I1"))
    assert "Who is in K00003?" not in [q.text for q in small.asking.kept_questions().questions]


def test_nobody_is_asked_about_a_time_they_cannot_know(small: Archive) -> None:
    """Edda was born in 1920: she knew her mother for decades, but is not asked when a picture of 1907 was taken. She is
    asked who somebody is, and of what she can remember; what none can know comes after that."""
    small.statements.add_informant("Aunt Edda", person="I7")
    small.statements.link(Link(photograph="K1", person="I1", stated_age="27"))
    small.statements.link(Link(photograph="K3", person="I1", age="60"))
    asked = small.asking.questions("Aunt Edda").questions
    dates = [q.photographs[0] for q in asked if q.kind == "date"]
    assert "K00001" not in dates
    assert "K00003" in dates
    assert "who" in [q.kind for q in asked]
    everything = [(q.kind, q.photographs[0]) for q in small.asking.questions().questions]
    assert everything.index(("date", "K00003")) < everything.index(("date", "K00001"))


def test_what_an_answer_tells_about_the_box_is_said(tmp_path: Path) -> None:
    """A date of one picture of an album helps with the others in it; loose, the same question has no such reason."""
    made = archive_with(tmp_path, photographs=12)
    for number in range(1, 13):
        made.statements.record(NewClaim(photograph=f"K{number}", kind="written", date="before 1930"))
    loose = {q.photographs: q.reason for q in made.asking.questions().questions if q.kind == "date"}
    assert len(loose) == 12
    assert set(loose.values()) == {""}
    made.photographs.move([f"K{number}" for number in range(1, 13)], "Green album")
    asked = {q.photographs: q.reason for q in made.asking.questions().questions if q.kind == "date"}
    assert set(asked.values()) == {"This would also help to date 11 other pictures in Green album."}


def test_what_an_answer_tells_about_other_frames(tmp_path: Path) -> None:
    """Pictures in no box, written on by 1930, of which four are on one strip of film: that is a reason to ask."""
    made = archive_with(tmp_path, photographs=6)
    for number in range(1, 7):
        made.statements.record(NewClaim(photograph=f"K{number}", kind="written", date="before 1930"))
    made.statements.relate_all([Tie(photograph="K1", relation="same-strip", other=f"K{i}") for i in (2, 3, 4)])
    reasons = {q.photographs[0]: q.reason for q in of_kind(made, "date")}
    assert reasons["K00002"] == "This would also help to date 3 other pictures on its strip of film."
    assert reasons["K00006"] == ""

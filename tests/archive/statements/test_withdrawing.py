"""Withdrawing statements and what of the tree is not believed, and letting them stand again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from building import archive_with
from sqlalchemy import Table, select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.reason.model import evidence as ev
from kinphoto.store import kindred
from kinphoto.store import tables as t

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Gorm /Holm/
1 SEX M
1 BIRT
2 DATE 3 MAR 1890
1 BIRT
2 DATE 1880
1 FAMS @F1@
0 @I2@ INDI
1 NAME Alva /Kvernland/
1 SEX F
1 BIRT
1 FAMS @F1@
0 @I3@ INDI
1 NAME Ida /Holm/
1 SEX F
1 BIRT
2 DATE 1 JUN 1918
1 FAMC @F1@
0 @I4@ INDI
1 NAME Nis /Holm/
1 FAMS @F2@
0 @F1@ FAM
1 HUSB @I1@
1 WIFE @I2@
1 CHIL @I3@
1 MARR
2 DATE 2 MAY 1917
0 @F2@ FAM
1 HUSB @I4@
0 TRLR
"""

Id = Callable[..., str]


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A couple and their daughter; all three are in K00001, which shows the wedding."""
    made = archive_with(tmp_path, TREE, photographs=3)
    for person in ("I1", "I2", "I3"):
        made.statements.link(Link(photograph="K1", person=person))
    made.statements.record(NewClaim(photograph="K1", kind="event", date="F1:MARR", trust="certain"))
    return made


def id_of(archive: Archive, table: Table, letter: str, **values: object) -> str:
    """The id, as people write it, of the first row with these values."""
    with archive.reading() as connection:
        query = select(table.c.id).where(*(table.c[key] == value for key, value in values.items()))
        return f"{letter}{connection.scalar(query.order_by(table.c.id))}"


def told(archive: Archive) -> dict[str, ev.Statement]:
    """What the reasoner is told, by id."""
    with archive.reading() as connection:
        return {s.id: s for s in gather(connection).statements}


def test_the_next_preferred_date_takes_the_place_of_one_withdrawn(archive: Archive) -> None:
    """Gorm has two dates of birth; without the first, the second is told, also in lists of people."""
    first = id_of(archive, t.event, "E", tag="BIRT", date_text="3 MAR 1890")
    assert archive.statements.withdraw(first).words == "the birth of Gorm Holm on 3 March 1890"
    births = [s for s in told(archive).values() if isinstance(s, ev.LifeDate) and s.person == "I1"]
    assert [s.text for s in births] == ["1880"]
    with archive.reading() as connection:
        begin = lives(connection, [1])[1].begin
    assert begin is not None
    assert begin.text == "1880"
    assert archive.people.find("Gorm 1880").people[0].id == "I1"


def test_a_date_withdrawn_is_kept_and_its_estimate_is_as_without_it(archive: Archive) -> None:
    """Nothing of the tree is deleted; without the wedding's date the picture is dated by the lives alone."""
    day = date(1917, 5, 2).toordinal()
    assert (
        archive.dates.estimates(["K1"])[0].estimate.state == "disputed"
    )  # the daughter was born a year after the wedding
    archive.statements.withdraw("A3")
    estimate = archive.dates.estimates(["K1"])[0].estimate
    assert day - 1 <= estimate.earliest <= day <= estimate.latest <= day + 62  # from the eve to the honeymoon
    wedding = id_of(archive, t.event, "E", tag="MARR")
    archive.statements.withdraw(wedding)
    assert wedding not in told(archive)
    assert archive.dates.estimates(["K1"])[0].estimate.latest > day + 366
    with archive.reading() as connection:
        row = connection.execute(select(t.event).where(t.event.c.tag == "MARR")).mappings().one()
    assert (row["first"], row["withdrawn"]) == (day, 1)


def test_a_parent_withdrawn_is_no_parent(archive: Archive) -> None:
    """Neither for the reasoner nor for descent, and the caution is shown."""
    link = id_of(archive, t.parent_link, "L", parent_id=2)
    done = archive.statements.withdraw(link)
    assert done.words == "that Alva Kvernland is the mother of Ida Holm"
    assert "alone first" in done.cautions[0]
    assert link not in told(archive)
    with archive.reading() as connection:
        assert set(kindred.ancestors(connection, 3)) == {1}
        assert kindred.descendants(connection, 2) == {}
    archive.statements.reinstate(link)
    assert link in told(archive)
    with archive.reading() as connection:
        assert set(kindred.ancestors(connection, 3)) == {1, 2}


def test_a_marriage_withdrawn_was_none(archive: Archive) -> None:
    """The date of the event itself is still told: the picture shows that day, whoever married."""
    assert archive.statements.withdraw("M1").words == "that Gorm Holm and Alva Kvernland married"
    statements = told(archive)
    assert "M1" not in statements
    assert id_of(archive, t.event, "E", tag="MARR") in statements


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("M2", "no marriage for F2"),
        ("E3", "no date that could be used"),
        ("K00001", "cannot be withdrawn"),
        ("", "cannot be withdrawn"),
        ("S²", "cannot be withdrawn"),
        ("S1 S2", "cannot be withdrawn"),
        ("S" + "9" * 30, "cannot be withdrawn"),
    ],
)
def test_what_cannot_be_withdrawn(archive: Archive, statement: str, why: str) -> None:
    """A family without a marriage, an event without a date, and what is no id: one line with what to do instead."""
    with pytest.raises(InvalidValueError, match=why) as caught:
        archive.statements.withdraw(statement)
    assert caught.value.remedy


@pytest.mark.parametrize("statement", ["S99", "A99", "E99", "L99", "M99"])
def test_what_is_not_there(archive: Archive, statement: str) -> None:
    """The remedy says where the ids are shown."""
    with pytest.raises(NotFoundError, match="kinphoto conflicts"):
        archive.statements.withdraw(statement)


def test_everything_withdrawn_can_be_taken_back_and_reinstated(archive: Archive) -> None:
    """One line of the log each; what stands already is left alone."""
    for statement in ("S1", "A1", id_of(archive, t.event, "E", tag="MARR"), "L1", "M1"):
        before = told(archive)
        assert statement in before
        assert not archive.statements.reinstate(statement).changed
        withdrawn = archive.statements.withdraw(statement.lower())
        assert withdrawn.changed
        assert not archive.statements.withdraw(statement).changed
        assert statement not in told(archive)
        archive.statements.undo(withdrawn.change)
        assert told(archive) == before
        archive.statements.withdraw(statement)
        again = archive.statements.reinstate(statement)
        assert archive.statements.history(1)[0].what == f"reinstated {statement}, {withdrawn.words}"
        assert again.changed
        assert told(archive) == before


def test_an_age_reinstated_says_what_else_it_needs(archive: Archive) -> None:
    """As long as the name it belongs to is withdrawn, it bears on nothing."""
    done, _ = archive.statements.link(Link(photograph="K2", person="I3", age="20"))
    archive.statements.withdraw(done.statements[0])
    archive.statements.withdraw(done.appearance)
    (caution,) = archive.statements.reinstate(done.statements[0]).cautions
    assert f"kinphoto reinstate {done.appearance}" in caution
    assert done.statements[0] not in told(archive)
    archive.statements.reinstate(done.appearance)
    assert done.statements[0] in told(archive)


def test_a_page_is_one_again_when_its_print_is_reinstated(archive: Archive) -> None:
    """Unless it was said since that it lies the other way round."""
    mounted = archive.statements.relate(Tie(photograph="K2", relation="part-of", other="K3"))[0].statement
    archive.statements.withdraw(mounted)
    archive.statements.reinstate(mounted)
    with archive.reading() as connection:
        assert connection.scalar(select(t.photograph.c.page).where(t.photograph.c.code == "K00003"))
    archive.statements.withdraw(mounted)
    turned = archive.statements.relate(Tie(photograph="K3", relation="part-of", other="K2"))[0].statement
    with pytest.raises(InvalidValueError, match=f"kinphoto withdraw {turned}"):
        archive.statements.reinstate(mounted)

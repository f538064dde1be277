"""Who told what, and one who goes by two names."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.informants import InformantEntry
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two photographs; Edda has told of one, and Eda, who is the same, of the other."""
    made = archive_with(tmp_path, photographs=2)
    made.people.add("Edda Holm", born="1931")
    made.people.add("Per Holm", born="1940")
    made.statements.add_informant("Aunt Edda", note="rings on Sundays")
    made.statements.link(Link(photograph="K1", person="X1", age="7", by="Aunt Edda"))
    made.statements.record(NewClaim(photograph="K2", kind="taken", date="1938", by="Aunt Eda"))
    return made


def said_by(archive: Archive) -> dict[str, str]:
    """Every statement and appearance, and who said it."""
    with archive.reading() as connection:
        names = dict(connection.execute(select(t.informant.c.id, t.informant.c.name)).all())
        return {
            f"{table.name} {row.id}": names[row.informant_id]
            for table in (t.statement, t.appearance)
            for row in connection.execute(select(table.c.id, table.c.informant_id))
        }


def test_the_list_tells_how_much_each_said(archive: Archive) -> None:
    """In the order of the names; what was withdrawn does not count."""
    archive.statements.add_informant("Aunt Edda", person="X1")
    archive.statements.withdraw("S2")
    with archive.reading() as connection:
        when = connection.scalar(select(t.appearance.c.said_at))
    assert archive.statements.informants() == (
        InformantEntry("Aunt Eda", None, None, "", 0, 0, ""),
        InformantEntry("Aunt Edda", "X1", "Edda Holm", "rings on Sundays", 1, 1, when),
    )


def test_an_informant_outside_the_tree_who_turned_out_to_be_somebody(archive: Archive) -> None:
    """The list names whom that is in the end."""
    archive.statements.add_informant("Aunt Edda", person="X2")
    archive.people.identify("X2", "X1")
    assert archive.statements.informants()[1].person == "X1"


def test_another_name(archive: Archive) -> None:
    """What they said stays theirs, also when only the letters' case is mended."""
    done = archive.statements.rename_informant("aunt edda", "Great-aunt Edda")
    assert (done.name, done.note, done.changed, done.merged) == ("Great-aunt Edda", "rings on Sundays", True, False)
    assert archive.statements.history(1)[0].what == "renamed the informant Aunt Edda to Great-aunt Edda"
    assert archive.statements.rename_informant("Great-aunt Edda", "GREAT-AUNT EDDA").name == "GREAT-AUNT EDDA"
    assert not archive.statements.rename_informant("Great-aunt Edda", "GREAT-AUNT EDDA").changed
    assert said_by(archive)["appearance 1"] == "GREAT-AUNT EDDA"


def test_two_names_become_one_and_two_again(archive: Archive) -> None:
    """With all that either said and both notes, in one change that can be taken back."""
    archive.statements.add_informant("Aunt Eda", person="X1", note="has the blue album")
    before = said_by(archive), archive.statements.informants()
    done = archive.statements.rename_informant("Aunt Eda", "Aunt Edda")
    assert (done.name, done.person, done.merged) == ("Aunt Edda", "X1", True)
    assert done.note == "rings on Sundays; has the blue album"
    assert set(said_by(archive).values()) == {"Aunt Edda"}
    assert [entry.statements + entry.appearances for entry in archive.statements.informants()] == [3]
    archive.statements.undo(done.change)
    assert (said_by(archive), archive.statements.informants()) == before


def test_two_people_are_not_made_one(archive: Archive) -> None:
    """Each of whom is somebody else in the tree: nothing is changed."""
    archive.statements.add_informant("Aunt Edda", person="X1")
    archive.statements.add_informant("Aunt Eda", person="X2")
    before = archive.statements.history(1)
    with pytest.raises(InvalidValueError, match="two different people") as caught:
        archive.statements.rename_informant("Aunt Eda", "Aunt Edda")
    assert "--person" in caught.value.remedy
    assert archive.statements.history(1) == before


def test_who_is_not_known_and_what_is_no_name(archive: Archive) -> None:
    """The nearest names are offered."""
    with pytest.raises(NotFoundError, match=r"Did you mean .*Aunt Edda"):
        archive.statements.rename_informant("Aunt Edna", "Edda")
    with pytest.raises(NotFoundError, match="kinphoto informants"):
        archive.statements.rename_informant("Zacharias", "Edda")
    with pytest.raises(InvalidValueError, match="needs a name"):
        archive.statements.rename_informant("Aunt Edda", " ")

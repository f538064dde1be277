"""What was withdrawn of a tree, when the tree is imported again."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Table, select

from kinphoto.archive import Archive
from kinphoto.archive.tree.importing import TreeImported
from kinphoto.store import tables as t

PEOPLE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Gorm /Holm/
1 SEX M
1 BIRT
2 DATE 3 MAR 1890
1 FAMS @F1@
0 @I2@ INDI
1 NAME Alva /Kvernland/
1 SEX F
1 FAMS @F1@
0 @I4@ INDI
1 NAME Runa /Eide/
1 SEX F
0 @I3@ INDI
1 NAME Ida /Holm/
1 SEX F
1 FAMC @F1@
"""
FAMILY = """0 @F1@ FAM
1 HUSB @I1@
1 WIFE @I2@
1 CHIL @I3@
1 MARR
2 DATE 2 MAY 1917
"""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A couple with a daughter, and somebody else."""
    made = Archive.create(tmp_path / "archive")
    bring(made, PEOPLE + FAMILY)
    return made


def bring(archive: Archive, records: str) -> TreeImported:
    """Import a tree of these records."""
    path = archive.folder.parent / "tree.ged"
    path.write_text(f"{records}0 TRLR\n", encoding="utf-8")
    return archive.tree.import_file(path)


def withdrawn(archive: Archive, table: Table) -> list[bool]:
    """Of each row, in the order of the tree, whether it is withdrawn."""
    order = (table.c.tag, table.c.position) if table is t.event else (table.c.id,)
    with archive.reading() as connection:
        return [bool(flag) for flag in connection.scalars(select(table.c.withdrawn).order_by(*order))]


def test_the_same_tree_again_changes_nothing(archive: Archive) -> None:
    """The withdrawals stay, no line is added to the log, and nobody is warned."""
    for statement in ("E1", "L1", "M1"):
        archive.statements.withdraw(statement)
    newest = archive.statements.history(1)[0].number
    done = bring(archive, PEOPLE + FAMILY)
    assert (done.altered, done.warnings) == (False, ())
    assert archive.statements.history(1)[0].number == newest
    assert (withdrawn(archive, t.event), withdrawn(archive, t.parent_link), withdrawn(archive, t.family)) == (
        [True, False], [True, False], [True],
    )  # fmt: skip


def test_a_date_corrected_in_the_tree_counts_again(archive: Archive) -> None:
    """The report names the line of the new date; an undo of the import brings the withdrawal back."""
    archive.statements.withdraw("E1")
    done = bring(archive, PEOPLE.replace("3 MAR 1890", "3 MAR 1891") + FAMILY)
    ((line, text),) = done.warnings
    assert line == 8
    assert "the birth of Gorm Holm on 3 March 1891" in text
    assert "kinphoto withdraw E1" in text
    assert withdrawn(archive, t.event) == [False, False]
    archive.statements.undo()
    assert withdrawn(archive, t.event) == [True, False]


def test_a_withdrawal_follows_its_date_to_another_place(archive: Archive) -> None:
    """A new preferred date before it counts, the one withdrawn stays so; written otherwise it is the same date."""
    archive.statements.withdraw("E1")
    later = PEOPLE.replace("1 BIRT\n2 DATE 3 MAR 1890\n", "1 BIRT\n2 DATE 1889\n1 BIRT\n2 DATE 03 Mar 1890\n")
    done = bring(archive, later + FAMILY)
    assert withdrawn(archive, t.event) == [False, True, False]
    assert done.warnings == ()
    bring(archive, PEOPLE + FAMILY)
    assert withdrawn(archive, t.event) == [True, False]


def test_a_date_taken_out_of_the_tree_is_gone(archive: Archive) -> None:
    """With it goes the withdrawal; there is nothing to warn of."""
    archive.statements.withdraw("E1")
    done = bring(archive, PEOPLE.replace("1 BIRT\n2 DATE 3 MAR 1890\n", "") + FAMILY)
    assert (withdrawn(archive, t.event), done.warnings) == ([False], ())


def test_a_parent_stays_withdrawn_in_whichever_family_the_child_stands(archive: Archive) -> None:
    """The tree says the same of father and child, though with another mother."""
    archive.statements.withdraw("L1")
    other = FAMILY.replace("1 CHIL @I3@\n", "") + "0 @F2@ FAM\n1 HUSB @I1@\n1 WIFE @I4@\n1 CHIL @I3@\n"
    done = bring(archive, PEOPLE.replace("1 FAMC @F1@", "1 FAMC @F2@") + other)
    with archive.reading() as connection:
        rows = connection.execute(select(t.parent_link.c.parent_id, t.parent_link.c.withdrawn)).all()
    assert {(parent, flag) for parent, flag in rows} == {(1, 1), (3, 0)}
    assert done.warnings == ()


def test_a_parent_by_adoption_is_another_matter(archive: Archive) -> None:
    """What was withdrawn was that he is the father by birth; the report says that it counts again."""
    archive.statements.withdraw("L1")
    done = bring(archive, PEOPLE.replace("1 FAMC @F1@", "1 FAMC @F1@\n2 PEDI adopted") + FAMILY)
    ((_, text),) = done.warnings
    assert "Gorm Holm (I1) is a parent of Ida Holm (I3)" in text
    assert not any(withdrawn(archive, t.parent_link))


def test_another_couple_counts(archive: Archive) -> None:
    """Runa in the place of Alva: their marriage was not withdrawn."""
    archive.statements.withdraw("M1")
    done = bring(archive, PEOPLE + FAMILY.replace("@I2@", "@I4@"))
    assert withdrawn(archive, t.family) == [False]
    assert "Gorm Holm and Runa Eide" in done.warnings[-1][1]

"""Importing a tree: what becomes of a file, of a newer file, and of an import that is killed."""

from __future__ import annotations

import random
import signal
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from forking import Forked
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.tree.importing import TreeImported
from kinphoto.errors import UnreadableFileError
from kinphoto.store import tables as t

TREE_TABLES = (t.person, t.name, t.family, t.partner, t.parent_link, t.event, t.tree_file)

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @F1@ FAM
1 HUSB @I1@
1 WIFE @I2@
1 CHIL @I3@
1 MARR
2 DATE 2 MAY 1917
0 @I1@ INDI
1 NAME Gorm /Holm/
1 SEX M
1 BIRT
2 DATE 3 MAR 1890
1 BIRT
2 DATE ABT 1891
1 FAMS @F1@
0 @I2@ INDI
1 NAME Alva /Kvernland/
1 NAME Alva /Hólm/
2 TYPE married
1 SEX F
1 BIRT
2 DATE 1892
1 DEAT
1 FAMS @F1@
0 @I3@ INDI
1 NAME Ida /Holm/
1 SEX F
1 BIRT
2 DATE 1 JUN 1918
1 FAMC @F1@
0 @I4@ INDI
1 NAME Nis /Holm/
1 SEX M
1 BIRT
2 DATE 5 AUG 1921
1 FAMC @F1@
2 PEDI adopted
0 TRLR
"""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An empty archive."""
    return Archive.create(tmp_path / "archive")


def bring(archive: Archive, text: str, name: str = "tree.ged") -> TreeImported:
    """Import a file with this text."""
    path = archive.folder.parent / name
    path.write_text(text, encoding="utf-8")
    return archive.tree.import_file(path)


def rows(archive: Archive, table: Any, *columns: str) -> list[tuple[Any, ...]]:
    """Some columns of a table, by id."""
    with archive.reading() as connection:
        found = connection.execute(select(*(table.c[c] for c in columns or table.c.keys())).order_by(table.c.id))
        return [tuple(row) for row in found]


def tree_of(archive: Archive) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of the tree as it is."""
    return {table.name: rows(archive, table) for table in TREE_TABLES}


def take_picture(archive: Archive, code: str) -> int:
    """Record a photograph of the person with this code; returns the appearance's id."""
    with archive.working("a picture") as work:
        person = work.connection.scalar(select(t.person.c.id).where(t.person.c.code == code))
        number = work.take("photograph.code").start
        photograph = work.insert_one(t.photograph, code=f"K{number:05}", indexed=739_000)
        return work.insert_one(
            t.appearance, photograph_id=photograph, person_id=person, said_at="2024-01-01T00:00:00+00:00"
        )


def pictured(archive: Archive, appearance: int) -> tuple[str, str, int]:
    """Code, name and whether gone of the person an appearance leads to."""
    p, a = t.person.c, t.appearance.c
    with archive.reading() as connection:
        found = select(p.code, p.name, p.gone).join(t.appearance, a.person_id == p.id).where(a.id == appearance)
        return tuple(connection.execute(found).one())  # type: ignore[return-value]


def people(archive: Archive) -> dict[str, str]:
    """Names by code of everybody who is in the tree."""
    return {code: name for code, name, gone in rows(archive, t.person, "code", "name", "gone") if not gone}


def links(archive: Archive) -> set[tuple[str, str, str]]:
    """(child, parent, pedigree), by code."""
    codes = dict(rows(archive, t.person, "id", "code"))
    found = rows(archive, t.parent_link, "child_id", "parent_id", "pedigree")
    return {(codes[child], codes[parent], pedigree) for child, parent, pedigree in found}


def test_a_first_import(archive: Archive) -> None:
    """People, names, families, parent links with pedigree, and events become rows; one line in the log."""
    done = bring(archive, TREE)
    assert (done.people, done.families, done.events, done.added) == (4, 1, 7, 4)
    assert (done.changed, done.removed, done.kept_with_pictures, done.warnings) == (0, 0, 0, ())
    assert (done.encoding, done.version, done.altered) == ("UTF-8", "5.5.1", True)
    assert rows(archive, t.person, "code", "name", "sex", "living", "outside") == [
        ("I1", "Gorm Holm", "M", None, 0),
        ("I2", "Alva Kvernland", "F", 0, 0),
        ("I3", "Ida Holm", "F", None, 0),
        ("I4", "Nis Holm", "M", None, 0),
    ]
    assert ("Alva Hólm", "married", 1, "alva holm") in rows(archive, t.name, "text", "kind", "position", "folded")
    assert rows(archive, t.partner, "person_id", "position") == [(1, 0), (2, 1)]
    assert links(archive) == {
        ("I3", "I1", "birth"), ("I3", "I2", "birth"), ("I4", "I1", "adopted"), ("I4", "I2", "adopted"),
    }  # fmt: skip
    births = [e for e in rows(archive, t.event, "tag", "position", "date_text", "shape", "line") if e[0] == "BIRT"][:2]
    assert births == [("BIRT", 0, "3 MAR 1890", "flat", 14), ("BIRT", 1, "ABT 1891", "about", 16)]
    assert len(rows(archive, t.change)) == 1


def test_the_same_file_again(archive: Archive) -> None:
    """Nothing changes and the log has no new line."""
    bring(archive, TREE)
    before = tree_of(archive)
    done = bring(archive, TREE)
    assert (done.people, done.added, done.changed, done.removed, done.altered) == (4, 0, 0, 0, False)
    assert tree_of(archive) == before
    assert len(rows(archive, t.change)) == 1


def test_either_side_alone_says_who_belongs_together(archive: Archive) -> None:
    """A child only the family names, a child and a partner who only name the family themselves."""
    text = TREE.replace("1 CHIL @I3@\n", "").replace("1 WIFE @I2@\n", "").replace("1 FAMS @F1@\n0 @I2@", "0 @I2@")
    bring(archive, text)
    assert {(child, parent) for child, parent, _ in links(archive)} == {
        ("I3", "I1"), ("I3", "I2"), ("I4", "I1"), ("I4", "I2"),
    }  # fmt: skip


def test_pedigree_towards_one_parent(archive: Archive) -> None:
    """A child may be the father's stepchild and the mother's own."""
    bring(archive, TREE.replace("1 CHIL @I3@\n", "1 CHIL @I3@\n2 _FREL step\n2 _MREL birth\n"))
    assert {("I3", "I1", "step"), ("I3", "I2", "birth")} <= links(archive)


def test_pointers_that_lead_nowhere(archive: Archive) -> None:
    """Each is named with its line; the rest is imported."""
    text = TREE.replace("1 CHIL @I3@", "1 CHIL @I3@\n1 CHIL @I77@").replace("0 TRLR", "1 FAMC @F99@\n0 TRLR")
    done = bring(archive, text)
    assert [text for _, text in done.warnings] == [
        "family F1 refers to @I77@, who is not in the file; left out",
        "this person belongs to family @F99@, which is not in the file; left out",
    ]
    assert all(line > 0 for line, _ in done.warnings)
    assert done.people == 4


def test_a_person_who_is_their_own_parent(archive: Archive) -> None:
    """That one link is left out, and named."""
    done = bring(archive, TREE.replace("1 CHIL @I3@", "1 CHIL @I3@\n1 CHIL @I1@"))
    assert done.warnings == ((5, "somebody is their own parent in family F1; left out"),)
    assert "I1" not in {child for child, _, _ in links(archive)}


def test_a_loop_of_ancestry(archive: Archive) -> None:
    """Grandfather and grandson the other way round: kept for the conflicts to show, and named here."""
    loop = "0 @F2@ FAM\n1 HUSB @I3@\n1 CHIL @I1@\n0 TRLR"
    done = bring(archive, TREE.replace("0 TRLR", loop))
    assert len(done.warnings) == 1
    assert "people who are their own ancestors" in done.warnings[0][1]
    assert "Gorm Holm (I1) → Ida Holm (I3) → Gorm Holm (I1)" in done.warnings[0][1]
    assert {("I1", "I3", "birth"), ("I3", "I1", "birth")} <= links(archive)


def test_codes_that_are_taken(archive: Archive) -> None:
    """A neighbour called X7 keeps that code; two people of the file with one pointer both come in."""
    with archive.working("a neighbour") as work:
        work.insert_one(t.person, code="X7", outside=1, name="Berit")
    second = "0 @I1@ INDI\n1 NAME Olga /Lund/\n0 @X7@ INDI\n1 NAME Jon /Lund/\n0 TRLR"
    done = bring(archive, TREE.replace("0 TRLR", second))
    assert len(done.warnings) == 2
    assert people(archive) == {
        "X7": "Berit", "I1": "Gorm Holm", "I2": "Alva Kvernland", "I3": "Ida Holm", "I4": "Nis Holm",
        "I1-2": "Olga Lund", "X7-2": "Jon Lund",
    }  # fmt: skip
    assert not bring(archive, TREE.replace("0 TRLR", second)).altered


def test_a_grown_tree(archive: Archive) -> None:
    """Somebody is corrected, somebody new, somebody removed; everybody else keeps row and events."""
    bring(archive, TREE)
    before = dict(rows(archive, t.person, "code", "id"))
    newer = TREE.replace("1 JUN 1918", "2 JUN 1918").replace("Nis /Holm/", "Nis Peter /Holm/")
    newer = newer.replace("0 @I2@ INDI", "0 @I9@ INDI\n1 NAME Olga /Lund/\n0 @I2@ INDI")
    done = bring(archive, newer)
    assert (done.added, done.changed, done.removed) == (1, 2, 0)
    after = dict(rows(archive, t.person, "code", "id"))
    assert {code: after[code] for code in before} == before
    assert people(archive)["I4"] == "Nis Peter Holm"
    done = bring(archive, newer.replace("0 @I9@ INDI\n1 NAME Olga /Lund/\n", ""))
    assert (done.added, done.changed, done.removed) == (0, 0, 1)
    assert "I9" not in people(archive)


def test_whoever_has_a_picture_is_kept(archive: Archive) -> None:
    """Gone from the file, but not from the archive; back in the file, the same person again."""
    bring(archive, TREE)
    picture = take_picture(archive, "I4")
    without = TREE[: TREE.index("0 @I4@")] + "0 TRLR\n"
    done = bring(archive, without)
    assert (done.removed, done.kept_with_pictures) == (0, 1)
    assert pictured(archive, picture) == ("I4", "Nis Holm", 1)
    assert bring(archive, without).altered is False
    assert bring(archive, TREE).changed == 1
    assert pictured(archive, picture) == ("I4", "Nis Holm", 0)


def test_renumbered_pointers_move_no_picture(archive: Archive) -> None:
    """An export that numbers everybody anew, shifting all pointers by one."""
    bring(archive, TREE)
    pictures = {code: take_picture(archive, code) for code in ("I1", "I2", "I3", "I4")}
    names = people(archive)
    newer = TREE
    for number in (4, 3, 2, 1):
        newer = newer.replace(f"@I{number}@", f"@I{number + 1}@")
    done = bring(archive, newer)
    assert (done.added, done.removed, done.kept_with_pictures) == (0, 0, 0)
    for code, picture in pictures.items():
        assert pictured(archive, picture) == (f"I{int(code[1:]) + 1}", names[code], 0)


def test_two_pointers_swapped(archive: Archive) -> None:
    """Two people exchange their numbers: the pictures follow the people."""
    bring(archive, TREE)
    picture = take_picture(archive, "I3")
    bring(archive, TREE.replace("@I3@", "@I0@").replace("@I4@", "@I3@").replace("@I0@", "@I4@"))
    assert pictured(archive, picture) == ("I4", "Ida Holm", 0)
    archive.statements.undo(None)
    assert pictured(archive, picture) == ("I3", "Ida Holm", 0)


def test_a_pointer_that_means_somebody_else_takes_no_picture_along(archive: Archive) -> None:
    """Name and birth both different: the one with the picture is gone, the pointer is somebody new."""
    bring(archive, TREE)
    picture = take_picture(archive, "I4")
    done = bring(archive, TREE.replace("Nis /Holm/", "Berta /Lund/").replace("5 AUG 1921", "7 JAN 1850"))
    assert (done.added, done.kept_with_pictures) == (1, 1)
    assert pictured(archive, picture) == ("I4-gone", "Nis Holm", 1)
    assert people(archive)["I4"] == "Berta Lund"


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("Nis /Holm/", "Nils /Holm/", True),  # spelling
        ("Nis /Holm/", "Nis Peter /Holm/", True),  # a name added
        ("Nis /Holm/", "Peter /Lund/", True),  # another name, the same day of birth
        ("5 AUG 1921", "6 AUG 1922", True),  # another birth, the same name
        ("5 AUG 1921", "6 AUG 1951", True),  # a birth far off, the same parents
        ("5 AUG 1921\n1 FAMC @F1@\n2 PEDI adopted", "6 AUG 1951", False),  # and other parents: his son, likely
    ],
)
def test_the_same_pointer_with_one_thing_different(archive: Archive, old: str, new: str, same: bool) -> None:
    """Name or birth may be corrected, within reason."""
    bring(archive, TREE)
    picture = take_picture(archive, "I4")
    done = bring(archive, TREE.replace(old, new))
    assert (pictured(archive, picture)[2] == 0) is same
    assert done.added == (0 if same else 1)


def test_an_identifier_outweighs_everything(archive: Archive) -> None:
    """Pointer, name and birth changed, the UID did not."""
    uid = "1 _UID 0123456789ABCDEF0123456789ABCDEF"
    bring(archive, TREE.replace("1 NAME Nis /Holm/", f"{uid}\n1 NAME Nis /Holm/"))
    picture = take_picture(archive, "I4")
    newer = TREE.replace("1 NAME Nis /Holm/", f"{uid}9F3A\n1 NAME Peter /Lund/").replace("5 AUG 1921", "1800")
    bring(archive, newer.replace("@I4@", "@I40@"))
    assert pictured(archive, picture) == ("I40", "Peter Lund", 0)


def test_the_event_a_photograph_shows_stays_the_same(archive: Archive) -> None:
    """`F1:MARR` and `I4:GRAD` follow their family and person to other codes, and keep them from being removed."""
    tree = TREE.replace("0 TRLR", "1 GRAD\n0 TRLR")
    bring(archive, tree)
    with archive.working("what they show") as work:
        photograph = work.insert_one(t.photograph, code="K00001", indexed=739_000)
        for key in ("F1:MARR", "I4:GRAD"):
            work.insert_one(t.statement, photograph_id=photograph, kind="event", value=key, said_at=work.at)
    bring(archive, tree.replace("@F1@", "@F9@").replace("@I4@", "@I8@"))
    assert rows(archive, t.statement, "value") == [("F9:MARR",), ("I8:GRAD",)]
    another = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n0 @I8@ INDI\n1 NAME Olga /Lund/\n0 @F9@ FAM\n1 WIFE @I8@\n0 TRLR\n"
    bring(archive, another)
    assert rows(archive, t.statement, "value") == [("F9-gone:MARR",), ("I8-gone:GRAD",)]
    assert people(archive) == {"I8": "Olga Lund"}
    archive.statements.undo(None)
    assert rows(archive, t.statement, "value") == [("F9:MARR",), ("I8:GRAD",)]


def test_undo_of_an_import_and_of_another(archive: Archive) -> None:
    """Row for row, the tree is what it was before; and what it was after, when the undo is undone."""
    bring(archive, TREE)
    first = tree_of(archive)
    newer = TREE.replace("@I4@", "@I5@").replace("1 JUN 1918", "JUN 1918").replace("Gorm", "Gormund")
    bring(archive, newer + "", "newer.ged")
    second = tree_of(archive)
    assert first != second
    archive.statements.undo(None)
    assert tree_of(archive) == first
    archive.statements.undo(3)
    assert tree_of(archive) == second
    archive.statements.undo(4)
    archive.statements.undo(1)
    assert all(not found for found in tree_of(archive).values())


def test_what_cannot_be_read_changes_nothing(archive: Archive) -> None:
    """The archive and its log are as they were."""
    bring(archive, TREE)
    before = tree_of(archive)
    with pytest.raises(UnreadableFileError):
        bring(archive, "Dear all,\n")
    assert tree_of(archive) == before
    assert len(rows(archive, t.change)) == 1


NAMES = st.sampled_from(["Ada /Holm/", "Bo /Holm/", "Cai /Lund/", "Dag /Lund/", ""])
BIRTHS = st.sampled_from(["", "1 JAN 1900", "1900", "ABT 1901", "1 JAN 1930"])
PEOPLE = st.dictionaries(st.integers(1, 6), st.tuples(NAMES, BIRTHS), max_size=6)
FAMILIES = st.dictionaries(
    st.integers(1, 3),
    st.tuples(st.integers(1, 6), st.integers(1, 6), st.sets(st.integers(1, 6), max_size=3)),
    max_size=3,
)


def written(found: dict[int, tuple[str, str]], families: dict[int, tuple[int, int, set[int]]]) -> str:
    """A tree file of these people and families."""
    text = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"
    for number, (name, birth) in found.items():
        text += f"0 @I{number}@ INDI\n1 NAME {name}\n1 BIRT\n2 DATE {birth}\n"
    for number, (husband, wife, children) in families.items():
        text += f"0 @F{number}@ FAM\n1 HUSB @I{husband}@\n1 WIFE @I{wife}@\n1 MARR\n"
        text += "".join(f"1 CHIL @I{child}@\n" for child in sorted(children))
    return text + "0 TRLR\n"


def content(archive: Archive) -> dict[str, Any]:
    """The tree without row numbers and lines of the file."""
    codes, homes = dict(rows(archive, t.person, "id", "code")), dict(rows(archive, t.family, "id", "code"))
    return {
        "people": sorted(rows(archive, t.person, "code", "name", "sex")),
        "names": sorted((codes[who], *rest) for who, *rest in rows(archive, t.name, "person_id", "position", "text")),
        "partners": sorted((homes[f], codes[p]) for f, p in rows(archive, t.partner, "family_id", "person_id")),
        "links": sorted(links(archive)),
        "events": sorted(
            (codes.get(p, ""), homes.get(f, ""), *rest)
            for p, f, *rest in rows(archive, t.event, "person_id", "family_id", "tag", "position", "date_text")
        ),
    }


@given(PEOPLE, FAMILIES, PEOPLE, FAMILIES)
@settings(max_examples=40, deadline=None)
def test_a_newer_file_gives_what_it_alone_would_give(
    tmp_path_factory: pytest.TempPathFactory, people_a: Any, families_a: Any, people_b: Any, families_b: Any
) -> None:
    """Whatever was there before, after an import the tree is the file's; undone, it is the earlier one's."""
    folder = tmp_path_factory.mktemp("trees")
    grown, fresh = Archive.create(folder / "grown"), Archive.create(folder / "fresh")
    bring(grown, written(people_a, families_a))
    before = tree_of(grown)
    done = bring(grown, written(people_b, families_b))
    bring(fresh, written(people_b, families_b))
    assert content(grown) == content(fresh)
    if done.altered:
        grown.statements.undo(None)
        assert tree_of(grown) == before


def test_killed_at_random_moments(tmp_path: Path) -> None:
    """Killed again and again, the archive opens, holds nothing by halves, and the next import is whole."""
    archive = Archive.create(tmp_path / "archive")
    tree = tmp_path / "big.ged"
    body = "".join(
        f"0 @I{n}@ INDI\n1 NAME A{n} /B/\n1 BIRT\n2 DATE {1 + n % 28} MAY {1700 + n % 300}\n" for n in range(3000)
    )
    tree.write_text(f"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n{body}0 TRLR\n")
    with closing(Archive.create(tmp_path / "another")) as another:
        began = time.monotonic()
        another.tree.import_file(tree)
        took = time.monotonic() - began
    archive.close()

    def bring_in() -> None:
        print("ready", flush=True)
        Archive.open(archive.folder).tree.import_file(tree)

    rng, killed = random.Random(7), 0
    for _ in range(10):
        process = Forked(bring_in)
        assert process.printed.readline() == "ready\n"
        time.sleep(rng.uniform(0.0, took))
        process.kill()
        killed += process.ended()[0] == -signal.SIGKILL
        with closing(Archive.open(archive.folder)) as opened:
            with opened.reading() as connection:
                assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
            found = {table.name: len(rows(opened, table)) for table in (*TREE_TABLES, t.change)}
        whole = {"person": 3000, "name": 3000, "event": 3000, "tree_file": 1, "change": 1}
        assert found in (dict.fromkeys(found, 0), {name: whole.get(name, 0) for name in found})
    assert killed > 0
    archive = Archive.open(archive.folder)
    archive.tree.import_file(tree)
    assert len(rows(archive, t.person)) == 3000

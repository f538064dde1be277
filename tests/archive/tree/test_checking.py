"""What in a tree cannot be, and what is unlikely."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.tree.checking import TreeCheck

HEAD = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"


def person(code: str, name: str, sex: str, *events: str) -> str:
    """A record; events are written "BIRT 1900"."""
    dated = "".join(f"1 {tag}\n2 DATE {date}\n" for tag, _, date in (event.partition(" ") for event in events))
    return f"0 @{code}@ INDI\n1 NAME {name}\n1 SEX {sex}\n{dated}"


def family(code: str, husband: str, wife: str, children: str, married: str = "") -> str:
    """A record; children are pointers with blanks between, "" and "-" are nobody."""
    couple = "".join(f"1 {role} @{who}@\n" for role, who in (("HUSB", husband), ("WIFE", wife)) if who != "-")
    wedding = f"1 MARR\n2 DATE {married}\n" if married else ""
    return f"0 @{code}@ FAM\n{couple}{''.join(f'1 CHIL @{c}@{chr(10)}' for c in children.split())}{wedding}"


def checked(folder: Path, *records: str) -> TreeCheck:
    """The findings in a tree of these records."""
    archive = Archive.create(folder / "archive")
    (folder / "tree.ged").write_text(HEAD + "".join(records) + "0 TRLR\n")
    archive.tree.import_file(folder / "tree.ged")
    return archive.tree.check()


def test_a_sound_tree(tmp_path: Path) -> None:
    """Three ordinary lives: nothing to say."""
    found = checked(
        tmp_path,
        person("I1", "Gorm /Holm/", "M", "BIRT 3 MAR 1860", "CENS 1891", "DEAT 1931", "BURI 1931", "WILL 1932"),
        person("I2", "Alva /Vik/", "F", "BIRT ABT 1862", "RESI FROM 1890 TO 1900"),
        person("I3", "Ida /Holm/", "F", "CHR 1 JUN 1890", "EMIG 1912"),
        family("F1", "I1", "I2", "I3", "1885"),
    )
    assert (found.people, found.impossible, found.unlikely) == (3, (), ())


# Each with the people it is about, the lines of the dates (counted by hand) or families, and a word of the law behind.
IMPOSSIBLE = {
    "dead before birth": (
        [person("I1", "A /B/", "M", "BIRT 1900", "DEAT 1890")], {"I1"}, {8, 10}, "nobody dies before being born",
    ),
    "lived 130 years": (
        [person("I1", "A /B/", "M", "BIRT 1800", "DEAT 1930")], {"I1"}, {8, 10}, "122 years, 164 days",
    ),
    "counted after death": (
        [person("I1", "A /B/", "M", "DEAT 1890", "CENS 1891")], {"I1"}, {8, 10}, "alive before the birth or after",
    ),
    "emigrated before birth": (
        [person("I1", "A /B/", "M", "BIRT 1890", "EMIG 1880")], {"I1"}, {8, 10}, "alive before the birth",
    ),
    "buried before death": (
        [person("I1", "A /B/", "M", "DEAT 1900", "BURI 1899")], {"I1"}, {8, 10}, "a burial not before the death",
    ),
    "born after the mother's death": (
        [person("I1", "A /B/", "F", "BIRT 1870", "DEAT 1900"), person("I2", "C /B/", "F", "BIRT 1902"),
         family("F1", "-", "I1", "I2")], {"I1", "I2"}, {10, 15, "F1"}, "a mother is 10 to 75 years older",
    ),
    "born two years after the father's death": (
        [person("I1", "A /B/", "M", "BIRT 1870", "DEAT 1900"), person("I2", "C /B/", "F", "BIRT 1903"),
         family("F1", "I1", "-", "I2")], {"I1", "I2"}, {10, 15, "F1"}, "a father is 10 to 100 years older",
    ),
    "married at two": (
        [person("I1", "A /B/", "F", "BIRT 1898"), person("I2", "C /B/", "M", "BIRT 1870"),
         family("F1", "I2", "I1", "", "1900")], {"I1"}, {8, 18, "F1"}, "at a marriage both are alive and at least 10",
    ),
    "married after death": (
        [person("I1", "A /B/", "F", "DEAT 1898"), person("I2", "C /B/", "M", "BIRT 1870"),
         family("F1", "I2", "I1", "", "1900")], {"I1"}, {8, 18, "F1"}, "at a marriage both are alive",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", IMPOSSIBLE)
def test_what_cannot_be(tmp_path: Path, what: str) -> None:
    """One contradiction, with its people, the lines of its dates, its families and the law behind."""
    records, people, lines, law = IMPOSSIBLE[what]
    found = checked(tmp_path, *records)
    assert len(found.impossible) == 1
    one = found.impossible[0]
    assert people <= {code for code, _ in one.people}
    assert {fact.line or fact.family for fact in one.facts} == lines
    assert law in " ".join(one.laws)
    assert len(one.aside) == 1


def test_somebody_who_is_their_own_grandfather(tmp_path: Path) -> None:
    """A loop of ancestry contradicts itself, whether anybody has a date or not."""
    found = checked(
        tmp_path,
        *(person(f"I{n}", f"N{n} /B/", "M") for n in (1, 2, 3)),
        family("F1", "I1", "-", "I2"), family("F2", "I2", "-", "I3"), family("F3", "I3", "-", "I1"),
    )  # fmt: skip
    assert len(found.impossible) == 1
    assert {fact.family for fact in found.impossible[0].facts} == {"F1", "F2", "F3"}
    assert "who somebody's parents were" in found.impossible[0].advice


def test_a_contradiction_through_four_generations(tmp_path: Path) -> None:
    """Nobody in between has a date: four times ten years do not fit between 1900 and 1930, though five times would not
    fit into any two neighbours alone."""
    chain = [
        person(f"I{n}", f"N{n} /B/", "F", *events)
        for n, events in enumerate((["BIRT 1900"], [], [], [], ["BIRT 1930"]), 1)
    ]
    links = [family(f"F{n}", "-", f"I{n}", f"I{n + 1}") for n in range(1, 5)]
    found = checked(tmp_path, *chain, *links)
    assert len(found.impossible) == 1
    facts = found.impossible[0].facts
    assert {fact.family for fact in facts if fact.family} == {"F1", "F2", "F3", "F4"}
    assert len([fact for fact in facts if fact.line]) == 2


def test_five_times_eight_years_are_enough_where_ten_are_not(tmp_path: Path) -> None:
    """The same chain with forty-two years between is possible."""
    chain = [
        person(f"I{n}", f"N{n} /B/", "F", *events)
        for n, events in enumerate((["BIRT 1900"], [], [], [], ["BIRT 1942"]), 1)
    ]
    links = [family(f"F{n}", "-", f"I{n}", f"I{n + 1}") for n in range(1, 5)]
    assert checked(tmp_path, *chain, *links).impossible == ()


def couple(his: list[str], hers: list[str], married: str) -> list[str]:
    """Two people who married."""
    return [person("I1", "A /B/", "M", *his), person("I2", "C /D/", "F", *hers), family("F1", "I1", "I2", "", married)]


def child(parents: list[str], born: str, sex: str) -> list[str]:
    """A parent and a child born then."""
    home = ("I1", "-") if sex == "M" else ("-", "I1")
    return [person("I1", "A /B/", sex, *parents), person("I2", "C /B/", "F", f"BIRT {born}"), family("F1", *home, "I2")]


UNLIKELY = {
    "old-mother": (child(["BIRT 1850"], "1906", "F"), "A B was 55 or older when C B was born"),
    "young-mother": (child(["BIRT 1850"], "1863", "F"), "A B was 13 or younger when C B was born"),
    "old-father": (child(["BIRT 1850"], "1925", "M"), "A B was 74 or older when C B was born"),
    "young-father": (child(["BIRT 1850"], "1863", "M"), "A B was 13 or younger when C B was born"),
    "after-fathers-death": (
        child(["DEAT 1 JAN 1900"], "15 NOV 1900", "M"), "C B was born 318 days or more after A B died",
    ),
    "long-life": ([person("I1", "A /B/", "M", "BIRT 1800", "DEAT 1910")], "A B lived at least 109 years"),
    "late-burial": (
        [person("I1", "A /B/", "M", "DEAT 1 JAN 1900", "BURI 1 JUN 1900")],
        "A B was buried 151 days or more after the death",
    ),
    "old-spouse": (couple(["BIRT 1800"], ["BIRT 1870"], "1906"), "A B married at 105 or older"),
    "young-spouse": (couple(["BIRT 1870"], ["BIRT 1880"], "1892"), "C D married at 12 or younger"),
    "far-apart-spouses": (couple(["BIRT 1800"], ["BIRT 1870"], "1890"), "were born 69 years or more apart"),
    "siblings-close": (
        [person("I1", "A /B/", "F"), person("I2", "C /B/", "F", "BIRT 1 JAN 1900"),
         person("I3", "D /B/", "F", "BIRT 1 MAY 1900"), family("F1", "-", "I1", "I2 I3")],
        "C B and D B, children of A B, were born within 120 days of each other",
    ),
    "many-children": (
        [person("I1", "A /B/", "F"), *(person(f"I{n}", f"N{n} /B/", "F") for n in range(2, 23)),
         family("F1", "-", "I1", " ".join(f"I{n}" for n in range(2, 23)))],
        "A B has 21 children",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", UNLIKELY)
def test_what_is_unlikely(tmp_path: Path, kind: str) -> None:
    """One finding in words, with the limit and whose it is; figures counted by hand."""
    records, text = UNLIKELY[kind]
    found = checked(tmp_path, *records)
    assert found.impossible == ()
    told = {one.kind: one for one in found.unlikely}
    assert kind in told
    assert text in told[kind].text
    assert "judgement of the project" in told[kind].limit


@pytest.mark.parametrize(
    "records",
    [
        child(["BIRT ABT 1850"], "1906", "F"),
        child(["BIRT BEF 1850"], "1863", "M"),
        couple(["BIRT BEF 1830"], ["BIRT 1870"], "1890"),
        [person("I1", "A /B/", "F"), person("I2", "C /B/", "F", "BIRT 1900"), person("I3", "D /B/", "F", "BIRT 1900"),
         family("F1", "-", "I1", "I2 I3")],
        [person("I1", "A /B/", "F"), person("I2", "C /B/", "F", "BIRT 1 JAN 1900"),
         person("I3", "D /B/", "F", "BIRT 2 JAN 1900"), family("F1", "-", "I1", "I2 I3")],
    ],
)  # fmt: skip
def test_vague_dates_and_twins_accuse_nobody(tmp_path: Path, records: list[str]) -> None:
    """What the dates leave open is no finding."""
    found = checked(tmp_path, *records)
    assert (found.impossible, found.unlikely) == ((), ())


def test_two_dates_of_one_birth(tmp_path: Path) -> None:
    """Both are shown where they cannot both be true, the one that counts first; where they can, nothing is odd."""
    twice = person("I1", "A /B/", "F", "BIRT 1900", "BIRT 3 MAR 1902", "BIRT ABT 1901", "DEAT 1960", "DEAT MAY 1960")
    found = checked(tmp_path, twice)
    assert [(odd.kind, odd.text) for odd in found.unlikely] == [
        ("two-births", "A B has two dates of birth that cannot both be true")
    ]
    assert [fact.line for fact in found.unlikely[0].facts] == [8, 10]
    assert found.unlikely[0].facts[1].told.text == "A B was born on 3 March 1902"


def test_what_is_set_aside_is_not_unlikely_as_well(tmp_path: Path) -> None:
    """A birth that cannot be is told once."""
    found = checked(tmp_path, *child(["BIRT 1700", "DEAT 1720"], "1850", "F"))
    assert (len(found.impossible), found.unlikely) == (1, ())


def test_adopted_and_foster_children_have_no_ages_to_keep(tmp_path: Path) -> None:
    """The limits are those of birth."""
    people = [
        person("I1", "A /B/", "F", "BIRT 1850"),
        person("I2", "C /B/", "F", "BIRT 1852") + "1 FAMC @F1@\n2 PEDI adopted\n",
    ]
    found = checked(tmp_path, *people, family("F1", "-", "I1", "I2"))
    assert (found.impossible, found.unlikely) == ((), ())


def test_a_withdrawn_date_is_out_of_it(tmp_path: Path) -> None:
    """What somebody withdrew contradicts nothing."""
    found = checked(tmp_path, *IMPOSSIBLE["dead before birth"][0])
    archive = Archive.open(tmp_path / "archive")
    archive.statements.withdraw(found.impossible[0].aside[0])
    assert archive.tree.check().impossible == ()

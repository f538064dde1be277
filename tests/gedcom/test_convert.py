"""A tree of GEDCOM 5.5.1 written as 7.0: valid there, and still the same tree."""

from __future__ import annotations

from pathlib import Path

import gedcom7
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom import decode, read
from kinphoto.gedcom.convert import converted
from kinphoto.gedcom.records import Warnings

FULL = """0 HEAD
1 SOUR bench
2 VERS 9
1 SUBM @u1@
1 SUBN @N@
1 FILE tree.ged
1 LANG German
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR ANSEL
0 @u1@ SUBM
1 NAME Zoë
1 LANG Nynorsk (old)
0 @N@ SUBN
0 @I-1@ INDI
1 NAME Zoë /Dörr/
2 TYPE religious
2 FONE Zoe /Doerr/
3 TYPE typed
1 NAME Zoë /Holm
2 TYPE married
1 SEX F
1 BIRT
2 DATE @#DJULIAN@ 3 MAR 1699/00
2 PLAC Kråkvik
2 SOUR @S1@
3 PAGE p. 3
3 QUAY 3
3 EVEN BIRT
4 ROLE (Mother of the bride)
2 AGE INFANT
1 CHR
2 DATE INT 4 MAR 1700 (the Sunday after)
1 DEAT 5 years after him
2 DATE (in the war)
2 SOUR The family bible
3 TEXT she is
4 CONC  at rest
1 BURI Y
2 DATE 44 B.C.
1 RESI
2 EMAI zoe@@example.org
2 DATE FROM 1720 TO 1730
1 EVEN
2 TYPE voyage
2 DATE c. 1900
1 OCCU weaver
2 AGE >20y
1 NOTE @T1@
1 NOTE @ at first,
2 CONT and a second line
2 CONC  that goes on
1 OBJE
2 FORM jpeg
3 MEDI photo
2 TITL The wedding
2 FILE C:\\pictures\\wed ding.jpg
1 OBJE @M1@
1 FAMS @F1@
1 ASSO @I2@
2 RELA godmother
1 ALIA Zoska
1 RIN 77
1 RESN privacy
1 _UID 0123456789ABCDEF0123456789ABCDEF1234
1 CHAN
2 DATE 5 JAN 2020
3 TIME 12:03:04
0 @I2@ INDI
1 NAME Gorm /Holm/ the /elder/
1 SEX male
1 FAMS @F1@
1 FAMC @F9@
2 PEDI natural
0 @F1@ FAM
1 HUSB @I2@
1 WIFE @I-1@
1 MARR
2 DATE BET 1 JAN 1717 AND 5 MAY 1718
0 @M1@ OBJE
1 FILE sub/a b.tif
2 FORM tif
3 TYPE photo
2 TITL Home
0 @T1@ NOTE A note that
1 CONC  is shared
0 @S1@ SOUR
1 TITL Register
1 REPO
2 CALN 13
3 MEDI fiche
0 TRLR
"""


def seven(folder: Path, text: str) -> str:
    """The text of a tree as 7.0."""
    (folder / "five.ged").write_text(text, encoding="utf-8")
    done = converted(decode.examine(folder / "five.ged"), True, False, folder / "seven.ged")
    return done.source.path.read_text(encoding="utf-8")


def everybody(path: Path) -> list[read.PersonRecord | read.Family]:
    """What is read from a file, without the lines where it stands."""
    found = [
        r for r in read.read_tree(decode.examine(path), Warnings()) if isinstance(r, read.PersonRecord | read.Family)
    ]
    return [r._replace(line=0, events=tuple(e._replace(line=0) for e in r.events)) for r in found]


def days(records: list[read.PersonRecord | read.Family]) -> list[list[tuple[object, ...]]]:
    """What is told of events, but for those whose date 7.0 says less of: the one that is no date by the standard, and
    the interpretation of a phrase (INT), which is the date with the phrase there."""
    return [
        [(e.tag, e.place, e.quality, e.date.span) for e in r.events if e.tag not in ("EVEN", "CHR")] for r in records
    ]


def test_gedcom7_finds_nothing_wrong(tmp_path: Path) -> None:
    """A tree with all that the versions write differently passes the validator of the package gedcom7."""
    assert gedcom7.validate(gedcom7.loads(seven(tmp_path, FULL))) == []


def test_the_same_people_families_and_dates(tmp_path: Path) -> None:
    """Read again, the days of every event and the kinship are what they were; pointers have the letters of 7.0."""
    seven(tmp_path, FULL)
    before, after = everybody(tmp_path / "five.ged"), everybody(tmp_path / "seven.ged")
    assert days(after) == days(before)
    zoe, gorm, family = after
    assert isinstance(zoe, read.PersonRecord)
    assert isinstance(gorm, read.PersonRecord)
    assert (zoe.code, gorm.code, family.code) == ("I_1", "I2", "F1")
    assert [name.text for name in zoe.names] == ["Zoë Dörr", "Zoe Doerr", "Zoë Holm", "Zoska"]
    assert [name.kind for name in zoe.names] == ["religious", "translation", "married", "aka"]
    assert zoe.note == "@ at first,\nand a second line that goes on"
    assert isinstance(family, read.Family)
    assert family.partners == (("I2", "HUSB"), ("I_1", "WIFE"))


@pytest.mark.parametrize(
    "lines",
    [
        "2 DATE JULIAN 3 MAR 1700\n3 PHRASE 3 MAR 1699/00\n",
        "2 DATE 4 MAR 1700\n3 PHRASE the Sunday after\n",
        "2 DATE\n3 PHRASE in the war\n",
        "2 DATE 44 BCE\n",
        "2 DATE\n3 PHRASE c. 1900\n",
        "1 DEAT\n",
        "2 NOTE 5 years after him\n",
        "2 AGE < 1y\n3 PHRASE INFANT\n",
        "2 AGE > 20y\n",
        "2 SOUR @VOID@\n3 DATA\n4 TEXT she is at rest\n3 NOTE The family bible\n",
        "4 ROLE OTHER\n5 PHRASE (Mother of the bride)\n",
        "2 TYPE OTHER\n3 PHRASE religious\n",
        "2 TYPE MARRIED\n",
        "2 TRAN Zoe /Doerr/\n3 LANG und\n3 _TYPE typed\n",
        "2 EMAIL zoe@example.org\n",
        "1 SNOTE @T1@\n",
        "1 NOTE @@ at first,\n2 CONT and a second line that goes on\n",
        "0 @T1@ SNOTE A note that is shared\n",
        "1 FILE file:///C:/pictures/wed%20ding.jpg\n2 FORM image/jpeg\n3 MEDI PHOTO\n2 TITL The wedding\n",
        "1 FILE sub/a%20b.tif\n2 FORM image/tiff\n3 MEDI PHOTO\n2 TITL Home\n",
        "1 ASSO @I2@\n2 ROLE OTHER\n3 PHRASE godmother\n",
        "1 EXID 77\n2 TYPE https://gedcom.io/terms/v7/RIN\n",
        "1 RESN PRIVACY\n",
        "1 FAMC @VOID@\n2 PEDI BIRTH\n",
        "1 _SEX MALE\n",
        "1 _SUBN @N@\n",
        "1 LANG de\n",
        "1 _LANG Nynorsk (old)\n",
        "1 _FILE tree.ged\n",
        "1 REPO @VOID@\n2 CALN 13\n3 MEDI FICHE\n",
    ],
)
def test_what_7_writes_otherwise(tmp_path: Path, lines: str) -> None:
    """As the specification of 7.0 has it (its structures and its guide to migrating from 5.5.1, from memory)."""
    assert lines in seven(tmp_path, FULL)


def test_what_has_no_place_is_counted(tmp_path: Path) -> None:
    """The keeper is told which tags are kept under an underscore."""
    (tmp_path / "five.ged").write_text(FULL, encoding="utf-8")
    (warning,) = converted(decode.examine(tmp_path / "five.ged"), True, False, tmp_path / "seven.ged").warnings
    assert "_SUBN (2)" in warning
    assert "_FILE (1)" in warning


def test_back_is_refused(tmp_path: Path) -> None:
    """What 7.0 says has not always a place in 5.5.1."""
    (tmp_path / "t.ged").write_text("0 HEAD\n1 GEDC\n2 VERS 7.0\n0 TRLR\n")
    with pytest.raises(InvalidValueError, match="cannot hold everything"):
        converted(decode.examine(tmp_path / "t.ged"), False, True, tmp_path / "out.ged")


TAGS = (
    "INDI FAM NOTE SOUR OBJE SUBM REPO HEAD NAME BIRT DATE PLAC AGE NOTE FILE FORM FAMC HUSB CHIL TYPE _X X1 TRLR"
).split()
VALUES = [
    "", "@I1@", "@F1@", "@nobody@", "@", "@@", "Y", "N", "3 MAR 1900", "31 FEB 1900", "@#DHEBREW@ 5 TSH 5600",
    "Ada /Marsh/", "/", "///", "(phrase)", "INT 1900 (x)", "1699/00", "photo", "jpg", "a\tb", "ü",
]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(
    lines=st.lists(
        st.tuples(st.integers(0, 4), st.sampled_from(["", "@I1@ ", "@i1@ ", "@F 1@ "]), st.sampled_from(TAGS),
                  st.one_of(st.sampled_from(VALUES), st.text(st.characters(exclude_categories=["Cs"]), max_size=8))),
        max_size=20,
    )
)  # fmt: skip
@example(lines=[(1, "", "DATE", "31 FEB 1900")])
@example(lines=[(0, "", "INDI", ""), (1, "", "INDI", "@I1@"), (0, "@I1@ ", "TRLR", "")])
def test_any_mess_becomes_valid(
    tmp_path_factory: pytest.TempPathFactory, lines: list[tuple[int, str, str, str]]
) -> None:
    """Whatever the lines of a tree are, gedcom7 finds nothing wrong with what is written."""
    folder = tmp_path_factory.mktemp("t")
    body = "".join(f"{level} {xref if not level else ''}{tag} {value}\n" for level, xref, tag, value in lines)
    text = seven(folder, f"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n{body}0 TRLR\n")
    assert gedcom7.validate(gedcom7.loads(text)) == []

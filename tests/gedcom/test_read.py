"""People and families of a tree file, also as other readers of GEDCOM see them."""

from __future__ import annotations

from pathlib import Path

import gedcom7
import pytest
from ged4py import GedcomReader
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kinphoto.gedcom import decode, read
from kinphoto.gedcom.read import Child, Event, Family, Header, Name, PersonRecord
from kinphoto.gedcom.records import Warnings
from kinphoto.reason.model.span import iso

FIVE = """0 HEAD
1 SOUR test
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Alva Marie /Kvernland/ jr.
2 GIVN Alva Marie
2 NICK Alvi
1 NAME Alva /Holm/
2 TYPE married
1 SEX F
1 BIRT
2 DATE ABT 1890
2 PLAC Fjordby
2 SOUR @S1@
3 PAGE 12
3 QUAY 1
2 SOUR @S2@
3 QUAY 3
1 BIRT
2 DATE 1891
1 OCCU weaver
2 DATE FROM 1910 TO 1920
1 EVEN
2 TYPE Emigration feast
1 DEAT Y
1 NOTE She wrote to alva@@example.org
2 CONC , often,
2 CONT and by hand.
1 FAMC @F1@
2 PEDI foster
1 FAMS @F2@
1 _UID 12345678-9abc-def0-1234-56789abcdef0
1 CHAN
2 DATE 1 JAN 2020
0 @I2@ INDI
1 NAME Gorm /Holm/
1 SEX M
1 RESN confidential
1 REFN 17
1 ADOP
2 FAMC @F1@
3 ADOP BOTH
1 FAMS @F2@
0 @F2@ FAM
1 HUSB @I2@
1 WIFE @I1@
1 CHIL @I3@
2 _FREL step
2 _MREL birth
1 MARR
2 DATE 2 MAY 1917
1 DIV
0 @I3@ INDI
1 FAMC @F2@
0 TRLR
"""

SEVEN = """0 HEAD
1 GEDC
2 VERS 7.0
0 @I1@ INDI
1 NAME Alva /Kvernland/
1 SEX X
1 BIRT
2 DATE BET 1890 AND 1892
3 PHRASE two years before the fire
2 PLAC Fjordby
2 SOUR @S1@
3 DATA
4 DATE 1 JAN 1900
5 PHRASE New Year's Day
3 QUAY 2
1 CHR
2 DATE
3 PHRASE the Sunday after
1 NOTE @@home and b@@c
1 FAMC @VOID@
1 FAMC @F1@
2 PEDI OTHER
3 PHRASE step-daughter
1 EXID 99
2 TYPE https://example.org/people
0 @F1@ FAM
1 HUSB @VOID@
1 WIFE @I1@
1 CHIL @VOID@
1 MARR
2 DATE JULIAN 25 OCT 1917
0 TRLR
"""


def load(path: Path, text: str) -> tuple[dict[str, PersonRecord | Family | Header], list[tuple[int, str]]]:
    """The records of a text by their code, and the warnings."""
    path.write_text(text, encoding="utf-8")
    warn = Warnings()
    found = {getattr(r, "code", "HEAD"): r for r in read.read_tree(decode.examine(path), warn)}
    return found, warn.kept


def test_a_person_of_5_5_1(tmp_path: Path) -> None:
    """Names, events with their lines and the first citation's quality, pedigree, note and identifier."""
    found, warnings = load(tmp_path / "t.ged", FIVE)
    alva = found["I1"]
    assert isinstance(alva, PersonRecord)
    assert warnings == []
    assert found["HEAD"] == Header("5.5.1")
    assert alva.names == (
        Name("Alva Marie Kvernland jr.", "Alva Marie", "Kvernland", "Alvi"),
        Name("Alva Holm", "Alva", "Holm", kind="married"),
    )
    assert [(e.tag, e.kind, e.date.words, e.place, e.quality, e.line) for e in alva.events] == [
        ("BIRT", "", "ABT 1890", "Fjordby", 1, 14),
        ("BIRT", "", "1891", "", None, 22),
        ("OCCU", "weaver", "FROM 1910 TO 1920", "", None, 24),
        ("EVEN", "Emigration feast", "", "", None, 26),
        ("DEAT", "", "", "", None, 28),
    ]
    assert (alva.sex, alva.living, alva.parents, alva.families) == ("F", 0, (("F1", "foster"),), ("F2",))
    assert alva.note == "She wrote to alva@example.org, often,\nand by hand."
    assert alva.uid == "123456789ABCDEF0123456789ABCDEF0"


def test_adoption_privacy_and_a_reference_number(tmp_path: Path) -> None:
    """ADOP names the family of adoption; a restricted record is taken for a living person's."""
    gorm = load(tmp_path / "t.ged", FIVE)[0]["I2"]
    assert isinstance(gorm, PersonRecord)
    assert (gorm.parents, gorm.living, gorm.uid) == ((("F1", "adopted"),), 1, "REFN 17")


def test_a_family(tmp_path: Path) -> None:
    """Partners in the file's order, children with the pedigree towards each parent, events."""
    family = load(tmp_path / "t.ged", FIVE)[0]["F2"]
    assert isinstance(family, Family)
    assert family.partners == (("I2", "HUSB"), ("I1", "WIFE"))
    assert family.children == (Child("I3", "step", "birth"),)
    assert [(e.tag, iso(e.date.span.first)) for e in family.events] == [("MARR", "1917-05-02"), ("DIV", None)]


def test_gedcom_7(tmp_path: Path) -> None:
    """Phrases, @VOID@, an @ doubled only where it leads, other pedigrees, external identifiers, a Julian date."""
    found, warnings = load(tmp_path / "t.ged", SEVEN)
    alva, family = found["I1"], found["F1"]
    assert isinstance(alva, PersonRecord)
    assert isinstance(family, Family)
    assert warnings == []
    assert found["HEAD"] == Header("7.0")
    assert [e.date.words for e in alva.events] == [
        "BET 1890 AND 1892 (two years before the fire)", "(the Sunday after)",
    ]  # fmt: skip
    assert [e.quality for e in alva.events] == [2, None]
    assert (alva.sex, alva.note, alva.parents) == ("X", "@home and b@@c", (("F1", "step"),))
    assert alva.uid == "EXID 99 https://example.org/people"
    assert (family.partners, family.children) == ((("I1", "WIFE"),), ())
    assert iso(family.events[0].date.span.first) == "1917-11-07"


def test_names_and_events_against_ged4py(tmp_path: Path) -> None:
    """ged4py finds the same people, given names, surnames, birth dates and families in the same file."""
    ours = load(tmp_path / "t.ged", FIVE)[0]
    with GedcomReader(str(tmp_path / "t.ged")) as reader:
        people = list(reader.records0("INDI"))
        families = list(reader.records0("FAM"))
    assert [p.xref_id.strip("@") for p in people] == [c for c, r in ours.items() if isinstance(r, PersonRecord)]
    for theirs in people:
        person = ours[theirs.xref_id.strip("@")]
        assert isinstance(person, PersonRecord)
        if names := theirs.sub_tags("NAME"):
            assert [(n.given, n.surname) for n in person.names] == [n.value[:2] for n in names]
        assert person.sex == (theirs.sex or "U")
        dates = [str(e.value) for b in theirs.sub_tags("BIRT") for e in b.sub_tags("DATE")]
        assert [e.date.words.replace("ABT", "ABOUT") for e in person.events if e.tag == "BIRT"] == dates
    assert [f.xref_id.strip("@") for f in families] == ["F2"]


def test_gedcom_7_against_gedcom7(tmp_path: Path) -> None:
    """The package gedcom7 finds the same records, names, events and dates in the same file."""
    ours = load(tmp_path / "t.ged", SEVEN)[0]
    theirs = {r.xref.strip("@"): r for r in gedcom7.loads(SEVEN) if r.xref}
    assert set(theirs) == set(ours) - {"HEAD"}
    for code, record in theirs.items():
        person = ours[code]
        assert isinstance(person, PersonRecord | Family)
        events = [c for c in record.children if c.tag in ("BIRT", "CHR", "MARR")]
        assert [e.tag for e in events] == [e.tag for e in person.events]
        dates = [d.text or "" for e in events for d in e.children if d.tag == "DATE"]
        assert [words(e) for e in person.events] == dates


def words(event: Event) -> str:
    """The words of a date without its phrase."""
    return event.date.words.partition("(")[0].strip()


BROKEN = [
    ("1 NAME A /B/\n2 GIVN A\n\n1 SEX F\n", 9, "blank"),
    ("  1 NAME A /B/\n", 7, "indented"),
    ("1 NAME A /B/\n1 NOTE She\nwent\n", 9, "no level"),
    ("1 NAME A /B/\n3 GIVN A\n", 8, "jumps"),
    ("1 NAME A /B/\n1 BIRT\n2 DATE 31 FEB 1900\n", 9, "no such date"),
    ("1 NAME A /B/\n1 SEX female\n", 8, "sex"),
]


@pytest.mark.parametrize(("lines", "line", "word"), BROKEN)
def test_broken_records_are_read_with_a_warning(tmp_path: Path, lines: str, line: int, word: str) -> None:
    """The person is there, and the warning names the line."""
    head = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n2 FORM LINEAGE-LINKED\n1 CHAR UTF-8"
    found, warnings = load(tmp_path / "t.ged", f"{head}\n0 @I1@ INDI\n{lines}0 TRLR\n")
    person = found["I1"]
    assert isinstance(person, PersonRecord)
    assert person.names[0].text == "A B"
    assert [at for at, _ in warnings] == [line]
    assert word in warnings[0][1]


LINES = st.lists(
    st.text("0123 @IF1\t/x", max_size=8)
    | st.tuples(
        st.sampled_from(["0", "1", "2", "3", "9", "00", " 1", "x"]),
        st.sampled_from(["INDI", "FAM", "NAME", "BIRT", "DATE", "FAMC", "PEDI", "CONT", "SOUR", "QUAY", "_X", ""]),
        st.sampled_from(["", "@I1@", "@@", "@VOID@", "31 FEB", "/a/", "  ", "1900"]),
    ).map(" ".join)
    | st.sampled_from(["0 @I1@ INDI", "0 @F1@ FAM", "0 TRLR", ""]),
    max_size=20,
)


@given(LINES)
@example(["1 0", "2 INDI ", "1 CONT ", "0"])  # more text for a line two levels up
@example(["1 0", "2 INDI ", "3 INDI ", "9 QUAY "])  # a line below one that is left out
@settings(max_examples=300, deadline=None)
def test_no_mess_makes_the_reader_stumble(tmp_path_factory: pytest.TempPathFactory, lines: list[str]) -> None:
    """Whatever lines follow a header, they are read or warned of."""
    path = tmp_path_factory.getbasetemp() / "mess.ged"
    found, _ = load(path, "\n".join(["0 HEAD", *lines]))
    assert "HEAD" in found


def test_a_file_cut_off_in_the_middle(tmp_path: Path) -> None:
    """What was there is read, and the missing end is named."""
    found, warnings = load(tmp_path / "t.ged", FIVE[: FIVE.index("2 PLAC Fjordby") + 9])
    alva = found["I1"]
    assert isinstance(alva, PersonRecord)
    assert alva.events[0].date.words == "ABT 1890"
    assert len(warnings) == 1
    assert "cut off" in warnings[0][1]


def test_a_form_feed_at_the_end_of_a_broken_record(tmp_path: Path) -> None:
    """One letter that looks like a line end is no line end either where the record had to be mended."""
    found, warnings = load(tmp_path / "t.ged", "0 HEAD\n0 @I1@ INDI\n1 NOTE She went\nto sea\x0c\n1 SEX F\n0 TRLR\n")
    alva = found["I1"]
    assert isinstance(alva, PersonRecord)
    assert (alva.sex, alva.note, len(warnings)) == ("F", "She went\nto sea", 1)


def test_a_level_of_thousands_of_digits(tmp_path: Path) -> None:
    """It is no level: the line is more of the text before it."""
    found, warnings = load(tmp_path / "t.ged", f"0 HEAD\n0 @I1@ INDI\n1 NOTE x\n{'9' * 6001} NAME A\n1 SEX F\n0 TRLR\n")
    alva = found["I1"]
    assert isinstance(alva, PersonRecord)
    assert (alva.sex, [line for line, _ in warnings]) == ("F", [4])


def test_letters_that_only_look_like_line_ends(tmp_path: Path) -> None:
    """A form feed, a Unicode line separator or NEL is part of a value."""
    found, warnings = load(tmp_path / "t.ged", SEVEN.replace("/Kvernland/", "/Kvern\u2028l\x0ca\x85nd/"))
    alva = found["I1"]
    assert isinstance(alva, PersonRecord)
    assert warnings == []
    assert alva.names[0].surname == "Kvern\u2028l\x0ca\x85nd"
    assert len(alva.events) == 2

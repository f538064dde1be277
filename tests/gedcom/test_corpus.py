"""Every small tree of the corpus: what comes out of it, here and in other readers of GEDCOM."""

from __future__ import annotations

import re
import unicodedata
from difflib import ndiff
from pathlib import Path

import corpus
import gedcom7
import pytest
from ged4py import GedcomReader
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.errors import KinphotoError, UnreadableFileError
from kinphoto.gedcom import decode, read
from kinphoto.gedcom.records import Warnings
from kinphoto.store import tables as t

TREES, EXPECTED, REFUSED = corpus.trees(), corpus.expected(), corpus.refused()


@pytest.mark.parametrize("name", TREES)
def test_what_comes_out(tmp_path: Path, name: str) -> None:
    """People, names, families, dates and warnings with their lines, exactly as written beside the files."""
    assert corpus.told(tmp_path, name, TREES[name]) == EXPECTED[name]


def test_nothing_is_expected_of_what_is_not_there() -> None:
    """The list and the files go together, and there are enough of them."""
    assert set(EXPECTED) == set(TREES)
    assert len(TREES) >= 60


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_tree_is_refused(tmp_path: Path, name: str) -> None:
    """In one line that names the file and says what to do; the archive stays as it was."""
    archive = Archive.create(tmp_path / "archive")
    (tmp_path / name).write_bytes(REFUSED[name])
    with pytest.raises(UnreadableFileError) as caught:
        archive.import_tree(tmp_path / name)
    assert name in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.remedy
    assert not archive.log()


OURS_ALONE = {
    "pointers-with-blanks.ged", "tabs-between-parts.ged", "two-blanks-between-parts.ged", "a-hundred-levels.ged",
    "letters-that-look-like-line-ends.ged", "surname-first.ged", "a-name-in-pieces-only.ged",
    "a-nickname-in-quotation-marks.ged", "a-pointer-twice.ged", "several-names.ged", "at-signs.ged",
    "letters-utf-8-that-says-ansel.ged", "letters-utf-8-that-says-ansi.ged", "letters-ansi-in-russian.ged",
}  # fmt: skip
"""Trees that the other reader reads otherwise, by design (it believes the header) or where the standard is silent."""


def records(path: Path) -> dict[str, read.PersonRecord | read.Family]:
    """The people and families of a tree by their pointer."""
    found = read.read_tree(decode.examine(path), Warnings())
    return {r.code: r for r in found if isinstance(r, read.PersonRecord | read.Family)}


@pytest.mark.parametrize("name", [n for n in TREES if n.endswith(".ged") and n not in OURS_ALONE])
def test_against_ged4py(tmp_path: Path, name: str) -> None:
    """Where ged4py can read a tree it finds the same people with the same names, and the same families; a tree that it
    gives up is read here all the same."""
    path = tmp_path / name
    path.write_bytes(TREES[name])
    ours = records(path)
    try:
        with GedcomReader(str(path)) as reader:
            theirs = [(r.xref_id, r.tag, [n.value for n in r.sub_tags("NAME")]) for r in reader.records0()]
    except Exception:  # whatever another program raises for a broken tree
        assert any(isinstance(r, read.PersonRecord) for r in ours.values())
        return
    people = {x.strip("@"): names for x, tag, names in theirs if x and tag == "INDI"}
    assert people.keys() == {code for code, r in ours.items() if isinstance(r, read.PersonRecord)}
    families = {x.strip("@") for x, tag, _ in theirs if x and tag == "FAM"}
    assert families == {code for code, r in ours.items() if isinstance(r, read.Family)}
    for code, names in people.items():
        person = ours[code]
        assert isinstance(person, read.PersonRecord)
        if names and isinstance(names[0], tuple) and names[0][1]:
            assert person.names[0].surname == unicodedata.normalize("NFC", names[0][1])


@pytest.mark.parametrize("name", [n for n in TREES if b"2 VERS 7" in TREES[n][:60]])
def test_against_gedcom7(tmp_path: Path, name: str) -> None:
    """The package gedcom7 finds the same records, names, events and dates in the trees of version 7.0."""
    (tmp_path / name).write_bytes(TREES[name])
    ours = records(tmp_path / name)
    theirs = {r.xref.strip("@"): r for r in gedcom7.loads(TREES[name].decode()) if r.xref}
    assert {code for code, r in theirs.items() if r.tag in ("INDI", "FAM")} == ours.keys()
    for code, record in ours.items():
        lines = theirs[code].children
        events = [c for c in lines if c.tag in ("BIRT", "CHR", "EVEN", "DEAT")]
        assert [e.tag for e in record.events] == [e.tag for e in events]
        dates = [next((d.text or "" for d in e.children if d.tag == "DATE"), "") for e in events]
        assert [re.sub(r" ?\(.*\)$", "", e.date.words) for e in record.events] == dates


# The whole of ANSI/NISO Z39.47 (ANSEL) beyond ASCII, with the letters that GEDCOM 5.5.1 adds to it (boxes and ß at CF),
# from memory of its code table. Marks stand before their letter; they are tried on letters they are used with.
ANSEL_LETTERS = {
    0xA1: "Ł", 0xA2: "Ø", 0xA3: "Đ", 0xA4: "Þ", 0xA5: "Æ", 0xA6: "Œ", 0xA7: "ʹ", 0xA8: "·", 0xA9: "♭", 0xAA: "®",
    0xAB: "±", 0xAC: "Ơ", 0xAD: "Ư", 0xAE: "ʼ", 0xB0: "ʻ", 0xB1: "ł", 0xB2: "ø", 0xB3: "đ", 0xB4: "þ", 0xB5: "æ",
    0xB6: "œ", 0xB7: "ʺ", 0xB8: "ı", 0xB9: "£", 0xBA: "ð", 0xBC: "ơ", 0xBD: "ư", 0xC0: "°", 0xC1: "ℓ", 0xC2: "℗",
    0xC3: "©", 0xC4: "♯", 0xC5: "¿", 0xC6: "¡", 0xCF: "ß",
}  # fmt: skip
ANSEL_MARKS = {
    0xE0: ("\u0309", "aeiouy"), 0xE1: ("\u0300", "aeiouAEIOU"), 0xE2: ("\u0301", "aeiouyAEIOUYcnsz"),
    0xE3: ("\u0302", "aeiouAEIOUcgh"), 0xE4: ("\u0303", "anoANO"), 0xE5: ("\u0304", "aeiouAEIOU"),
    0xE6: ("\u0306", "aeguAEGU"), 0xE7: ("\u0307", "cegzCEGZI"), 0xE8: ("\u0308", "aeiouyAEIOU"),
    0xE9: ("\u030c", "cdenrstzCDENRSTZ"), 0xEA: ("\u030a", "auAU"), 0xEB: ("\ufe20", "t"), 0xEC: ("\ufe21", "s"),
    0xED: ("\u0315", "o"), 0xEE: ("\u030b", "ouOU"), 0xEF: ("\u0310", "m"), 0xF0: ("\u0327", "cstCST"),
    0xF1: ("\u0328", "aeiuAEIU"), 0xF2: ("\u0323", "adhtADHT"), 0xF3: ("\u0324", "u"), 0xF4: ("\u0325", "a"),
    0xF5: ("\u0333", "a"), 0xF6: ("\u0332", "a"), 0xF7: ("\u0326", "stST"), 0xF8: ("\u031c", "o"),
    0xF9: ("\u032e", "h"), 0xFE: ("\u0313", "a"),
}  # fmt: skip


def from_ansel(tmp_path: Path, data: bytes) -> tuple[str, list[tuple[int, str]]]:
    """A name written in ANSEL, as it is read, and the warnings."""
    path = tmp_path / "ansel.ged"
    path.write_bytes(b"0 HEAD\n1 CHAR ANSEL\n0 @I1@ INDI\n1 NAME " + data + b" /x/\n0 TRLR\n")
    warn = Warnings()
    people = [r for r in read.read_tree(decode.examine(path), warn) if isinstance(r, read.PersonRecord)]
    return people[0].names[0].given, warn.kept


@pytest.mark.parametrize("byte", ANSEL_LETTERS)
def test_ansel_letters_against_its_code_table(tmp_path: Path, byte: int) -> None:
    """Each byte is the letter of the table."""
    assert from_ansel(tmp_path, b"a" + bytes([byte]) + b"b") == (f"a{ANSEL_LETTERS[byte]}b", [])


@pytest.mark.parametrize("byte", ANSEL_MARKS)
def test_ansel_marks_against_its_code_table(tmp_path: Path, byte: int) -> None:
    """Each mark before a letter makes the one composed letter, alone and below a second mark."""
    mark, letters = ANSEL_MARKS[byte]
    for letter in letters:
        found, warnings = from_ansel(tmp_path, b"x" + bytes([byte]) + letter.encode() + b"y")
        assert (found, warnings) == (f"x{unicodedata.normalize('NFC', letter + mark)}y", [])


def test_two_ansel_marks_on_one_letter(tmp_path: Path) -> None:
    """As Vietnamese has them: both are put behind the letter and composed."""
    found, _ = from_ansel(tmp_path, b"Nguy\xf2\xe3en")
    assert found == unicodedata.normalize("NFC", "Nguye\u0302\u0323n")


def test_every_tree_cut_in_half(tmp_path: Path) -> None:
    """It is read, or refused by an error of this program in one line."""
    archive = Archive.create(tmp_path / "archive")
    said = []
    for name, data in TREES.items():
        path = tmp_path / name
        path.write_bytes(data[: len(data) // 2])
        try:
            archive.import_tree(path)
        except KinphotoError as problem:
            said.append(str(problem))
    assert not [text for text in said if "\n" in text]


OURS = re.compile(r"(0 @K\d+@ OBJE|1 OBJE @K\d+@|2 CROP|3 (TOP|LEFT|HEIGHT|WIDTH) \d+|1 FILE .*|2 FORM .*|3 TYPE photo"
                  r"|3 MEDI PHOTO|1 REFN K\d+|2 TYPE kinphoto .*|2 TITL .*)")  # fmt: skip
"""A line of a media record of ours, or of a link to one."""


@pytest.mark.parametrize("name", TREES)
def test_written_again_it_differs_by_our_lines_alone(tmp_path: Path, name: str) -> None:
    """Imported, given a picture of everybody in it, and written: a line diff after decoding has nothing but our lines
    added and none taken away."""
    source = tmp_path / name
    source.write_bytes(TREES[name])
    archive = Archive.create(tmp_path / "archive")
    archive.import_tree(source)
    out = tmp_path / "out.ged"
    archive.write_tree(out)
    assert _lines(out) == _lines(source)
    people = archive.people().people
    with archive.working("a picture of each") as work:
        for number, person in enumerate(people[:20], 1):
            photograph = work.insert_one(t.photograph, code=f"K{number:05d}", indexed=739_000)
            path = tmp_path / f"{number}.jpg"
            Image.new("L", (40, 30), number).save(path)
            work.insert_one(
                t.scan, photograph_id=photograph, path=str(path), sha256=f"{number:064d}", size=1, mtime_ns=1,
                file_type="JPEG", width=40, height=30, indexed_at="", first_sha256="",
            )  # fmt: skip
            who = work.connection.scalar(select(t.person.c.id).where(t.person.c.code == person.id))
            work.insert_one(t.appearance, photograph_id=photograph, person_id=who, said_at="")
    archive.refresh_estimates()
    done = archive.write_tree(out, replace=True)
    changed = [line for line in ndiff(_lines(source), _lines(out)) if not line.startswith("  ")]
    assert [line for line in changed if not line.startswith("+ ") or not OURS.fullmatch(line[2:].rstrip())] == []
    assert bool(changed) == bool(done.links)


def _lines(path: Path) -> list[str]:
    """The lines of a tree as they are read, however they are stored."""
    return b"".join(decode.blocks(decode.examine(path), lambda *_: None)).decode().splitlines()

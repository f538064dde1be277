"""Spreadsheets as programs and people save them."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from building import archive_with, tree_of
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from kinphoto.archive import Archive
from kinphoto.archive.statements.spreadsheets import SHEETS, read_rows
from kinphoto.errors import KinphotoError, RowsRejectedError, UnreadableFileError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Ada and four photographs."""
    return archive_with(tmp_path, tree_of("Ada /Marsh/"), photographs=4)


def sheet(tmp_path: Path, content: str | bytes) -> Path:
    """A file with this content."""
    path = tmp_path / "sheet.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def refused(archive: Archive, name: str, path: Path) -> list[tuple[int, str]]:
    """The rows that keep a sheet from being applied."""
    with pytest.raises(RowsRejectedError) as problem:
        archive.statements.apply_spreadsheet(name, path)
    return problem.value.rejected


def count(archive: Archive, table: str) -> int:
    """How many rows a table has."""
    with archive.reading() as connection:
        return int(connection.scalar(select(func.count()).select_from(t.metadata.tables[table])) or 0)


@pytest.mark.parametrize(
    "content",
    [
        "photo,person\nK1,I1\n",
        "photo;person\r\nK1;I1\r\n",
        "photo\tperson\nK1\tI1",
        "sep=;\r\nphoto;person\r\nK1;I1\r\n",
        "\n\n Photo , PERSON \n\n,\nK1,I1\n\n",
        "photo,person\rK1,I1\r",
        '"photo","person"\n"K1","I1"\n',
    ],
)
def test_every_common_way_to_save_a_spreadsheet(archive: Archive, tmp_path: Path, content: str) -> None:
    """RFC 4180, and what programs make of it: semicolons, tabs, a line `sep=;`, empty lines, any line ends."""
    assert archive.statements.apply_spreadsheet("links", sheet(tmp_path, content)).applied == 1


def test_a_line_number_is_that_of_the_file(archive: Archive, tmp_path: Path) -> None:
    """Counted as an editor counts, over empty lines and cells of several lines."""
    path = sheet(tmp_path, 'photo,person,why\n\nK1,I1,"a\nb\nc"\nK2,Nobody,\n\n\nK9,I1,"d\ne"\nK3,,\n')
    assert [line for line, _ in refused(archive, "links", path)] == [6, 9, 11]


def test_decimal_commas_are_understood(archive: Archive, tmp_path: Path) -> None:
    """As a spreadsheet writes them where a comma is the decimal sign."""
    path = sheet(tmp_path, "photo;person;left;top;width;height;age_from\nK1;I1;0,1;0,2;0,25;0,3;0,5\n")
    archive.statements.apply_spreadsheet("links", path)
    with archive.reading() as connection:
        region = connection.execute(select(t.region)).mappings().one()
        age = connection.execute(select(t.statement)).mappings().one()
    assert [region[side] for side in ("left", "top", "width", "height")] == [0.1, 0.2, 0.25, 0.3]
    assert age["age_low"] == 0.5


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("K1,,,,,,,,,", "person is missing"),
        ("K1,I1,0.1,0.1,,,,,,", "not a region"),
        ("K1,I1,,,,,,30,,", "age_to is filled in, but age_from is not"),
        ("K1,I1,,,,,30,300,,", "nobody is known to have reached 300"),
        ("K1,I1,,,,,30,,guessed,", "age_basis"),
        ("K1,I1,,,,,,,,maybe", "in the column not"),
        ("K1,I1,,,,,,,,,lost words", "more cells than columns: lost words"),
        ("K1,I1,0.5,0.5,0.9,0.1,,,,", "not inside the picture"),
        ("K7,I1,,,,,,,,", "K7"),
        ("K1,Bob,,,,,,,,", "there is nobody called 'Bob'"),
    ],
)
def test_rows_that_cannot_be_applied(archive: Archive, tmp_path: Path, row: str, why: str) -> None:
    """Nothing is guessed: each is told with its reason."""
    header = "photo,person,left,top,width,height,age_from,age_to,age_basis,not"
    ((line, reason),) = refused(archive, "links", sheet(tmp_path, f"{header}\n{row}\n"))
    assert line == 2
    assert why in reason


def test_a_row_that_is_left_out_leaves_nothing(archive: Archive, tmp_path: Path) -> None:
    """With the rest applied, no informant, region or age of a rejected row remains."""
    path = sheet(
        tmp_path, "photo,person,left,top,width,height,age_from,informant\nK1,I1,0,0,0.1,0.1,300,Edda\nK2,I1,,,,,7,Per\n"
    )
    done = archive.statements.apply_spreadsheet("links", path, keep_going=True)
    assert (done.applied, len(done.rejected)) == (1, 1)
    assert [count(archive, name) for name in ("informant", "region", "appearance", "statement")] == [1, 0, 1, 1]


def test_unknown_columns_are_told(archive: Archive, tmp_path: Path) -> None:
    """They are ignored, not silently."""
    done = archive.statements.apply_spreadsheet("links", sheet(tmp_path, "photo,person,colour\nK1,I1,blue\n"))
    assert done.applied == 1
    assert "colour" in done.warnings[0]


@pytest.mark.parametrize(
    ("content", "match"),
    [
        ("photo,colour\nK1,blue\n", "line 1: the column person is missing"),
        ("\n\na,b\n", "line 3: the columns photo, person are missing"),
        ("photo,person,photo\n", "photo is there twice"),
        ('photo,person\nK1,I1\nK2,"I1\n', "line 3: this is not proper CSV"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a text file"),
        ("photo,person,age\nK1,I1,7\n", "line 1: there is no column called age. Rename age to age_from"),
        ("photo,person,ages,by\nK1,I1,7,Edda\n", "Rename ages to age_from .*, by to informant, and try"),
        ("photo,person,age_form\nK1,I1,7\n", "there is no column called age_form. Rename age_form to age_from"),
        ("photo,name\nK1,I1\n", "there is no column called name. Rename name to person"),
        ("Photograph,person\nK1,I1\n", "there is no column called photograph. Rename photograph to photo"),
        ("photo,person," + ",".join(f"c{n}" for n in range(16_000)), "it has 16,002 columns. Keep those"),
    ],
)
def test_files_that_are_refused_whole(archive: Archive, tmp_path: Path, content: str | bytes, match: str) -> None:
    """With the file, the line, and what to do."""
    with pytest.raises(UnreadableFileError, match=match) as problem:
        archive.statements.apply_spreadsheet("links", sheet(tmp_path, content))
    assert "sheet.csv" in str(problem.value)
    assert problem.value.remedy


def test_a_folder_or_a_missing_file(archive: Archive, tmp_path: Path) -> None:
    """Both are told by name."""
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(KinphotoError, match=path.name):
            archive.statements.apply_spreadsheet("links", path)


def test_an_old_encoding_is_read_and_told(archive: Archive, tmp_path: Path) -> None:
    """Windows-1252 cannot be told from its cousins: a word is shown to check by."""
    path = sheet(tmp_path, "photo,kind,text\nK1,inscription,Zoë\n".encode("cp1252"))
    done = archive.statements.apply_spreadsheet("statements", path)
    assert "Zoë" in done.warnings[0]


def test_utf_8_that_was_taken_for_something_else_is_remarked_upon(archive: Archive, tmp_path: Path) -> None:
    """A program read UTF-8 as Windows-1252 (Python's codecs) and saved that as UTF-8: both forms are shown."""
    garbled = "photo,title\nK1,Zoë Büßemeyer\n".encode().decode("cp1252")
    done = archive.statements.apply_spreadsheet("objects", sheet(tmp_path, garbled))
    assert "“ZoÃ«” seems to be “Zoë”" in done.warnings[0]
    right = sheet(tmp_path, "photo,title\nK1,Zoë Büßemeyer – Łódź “Привет” 大文 Ã\n")
    assert archive.statements.apply_spreadsheet("objects", right).warnings == ()


def test_a_title_of_two_lines_becomes_one(archive: Archive, tmp_path: Path) -> None:
    """A cell may hold the end of a line; a note keeps it."""
    path = sheet(tmp_path, 'photo,title,note\nK1,"The picnic \r\n at Roundhay","two\nlines"\n')
    archive.statements.apply_spreadsheet("objects", path)
    shown = archive.photographs.details("K1")
    assert (shown.title, shown.note) == ("The picnic at Roundhay", "two\nlines")


def test_words_of_several_lines_are_kept(archive: Archive, tmp_path: Path) -> None:
    """To the letter, quotation marks and line ends too; the log stays one line."""
    path = sheet(tmp_path, 'photo,kind,date,text\nK1,inscription,1924?,"Skerry ""Point"",\n1924?"\n')
    archive.statements.apply_spreadsheet("statements", path)
    with archive.reading() as connection:
        row = connection.execute(select(t.statement)).mappings().one()
    assert row["text"] == 'Skerry "Point",\n1924?'
    assert (row["date_text"], row["doubtful"]) == ("1924?", 1)
    assert "\n" not in archive.statements.history(1)[0].what


@pytest.mark.parametrize(
    ("name", "content", "applied"),
    [
        ("statements", "photo,kind,date\nK1,taken,1924\nK2,written,BEF 1930\n", 2),
        ("relations", "photo,relation,other\nK1,part-of,K4\nK2,part-of,K4\nK1,before,K2\n", 3),
        ("processes", "photo,name,trust,informant\nK1,albumen,weak,Edda\n", 1),
        ("formats", "photo,name\nK1,cabinet card\nK1,white border\n", 2),
        ("objects", "photo,title,container,process,format\nK1,At sea,Tin trunk,albumen,cdv\nK2,,Tin trunk,,\n", 2),
        ("links", "photo,person,age_from,age_to,age_basis\nK1,I1,6m,2,stated\nK2,-,,,\n", 2),
    ],
)
def test_every_kind_of_sheet_twice_is_once_and_can_be_undone(
    archive: Archive, tmp_path: Path, name: str, content: str, applied: int
) -> None:
    """Applied again it changes nothing (but nobody knows whether somebody without a face is another one)."""
    path = sheet(tmp_path, content.replace("K2,-,,,\n", "K2,I1,,,\n"))
    before = {n: count(archive, n) for n in ("statement", "appearance", "container")}
    assert archive.statements.apply_spreadsheet(name, path).applied == applied
    lines = len(archive.statements.history())
    assert archive.statements.apply_spreadsheet(name, path).change is None
    assert len(archive.statements.history()) == lines
    archive.statements.undo()
    assert {n: count(archive, n) for n in before} == before


def test_ages_judged_unseen_are_marked_in_a_sheet(archive: Archive, tmp_path: Path) -> None:
    """`yes` in the column `unseen` marks the age of its row; a row without an age has nothing to mark."""
    rows = "photo,person,age_from,unseen\nK1,I1,7,yes\nK2,I1,8,\nK3,I1,,1\n"
    archive.statements.apply_spreadsheet("links", sheet(tmp_path, rows))
    s = t.statement.c
    with archive.reading() as connection:
        assert [tuple(row) for row in connection.execute(select(s.age_low, s.blind).order_by(s.id))] == [(7, 1), (8, 0)]


def test_a_row_that_ends_early_has_empty_cells(archive: Archive, tmp_path: Path) -> None:
    """Programs leave out the commas after the last cell that is filled; where a needed one is missing, it is told."""
    done = archive.statements.apply_spreadsheet("links", sheet(tmp_path, "photo,person,trust,why\nK1,I1\nK2,I1,weak\n"))
    assert done.applied == 2
    (short,) = refused(archive, "links", sheet(tmp_path, "photo,person,trust\nK3\n"))
    assert short == (2, "the person is missing. Write - for somebody not identified yet.")
    for name, header in (("statements", "photo,kind,date"), ("relations", "photo,relation,other"),
                         ("processes", "photo,name"), ("objects", "title,photo")):  # fmt: skip
        ((line, _),) = refused(archive, name, sheet(tmp_path, f"{header}\nK1\n"))
        assert line == 2


def test_a_column_of_ones_own_beside_the_right_one_is_passed_over(archive: Archive, tmp_path: Path) -> None:
    """Once every column that could be meant is there, another is a note of the family's; and `no` numbers the rows."""
    done = archive.statements.apply_spreadsheet(
        "links", sheet(tmp_path, "no,photo,file,person,name\n1,K1,a.jpg,I1,Ada\n")
    )
    assert done.applied == 1
    assert "ignored no and file and name" in done.warnings[0]


def test_the_empty_columns_of_a_whole_sheet_do_no_harm(archive: Archive, tmp_path: Path) -> None:
    """Saved with all 100,000 columns that the program has, two of them filled."""
    path = sheet(tmp_path, f"photo,person{',' * 100_000}\nK1,I1{',' * 100_000}\n")
    assert archive.statements.apply_spreadsheet("links", path).applied == 1


@pytest.mark.parametrize("letter", [b"\xa0", b"\xe9", b"\x93", b"\xff"])
def test_damaged_bytes_are_read_as_what_older_programs_wrote(archive: Archive, tmp_path: Path, letter: bytes) -> None:
    """Also a hard space, which is the only letter that is not ASCII and is no word to check by."""
    done = archive.statements.apply_spreadsheet(
        "statements", sheet(tmp_path, b"photo,kind,text\nK1,inscription,a" + letter + b"b\n")
    )
    assert done.applied == 1
    assert "is not UTF-8 and was read as Windows-1252" in done.warnings[0]


@given(st.binary(max_size=60), st.sampled_from(sorted(SHEETS)))
@settings(max_examples=150, deadline=None)
def test_whatever_bytes_a_sheet_holds_are_read_or_refused_in_one_line(rest: bytes, name: str) -> None:
    """Headers and rows of anything: rows, or one line that says why not."""
    columns = ",".join(SHEETS[name].required).encode()
    with TemporaryDirectory() as folder:
        path = sheet(Path(folder), columns + b"\n" + rest)
        try:
            rows = list(read_rows(path, SHEETS[name], []))
        except UnreadableFileError as problem:
            assert "\n" not in str(problem)  # noqa: PT017 (either is right)
        else:
            assert all(set(SHEETS[name].required) <= set(row) for _, row, _ in rows)


@pytest.mark.skipif(sys.platform == "darwin", reason="its file systems take UTF-8 only")
def test_a_sheet_whose_name_is_no_utf8_is_applied(archive: Archive, tmp_path: Path) -> None:
    """Its name stands in the log with the odd byte written out."""
    path = tmp_path / os.fsdecode(b"caf\xe9.csv")
    path.write_text("photo,person\nK1,I1\n")
    assert archive.statements.apply_spreadsheet("links", path).applied == 1
    assert archive.statements.history(1)[0].what == "applied 1 row of caf\\xe9.csv (links)"


def test_a_sheet_says_which_ages_it_replaced(archive: Archive, tmp_path: Path) -> None:
    """A second age by the same person takes the place of the first, within a sheet and from sheet to sheet."""
    rows = "photo,person,age_from,informant\nK1,I1,7,Edda\nK1,I1,9,Edda\nK1,I1,30,Per\n"
    done = archive.statements.apply_spreadsheet("links", sheet(tmp_path, rows))
    assert done.warnings == ("K00001: Ada Marsh (I1), looks 9 replaces the age given before: looks 7 (S1).",)

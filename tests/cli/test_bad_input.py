"""Every kind of bad input we could think of, given as a person gives it: what is said, and that nothing is lost.

Three lists. What is refused ends with status 1 and one line that tells what is wrong, where, and what to do. Trees that
can be read in part are read, and each oddity is named with its place and what was made of it. Scans that cannot be
read are listed with the reason, and the others go on.
"""

from __future__ import annotations

import shlex
import shutil
import sqlite3
import struct
import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from os import fsdecode, urandom
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.cli.main import run

HEAD = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"  # lines 1 to 4
GORM = "0 @I1@ INDI\n1 NAME Gorm /Holm/\n"  # lines 5 and 6
END = "0 TRLR\n"
FAMILY = (
    f"{HEAD}0 @I1@ INDI\n1 NAME Ada /Marsh/\n0 @I2@ INDI\n1 NAME Tom /Marsh/\n0 @I3@ INDI\n1 NAME Tom /Marsh/\n"
    f"0 @F1@ FAM\n1 HUSB @I2@\n1 WIFE @I1@\n1 MARR\n2 DATE 1912\n{END}"
)

Given = bytes | str | Callable[[Path], Any]
"""A file's content, or what makes (or spoils) the file at a path."""


@dataclass(frozen=True)
class Slip:
    """What is typed with which files at hand, and what the answer must hold: the place, what is wrong, the remedy."""

    kind: str
    typed: str
    place: str
    what: str
    remedy: str
    files: dict[str, Given] = field(default_factory=dict)


def tree(kind: str, given: Given, what: str, remedy: str) -> Slip:
    """A file that is no tree."""
    return Slip(kind, "tree import t.ged", "t.ged: ", what, remedy, {"t.ged": given})


def sheet(kind: str, command: str, given: Given, place: str, what: str, remedy: str) -> Slip:
    """A spreadsheet that cannot be applied; no row of it is."""
    return Slip(kind, f"{command} --from x.csv", f"x.csv{place}", what, remedy, {"x.csv": given})


def rows(kind: str, command: str, given: str, what: str, remedy: str) -> Slip:
    """A spreadsheet whose second row, in line 3, cannot be applied; the first one is sound."""
    columns, sound, bad = given.split("\n")
    place = ": 1 row cannot be used, so nothing was changed: line 3: "
    return sheet(kind, command, f"{columns}\n{sound}\n{bad}\n", place, what, remedy)


def link_to_itself(path: Path) -> None:
    """What nobody can read, not even who may read everything."""
    path.symlink_to(path)


def spoilt(path: Path) -> None:
    """A database whose first pages are sound and whose last ones are noise."""
    data = path.read_bytes()
    path.write_bytes(data[:8192] + urandom(len(data) - 8192))


def of_a_newer_program(path: Path) -> None:
    """A database of a schema that is not known yet."""
    database = sqlite3.connect(path)
    database.execute("UPDATE alembic_version SET version_num = '9999'")
    database.commit()
    database.close()


LINKS, AGES = "photo,person\nK1,I1", "photo,person,age_from\nK1,I1,30"
TIES = "photo,relation,other\nK1,before,K2"
REGIONS, STATED = "photo,person,left,top,width,height\nK1,I1,.1,.1,.1,.1", "photo,kind,date\nK1,taken,1900"
LONG = "x" * 300

REFUSED = [
    # a tree
    tree("a binary file named .ged", bytes(range(256)), "this is not a family tree file", "Export the tree from"),
    tree("an empty .ged", "", "the file is empty", "Export the tree from"),
    tree("an image named .ged", lambda p: Image.new("L", (9, 9)).save(p, "JPEG"), "a JPEG image", "Export the tree"),
    tree("a letter named .ged", "Dear all,\n", "does not begin with 0 HEAD", "Export the tree from"),
    tree("a folder named .ged", Path.mkdir, "cannot be read (Is a directory)", "Check that it is a file"),
    tree("a file that nobody may read", link_to_itself, "cannot be read", "Check that it is a file you may read"),
    Slip("a package that is none", "tree import t.gdz", "t.gdz: ", "not a zip file", "Export the tree from",
         {"t.gdz": "tree"}),
    Slip("no such tree", "tree import none.ged", "none.ged: ", "there is no such file", "Check the spelling"),
    Slip("a name that is too long", f"tree import {LONG}", f"{LONG}: ", "name too long", "Check that it is a file"),
    # scans
    Slip("no such folder", "scans add nowhere", "nowhere: ", "no such file or folder", "Check the spelling"),
    Slip("an ambiguous scan", "scans join front.png K3", "'front.png'", "2 scans match", "Give more of the path"),
    Slip("a side there is not", "scans join K1 K2 --side left", "'left'", "unknown side", "recto"),
    Slip("one scan to join", "scans join K1", "", "one scan alone cannot be joined", "Name"),
    # a spreadsheet as a whole
    Slip("no such spreadsheet", "link --from no.csv", "no.csv: ", "it cannot be read", "Check the name"),
    sheet("an empty spreadsheet", "link", "", ", line 1", "the columns photo, person are missing", "The first line"),
    sheet("a missing column", "link", "photo\nK1\n", ", line 1", "the column person is missing", "The first line"),
    sheet("a column twice", "link", "photo,person,photo\n", ", line 1", "photo is there twice", "Remove one of them"),
    sheet("another separator", "link", "photo|person\n", ", line 1", "are missing", "commas, semicolons or tabs"),
    sheet("an open quote", "link", f'{LINKS}\nK2,"I1\nK3,I1\n', ", line 3", "not proper CSV", "must end with one"),
    sheet("a binary spreadsheet", "link", bytes(range(256)), ": ", "not a text file", "Save the spreadsheet as CSV"),
    sheet("UTF-16 without mark", "link", LINKS.encode("utf-16-le"), ": ", "this is not a text file", "CSV (UTF-8)"),
    sheet("UTF-16", "link", "photo,person\nK1,Bob\n".encode("utf-16"), ": 1 row", "there is nobody", "people add"),
    # a row of one
    rows("an unknown person", "link", f"{LINKS}\nK2,Bob", "there is nobody called 'Bob'", 'kinphoto people add "NAME"'),
    rows("an unknown photograph", "link", f"{LINKS}\nK9,I1", "no photograph or scan called 'K9'", "Give a title"),
    rows("more cells than columns", "link", f"{LINKS}\nK2,I1,a", "more cells than columns: a", "quotation marks"),
    rows("no person", "link", f"{LINKS}\nK2,", "the person is missing", "Write - for somebody not identified yet"),
    rows("an age of 300", "link", f"{AGES}\nK2,I1,300", "age '300': nobody is known", "Give the age in years"),
    rows("a negative age", "link", f"{AGES}\nK2,I1,-3", "age '-3': not an age", "Give years like 7"),
    rows("a region outside", "link", f"{REGIONS}\nK2,I1,.9,.1,.3,.1", "region '.9,.1,.3,.1': ", "such as 0.42"),
    rows("a region in pixels", "link", f"{REGIONS}\nK2,I1,9,9,80,80", "is not inside the picture", "Divide pixels"),
    rows("a region of nothing", "link", f"{REGIONS}\nK2,I1,.1,.1,0,.1", "is not inside the picture", "such as 0.42"),
    rows("a region that is NaN", "link", f"{REGIONS}\nK2,I1,.1,nan,.1,.1", "is not inside the picture", "such as 0.42"),
    rows("half a region", "link", f"{REGIONS}\nK2,I1,.1,.1,,", "not a region", "Give left,top,width,height"),
    rows("an unknown relation", "relate", f"{TIES}\nK1,beside,K3", "unknown relation 'beside'", "Use one of before"),
    rows("an unknown kind", "state", f"{STATED}\nK2,rumour,1900", "unknown kind", "Use one of taken"),
    rows("no such date", "state", f"{STATED}\nK2,taken,31 FEB 1900", 'no such date as "31 FEB 1900"', "Write it like"),
    rows("words for a date", "state", f"{STATED}\nK2,taken,last May", '"last May" is not a date', "Write it"),
    rows("no such event", "state", f"{STATED}\nK2,event,F1:DIV", "F1 has no event DIV", "Its events: F1:MARR"),
    rows("no such family", "state", f"{STATED}\nK2,event,F9:MARR", "no person or family F9", "kinphoto people"),
    rows("an unknown process", "process", "photo,name\nK1,albumen\nK2,albumin", "no process 'albumin'", "albumen?"),
    # one thing at a time
    Slip("an ambiguous person", "link K1 'Tom Marsh'", "'Tom Marsh'", "I2; Tom Marsh, I3", "Give the id"),
    Slip("an unknown role", "link K1 I1 --role hiding", "'hiding'", "unknown role", "present, likeness, laid-out"),
    Slip("an unknown trust", "link K1 I1 --trust utter", "'utter'", "unknown trust", "certain, strong, fair, weak"),
    Slip("one person twice", "link K2 X1 --region .7,.7,.1,.1", "K00002", "at a different place", "withdraw A2"),
    Slip("a relation to itself", "relate K1 before K1", "K00001", "cannot be related to itself", "kinphoto scans join"),
    Slip("a statement of nothing", "state K1 taken", "taken", "needs a date or words", "Add a date, or --text"),
    Slip("a file without a camera's day", "state K1 taken exif", "K00001", "records when it was taken", "taken DATE"),
    Slip("nothing to describe", "describe K1", "", "nothing was given to describe", "Add --title"),
    Slip("nobody's name", "people add ' / '", "", "a person needs a name", "Give one"),
    Slip("a death before the birth", "people add Bo --born 1900 --died 1890", "1890", "before the birth", "Give"),
    Slip("a neighbour who is in the tree", "people same I1 I2", "Ada Marsh (I1)", "is in the tree", "Name the person"),
    Slip("letters that are no UTF-8", "informant J\udcf6rg", "'J\\udcf6rg'", "is not UTF-8", "Set the terminal"),
    # changes
    Slip("an unknown change", "undo 99", "change 99", "there is no", "kinphoto log"),
    Slip("undone twice", "undo 3", "change 3 ", "was already undone", "kinphoto undo 4"),
    Slip("what later changes rest on", "undo 5", "change 5", "cannot be undone before change", "Undo that one first"),
    Slip("withdrawing a photograph", "withdraw K5", "'K5'", "cannot be withdrawn", "Give an id"),
    Slip("a marriage that was not", "withdraw M99", "M99", "there is no statement", "kinphoto conflicts"),
    Slip("reinstating nothing", "reinstate ''", "''", "cannot be reinstated", "Give an id"),
    Slip("an informant nobody knows", "informant Zed --rename Zoe", "'Zed'", "there is no informant", "informants"),
    Slip("a container that is not", "container rename Loft Attic", "'Loft'", "there is no box", "container list"),
    Slip("a container in itself", "container nest a a", "'a'", "cannot go into itself", "another box"),
    Slip("an unknown statement", "withdraw S99", "S99", "there is no statement", "kinphoto explain PHOTO"),
    # the archive itself
    Slip("no archive", "dates --archive nowhere", "nowhere: ", "there is no archive here", "kinphoto init DIR"),
    Slip("an archive where one is", "init family", "family: ", "already an archive", "choose another folder"),
    Slip("an archive in a file", "init f", "f: ", "cannot be made", "Name a folder", {"f": "a file"}),
    Slip(
        "a database of noise", "dates", "family/kinphoto.db", "is not a kinphoto archive, or", "backup",
        {"family/kinphoto.db": urandom(9000)},
    ),
    Slip(
        "a database damaged in part", "log", "family/kinphoto.db", "is not a kinphoto archive, or", "backup",
        {"family/kinphoto.db": spoilt},
    ),
    Slip(
        "a database of a newer program", "dates", "family/kinphoto.db", "made by a newer kinphoto", "the newest",
        {"family/kinphoto.db": of_a_newer_program},
    ),
]  # fmt: skip


def dated(date: str) -> str:
    """A tree with one date, of a birth in line 7."""
    return f"{HEAD}{GORM}1 BIRT\n2 DATE {date}\n{END}"


LOOP = "0 @I2@ INDI\n1 NAME Ida /Holm/\n0 @F1@ FAM\n1 HUSB @I1@\n1 CHIL @I2@\n0 @F2@ FAM\n1 WIFE @I2@\n1 CHIL @I1@\n"
THREE_PARENTS = (
    "0 @I2@ INDI\n1 NAME A /B/\n0 @I3@ INDI\n1 NAME C /D/\n0 @I4@ INDI\n1 NAME E /F/\n"
    "0 @F1@ FAM\n1 HUSB @I2@\n1 WIFE @I3@\n1 CHIL @I1@\n0 @F2@ FAM\n1 HUSB @I4@\n1 WIFE @I3@\n1 CHIL @I1@\n"
)
ODD_TREES: list[tuple[str, str | bytes, str]] = [
    ("a truncated tree", f"{dated('31 FEB 1900')[: -len(END)]}0 @I2@ INDI\n1 NA", ": the file ends without TRLR"),
    ("no HEAD", GORM + END, ": the file does not begin with HEAD"),
    ("another encoding than declared", (HEAD + GORM.replace("Gorm", "Jörg") + END).encode("cp1252"), ", line 4: the "
     "header says UTF-8, but the letters are Windows-1252; read as"),
    ("UTF-16 without a mark", (HEAD + GORM + END).replace("UTF-8", "ANSEL").encode("utf-16-le"), ", line 4: the header "
     "says ANSEL, but the letters are UTF-16 LE; read as"),
    ("a loop of ancestry", HEAD + GORM + LOOP + END, ": people who are their own ancestors"),
    ("their own parent", f"{HEAD}{GORM}0 @F1@ FAM\n1 HUSB @I1@\n1 CHIL @I1@\n{END}", ", line 7: somebody is "
     "their own parent in family F1; left out"),
    ("a child of two families", HEAD + GORM + THREE_PARENTS + END, ": Gorm Holm (I1) has 3 birth parents"),
    ("a day that is not", dated("31 FEB 1900"), ', line 8: there is no such date as "31 FEB 1900"; kept as text'),
    ("a year far off", dated("1 JAN 99999"), ', line 8: there is no such date as "1 JAN 99999"; kept as text'),
    ("a month that is not", dated("4 XYZ 1900"), ', line 8: the date "4 XYZ 1900" cannot be understood; kept as text'),
    ("a pointer to no family", f"{HEAD}{GORM}1 FAMS @F9@\n{END}", ", line 5: this person belongs to family @F9@, "
     "which is not in the file; left out"),
    ("a pointer to nobody", f"{HEAD}0 @F1@ FAM\n1 HUSB @I9@\n{END}", ", line 5: family F1 "
     "refers to @I9@, who is not in"),
    ("a pointer to a person for a family", f"{HEAD}{GORM}1 FAMC @I1@\n{END}", ", line 5: this person belongs to family "
     "@I1@, which is a person, not a family; left out"),
    ("a pointer to a family for a person", f"{HEAD}0 @F1@ FAM\n1 HUSB @F1@\n{END}", ", line 5: family F1 "
     "refers to @F1@, "
     "which is a family, not a person; left out"),
    ("a pointer twice", HEAD + GORM + GORM + END, ", line 7: @I1@ is used more than once; this record was"),
    ("a level that jumps", f"{HEAD}{GORM}1 BIRT\n3 DATE 1900\n{END}", ", line 8: the level jumps from 1 to 3; read"),
    ("NUL bytes", HEAD + GORM.replace("Holm", "Ho\0lm") + END, ", line 6: there are NUL bytes here; they were"),
    ("a line of 1 MB", f"{HEAD}{GORM}1 NOTE {'x' * 1_000_000}\n1 SEX Q\n{END}", ', line 8: "Q" is not a standard sex'),
]  # fmt: skip


def half(path: Path) -> None:
    """A scan whose second half never came."""
    Image.effect_noise((200, 100), 50).save(path)
    path.write_bytes(path.read_bytes()[:2000])


def bomb(path: Path) -> None:
    """A PNG of a hundred bytes that claims ten thousand million pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + body)


BAD_SCANS: list[tuple[str, str, Given, str]] = [
    ("a JPEG of no bytes", "a.jpg", b"", "the file is empty (0 bytes); scan it again, or restore it"),
    ("a JPEG that is cut off", "b.jpg", half, "the end of the file is missing; scan it again, or restore it"),
    ("a text named .jpg", "c.jpg", "Dear all", "it is not a picture file; kinphoto reads JPEG"),
    ("a decompression bomb", "d.png", bomb, "100000 × 100000 pixels are more than"),
    ("a corrupt TIFF", "e.tif", b"II*\0\x08\0\0\0" + b"\xff" * 99, "is damaged or cut off; scan it again"),
    ("a file name that is not UTF-8", fsdecode(b"J\xf6rg.jpg"), half, "its name is not valid UTF-8; rename it"),
    ("links in a circle", "g.jpg", link_to_itself, "it is a circular link; correct the link or remove it"),
    ("a link to nothing", "h.jpg", lambda p: p.symlink_to("no"), "a file that does not exist; correct the link"),
    ("a picture of another kind", "i.gif", b"GIF89a", "it is a GIF picture; kinphoto reads JPEG, TIFF, PNG"),
]  # fmt: skip


def numbered(first: int, kinds: list[str]) -> list[str]:
    """The kinds of a list with their numbers, so that one can be talked about."""
    return [f"{number}. {kind}" for number, kind in enumerate(kinds, first)]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive of three people and three photographs, with six changes in its log, of which the fourth took back
    the third."""
    folder = tmp_path_factory.mktemp("sound")
    for at, name in enumerate(("a/front.png", "b/front.png", "b/other.png")):
        (folder / name).parent.mkdir(exist_ok=True)
        Image.new("L", (9, 9), at).save(folder / name)
    (folder / "family.ged").write_text(FAMILY)
    archive = Archive.create(folder / "family")
    archive.tree.import_file(folder / "family.ged")
    archive.scans.add([folder / "a", folder / "b"])
    archive.statements.link(Link(photograph="K3", person="I1"))
    archive.statements.undo()
    archive.people.add("Berit Lund")
    archive.statements.link(Link(photograph="K2", person="X1", region="0.1,0.1,0.2,0.2"))
    archive.engine.dispose()
    return folder / "family"


class Terminal:
    """A folder with the archive `family` in it, in which commands are typed."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch, capture: pytest.CaptureFixture[str]) -> None:
        self.folder, self._patch, self._capture = folder, patch, capture

    def give(self, name: str, given: Given) -> None:
        """Put a file into the folder."""
        path = self.folder / name
        if isinstance(given, bytes | str):
            path.write_bytes(given if isinstance(given, bytes) else given.encode())
        else:
            given(path)

    def type(self, line: str) -> tuple[int, str, str]:
        """The exit status, standard output and standard error of a command."""
        self._patch.setattr(sys, "argv", ["kinphoto", *shlex.split(line)])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = self._capture.readouterr()
        assert "Traceback" not in out + err
        return int(ended.value.code or 0), out, err

    def kept(self) -> list[str] | bytes:
        """All that stands in the archive, row by row; the bytes of a database that is none. Which folders scans were
        looked for in is noted whatever is found there."""
        path = self.folder / "family" / "kinphoto.db"
        database = sqlite3.connect(path)
        try:
            return [line for line in database.iterdump() if not line.startswith('INSERT INTO "scan_root"')]
        except sqlite3.DatabaseError:
            return path.read_bytes()
        finally:
            database.close()

    def changes(self) -> int:
        """How many lines the log has."""
        return len(self.type("log")[1].splitlines())


@pytest.fixture
def terminal(
    tmp_path: Path, sound: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> Terminal:
    """At work in a folder that holds a copy of the sound archive."""
    shutil.copytree(sound, tmp_path / "family")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("KINPHOTO_ARCHIVE", "family")
    return Terminal(tmp_path, monkeypatch, capfd)


@pytest.mark.parametrize("slip", REFUSED, ids=numbered(1, [slip.kind for slip in REFUSED]))
def test_what_is_refused(terminal: Terminal, slip: Slip) -> None:
    """Status 1, one line with the place, what is wrong and the remedy, and every row of the archive as before."""
    for name, given in slip.files.items():
        terminal.give(name, given)
    before = terminal.kept()
    status, out, err = terminal.type(slip.typed)
    assert (status, out) == (1, ""), err
    assert len(err.splitlines()) == 1
    assert err.startswith("kinphoto: ")
    for part in (slip.place, slip.what, slip.remedy):
        assert part in err
    assert terminal.kept() == before


@pytest.mark.parametrize(("kind", "text", "warning"), ODD_TREES, ids=numbered(101, [odd[0] for odd in ODD_TREES]))
def test_what_is_odd_in_a_tree_and_read_all_the_same(
    terminal: Terminal, kind: str, text: str | bytes, warning: str
) -> None:
    """Status 0; the first warning has the place and what was made of it; one line in the log, that can be undone."""
    terminal.give("t.ged", text)
    before = terminal.changes()
    status, out, err = terminal.type("tree import t.ged")
    assert (status, out.splitlines()[0][-1]) == (0, "."), kind
    assert err.splitlines()[0].startswith(f"t.ged{warning}")
    assert all(line.startswith("t.ged") for line in err.splitlines())
    assert terminal.changes() == before + 1
    assert terminal.type("undo")[0] == 0


@pytest.mark.parametrize(("kind", "name", "given", "why"), BAD_SCANS, ids=numbered(201, [bad[0] for bad in BAD_SCANS]))
def test_scans_that_cannot_be_read(terminal: Terminal, kind: str, name: str, given: Given, why: str) -> None:
    """Status 0, the file is listed with the reason and what to do, and no row of the archive is another."""
    (terminal.folder / "box").mkdir()
    terminal.give(f"box/{name}", given)
    before = terminal.kept()
    status, out, err = terminal.type("scans add box")
    assert (status, err) == (0, ""), kind
    assert "1 picture found, 0 added" in out
    shown = name.encode(errors="surrogateescape").decode(errors="backslashreplace")
    assert f"{terminal.folder}/box/{shown}: " in out
    assert why in out
    assert terminal.kept() == before


def test_the_file_as_a_whole_comes_before_hundreds_of_lines(terminal: Terminal) -> None:
    """That a tree was cut off is the first thing said, however much else there is to say."""
    people = "".join(f"0 @I{n}@ INDI\n1 BIRT\n2 DATE 31 FEB {1500 + n}\n" for n in range(300))
    terminal.give("t.ged", HEAD + people)
    lines = terminal.type("tree import t.ged")[2].splitlines()
    assert lines[0].startswith("t.ged: the file ends without TRLR")
    assert lines[-1].startswith("and 281 more warnings")


def test_there_are_many_kinds() -> None:
    """The lists hold what they promise, each kind once."""
    kinds = [slip.kind for slip in REFUSED] + [odd[0] for odd in ODD_TREES] + [bad[0] for bad in BAD_SCANS]
    assert len(kinds) == len(set(kinds)) > 40

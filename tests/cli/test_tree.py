"""`kinphoto tree import` and `tree write` as a person and a script meet them."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from commands import run_command
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.cli.documents import documents

DOCUMENTS = documents()

TREE = """0 HEAD
1 GEDC
2 VERS 7.0
0 @I1@ INDI
1 NAME Gorm /Holm/
1 BIRT
2 DATE 31 FEB 1900
0 TRLR
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with an empty archive and a small tree beside it."""
    Archive.create(tmp_path / "archive")
    (tmp_path / "holm.ged").write_text(TREE)
    return tmp_path


def kinphoto(folder: Path, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Run the command under test to its end."""
    return run_command(folder, *arguments, KINPHOTO_ARCHIVE=str(folder / "archive"))


def test_json_holds_the_whole_answer(folder: Path) -> None:
    """One document on standard output; the warning goes to standard error as well, with file and line."""
    done = kinphoto(folder, "tree", "import", "holm.ged", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout) == {
        "people": 1,
        "families": 0,
        "events": 1,
        "added": 1,
        "changed": 0,
        "removed": 0,
        "kept_with_pictures": 0,
        "warnings": [{"line": 7, "text": 'there is no such date as "31 FEB 1900"; kept as text'}],
        "warning_count": 1,
        "encoding": "UTF-8",
        "version": "7.0",
        "altered": True,
        "merged": [],
        "uncertain": [],
        "plan": None,
    }
    assert done.stderr == 'holm.ged, line 7: there is no such date as "31 FEB 1900"; kept as text\n'


def test_words_for_a_person(folder: Path) -> None:
    """What was read, and what changed; the second time nothing did."""
    assert kinphoto(folder, "tree", "import", "holm.ged").stdout.splitlines() == [
        "1 person in 0 families, GEDCOM 7.0, UTF-8.",
        "1 added, 0 changed, 0 removed.",
    ]
    assert "Nothing has changed" in kinphoto(folder, "tree", "import", "holm.ged").stdout


def test_a_dry_run_says_what_would_be_and_writes_nothing(folder: Path) -> None:
    """In words and as JSON, everybody concerned is named; the import afterwards still has everything to do."""
    kinphoto(folder, "tree", "import", "holm.ged")
    newer = TREE.replace("Gorm /Holm/", "Gorm Arne /Holm/").replace("0 TRLR", "0 @I2@ INDI\n1 NAME Olga /Lund/\n0 TRLR")
    (folder / "newer.ged").write_text(newer)
    said = kinphoto(folder, "tree", "import", "newer.ged", "--dry-run").stdout.splitlines()
    assert said == [
        "2 people in 0 families, GEDCOM 7.0, UTF-8.",
        "This would be: 1 added, 1 changed, 0 removed.",
        "New:",
        "  Olga Lund (I2)",
        "Changed:",
        "  Gorm Arne Holm (I1), was Gorm Holm: names, sex, note or pointer",
        "Nothing was changed. To import it, leave out --dry-run; kinphoto undo undoes it.",
    ]
    plan = json.loads(kinphoto(folder, "tree", "import", "newer.ged", "--dry-run", "--json").stdout)["plan"]
    assert plan == {
        "added": [{"id": "I2", "name": "Olga Lund"}],
        "changed": [
            {"id": "I1", "name": "Gorm Arne Holm", "was_id": None, "was": "Gorm Holm", "what": ["names", "person"]}
        ],
        "gone": [],
    }
    assert "1 added, 1 changed" in kinphoto(folder, "tree", "import", "newer.ged").stdout


def of_people(*people: tuple[str, str], first: int = 1) -> str:
    """A tree of unrelated people: name and birth of each, with pointers from `first` on."""
    each = (f"0 @I{n}@ INDI\n1 NAME {name}\n1 BIRT\n2 DATE {born}" for n, (name, born) in enumerate(people, first))
    return "\n".join(["0 HEAD", "1 GEDC", "2 VERS 7.0", *each, "0 TRLR", ""])


HOLMS = ("Gorm /Holm/", "3 MAY 1900"), ("Tora /Holm/", "6 JUN 1904"), ("Ivar /Holm/", "9 JUL 1931")


def test_the_tree_of_another_family_is_remarked_upon(folder: Path) -> None:
    """Nobody, or hardly anybody, of the tree is in the file: then the way back is told."""
    (folder / "ours.ged").write_text(of_people(*HOLMS))
    (folder / "theirs.ged").write_text(of_people(("Rosa /Lind/", "1877"), ("Knut /Lind/", "1871")))
    (folder / "hers.ged").write_text(of_people(HOLMS[1], ("Ada /Lund/", "1860")))
    (folder / "all-but-one.ged").write_text(of_people(*HOLMS[1:]))
    kinphoto(folder, "tree", "import", "ours.ged")
    would = kinphoto(folder, "tree", "import", "theirs.ged", "--dry-run").stdout
    assert "Of the 3 people who were in the tree, nobody is in this file.\n" in would
    hers = kinphoto(folder, "tree", "import", "hers.ged", "--dry-run").stdout
    assert "Of the 3 people who were in the tree, only 1 is in this file.\n" in hers
    assert "who were in the tree" not in kinphoto(folder, "tree", "import", "all-but-one.ged", "--dry-run").stdout
    done = kinphoto(folder, "tree", "import", "theirs.ged").stdout
    assert "nobody is in this file. If it is the file of another family: kinphoto undo, and the tree is back." in done
    kinphoto(folder, "undo")
    assert "3 people" in kinphoto(folder, "tree", "check").stdout


def test_what_was_corrected_comes_before_who_was_only_renumbered(folder: Path) -> None:
    """A program that numbers people anew changes everybody; a corrected birth is what somebody looks for."""
    (folder / "ours.ged").write_text(of_people(*HOLMS))
    (folder / "newer.ged").write_text(of_people(*HOLMS[:2], ("Ivar /Holm/", "9 JUL 1932"), first=51))
    kinphoto(folder, "tree", "import", "ours.ged")
    said = kinphoto(folder, "tree", "import", "newer.ged", "--dry-run").stdout.splitlines()
    assert said[said.index("Changed:") + 1].startswith("  Ivar Holm (I53), was I3: dates and events")


def test_many_warnings_are_cut_short(folder: Path) -> None:
    """Twenty, and how many more."""
    people = "".join(f"0 @I{n}@ INDI\n1 NAME A /B/\n1 BIRT\n2 DATE 31 FEB {1800 + n}\n" for n in range(50))
    (folder / "holm.ged").write_text(f"0 HEAD\n1 GEDC\n2 VERS 7.0\n{people}0 TRLR\n")
    lines = kinphoto(folder, "tree", "import", "holm.ged").stderr.splitlines()
    assert len(lines) == 21
    assert "30 more" in lines[-1]


ODD = """0 HEAD
1 GEDC
2 VERS 5.5.1
0 @I1@ INDI
1 NAME Alva /Holm/
1 SEX F
1 BIRT
2 DATE 1850
1 DEAT
2 DATE 1840
0 @I2@ INDI
1 NAME Tora /Lund/
1 SEX F
1 BIRT
2 DATE 1850
0 @I3@ INDI
1 NAME Ida /Lund/
1 BIRT
2 DATE 1906
0 @F1@ FAM
1 WIFE @I2@
1 CHIL @I3@
0 TRLR
"""


def test_checking_a_tree(folder: Path) -> None:
    """What cannot be and what is unlikely, with the lines of the file and the limits, in words and as JSON."""
    assert "Nothing odd" in kinphoto(folder, "tree", "check").stdout
    (folder / "holm.ged").write_text(ODD)
    kinphoto(folder, "tree", "import", "holm.ged")
    said = kinphoto(folder, "tree", "check").stdout
    for word in (
        "Cannot all be true (1):",
        "Alva Holm was born in 1850 [line 7].",
        "Alva Holm died in 1840 [line 9].",
        "nobody dies before being born",
        "Possible, but unlikely (1):",
        "[family F1]",
        "Tora Lund was 55 or older when Ida Lund was born (I2, I3)",
        "a judgement of the project",
    ):
        assert word in said
    found = json.loads(kinphoto(folder, "tree", "check", "--json").stdout)
    assert found["people"] == 3
    assert [fact["line"] for fact in found["impossible"][0]["facts"]] == [7, 9]
    assert [odd["kind"] for odd in found["unlikely"]] == ["old-mother"]


def test_births_beside_what_the_tree_says(folder: Path) -> None:
    """A section of its own in the check, with its caveat; in the file a note, counted."""
    kinphoto(folder, "tree", "import", "holm.ged")
    (folder / "holm.ged").write_text(TREE.replace("31 FEB 1900", "BET 1890 AND 1940"))
    kinphoto(folder, "tree", "import", "holm.ged")
    Image.new("L", (60, 40)).save(folder / "one.jpg")
    kinphoto(folder, "scans", "add", "one.jpg")
    kinphoto(folder, "state", "K00001", "taken", "1 JUL 1923")
    kinphoto(folder, "link", "K00001", "Gorm", "--age", "3")
    said = kinphoto(folder, "tree", "check").stdout.splitlines()
    (birth,) = json.loads(kinphoto(folder, "tree", "check", "--json").stdout)["births"]
    assert said[1:] == [
        "Births that photographs suggest (1):",
        f"  Gorm Holm (I1): {birth['text']}. The tree says between 1890 and 1940.",
        "  What photographs suggest is not proof: whoever judged the ages may have known the tree.",
    ]
    assert "Notes suggest 1 birth that the tree leaves open." in kinphoto(folder, "tree", "write", "out.ged").stdout


@pytest.mark.parametrize(
    ("name", "data", "word"),
    [
        ("none.ged", None, "there is no such file"),
        ("empty.ged", b"", "the file is empty"),
        ("photo.ged", b"\xff\xd8\xff\xe0", "JPEG"),
        ("letter.ged", b"Dear all,\n", "0 HEAD"),
    ],
)
def test_what_is_no_tree_is_refused_in_one_line(folder: Path, name: str, data: bytes | None, word: str) -> None:
    """Exit status 1, one line on standard error with the file's name, nothing on standard output."""
    if data is not None:
        (folder / name).write_bytes(data)
    done = kinphoto(folder, "tree", "import", name)
    assert (done.returncode, done.stdout) == (1, "")
    assert len(done.stderr.splitlines()) == 1
    assert word in done.stderr
    assert name in done.stderr
    assert "Traceback" not in done.stderr


def test_without_a_command_it_tells_which_there_are(folder: Path) -> None:
    """`kinphoto tree` alone shows its help."""
    done = kinphoto(folder, "tree")
    assert "import" in done.stdout + done.stderr


def test_writing_for_a_script(folder: Path) -> None:
    """One document with every field of the reference; a tree without pictures comes back byte for byte."""
    kinphoto(folder, "tree", "import", "holm.ged")
    done = kinphoto(folder, "tree", "write", "out.ged", "--json")
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert set(document) | {"missing[]", "warnings[]"} == set(DOCUMENTS["tree write"]) | {"missing", "warnings"}
    assert (document["version"], document["photographs"], document["changed"]) == ("7.0", 0, True)
    assert (folder / "out.ged").read_text() == TREE


def test_writing_for_a_person(folder: Path) -> None:
    """What is in the file, that it names the living, and that the second time nothing has changed."""
    kinphoto(folder, "tree", "import", "holm.ged")
    (folder / "holm.ged").write_text(TREE.replace("31 FEB 1900", "1 FEB 2001"))
    kinphoto(folder, "tree", "import", "holm.ged")
    Image.new("L", (60, 40)).save(folder / "one.jpg")
    kinphoto(folder, "scans", "add", "one.jpg")
    kinphoto(folder, "link", "K00001", "Gorm")
    done = kinphoto(folder, "tree", "write", "out.ged")
    assert "1 picture of 1 person" in done.stdout
    assert "1 of the pictures shows somebody who may be living" in done.stderr
    assert "Nothing has changed" in kinphoto(folder, "tree", "write", "out.ged").stdout
    assert "1 picture that shows somebody" in kinphoto(folder, "tree", "write", "b.ged", "--leave-out-living").stdout


@pytest.mark.parametrize(
    ("words", "word"),
    [
        (("holm.ged",), "imported from"),
        (("holm.ged", "--replace"), "imported from"),
        (("archive/kinphoto.db",), ".ged or .gdz"),
        (("there.ged",), "--replace"),
        (("out.ged", "--version", "6"), "5.5.1 or 7.0"),
        (("none/out.ged",), "no such folder"),
        (("out.ged", "--version", "5.5.1"), "cannot hold everything"),
    ],
)
def test_what_cannot_be_written_is_refused_in_one_line(folder: Path, words: tuple[str, ...], word: str) -> None:
    """Exit status 1 and one line; what was there is as it was."""
    (folder / "there.ged").write_text("a diary")
    kinphoto(folder, "tree", "import", "holm.ged")
    done = kinphoto(folder, "tree", "write", *words)
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (1, "", 1)
    assert word in done.stderr
    assert (folder / "there.ged").read_text() == "a diary"
    assert (folder / "holm.ged").read_text() == TREE

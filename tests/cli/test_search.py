"""`show`, `find` and `list`: everything about one thing, everything that has the words, and lists that combine."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest
from building import archive_with
from commands import run_command
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.cli.documents import documents
from kinphoto.cli.main import run

DOCUMENTS = documents()

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 BIRT
2 DATE 2 MAY 1917
1 DEAT
2 DATE 1961
0 @I2@ INDI
1 NAME Tom /Holm/
1 SEX M
1 BIRT
2 DATE 1915
1 DEAT
2 DATE 1980
0 @F1@ FAM
1 HUSB @I2@
1 WIFE @I1@
0 TRLR
"""


class Terminal:
    """Commands typed in the folder of the archive."""

    def __init__(self, patch: pytest.MonkeyPatch, capture: pytest.CaptureFixture[str]) -> None:
        self._patch, self._capture = patch, capture

    def type(self, *words: str, fails: int = 0) -> str:
        """Standard output; standard error of a command that fails."""
        self._patch.setattr(sys, "argv", ["kinphoto", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = self._capture.readouterr()
        assert int(ended.value.code or 0) == fails, err
        return err if fails else out

    def document(self, *words: str) -> Any:
        """What is printed with --json; every field is described."""
        found = json.loads(self.type(*words, "--json"))
        assert _fields(found) <= set(DOCUMENTS[words[0]])
        return found


def _fields(document: Any, path: str = "") -> set[str]:
    if isinstance(document, dict):
        return {f for k, v in document.items() for f in _fields(v, f"{path}.{k}" if path else k)}
    if isinstance(document, list):
        return {f for v in document for f in _fields(v, f"{path}[]")}
    return set() if document is None else {path}


@pytest.fixture
def terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Terminal:
    """An archive of two people and five photographs in two boxes; K00001 has all that a photograph can have."""
    archive = archive_with(tmp_path, TREE)
    make_scans(tmp_path / "scans", 6, seed=5)
    archive.scans.add([tmp_path / "scans"])
    archive.scans.join(["K1", "K2"], "back")
    archive.photographs.move(["K1", "K3"], "Tin trunk")
    archive.photographs.move(["K4", "K5"], "Blue album")
    archive.photographs.nest_container("Blue album", "Tin trunk")
    archive.statements.link(Link(photograph="K1", person="I1", age="seven", region="0.4,0.3,0.1,0.1", by="Aunt Edda"))
    archive.statements.link(Link(photograph="K1", person="-", region="0.6,0.3,0.1,0.1"))
    archive.statements.link(Link(photograph="K1", person="I2", denied=True))
    archive.statements.link(Link(photograph="K4", person="I1"))
    archive.statements.link(Link(photograph="K4", person="I2"))
    archive.statements.record(
        NewClaim(photograph="K1", kind="caption", date="1924", text="Skerry Point", by="Aunt Edda")
    )
    archive.statements.relate(Tie(photograph="K1", relation="same day", other="K3"))
    archive.photographs.describe("K1", Description(title="At the light", place="Skerry", note="torn\nbelow"))
    monkeypatch.chdir(tmp_path / "archive")
    monkeypatch.delenv("KINPHOTO_ARCHIVE", raising=False)
    return Terminal(monkeypatch, capsys)


def test_everything_about_one_photograph(terminal: Terminal) -> None:
    """Files with side and size, where it lies, faces and statements with their ids, the date and why in three lines."""
    shown = terminal.document("show", "K00001")["photograph"]
    assert [scan["side"] for scan in shown["scans"]] == ["recto", "verso"]
    assert shown["boxes"] == ["Tin trunk"]
    assert (shown["place_in_box"], shown["box_size"], shown["after"]) == (1, 2, "K00003")
    assert shown["aliases"] == ["K00002"]
    ada, nobody, tom = shown["faces"]
    assert (ada["person"], ada["name"], ada["years"], ada["ages"][0]["low"]) == ("I1", "Ada Marsh", "1917 to 1961", 7)
    assert (nobody["person"], nobody["region"] is not None) == (None, True)
    assert (tom["person"], tom["denied"]) == ("I2", True)
    assert {s["kind"]: s["text"] for s in shown["statements"]} == {"inscription": "Skerry Point", "same-occasion": ""}
    assert shown["likely_from"] <= "1924-12-31"
    assert 1 <= len(shown["why"]) <= 3
    text = terminal.type("show", "k1")
    for part in (
        "K00001  At the light", "front ", "back ", "pixels", "In: Tin trunk, number 1 of 2", "Note: torn / below",
        ada["appearance"], ada["region"], ada["ages"][0]["id"], "Ada Marsh (I1, 1917 to 1961), looks 7",
        "not Tom Holm", "inscription “Skerry Point”, 1924, says Aunt Edda", "same occasion K00003",
        "kinphoto explain K00001", shown["why"][0][1:],
    ):  # fmt: skip
        assert part in text


def test_show_a_person_or_a_box_in_short(terminal: Terminal) -> None:
    """With the command that tells more; what is nothing of the three says where to look."""
    person = terminal.document("show", "Ada Marsh")["person"]
    assert (person["id"], person["family"][0]["kin"], len(person["photographs"])) == ("I1", "her husband", 2)
    assert "2 pictures: kinphoto pictures I1" in terminal.type("show", "ada")
    box = terminal.document("show", "Blue album")["box"]
    assert (box["inside"], box["photographs"], box["unnamed"]) == (["Tin trunk"], 2, 1)
    assert 'kinphoto list --box "Blue album"' in terminal.type("show", "Blue album")
    refused = terminal.type("show", "Ada Mrsh", fails=1)
    assert "there is no photograph, person or box called 'Ada Mrsh'. Did you mean Ada Marsh" in refused
    assert "kinphoto find Ada Mrsh" in refused


def test_find_people_boxes_and_words_in_one_answer(terminal: Terminal) -> None:
    """Each with the code to go on with, and with the words that were found as they stand there."""
    assert [one["id"] for one in terminal.document("find", "marsh")["people"]] == ["I1"]
    assert [box["name"] for box in terminal.document("find", "blue")["boxes"]] == ["Blue album"]
    found = terminal.document("find", "skerry")
    assert (found["count"], found["photographs"][0]["code"]) == (1, "K00001")
    assert found["photographs"][0]["words"] == [
        {"kind": "place", "text": "Skerry"}, {"kind": "inscription", "text": "Skerry Point"}
    ]  # fmt: skip
    text = terminal.type("find", "ada", "skerr")
    assert "K00001" in text
    assert "inscription: “Skerry Point”" in text
    assert terminal.document("find", "ada", "torn")["count"] == 1
    assert terminal.document("find", "tom", "torn")["count"] == 0


def test_find_nothing(terminal: Terminal) -> None:
    """People of nearly that name are told."""
    assert terminal.document("find", "mersh")["similar"] == [{"id": "I1", "name": "Ada Marsh"}]
    assert "Nothing found for 'xyzzy'" in terminal.type("find", "xyzzy")
    assert "There are no more" in terminal.type("find", "skerry", "--page", "2")


@pytest.mark.parametrize(
    ("options", "codes"),
    [
        ((), ["K00004", "K00005", "K00001", "K00003", "K00006"]),
        (("--undated",), ["K00005", "K00006"]),
        (("--unnamed",), ["K00005", "K00003", "K00006"]),
        (("--undated", "--unnamed"), ["K00005", "K00006"]),
        (("--box", "Tin trunk"), ["K00004", "K00005", "K00001", "K00003"]),
        (("--box", "Blue album", "--unnamed"), ["K00005"]),
        (("--year", "1924", "--box", "Tin trunk"), ["K00001", "K00003", "K00004"]),  # K00004 may be: Ada is in it
        (("--year", "1965-1970", "--box", "Tin trunk"), []),
        (("--disputed",), []),
    ],
)
def test_lists_that_combine(terminal: Terminal, options: tuple[str, ...], codes: list[str]) -> None:
    """All; what has no date, no name; a box with those inside it; a year; together."""
    found = [one["code"] for one in terminal.document("list", *options)["photographs"]]
    assert sorted(found) == sorted(codes)
    if options == ("--box", "Tin trunk"):
        assert set(found[:2]) in ({"K00001", "K00003"}, {"K00004", "K00005"})  # box by box
    assert all(code in terminal.type("list", *options) for code in codes)


def test_a_list_as_a_spreadsheet_that_can_be_read_back(terminal: Terminal, tmp_path: Path) -> None:
    """Rows as any program reads them (Python's csv); filled in, `describe --from` takes title, place and container."""
    text = terminal.type("list", "--csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 5
    first = next(row for row in rows if row["photo"] == "K00001")
    assert (first["title"], first["container"], first["people"]) == ("At the light", "Tin trunk", "Ada Marsh (I1)")
    sheet = tmp_path / "list.csv"
    sheet.write_text(text.replace("At the light", "The light, at dusk".join('""')))
    terminal.type("describe", "--from", str(sheet))
    assert terminal.document("show", "K1")["photograph"]["title"] == "The light, at dusk"


def test_what_a_list_cannot_be_of(terminal: Terminal) -> None:
    """A box that is not there, a year that is none, two forms at once."""
    assert "Did you mean Tin trunk" in terminal.type("list", "--box", "Tin trnk", fails=1)
    assert "nothing was named" in terminal.type("show", " ", fails=1)
    assert "at least one word" in terminal.type("find", "", fails=2)
    assert "'never' is not a year" in terminal.type("list", "--year", "never", fails=1)
    assert "not both" in terminal.type("list", "--csv", "--json", fails=2)


def test_album_pages_are_counted_apart(shared_sample: Archive) -> None:
    """As the page of the boxes counts: 51 photographs, and a page on which some of them are pasted."""
    done = run_command(shared_sample.folder, "list")
    assert done.stdout.endswith("\n51 photographs and 1 album page.\n")

"""Recording as it is typed: the lines people read, the documents scripts read, and every slip answered in one line."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest
from building import archive_with, numbered_tin
from commands import invoked

from kinphoto.archive import Archive
from kinphoto.cli.main import run


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """Ada, two Toms, and three photographs, in the present folder."""
    archive = archive_with(tmp_path, photographs=3)
    archive.people.add("Ada Marsh", born="2 MAY 1917")
    archive.people.add("Tom Marsh", born="1888")
    archive.people.add("Tom Marsh", born="1921")
    monkeypatch.chdir(archive.folder)
    return archive


def typed(*words: str) -> list[str]:
    """The lines a command that succeeds prints."""
    done = invoked(words, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout.splitlines()


def document(*words: str) -> Any:
    """The one JSON document a command prints."""
    return json.loads("\n".join(typed(*words, "--json")))


def test_a_number_is_withdrawn_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As it is explained, and what is answered; what is said of the date without it beforehand comes true."""
    monkeypatch.chdir(numbered_tin(tmp_path).folder)

    def explained() -> list[str]:
        return [line.strip() for line in typed("explain", "K2")]

    clue = "Its number 12 comes between 11 of 1931 and 14 of 1934. Without it: "
    [line] = [line for line in explained() if line.startswith(clue)]
    without = line.removeprefix(clue).removesuffix(".  [N2]")
    assert "  N2     number 12" in typed("show", "K2")
    assert typed("withdraw", "N2") == ["N2 (the number 12 of K00002) is withdrawn. To undo this: kinphoto undo 24"]
    assert explained()[2].startswith(f"{without[0].upper()}{without[1:]}, about ")
    assert "number" not in " ".join(explained())
    assert "  N2     number 12, withdrawn" in typed("show", "K2")
    assert typed("log", "--most", "1")[0].endswith("withdrew N2, the number 12 of K00002")
    assert typed("undo")[0].startswith("Undone: change 24 (withdrew N2, the number 12 of K00002).")
    assert line in explained()


def test_an_evening_of_recording(archive: Archive) -> None:
    """What is typed, and what is answered."""
    assert typed("link", "K1", "Ada Marsh", "--age", "6-8", "--region", "0.4,0.3,0.1,0.1", "--by", "Edda") == [
        "K00001: Ada Marsh (X1), looks 6 to 8 [A1]",
        # as the sum over days of docs/method.md has it: 90 % from July 1920 to autumn 1930, half until March 1925
        "Date of K00001: between 1920 and 1930, about 1925 (worked out).",
    ]
    assert typed("link", "K1", "-", "--age", "6m")[0] == "K00001: somebody not identified yet, looks 6 months [A2]"
    assert typed("link", "K1", "X2", "--region", "0.4,0.3,0.1,0.1")[:2] == [
        "K00001: Tom Marsh (X2) [A3]",
        "There is another name on this face (A1): one is right, and neither counts alone.",
    ]
    assert typed("link", "K1", "X2", "--region", "0.4,0.3,0.1,0.1")[0].endswith("(already recorded)")
    assert typed("link", "K2", "ada marsh", "--not")[0] == "K00002: not Ada Marsh (X1) [A4]"
    assert typed("state", "K1", "inscription", "1924?", "--text", "Skerry Point")[0] == (
        "K00001: inscription perhaps 1924 [S3]"
    )
    assert typed("process", "K1", "albumen")[0] == "K00001: process albumen print [S4]"
    assert typed("process", "K2", "nitrate film")[1].startswith("Take care: Nitrate film is a severe fire hazard")
    assert typed("relate", "K1", "part-of", "K3")[0] == "K00001: part-of K00003 [S6]"
    assert typed("describe", "K1", "--title", "At the light") == ["K00001: title: At the light"]
    assert typed("informant", "Edda", "--person", "X1") == ["Edda is X1 in the tree."]
    assert typed("withdraw", "a4") == ["A4 (not Ada Marsh in K00002) is withdrawn. To undo this: kinphoto undo 15"]
    assert typed("undo") == ["Undone: change 15 (withdrew A4, not Ada Marsh in K00002). To redo it: kinphoto undo 16"]
    newest = typed("log", "--most", "2")
    assert newest[0].endswith("undid change 15: withdrew A4, not Ada Marsh in K00002")
    assert newest[1].endswith("(undone by 16)")


def test_faces_are_judged_framed_and_named_as_typed(archive: Archive) -> None:
    """An age judged unseen, a better frame, a name and its being taken off again."""
    assert typed("link", "K1", "-", "--age", "7", "--unseen", "--region", "0.4,0.3,0.1,0.1") == [
        "K00001: somebody not identified yet, looks 7 (judged before the date was seen) [A1]",
        "Date of K00001: not dated yet, between 1826 and 2021.",
    ]
    assert typed("frame", "K1", "a1", "0.41,0.3,0.1,0.12") == ["K00001: R1 is now framed at 0.41, 0.3, 0.1, 0.12"]
    assert typed("frame", "K1", "R1", "0.41,0.3,0.1,0.12") == [
        "K00001: R1 is now framed at 0.41, 0.3, 0.1, 0.12 (as before)"
    ]
    assert typed("link", "K1", "Ada Marsh", "--region", "R1")[0] == "K00001: Ada Marsh (X1) [A1]"
    assert typed("unname", "A1") == [
        "A1 (Ada Marsh (X1) in K00001) is withdrawn. The face stays [A2]. To undo this: kinphoto undo 8"
    ]
    assert document("frame", "K1", "A2", "0.2,0.2,0.1,0.1") == {
        "photograph": "K00001", "region": "R1", "box": [0.2, 0.2, 0.1, 0.1], "changed": True, "change": 9,
    }  # fmt: skip
    typed("link", "K2", "X2")
    assert document("unname", "A3") == {
        "photograph": "K00002", "appearance": "A3", "text": "Tom Marsh (X2) in K00002", "face": None, "change": 11,
    }  # fmt: skip


def test_a_link_ends_with_the_new_date(archive: Archive) -> None:
    """A child born on 2 May 1917 that looks 7 was photographed in the 1920s; a document carries a date too."""
    line = typed("link", "K2", "Ada Marsh", "--age", "7")[-1]
    assert line.startswith("Date of K00002: between 19")
    assert "(worked out)" in line
    done = document("state", "K2", "taken", "1925", "--trust", "certain")
    assert (done["date"]["earliest"], done["date"]["latest"]) == ("1925-01-01", "1925-12-31")
    assert done["misfits"] == []


def test_what_does_not_fit_is_said_at_once(archive: Archive) -> None:
    """Ada is born in 1917: a certain picture of 1905 cannot show her, and the statements that forbid it are told."""
    typed("state", "K2", "taken", "1905", "--trust", "certain", "--by", "Edda")
    lines = typed("link", "K2", "Ada Marsh", "--trust", "certain")
    (because,) = (line for line in lines if line.startswith("This does not fit, because "))
    assert "Ada Marsh was born on 2 May 1917" in because
    assert "K00002 was taken in 1905 (says Edda)" in because
    assert "Ada Marsh is in K00002" not in because
    assert "For possible answers: kinphoto conflicts. To undo this: kinphoto undo 6" in lines
    again = document("link", "K2", "Ada Marsh", "--trust", "certain")
    assert again["misfits"] == [because]
    assert again["date"]["state"] == "disputed"


def test_a_second_age_says_what_it_replaces(archive: Archive) -> None:
    """One person's second look takes the place of the first, which is told; another's stands beside it."""
    typed("link", "K2", "Ada Marsh", "--age", "6-8", "--by", "Edda")
    assert "It replaces the earlier age: looks 6 to 8 (S1)." in typed(
        "link", "K2", "Ada Marsh", "--age", "9", "--by", "Edda"
    )
    assert document("link", "K2", "Ada Marsh", "--age", "30", "--by", "Per")["replaced"] == []
    assert document("link", "K2", "Ada Marsh", "--age", "10", "--by", "Edda")["replaced"] == ["looks 9 (S2)"]


def test_an_album_page_has_no_date(archive: Archive) -> None:
    """Words on it are recorded, and no date is claimed."""
    typed("relate", "K1", "part-of", "K3")
    assert document("state", "K3", "inscription", "--text", "Summers")["date"] is None


def test_documents_carry_the_number_of_the_change(archive: Archive) -> None:
    """So that a script can take back exactly what it did; null when nothing was."""
    done = document("link", "K1", "Ada Marsh")
    assert (done["appearance"], done["person"], done["changed"]) == ("A1", "X1", True)
    assert document("undo", str(done["change"]))["change"] == done["change"]
    assert document("state", "K1", "taken", "1924")["change"] is not None
    assert document("state", "K1", "taken", "1924")["change"] is None
    assert document("informant", "Edda")["person"] is None


def test_a_date_in_the_words_is_offered_and_not_used(archive: Archive) -> None:
    """Recording it afterwards adds it to the same words."""
    words = "Pfingsten 1920, Ada's garden"
    lines = typed("state", "K1", "inscription", "--text", words, "--by", "Edda")
    assert lines[0] == f"K00001: inscription “{words}” [S1]"
    assert "In these words: “Pfingsten 1920” is read as between 22 and 24 May 1920." in lines
    again = "kinphoto state K00001 inscription DATE --text 'Pfingsten 1920, Ada'\"'\"'s garden' --by Edda"
    assert lines[-1] == f"No date is used until you record it: {again}"
    assert document("dates", "K1")["photographs"][0]["best"] is None
    typed("state", "K1", "inscription", "Pfingsten 1920", "--text", words, "--by", "Edda")
    (mark,) = archive.photographs.details("K00001").marks
    assert (mark.id, mark.words, mark.date) == ("S1", words, "between 22 and 24 May 1920")
    typed("undo")
    assert [(mark.id, mark.date) for mark in archive.photographs.details("K00001").marks] == [("S1", "")]


def test_words_of_somebody_else_or_with_a_date_stay_as_they_are(archive: Archive) -> None:
    """A date is added only to the words that the same informant gave without one."""
    typed("state", "K1", "inscription", "--text", "At sea, 1920", "--by", "Per")
    typed("state", "K1", "inscription", "1920", "--text", "At sea, 1920", "--by", "Edda")
    typed("state", "K1", "inscription", "1921", "--text", "At sea, 1920", "--by", "Edda")
    found = [(mark.id, mark.date) for mark in archive.photographs.details("K00001").marks]
    assert sorted(found) == [("S1", ""), ("S2", "1920"), ("S3", "1921")]


def test_words_are_read_without_an_archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As they are typed; what has several meanings is shown with all of them."""
    monkeypatch.chdir(tmp_path)
    assert typed("read", "Whitsun 1900, with Ida, 12/8/1901") == [
        "“Whitsun 1900” is read as between 2 and 4 June 1900.",
        "“12/8/1901” could be 12 August 1901 or 8 December 1901: say which.",
    ]
    assert typed("read", "before the war, Ada") == [
        "“before the war” could be before the First World War (before 1914) or before the Second World War "
        "(before 1939): say which."
    ]
    assert typed("read", "")[0].startswith("There is no date in these words.")
    (one,) = document("read", "Aug. 1900")["dates"]
    assert one == {
        "text": "Aug. 1900", "start": 0, "readings": [{"date": "Aug. 1900", "words": "August 1900"}], "problem": "",
        "certain": True, "impossible": False,
    }  # fmt: skip


def test_a_title_is_as_good_as_a_code(archive: Archive) -> None:
    """Wherever a photograph is named."""
    typed("describe", "K1", "--title", "The ferry at Skerry Point")
    assert typed("state", "ferry at skerry", "taken", "1924")[0].startswith("K00001: taken in 1924")
    assert typed("relate", "K2", "same-occasion", "The ferry at Skerry Point")[0].startswith("K00002: same-occasion")
    assert document("show", "the ferry at skerry point")["photograph"]["code"] == "K00001"


def test_several_frames_at_once(archive: Archive) -> None:
    """A strip of three in one change, undone together; in JSON one entry for each."""
    before = archive.statements.history(1)[0].number
    lines = typed("relate", "K1", "same-strip", "K2", "K3")
    assert [line.split(" [")[0] for line in lines[:2]] == ["K00001: same-strip K00002", "K00001: same-strip K00003"]
    assert lines[2].startswith("Date of K00001: ")
    assert archive.statements.history(1)[0].number == before + 1
    typed("undo")
    recorded = document("relate", "K1", "same-strip", "K2", "K3")["recorded"]
    assert [each["words"] for each in recorded] == ["same-strip K00002", "same-strip K00003"]


def test_frames_of_one_strip(archive: Archive) -> None:
    """As people say it, once however often it is said, also from the other side; undone like anything."""
    assert typed("relate", "K1", "same roll as", "K2")[0].startswith("K00001: same-strip K00002")
    assert not document("relate", "K2", "film strip", "K1")["changed"]
    assert "the same strip of film as K00002" in " ".join(typed("explain", "K1", "--all"))
    typed("undo")
    assert "strip" not in " ".join(typed("explain", "K1", "--all"))


SLIPS = [
    ("state K1 taken 12/8/1900", "could be 12 August 1900 or 8 December 1900. Write the month as a word."),
    ("state K1 taken '08", "could be 1908 or 2008"),
    ("state K1 taken Whitsun", '"Whitsun" has no year. Add it, such as "Whitsun 1931".'),
    (f"state K1 taken {'1' * 10_000}", "is too long for a date. Write it like 1931"),
    ("people add Ida --born Aug.'08", "does not give the year in full"),
    ("people add Ida --born 12/8/1870", "12 August 1870 or 8 December 1870"),
    ("informant J\udcf6rg", "'J\\udcf6rg' is not UTF-8"),
    ("link K1 Bob", "there is nobody called 'Bob'"),
    ("link K1 Tom", "X2"),
    ("link K9 X1", "K9"),
    ("link K1 X1 --region 0.9,0.1,0.3,0.1", "not inside the picture"),
    ("link K1 X1 --region 412,300,80,95", "Divide pixels"),
    ("link K1 X1 --region here", "not a region"),
    ("link K1 X1 --age 300", "nobody is known to have reached 300"),
    ("link K1 X1 --age young", "that means a different age to everybody"),
    ("link K1 X1 --role hiding", "present, likeness, laid-out"),
    ("link K1 X1 --trust utterly", "certain, strong, fair, weak"),
    ("link K1 - --not", "Say who it is not"),
    ("state K1 rumour 1924", "taken, inscription"),
    ("state K1 taken 31.02.1900x", "cannot be understood"),
    ("state K1 taken", "needs a date or words"),
    ("state K1 taken exif", "records when it was taken"),
    ("state K1 event F1:MARR", "F1"),
    ("state K1 event wedding", "such as F3:MARR"),
    ("process K1 albumin", "Did you mean albumen?"),
    ("process K1 cabinet-card", "'cabinet-card' is a format, not a process"),
    ("format K1 zzz", "Choose one of carte-de-visite"),
    ("relate K1 before K1", "itself"),
    ("relate K1 beside K2", "same-occasion"),
    ("relate K1 same-strip K2 K1", "K00001 cannot be related to itself"),
    ("relate K1 before K9", "K9"),
    ("describe K1", "--title"),
    ("withdraw E5", "there is no statement E5"),
    ("withdraw S99", "no statement S99"),
    ("undo 99", "kinphoto log"),
    ("frame K1 R9 0.1,0.1,0.1,0.1", "there is no R9 in K00001"),
    ("frame K1 Ada 0.1,0.1,0.1,0.1", "'Ada' is not a face"),
    ("unname A9", "there is no name on a picture with the id 'A9'"),
    ("informant Edda --person Bob", "there is nobody called 'Bob'"),
    ("link --from none.csv", "none.csv"),
]


@pytest.mark.parametrize(("words", "answered"), SLIPS)
def test_a_slip_is_answered_in_one_line(
    archive: Archive, words: str, answered: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit status 1, what and where and what next on standard error, nothing on standard output, nothing changed."""
    lines = len(archive.statements.history())
    monkeypatch.setattr(sys, "argv", ["kinphoto", *words.split()])
    with pytest.raises(SystemExit) as ended:
        run()
    out, err = capsys.readouterr()
    assert (ended.value.code, out) == (1, "")
    assert len(err.splitlines()) == 1
    assert answered in err
    assert len(archive.statements.history()) == lines


@pytest.mark.parametrize(
    "words",
    [
        "link",
        "link K1",
        "state K1",
        "relate K1 before",
        "process K1",
        "describe",
        "undo x",
        "link K1 X1 --from a",
        "link K1 X1 --unseen",
    ],
)
def test_what_is_missing_is_wrong_usage(archive: Archive, words: str) -> None:
    """Exit status 2, as for any command line that cannot be understood."""
    assert invoked(words.split()).exit_code == 2


def test_a_spreadsheet_with_bad_rows_tells_a_script_which(
    archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One document on standard output and one line on standard error; with --keep-going the good rows are applied."""
    sheet = tmp_path / "links.csv"
    sheet.write_text("photo,person,age_from\nK1,Ada Marsh,300\nK2,Ada Marsh,7\n", encoding="utf-8")
    monkeypatch.setattr(sys, "argv", ["kinphoto", "link", "--from", str(sheet), "--json"])
    with pytest.raises(SystemExit):
        run()
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert (told["applied"], [row["line"] for row in told["rejected"]]) == (0, [2])
    assert len(err.splitlines()) == 1
    assert document("link", "--from", str(sheet), "--keep-going")["applied"] == 1

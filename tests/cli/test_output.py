"""What reaches the terminal: names and notes of others are shown, never obeyed."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from building import archive_with
from commands import run_command, with_same_modules
from making import make_scans
from sqlalchemy import update

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.store import tables as t

# ISO 6429 (ECMA-48): ESC ] 0 ; sets the title of the window, CSI 2 J clears it; C1 has CSI as one character. Unicode
# Standard Annex 9: U+202E turns what follows round.
OBEYED = "\x1b]0;owned\x07 \x1b[2J \x9b2J \x7f \u202egnp.exe\u2066 \r\u2028"


def kinphoto(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run it on the archive in this folder."""
    return run_command(folder.parent, *arguments, KINPHOTO_ARCHIVE=str(folder))


def obeyed(printed: str) -> set[str]:
    """The characters in what was printed that a terminal would obey."""
    return set(printed) & (set(OBEYED) - set(" 0123456789J[];.ownedgpx"))


def test_names_and_notes_cannot_steer_the_terminal(tmp_path: Path) -> None:
    """A name with escape codes, from whatever source, is listed as text, in tables and in errors; JSON keeps it."""
    archive = Archive.create(tmp_path / "archive")
    archive.people.add(f"Ada {OBEYED.replace(chr(13), '')} Marsh")
    archive.people.add(f"Ada {OBEYED.replace(chr(13), '')} Holm")
    listed = kinphoto(archive.folder, "people")
    ambiguous = kinphoto(archive.folder, "pictures", "Ada")
    document = kinphoto(archive.folder, "people", "--json")
    assert (listed.returncode, ambiguous.returncode, document.returncode) == (0, 1, 0)
    assert "\\x1b]0;owned\\x07" in listed.stdout
    assert "\\u202e" in ambiguous.stderr
    assert [obeyed(out) for out in (listed.stdout, ambiguous.stderr, document.stdout)] == [set(), set(), set()]
    assert any("\x1b]0;owned\x07 \x1b[2J \x9b2J" in person["name"] for person in json.loads(document.stdout)["people"])


@pytest.mark.skipif(sys.platform == "win32", reason="its file systems take no such names")
def test_times_are_those_of_the_clock_on_the_wall(tmp_path: Path) -> None:
    """In Nepal, 5:45 ahead of UTC, whatever was done at nine in the evening UTC was done the next morning."""
    archive = Archive.create(tmp_path / "archive")
    archive.people.add("Ada Marsh")
    with archive.engine.begin() as connection:
        connection.execute(update(t.change).values(at="2026-03-14T21:00:00+00:00"))
    archive.close()
    printed = run_command(tmp_path, "log", KINPHOTO_ARCHIVE=str(archive.folder), TZ="NPT-5:45").stdout
    assert "2026-03-15 02:45  added Ada Marsh" in printed


def test_a_file_name_of_two_lines_is_one(tmp_path: Path) -> None:
    """Wherever a name stands, a line of the answer stays one; words that somebody wrote in two lines are quoted in one,
    and a spreadsheet has them as they are."""
    archive = archive_with(tmp_path)
    box = tmp_path / "tin\nof letters"
    box.mkdir()
    path = make_scans(tmp_path, 1, seed=1)[0].rename(box / "pier\n\x1b[2J0001.jpg")
    archive.scans.add([box])
    archive.statements.record(NewClaim(photograph="K1", kind="inscription", date="1924", text="Skerry\nPoint"))
    shown = str(path).replace("\n", "\\x0a").replace("\x1b", "\\x1b")
    found = {
        command: kinphoto(archive.folder, *command.split()).stdout
        for command in ("list", "show K1", "scans check", "find pier", "log", "explain K1 --all")
    }
    assert "tin\\x0aof letters:\n" in found["list"]
    assert "  pier\\x0a\\x1b[2J0001.jpg\n" in found["list"]
    assert all(shown in found[command] for command in ("show K1", "scans check"))
    assert "pier\\x0a\\x1b[2J0001.jpg\n" in found["find pier"]
    assert "tin\\x0aof letters\n" in found["log"]
    assert "“Skerry / Point” is written on K00001" in found["explain K1 --all"]
    assert not any("\nof letters" in text or "\nPoint" in text or "\n\x1b" in text for text in found.values())
    [_, row] = csv.reader(io.StringIO(kinphoto(archive.folder, "list", "--csv").stdout))
    assert row[-1] == str(path)


@pytest.mark.skipif(sys.platform == "darwin", reason="its file systems take UTF-8 only")
def test_a_file_name_of_damaged_bytes_is_shown(tmp_path: Path) -> None:
    """A name that is no UTF-8, and one with escape codes, are listed with what to do, in one line each."""
    archive = Archive.create(tmp_path / "archive")
    box = tmp_path / "box"
    box.mkdir()
    for name in (b"caf\xe9.jpg", b"\x1b[2J.jpg"):
        Path(os.fsdecode(os.path.join(os.fsencode(box), name))).write_bytes(b"")  # noqa: PTH118 (of bytes)
    done = kinphoto(archive.folder, "scans", "add", str(box))
    assert done.returncode == 0
    assert "caf\\xe9.jpg: its name is not valid UTF-8" in done.stdout
    assert "\\x1b[2J.jpg: the file is empty" in done.stdout
    assert obeyed(done.stdout) == set()


def test_a_terminal_of_few_letters_gets_the_rest_as_numbers(tmp_path: Path) -> None:
    """What the terminal's encoding lacks is no reason to break off in the middle. A new interpreter finds that out."""
    archive = Archive.create(tmp_path / "archive")
    archive.people.add("Łucja Marsh")
    done = subprocess.run(
        [sys.executable, "-c", "from kinphoto.cli.main import run; run()", "people"], capture_output=True, check=False,
        env={**with_same_modules(), "KINPHOTO_ARCHIVE": str(archive.folder), "PYTHONIOENCODING": "latin-1"},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"\\u0141ucja Marsh" in done.stdout


def test_a_spreadsheet_is_utf_8_whatever_the_terminal_is(tmp_path: Path) -> None:
    """What goes into a file comes back: a number in place of a letter would become a part of the title."""
    archive = archive_with(tmp_path, scans=1)
    archive.photographs.describe("K1", Description(title="Łódź – 1931"))
    done = subprocess.run(
        [sys.executable, "-c", "from kinphoto.cli.main import run; run()", "list", "--csv"],
        capture_output=True, check=False,
        env={**with_same_modules(), "KINPHOTO_ARCHIVE": str(archive.folder), "PYTHONIOENCODING": "latin-1"},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert next(csv.DictReader(io.StringIO(done.stdout.decode("utf-8-sig"))))["title"] == "Łódź – 1931"

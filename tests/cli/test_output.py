"""What reaches the terminal: names and notes of others are shown, never obeyed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from commands import run_command, with_same_modules

from kinphoto.archive import Archive
from kinphoto.cli.output import printable

# ISO 6429 (ECMA-48): ESC ] 0 ; sets the title of the window, CSI 2 J clears it; C1 has CSI as one character. Unicode
# Standard Annex 9: U+202E turns what follows round.
OBEYED = "\x1b]0;owned\x07 \x1b[2J \x9b2J \x7f \u202egnp.exe\u2066 \r\u2028"


def kinphoto(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run it on the archive in this folder."""
    return run_command(folder.parent, *arguments, KINPHOTO_ARCHIVE=str(folder))


def obeyed(printed: str) -> set[str]:
    """The characters in what was printed that a terminal would obey."""
    return set(printed) & (set(OBEYED) - set(" 0123456789J[];.ownedgpx"))


def test_what_a_terminal_obeys_is_written_out() -> None:
    """Each control is shown as its number; ordinary letters of any script, tabs and line ends stay as they are."""
    assert printable("Ada\x1b[31m") == "Ada\\x1b[31m"
    assert printable("\x9b2J\u202eA\udcff") == "\\x9b2J\\u202eA\\xff"
    assert printable("Łucja עדה\u200f\t\r\nnext") == "Łucja עדה\u200f\t\nnext"


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

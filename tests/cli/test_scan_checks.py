"""`kinphoto scans check`, `accept` and `floor` as a person and a script meet them."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
from commands import run_command
from scanned_prints import Print, as_jpeg, photograph, scanned

from kinphoto.archive import Archive


@cache
def coarse() -> bytes:
    """The file of a scan of 150 ppi."""
    return as_jpeg(scanned(photograph("coffee"), Print(size=(900, 700), margin=40, border=20), 3), ppi=150)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An archive with one scan of 150 ppi, which is in no other way at fault."""
    (tmp_path / "box").mkdir()
    (tmp_path / "box" / "coarse.jpg").write_bytes(coarse())
    Archive.create(tmp_path / "archive").scans.add([tmp_path / "box"])
    return tmp_path / "archive"


def test_a_finding_in_words(folder: Path) -> None:
    """What was measured, the limit with its source, what to do, and the largest good print."""
    lines = run_command(folder, "scans", "check").stdout.splitlines()
    assert lines[0] == "1 scan checked: 1 to scan again."
    assert "Too few pixels per inch [ppi-low]: 150 ppi (15.3 × 12 cm)." in lines[3]
    assert "Limit: 400 ppi for a print (NARA, 36 CFR 1236.50" in lines[4]
    assert "Scan it again at 400 ppi or more." in lines[5]
    assert lines[6].strip().startswith("Largest good print: 8.3 × 6.6 cm")


def test_the_same_for_a_script(folder: Path) -> None:
    """One document, with numbers beside the words."""
    found = json.loads(run_command(folder, "scans", "check", "coarse.jpg", "--json").stdout)
    assert (found["checked"], found["measured"], found["redo"]) == (1, 1, 1)
    (scan,) = found["scans"]
    assert (scan["photograph"], scan["verdict"], scan["up"]) == ("K00001", "redo", "unsure")
    (finding,) = scan["findings"]
    assert (finding["kind"], finding["weight"], finding["value"], finding["accepted"]) == (
        "ppi-low",
        "redo",
        150,
        False,
    )


def test_accepted_it_stays_quiet_and_all_shows_it(folder: Path) -> None:
    """In the words of whoever accepted it."""
    done = run_command(folder, "scans", "accept", "K00001", "ppi-low", "--why", "all that is left of it")
    assert done.stdout == "K00001: “too few pixels per inch” is not brought up again.\n"
    assert run_command(folder, "scans", "check").stdout == "1 scan checked: 1 good.\n"
    assert "Accepted: all that is left of it." in run_command(folder, "scans", "check", "--all").stdout
    run_command(folder, "undo")
    assert "1 to scan again" in run_command(folder, "scans", "check").stdout


def test_a_floor_is_set_shown_and_set_back(folder: Path) -> None:
    """150 for prints, so that nothing is found; the usual 400 is named beside it."""
    assert "150 ppi (usually 400)  a print: set here" in run_command(
        folder, "scans", "floor", "print", "150"
    ).stdout.replace("  150", "150")
    assert run_command(folder, "scans", "check").stdout.startswith("1 scan checked")
    assert "400 ppi  a print" in run_command(folder, "scans", "floor", "print", "--usual").stdout
    refused = run_command(folder, "scans", "floor", "print")
    assert refused.returncode == 1
    assert "no resolution was given" in refused.stderr


def test_what_is_not_there_is_refused_in_one_line(folder: Path) -> None:
    """A scan, and a finding."""
    for arguments in (("check", "nothing.jpg"), ("accept", "K00001", "sharpnes"), ("accept", "K00009", "cut")):
        refused = run_command(folder, "scans", *arguments)
        assert (refused.returncode, refused.stderr.count("\n"), refused.stdout) == (1, 1, "")

"""Scans found again by their content after their folder was moved or renamed outside."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.errors import InvalidValueError, NotFoundError


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two boxes with three scans each, K00001 to K00006."""
    rng = np.random.default_rng(1)
    for box in ("attic", "cellar"):
        folder = tmp_path / "scans" / box
        folder.mkdir(parents=True)
        for number in range(3):
            pixels = rng.integers(0, 256, (40, 60), dtype=np.uint8)
            Image.fromarray(pixels).save(folder / f"{box}_{number}.png")
    found = Archive.create(tmp_path / "archive")
    found.scans.add([tmp_path / "scans"])
    return found


def path_of(archive: Archive, code: str) -> str:
    """Where the only scan of a photograph is."""
    return archive.photographs.details(code, for_anybody=False).scans[0].path


def test_a_renamed_folder_is_found_in_one_step(archive: Archive, tmp_path: Path) -> None:
    """Codes and boxes stay, nothing is added, and one undo puts everything back as it was."""
    (tmp_path / "scans").rename(tmp_path / "family scans")
    number = archive.statements.history(1)[0].number
    found = archive.scans.find_again()
    assert (found.missing, len(found.found), found.still_missing) == (6, 6, ())
    assert [(Path(one.old).name, Path(one.new).parent.name, one.scans) for one in found.folders] == [
        ("attic", "family scans", 3),
        ("cellar", "family scans", 3),
    ]
    assert path_of(archive, "K00001") == str(tmp_path / "family scans" / "attic" / "attic_0.png")
    assert [box.name for box in archive.photographs.containers() if box.tally.photographs] == ["attic", "cellar"]
    assert archive.statements.history(1)[0].number == number + 1
    archive.statements.undo()
    assert path_of(archive, "K00001") == str(tmp_path / "scans" / "attic" / "attic_0.png")


def test_files_renamed_on_the_way_are_found_and_new_ones_are_not_added(archive: Archive, tmp_path: Path) -> None:
    """Names do not matter; a scan that the archive has never seen stays outside."""
    target = tmp_path / "disk" / "2026"
    target.mkdir(parents=True)
    for number, file in enumerate(sorted((tmp_path / "scans" / "attic").iterdir())):
        file.rename(target / f"IMG_{number:04}.png")
    shutil.copy(target / "IMG_0000.png", target / "IMG_0000 copy.png")
    Image.new("L", (40, 60), 7).save(target / "new.png")
    found = archive.scans.find_again([tmp_path / "disk"])
    assert (found.missing, len(found.found)) == (3, 3)
    assert path_of(archive, "K00001") == str(target / "IMG_0000.png")
    assert archive.scans.find_again([tmp_path / "disk"]).missing == 0
    assert archive.scans.findings().checked == 6


def test_what_is_not_found_is_named_with_a_file_of_the_same_name(archive: Archive, tmp_path: Path) -> None:
    """One was deleted; of another there is a file of its name with other content."""
    attic = tmp_path / "scans" / "attic"
    (attic / "attic_0.png").unlink()
    (tmp_path / "scans" / "edited").mkdir()
    (attic / "attic_1.png").unlink()
    Image.new("L", (40, 60), 9).save(tmp_path / "scans" / "edited" / "attic_1.png")
    found = archive.scans.find_again()
    assert [(one.photograph, one.namesake) for one in found.still_missing] == [("K00001", None), ("K00002", None)]
    wider = archive.scans.find_again([tmp_path / "scans"])
    assert [one.namesake for one in wider.still_missing] == [None, str(tmp_path / "scans" / "edited" / "attic_1.png")]


def test_where_nothing_is_missing_or_nothing_is_left_it_says_so(archive: Archive, tmp_path: Path) -> None:
    """All there: nothing to do. A place that is not there is refused."""
    assert archive.scans.find_again().missing == 0
    (tmp_path / "scans").rename(tmp_path / "moved")
    with pytest.raises((NotFoundError, InvalidValueError)):
        archive.scans.find_again([tmp_path / "nowhere"])


def test_a_scan_that_was_replaced_keeps_its_names(archive: Archive, tmp_path: Path) -> None:
    """The older file's name, the code of both and the new name lead to one photograph, also after the folder moved."""
    better = tmp_path / "scans" / "attic" / "better.png"
    Image.fromarray(np.random.default_rng(9).integers(0, 256, (80, 120), dtype=np.uint8)).save(better)
    archive.scans.add([tmp_path / "scans"])
    archive.scans.replace("K00001", "K00007")
    (tmp_path / "scans").rename(tmp_path / "elsewhere")
    archive.scans.find_again()
    for name in ("attic_0.png", "better.png", "K00001", "K00007"):
        assert archive.photographs.details(name, for_anybody=False).code == "K00001"

"""Descriptions of faces leave the archive in no output: every one is written, and its bytes are searched."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import numpy as np
import pytest

from kinphoto.archive import Archive
from kinphoto.archive.keeping.restoring import restore
from kinphoto.cli.documents import document
from kinphoto.store import face_file


@pytest.fixture
def compared(archive: Archive) -> Archive:
    """Every face is described, one is named, and everything may go to the household."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    archive.faces.name_together("I1", ["F1"])
    archive.dates.refresh()
    return archive


def signs(archive: Archive) -> list[bytes]:
    """By what a description would be known: its bytes, those of a part of it, and its first numbers as text."""
    with face_file.reading(archive.folder) as file:
        packed = [row[0] for row in file.execute("SELECT descriptor FROM face WHERE descriptor NOT NULL")]
    assert len(packed) == 4
    numbers = [np.frombuffer(each, dtype="<f4") for each in packed]
    texts = [f"{float(number)!r}"[:8].encode() for each in numbers for number in each[:4]]
    return [*(each[:24] for each in packed), *(each.hex()[:32].encode() for each in packed), *texts]


def found_in(folder: Path, wanted: list[bytes]) -> list[str]:
    """The files below a folder that hold one of these, those in archives of files too."""
    held = []
    for path in folder.rglob("*"):
        if path.is_file():
            parts = [path.read_bytes()]
            if zipfile.is_zipfile(path):
                with zipfile.ZipFile(path) as packed:
                    parts += [packed.read(name) for name in packed.namelist()]
            held += [path.name for part in parts if any(sign in part for sign in wanted)]
    return held


def test_the_search_would_find_them(compared: Archive) -> None:
    """In the file where they are."""
    assert found_in(compared.folder, signs(compared)) == ["faces.db"]


def test_they_are_in_no_file_that_is_written(compared: Archive, tmp_path: Path) -> None:
    """Backup, package, copies, site, sheets, labels, tree with pictures: none has them, nor the file they are in."""
    out = tmp_path / "out"
    out.mkdir()
    compared.keep.back_up(out / "backup")
    compared.keep.make_package(out / "packages")
    for audience in ("household", "public"):
        compared.give.write_copies(out / f"copies-{audience}", audience, write=True)
        compared.give.write_site(out / f"site-{audience}", audience, write=True)
    compared.give.write_sheets(out / "sheet.pdf", "Aunt Edda", "household", write=True)
    compared.give.write_labels(out / "labels.pdf", write=True)
    compared.tree.write_file(out / "family.ged")
    assert found_in(out, signs(compared)) == []
    assert not list(out.rglob("faces.db*"))
    assert not any(b"faces.db" in path.read_bytes() for path in out.rglob("*.json"))


def test_they_are_in_no_answer(compared: Archive) -> None:
    """What the methods return, as `--json` prints it, and the words of the history."""
    answers = [
        compared.faces.state(), compared.faces.offers(), compared.faces.alike(), compared.faces.find(),
        compared.asking.name_suggestions("K00002", region="0.4,0.3,0.2,0.2"), compared.asking.candidates("K00001"),
        compared.search.details("K00001"), compared.statements.history(50), compared.photographs.faces("K00001"),
        compared.keep.state(),
    ]  # fmt: skip
    for each in answers:
        text = json.dumps(document(each), default=str).encode()
        assert not [sign for sign in signs(compared) if sign in text]


def test_an_archive_that_is_restored_has_faces_turned_off(compared: Archive, tmp_path: Path) -> None:
    """Whoever gets the backup decides for themselves."""
    compared.keep.back_up(tmp_path / "backup")
    restore(tmp_path / "backup", tmp_path / "again")
    again = Archive.open(tmp_path / "again")
    assert not again.faces.state().on
    assert again.faces.offers() == ()
    again.close()

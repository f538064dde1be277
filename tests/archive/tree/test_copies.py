"""The copies of the trees that were imported."""

from __future__ import annotations

import gzip
import zipfile
from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.tree import copies as tree_copies
from kinphoto.errors import ArchiveError

TREE = "0 HEAD\r\n1 GEDC\r\n2 VERS 5.5.1\r\n1 CHAR ANSEL\r\n0 @I1@ INDI\r\n1 NAME Zo\xe8e /Holm/\r\n0 TRLR"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An archive with one imported tree, whose bytes are no UTF-8."""
    made = Archive.create(tmp_path / "archive")
    (tmp_path / "holm.ged").write_bytes(TREE.encode("latin-1"))
    made.tree.import_file(tmp_path / "holm.ged")
    return made


def copies(archive: Archive) -> list[Path]:
    """What lies in the folder of copies."""
    return sorted((archive.folder / "trees").iterdir())


def test_the_bytes_are_kept(archive: Archive) -> None:
    """One packed file with every byte of the tree; importing the same again makes no second."""
    (copy,) = copies(archive)
    assert gzip.decompress(copy.read_bytes()) == TREE.encode("latin-1")
    archive.tree.import_file(archive.folder.parent / "holm.ged")
    assert copies(archive) == [copy]
    with archive.reading() as connection:
        kept = tree_copies.latest(connection, archive.folder)
    assert (kept.origin.name, kept.version, kept.source.encoding) == ("holm.ged", "5.5.1", "ANSEL")


def test_of_a_package_the_tree_is_kept(archive: Archive, tmp_path: Path) -> None:
    """From a GEDZIP package comes its gedcom.ged."""
    with zipfile.ZipFile(tmp_path / "p.gdz", "w") as package:
        package.writestr("gedcom.ged", "0 HEAD\n1 GEDC\n2 VERS 7.0\n0 TRLR\n")
    archive.tree.import_file(tmp_path / "p.gdz")
    assert b"0 HEAD\n1 GEDC\n2 VERS 7.0\n0 TRLR\n" in [gzip.decompress(c.read_bytes()) for c in copies(archive)]


def test_after_an_undo_it_is_the_tree_before(archive: Archive, tmp_path: Path) -> None:
    """The copy that counts is that of the newest import that stands."""
    (tmp_path / "more.ged").write_text("0 HEAD\n1 GEDC\n2 VERS 7.0\n0 @I2@ INDI\n1 NAME Nis /Holm/\n0 TRLR\n")
    archive.tree.import_file(tmp_path / "more.ged")
    archive.statements.undo()
    with archive.reading() as connection:
        assert tree_copies.latest(connection, archive.folder).origin.name == "holm.ged"


@pytest.mark.parametrize(
    ("harm", "word"),
    [
        (lambda copy: copy.unlink(), "import it again"),
        (lambda copy: copy.write_bytes(copy.read_bytes()[:-12]), "damaged"),
        (lambda copy: copy.write_bytes(gzip.compress(b"0 HEAD\n0 TRLR\n")), "damaged"),
        (lambda copy: copy.write_bytes(b""), "damaged"),
    ],
)
def test_a_copy_that_is_not_good(archive: Archive, harm: object, word: str) -> None:
    """One that is missing (imported before there were copies), cut off or another is refused; a new import heals."""
    (copy,) = copies(archive)
    assert callable(harm)
    harm(copy)
    with archive.reading() as connection, pytest.raises(ArchiveError, match="(?i)" + word):
        tree_copies.latest(connection, archive.folder)
    copy.unlink(missing_ok=True)
    archive.tree.import_file(archive.folder.parent / "holm.ged")
    with archive.reading() as connection:
        assert tree_copies.latest(connection, archive.folder).version == "5.5.1"


def test_no_tree(tmp_path: Path) -> None:
    """An archive without a tree says so."""
    empty = Archive.create(tmp_path / "empty")
    with empty.reading() as connection, pytest.raises(ArchiveError, match="no family tree"):
        tree_copies.latest(connection, empty.folder)

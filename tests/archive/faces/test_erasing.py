"""One switch erases everything; one person's is erased alone and stays away. The bytes of the files are searched."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import face_file


def descriptors(archive: Archive) -> list[bytes]:
    """Every description of a face, as it is kept."""
    with face_file.reading(archive.folder) as file:
        return [row[0] for row in file.execute("SELECT descriptor FROM face WHERE descriptor NOT NULL ORDER BY id")]


def files_with(folder: Path, wanted: bytes) -> list[str]:
    """The files below a folder, free pages and journals included, in which these bytes are."""
    return sorted(path.name for path in folder.rglob("*") if path.is_file() and wanted in path.read_bytes())


@pytest.fixture
def compared(archive: Archive) -> Archive:
    """The archive with all four faces described."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    return archive


def test_off_leaves_not_a_byte(compared: Archive) -> None:
    """Neither a description nor the place of a frame is in any file of the archive, the database's own journal
    (-wal) included, which is open all the while."""
    found = descriptors(compared)
    assert len(found) == 4
    assert all(files_with(compared.folder, each) == ["faces.db"] for each in found)
    compared.asking.name_suggestions("K00001", region="0.34,0.13,0.19,0.22")  # they are in memory too
    compared.faces.turn_off()
    assert [files_with(compared.folder, each) for each in found] == [[]] * 4
    assert [files_with(compared.folder, each[:32]) for each in found] == [[]] * 4  # nor a part of one
    assert not face_file.path_in(compared.folder).exists()
    assert compared.faces.alike().groups == ()
    assert not compared.faces.turn_off().erased


def test_the_file_is_overwritten_before_it_is_removed(compared: Archive, tmp_path: Path) -> None:
    """A second name for the same file shows what is left on the disk: noughts."""
    (tmp_path / "second name").hardlink_to(face_file.path_in(compared.folder))
    compared.faces.turn_off()
    left = (tmp_path / "second name").read_bytes()
    assert left
    assert set(left) == {0}


def test_what_is_deleted_while_it_is_on_is_overwritten(compared: Archive) -> None:
    """Comparing is turned off: the file is still there, and no page of it, used or free, has a description."""
    found = descriptors(compared)
    compared.faces.turn_on("", compare=False)
    assert face_file.path_in(compared.folder).exists()
    assert [files_with(compared.folder, each[:32]) for each in found] == [[]] * 4


def test_one_persons_is_erased_and_stays_away(compared: Archive) -> None:
    """Ada is named in K00001: her face is forgotten, searched again and not described, the others stay; a face that is
    named after her later is forgotten too; taking it back is undoing it."""
    frame = compared.faces.offers(["K00001"])[0].frames[0]
    compared.statements.link(Link(photograph="K00001", person="I1", region=",".join(f"{s:.5f}" for s in frame.box)))
    before = descriptors(compared)
    done = compared.faces.leave_out("Ada Marsh")
    assert (done.erased, done.person) == (1, "I1")
    after = descriptors(compared)
    assert len(after) == 3
    (gone,) = set(before) - set(after)
    assert files_with(compared.folder, gone[:32]) == []
    compared.faces.find()
    compared.faces.find(["K00001"], again=True)
    assert len(descriptors(compared)) == 3
    assert compared.faces.state().left_out == ("Ada Marsh (I1)",)
    compared.faces.accept("K00002")
    compared.statements.link(Link(photograph="K00002", person="I1", region="R2"))
    compared.faces.find()
    assert len(descriptors(compared)) == 2
    compared.statements.undo(done.change)
    compared.faces.find()
    assert len(descriptors(compared)) == 4


def test_only_its_owner_may_read_it(archive: Archive) -> None:
    """As with the password of the pages."""
    assert stat.S_IMODE(face_file.path_in(archive.folder).stat().st_mode) == 0o600


def test_a_damaged_file_is_told_of_and_can_be_erased(archive: Archive) -> None:
    """After a power cut, say."""
    from kinphoto.errors import ArchiveError

    path = face_file.path_in(archive.folder)
    path.write_bytes(b"no database at all" * 100)
    with pytest.raises(ArchiveError, match="Erase it and begin again: kinphoto faces off"):
        archive.faces.state()
    assert archive.faces.turn_off().erased
    assert not archive.faces.state().on

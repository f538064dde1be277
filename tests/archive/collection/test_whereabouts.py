"""Paths of scans are kept relative to the folders they were added from, which can be set anew."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    """A disk with an archive and, beside it, the scans that were added to it."""
    disk = tmp_path / "disk"
    make_scans(disk / "scans" / "box", 4, seed=1)
    archive = Archive.create(disk / "archive")
    archive.scans.add([disk / "scans"])
    archive.close()
    return disk


def paths(archive: Archive) -> list[str]:
    """Where the archive looks for its scans."""
    with archive.reading() as connection:
        return sorted(connection.scalars(t.scan.select().with_only_columns(t.scan.c.path)))


def in_the_file(folder: Path, query: str) -> list[str]:
    """What SQLite itself finds in an archive's database."""
    with closing(sqlite3.connect(folder / "kinphoto.db")) as connection:
        return sorted(row[0] for row in connection.execute(query))


def test_paths_are_kept_relative(disk: Path) -> None:
    """In the file of the database no path of a scan is absolute; everybody who asks is told the whole path."""
    assert all(path.startswith("1:box/") for path in in_the_file(disk / "archive", "SELECT path FROM scan"))
    assert in_the_file(disk / "archive", "SELECT folder FROM container") == ["1:", "1:box", "1:box/box_01"]
    with closing(Archive.open(disk / "archive")) as archive:
        assert all(Path(path).is_file() and Path(path).is_absolute() for path in paths(archive))


def test_an_archive_that_moves_with_its_scans_finds_them(disk: Path, tmp_path: Path) -> None:
    """The whole disk appears under another name: the archive opens, and shows its scans where they are now."""
    there = disk.rename(tmp_path / "another computer")
    with closing(Archive.open(there / "archive")) as archive:
        assert [(each.path, each.files, each.found) for each in archive.scans.roots()] == [(str(there / "scans"), 4, 4)]
        assert all(path.startswith(str(there / "scans" / "box")) for path in paths(archive))
        added = archive.scans.add([there / "scans"])
        assert (added.added, added.unchanged, added.moved_count) == (0, 4, 0)


def test_a_copy_uses_its_own_scans_and_the_original_its_own(disk: Path, tmp_path: Path) -> None:
    """Archive and scans were copied to a second disk while the first one is still there."""
    copy = shutil.copytree(disk, tmp_path / "copy")
    with closing(Archive.open(copy / "archive")) as archive:
        assert all(path.startswith(str(copy)) for path in paths(archive))
    with closing(Archive.open(disk / "archive")) as archive:
        assert all(path.startswith(str(disk)) for path in paths(archive))


def test_an_archive_that_moves_alone_leaves_its_scans_where_they_are(disk: Path, tmp_path: Path) -> None:
    """Nothing is at the same place beside it, or only scans of another family: those are not taken for its own."""
    make_scans(tmp_path / "elsewhere" / "scans" / "box", 4, seed=2)
    (disk / "archive").rename(tmp_path / "elsewhere" / "archive")
    with closing(Archive.open(tmp_path / "elsewhere" / "archive")) as archive:
        assert all(path.startswith(str(disk)) and Path(path).is_file() for path in paths(archive))


def test_a_moved_archive_that_may_only_be_read_finds_its_scans(
    disk: Path, shared: Path, without_rights: object
) -> None:
    """As on a disc that cannot be written to: nothing is written down, and the scans are found all the same."""
    there = shared / "disc"
    shutil.copytree(disk, there)
    for each in (there, *there.rglob("*")):
        each.chmod(0o555 if each.is_dir() else 0o444)
    before = (there / "archive" / "kinphoto.db").read_bytes()
    with without_rights(), closing(Archive.open(there / "archive")) as archive:  # type: ignore[operator]
        assert all(path.startswith(str(there)) for path in paths(archive))
        assert [each.found for each in archive.scans.roots()] == [4]
    assert (there / "archive" / "kinphoto.db").read_bytes() == before


def test_a_folder_above_several_is_set_anew_once(tmp_path: Path) -> None:
    """Two folders were added one after the other; the disk they are on is mounted elsewhere. One command moves both,
    and leaves no line in the log, so that everything can be undone as before."""
    for number, box in enumerate(("box", "tin"), 1):
        make_scans(tmp_path / "old" / box, 2, seed=number)
    with closing(Archive.create(tmp_path / "archive")) as archive:
        archive.scans.add([tmp_path / "old" / "box"])
        archive.scans.add([tmp_path / "old" / "tin"])
        (tmp_path / "old").rename(tmp_path / "new")
        log = archive.statements.history(5)
        assert [each.found for each in archive.scans.roots()] == [0, 0]
        moved = archive.scans.move_root(tmp_path / "old", tmp_path / "new")
        assert [(each.before, each.path, each.found) for each in moved] == [
            (str(tmp_path / "old" / box), str(tmp_path / "new" / box), 2) for box in ("box", "tin")
        ]
        assert archive.statements.history(5) == log
        assert archive.photographs.details("K00003").scans[0].path.startswith(str(tmp_path / "new" / "tin"))
        archive.statements.undo()
        assert len(paths(archive)) == 2
        added = archive.scans.add([tmp_path / "new"])
        assert (added.added, added.unchanged) == (2, 2)


def test_undo_puts_a_scan_back_where_its_folder_is_now(disk: Path, tmp_path: Path) -> None:
    """A photograph was removed before the scans moved; what brings it back knows the new place."""
    with closing(Archive.open(disk / "archive")) as archive:
        archive.photographs.remove(["K00002"])
        (disk / "scans").rename(tmp_path / "new")
        archive.scans.move_root(disk / "scans", tmp_path / "new")
        archive.statements.undo()
        assert len(paths(archive)) == 4
        assert all(Path(path).is_file() for path in paths(archive))


def test_a_scan_is_found_by_the_end_of_its_path_as_before(disk: Path) -> None:
    """Also where that begins in the folder that paths are relative to, or above it."""
    with closing(Archive.open(disk / "archive")) as archive:
        whole = Path(paths(archive)[0])
        for end in (whole, Path(*whole.parts[-4:]), Path(*whole.parts[-3:]), Path(*whole.parts[-2:]), whole.name):
            assert archive.photographs.details(str(end)).scans[0].path == str(whole), end


def test_a_wrong_folder_is_refused_and_says_what_to_do(disk: Path, tmp_path: Path) -> None:
    """One that is not there, one without the scans, one that nothing was added from, a part of one."""
    make_scans(tmp_path / "strange" / "box", 1, seed=3)
    with closing(Archive.open(disk / "archive")) as archive:
        with pytest.raises(NotFoundError, match="no such folder"):
            archive.scans.move_root(disk / "scans", tmp_path / "nowhere")
        with pytest.raises(InvalidValueError, match=r"none of the 4 scans .* are here\. Name the folder that"):
            archive.scans.move_root(disk / "scans", tmp_path / "strange")
        with pytest.raises(NotFoundError, match="no scans were added from this folder"):
            archive.scans.move_root(tmp_path / "strange", disk / "scans")
        with pytest.raises(NotFoundError, match=rf"part of {disk}/scans, which moves as a whole"):
            archive.scans.move_root(disk / "scans" / "box", tmp_path / "strange")
        assert [each.found for each in archive.scans.roots()] == [4]


def test_scans_of_two_folders_are_never_mixed(disk: Path, tmp_path: Path) -> None:
    """Setting one folder where another is would give a file two names in the archive; inside another is fine."""
    with closing(Archive.open(disk / "archive")) as archive:
        shutil.copytree(disk / "scans", tmp_path / "second")
        make_scans(tmp_path / "second" / "tin", 2, seed=7)
        archive.scans.add([tmp_path / "second" / "tin"])
        shutil.copytree(tmp_path / "second" / "tin", disk / "scans" / "box", dirs_exist_ok=True)
        with pytest.raises(InvalidValueError, match="scans of another folder are in that place already"):
            archive.scans.move_root(tmp_path / "second" / "tin", disk / "scans" / "box")
        assert [each.found for each in archive.scans.roots()][1:] == [2]
        shutil.copytree(tmp_path / "second" / "tin", disk / "scans" / "tin")
        archive.scans.move_root(tmp_path / "second" / "tin", disk / "scans" / "tin")
        assert sum(path.startswith(str(disk / "scans" / "tin")) for path in paths(archive)) == 2

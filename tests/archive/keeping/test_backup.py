"""A backup is made while the archive is in use, and gives everything back in another place."""

from __future__ import annotations

import hashlib
import json
import os
import resource
import shutil
import signal
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from building import archive_with, tree_of
from forking import Forked
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.archive.keeping import backup as backing_up
from kinphoto.archive.keeping.backup import CONTENTS, POOL, backups_in
from kinphoto.archive.keeping.restoring import restore
from kinphoto.archive.keeping.unpacking import unpack
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def family(tmp_path: Path) -> Iterator[Archive]:
    """An archive with a tree and six scans that lie elsewhere."""
    with closing(archive_with(tmp_path, tree_of("Ada /Marsh/ 1890"), scans=6)) as archive:
        archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925"))
        yield archive


def bytes_below(folder: Path) -> dict[str, str]:
    """The SHA-256 of every file below a folder."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def rows(folder: Path) -> dict[str, list[object]]:
    """Every row of an archive's tables as SQLite finds it, but for where its scans are on this computer."""
    with closing(sqlite3.connect(folder / "kinphoto.db")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return {
            name: connection.execute(f"SELECT * FROM {name}").fetchall()
            for name in t.metadata.tables
            if name not in ("scan_root", "setting")
        }


def test_a_backup_restored_elsewhere_is_the_same_archive(family: Archive, tmp_path: Path) -> None:
    """The archive and its scans are gone. The restored one has the same rows, the same bytes, and finds its scans; the
    masters were not touched before that."""
    masters = bytes_below(tmp_path / "scans")
    done = family.keep.back_up(tmp_path / "disk" / "backup")
    assert (done.scans, done.not_in_it, done.missing, done.changed, done.unreadable) == (6, 0, [], [], [])
    assert bytes_below(tmp_path / "scans") == masters
    family.close()
    before = rows(family.folder)
    shutil.rmtree(family.folder)
    shutil.rmtree(tmp_path / "scans")
    back = restore(tmp_path / "disk" / "backup", tmp_path / "new" / "family")
    assert (back.scans, back.left_in_place, back.missing, back.damaged) == (6, 0, [], [])
    assert rows(tmp_path / "new" / "family") == before
    assert bytes_below(tmp_path / "new" / "family" / "scans" / "scans") == masters
    with closing(Archive.open(tmp_path / "new" / "family")) as again:
        assert [(each.files, each.found) for each in again.scans.roots()] == [(6, 6)]
        assert again.scans.add([tmp_path / "new" / "family" / "scans"]).unchanged == 6  # by size and time: none is read
        again.tree.write_file(tmp_path / "again.ged")  # the imported file came along


def test_only_what_is_new_is_copied(family: Archive, tmp_path: Path) -> None:
    """The second backup copies nothing, the third the one scan that was added meanwhile."""
    target = tmp_path / "backup"
    assert family.keep.back_up(target).copied == 7  # six scans and the tree
    assert family.keep.back_up().copied == 0
    make_scans(tmp_path / "more", 1, seed=9)
    family.scans.add([tmp_path / "more"])
    done = family.keep.back_up()
    assert (done.copied, done.scans) == (1, 7)
    assert len(bytes_below(target / POOL)) == 8


def test_files_in_the_backup_are_named_after_their_checksum(family: Archive, tmp_path: Path) -> None:
    """Python's own SHA-256 of each file is its name, so that anybody can check it without kinphoto."""
    family.keep.back_up(tmp_path / "backup")
    found = bytes_below(tmp_path / "backup" / POOL)
    assert len(found) == 7
    assert all(Path(name).name.split(".")[0] == sha256 for name, sha256 in found.items())


def test_scans_that_are_still_there_stay_there(family: Archive, tmp_path: Path) -> None:
    """Only the archive's folder was lost: the scans are used from where they are, unless they are wanted in the new
    folder too."""
    family.keep.back_up(tmp_path / "backup")
    back = restore(tmp_path / "backup", tmp_path / "again")
    assert (back.scans, back.left_in_place) == (0, 6)
    with closing(Archive.open(tmp_path / "again")) as again:
        assert [each.path for each in again.scans.roots()] == [str(tmp_path / "scans")]
    assert restore(tmp_path / "backup", tmp_path / "whole", all_scans=True).scans == 6


def test_scans_that_are_not_in_it_are_counted(family: Archive, tmp_path: Path) -> None:
    """Without its scans, and with one that is gone; but one that an earlier backup has is in this one too."""
    assert family.keep.back_up(tmp_path / "small", scans=False).not_in_it == 6
    family.keep.back_up(tmp_path / "backup")
    gone = next((tmp_path / "scans").rglob("*.*"))
    gone.rename(tmp_path / "gone.jpg")
    assert family.keep.back_up(tmp_path / "backup").not_in_it == 0
    assert family.keep.back_up(tmp_path / "backup", scans=False).not_in_it == 0
    late = family.keep.back_up(tmp_path / "late")
    assert (late.not_in_it, late.missing) == (1, [str(gone)])
    shutil.rmtree(tmp_path / "scans")
    back = restore(tmp_path / "late", tmp_path / "again")
    assert [Path(path).name for path in back.missing] == [gone.name]


def test_an_edited_scan_lies_beside_what_it_was(family: Archive, tmp_path: Path) -> None:
    """No copy is ever replaced."""
    family.keep.back_up(tmp_path / "backup")
    before = bytes_below(tmp_path / "backup" / POOL)
    edited = next((tmp_path / "scans").rglob("*.*"))
    edited.write_bytes(edited.read_bytes() + b"edited")
    done = family.keep.back_up()
    assert (done.copied, done.changed) == (1, [str(edited)])
    after = bytes_below(tmp_path / "backup" / POOL)
    assert before.items() < after.items()
    assert len(after) == len(before) + 1


def test_others_write_while_a_backup_is_made(family: Archive, tmp_path: Path) -> None:
    """Each backup is the archive as it was between two changes: its history and its photographs belong together, as
    SQLite's own check of references finds."""
    stop, problems = threading.Event(), []

    def keep_naming() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            try:
                family.statements.record(NewClaim(photograph="K00002", kind="taken", date=str(1900 + number % 90)))
            except Exception as problem:  # told below: this is another thread
                problems.append(problem)
                return

    writer = threading.Thread(target=keep_naming)
    writer.start()
    try:
        folders = [Path(family.keep.back_up(tmp_path / f"backup {number}").folder) for number in range(5)]
    finally:
        stop.set()
        writer.join()
    assert problems == []
    counts = []
    for folder in folders:
        with closing(sqlite3.connect(folder / "kinphoto.db")) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
            said = connection.execute("SELECT count(*) FROM statement").fetchone()[0]
            assert connection.execute("SELECT count(*) FROM change").fetchone()[0] == said + 2  # the tree, the scans
            counts.append(said)
    assert counts == sorted(counts)


def test_a_damaged_copy_is_told_and_mended(family: Archive, tmp_path: Path) -> None:
    """A bit flips on the backup disk. Restoring says which file; `check` finds it and copies it again."""
    family.keep.back_up(tmp_path / "backup")
    copy = max((tmp_path / "backup" / POOL).rglob("*.jpg"), key=lambda path: path.stat().st_size)
    data = bytearray(copy.read_bytes())
    data[len(data) // 2] ^= 1
    copy.write_bytes(data)
    assert len(restore(tmp_path / "backup", tmp_path / "again", all_scans=True).damaged) == 1
    assert family.keep.back_up(check=True).copied == 1
    assert restore(tmp_path / "backup", tmp_path / "mended", all_scans=True).damaged == []


def test_a_damaged_database_is_not_restored(family: Archive, tmp_path: Path) -> None:
    """It is not what was written: the older backup beside it can be named instead."""
    first = family.keep.back_up(tmp_path / "backup", now=NOON - timedelta(days=1))
    second = family.keep.back_up(now=NOON)
    with (Path(second.folder) / "kinphoto.db").open("r+b") as file:
        file.seek(5000)
        file.write(b"?")
    with pytest.raises(ArchiveError, match=r"this backup is damaged.*Use another of the backups beside it"):
        restore(tmp_path / "backup", tmp_path / "again")
    assert restore(first.folder, tmp_path / "again").left_in_place == 6


def test_a_new_folder_is_never_filled_twice(family: Archive, tmp_path: Path) -> None:
    """Nothing is replaced; where there is no backup, that is said."""
    family.keep.back_up(tmp_path / "backup")
    restore(tmp_path / "backup", tmp_path / "again")
    with pytest.raises(ArchiveError, match="there is something in this folder already"):
        restore(tmp_path / "backup", tmp_path / "again")
    with pytest.raises(NotFoundError, match="there is no backup here"):
        restore(tmp_path / "scans", tmp_path / "third")
    with pytest.raises(NotFoundError, match=r"It holds backups: kinphoto keep restore .*backup NEW-FOLDER"):
        unpack(tmp_path / "backup", tmp_path / "third")
    assert not (tmp_path / "third").exists()


def test_places_where_no_backup_may_be(family: Archive, tmp_path: Path) -> None:
    """In the archive or among the scans it would be taken for a part of them; a full folder is somebody else's."""
    with pytest.raises(InvalidValueError, match="no folder for the backup was named"):
        family.keep.back_up()
    for place in (family.folder / "backup", tmp_path / "scans", tmp_path / "scans" / "deep" / "er"):
        with pytest.raises(InvalidValueError, match="a backup cannot be inside"):
            family.keep.back_up(place)
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "to Ada.txt").write_text("Dear Ada")
    with pytest.raises(InvalidValueError, match="holds other things"):
        family.keep.back_up(tmp_path / "letters")
    assert [path.name for path in (tmp_path / "letters").iterdir()] == ["to Ada.txt"]


def test_a_folder_nothing_is_from_any_more_is_no_place_of_scans(family: Archive, tmp_path: Path) -> None:
    """None of its files could be read, or adding them was undone: backups may be there, and nobody is asked to plug in
    its disk."""
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "a.jpg").write_text("Dear Ada")
    family.scans.add([tmp_path / "letters"])
    make_scans(tmp_path / "by mistake", 1, seed=3)
    family.scans.add([tmp_path / "by mistake"])
    family.statements.undo()
    shutil.rmtree(tmp_path / "by mistake")
    assert family.keep.state().away == []
    assert family.keep.back_up(tmp_path / "letters" / "backup").scans == 6


def test_some_older_backups_are_kept(family: Archive, tmp_path: Path) -> None:
    """Sixty daily ones until Sunday 1 March 2026: the last seven days, then the last of each week (a Sunday, by the
    calendar) until five weeks ago, then the last of each month, which of January is the 25th."""
    for day in range(60, -1, -1):
        family.keep.back_up(tmp_path / "backup", scans=False, now=NOON - timedelta(days=day))
    days = [each.name[5:10] for each in backups_in(tmp_path / "backup")]
    week = ["03-01", "02-28", "02-27", "02-26", "02-25", "02-24", "02-23"]
    assert days == [*week, "02-22", "02-15", "02-08", "02-01", "01-25"]


def test_a_full_disk_leaves_earlier_backups_as_they_were(family: Archive, tmp_path: Path) -> None:
    """A limit on the size of files stands in for a full disk, as in tests/store. One line says what to do."""
    family.keep.back_up(tmp_path / "backup", scans=False)
    family.close()
    before = bytes_below(tmp_path / "backup")

    def without_room() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        archive = Archive.open(family.folder)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
        with pytest.raises(ArchiveError) as problem:
            archive.keep.back_up(tmp_path / "backup")
        print(problem.value)

    ended, printed = Forked(without_room).ended()
    assert ended == 0
    assert "Check that the disk" in printed or "Free some space" in printed
    assert bytes_below(tmp_path / "backup") == before


def test_a_backup_that_is_killed_leaves_no_half_of_one(family: Archive, tmp_path: Path) -> None:
    """SIGKILL while scans are being copied: no folder with a date is there, every file in the pool is whole, and the
    next backup finishes the work."""
    family.close()

    def progress(done: int, _total: int) -> None:
        if done == 3:
            os.kill(os.getpid(), signal.SIGKILL)

    killed = Forked(lambda: Archive.open(family.folder).keep.back_up(tmp_path / "backup", progress))
    assert killed.ended()[0] == -signal.SIGKILL
    assert backups_in(tmp_path / "backup") == []
    for name, sha256 in bytes_below(tmp_path / "backup" / POOL).items():
        assert ".part" in name or Path(name).name.split(".")[0] == sha256
    with closing(Archive.open(family.folder)) as again:
        assert again.keep.back_up(tmp_path / "backup").scans == 6
    assert restore(tmp_path / "backup", tmp_path / "new", all_scans=True).damaged == []


def test_what_leads_out_of_the_folder_is_refused(family: Archive, tmp_path: Path) -> None:
    """Somebody wrote `../` into the list of files: nothing is put outside the new folder."""
    done = family.keep.back_up(tmp_path / "backup")
    list_ = Path(done.folder) / CONTENTS
    contents = json.loads(list_.read_text(encoding="utf-8"))
    contents["files"][0]["path"] = "../../outside.jpg"
    list_.write_text(json.dumps(contents), encoding="utf-8")
    with pytest.raises(ArchiveError, match="leads out of its folder"):
        restore(tmp_path / "backup", tmp_path / "deep" / "new", all_scans=True)
    assert not (tmp_path / "outside.jpg").exists()


def test_the_same_disk_is_noticed(family: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two folders of one file system are on one disk; where the system says that they are on two, nothing is said."""
    assert family.keep.back_up(tmp_path / "backup").same_disk == (tmp_path.stat().st_dev == family.folder.stat().st_dev)
    monkeypatch.setattr(backing_up, "disk_of", lambda path: "usb" if "backup" in str(path) else "inside")
    assert not family.keep.back_up(tmp_path / "backup").same_disk

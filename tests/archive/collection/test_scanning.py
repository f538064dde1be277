"""Indexing folders of scans: twice is once, codes follow the bytes, and stopping at any moment loses nothing."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import subprocess
import sys
import time
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from commands import with_same_modules
from forking import Forked
from PIL import Image
from sqlalchemy import Table, func, select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.collection import scanning
from kinphoto.archive.collection.scans_added import FiledScan, ScansAdded
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.scans.thumbnails import thumbnail_path
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An empty archive."""
    return Archive.create(tmp_path / "archive")


@pytest.fixture
def scans(tmp_path: Path) -> Path:
    """A folder for scans."""
    (tmp_path / "scans").mkdir()
    return tmp_path / "scans"


def draw(path: Path, seed: int = 0, **options: object) -> Path:
    """A small picture of its own for each seed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", (30, 20), (seed * 53 % 256, seed * 29 % 256, seed % 7 * 30)).save(path, **options)
    return path


def rows(archive: Archive, table: Table) -> list[dict[str, object]]:
    """Every row of a table."""
    with archive.reading() as connection:
        return [dict(row) for row in connection.execute(select(table).order_by(table.c.id)).mappings()]


def codes(archive: Archive) -> dict[str, str]:
    """The code of each scan's photograph, by the name of its file."""
    with archive.reading() as connection:
        found = connection.execute(
            select(t.scan.c.path, t.photograph.c.code).join(t.photograph, t.scan.c.photograph_id == t.photograph.c.id)
        )
        return {Path(path).name: code for path, code in found}


def counts(result: ScansAdded) -> tuple[int, int, int, int, int, int]:
    """Seen, added, unchanged, moved, changed, unreadable."""
    return (
        result.seen,
        result.added,
        result.unchanged,
        len(result.moved),
        len(result.changed),
        len(result.unreadable),
    )


@pytest.mark.usefixtures("by_processes")
def test_each_new_file_becomes_a_photograph(archive: Archive, scans: Path) -> None:
    """Codes in the order of the names, facts as measured, the day of today, and a thumbnail."""
    draw(scans / "b.jpg", 2, dpi=(600, 600))
    path = draw(scans / "a.png", 1)
    assert counts(archive.scans.add([scans])) == (2, 2, 0, 0, 0, 0)
    assert codes(archive) == {"a.png": "K00001", "b.jpg": "K00002"}
    first, second = rows(archive, t.scan)
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert (first["path"], first["sha256"], first["first_sha256"]) == (str(path), digest, digest)
    assert (first["file_type"], first["width"], first["height"], first["ppi"]) == ("PNG", 30, 20, None)
    assert (second["file_type"], second["ppi"], second["side"], second["first_code"]) == (
        "JPEG",
        600,
        "recto",
        "K00002",
    )
    assert [row["indexed"] for row in rows(archive, t.photograph)] == [date.today().toordinal()] * 2
    assert thumbnail_path(archive.folder / "thumbs", digest).exists()


def test_twice_is_the_same_as_once(archive: Archive, scans: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second time nothing is opened, no process started, nothing logged."""
    for seed in range(3):
        draw(scans / f"{seed}.jpg", seed)
    archive.scans.add([scans])
    before = rows(archive, t.scan), rows(archive, t.change)

    def never(*_: object) -> None:
        raise AssertionError("a file was opened")

    monkeypatch.setattr(scanning, "Workers", never)
    monkeypatch.setattr(scanning, "sha256_at", never)
    assert counts(archive.scans.add([scans])) == (3, 0, 3, 0, 0, 0)
    assert (rows(archive, t.scan), rows(archive, t.change)) == before


def test_the_second_run_does_not_load_what_only_decoding_needs(archive: Archive, scans: Path) -> None:
    """Pillow, numpy and scipy stay out."""
    draw(scans / "a.jpg")
    archive.scans.add([scans])
    code = (
        "import sys\nfrom pathlib import Path\nfrom kinphoto.archive import Archive\n"
        "assert Archive.open(Path(sys.argv[1])).scans.add([sys.argv[2]]).unchanged == 1\n"
        "print([name for name in ('PIL', 'numpy', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(archive.folder), str(scans)],
        env=with_same_modules(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "[]\n"


def test_new_times_on_old_bytes_change_nothing(archive: Archive, scans: Path) -> None:
    """A copy restored from a backup has other times: it is hashed once and then at rest again."""
    path = draw(scans / "a.jpg")
    archive.scans.add([scans])
    os.utime(path, ns=(5, 5))
    assert counts(archive.scans.add([scans])) == (1, 0, 1, 0, 0, 0)
    assert rows(archive, t.scan)[0]["mtime_ns"] == 5


def test_a_renamed_scan_keeps_its_code(archive: Archive, scans: Path) -> None:
    """The same bytes at another path, and nothing at the old one."""
    old = draw(scans / "a.jpg")
    archive.scans.add([scans])
    new = old.rename(scans / "grandmother.jpg")
    result = archive.scans.add([scans])
    assert counts(result) == (1, 0, 0, 1, 0, 0)
    assert result.moved == ((str(old), str(new)),)
    assert codes(archive) == {"grandmother.jpg": "K00001"}


def test_a_renamed_folder_takes_its_container_along(archive: Archive, scans: Path) -> None:
    """The photographs lie in a container of the new name, and the old, empty one is gone."""
    draw(scans / "Box 1" / "a.jpg")
    archive.scans.add([scans])
    (scans / "Box 1").rename(scans / "Green box")
    assert counts(archive.scans.add([scans])) == (1, 0, 0, 1, 0, 0)
    assert [row["name"] for row in rows(archive, t.container)] == ["scans", "Green box"]
    assert rows(archive, t.photograph)[0]["container_id"] == rows(archive, t.container)[1]["id"]


@pytest.mark.usefixtures("by_processes")
def test_in_a_renumbered_series_every_code_follows_its_picture(archive: Archive, scans: Path) -> None:
    """1 to 4 become 2 to 5, and a new picture takes the place of 1."""
    for number in range(1, 5):
        draw(scans / f"{number}.png", number)
    archive.scans.add([scans])
    for number in range(4, 0, -1):
        (scans / f"{number}.png").rename(scans / f"{number + 1}.png")
    draw(scans / "1.png", 77)
    assert counts(archive.scans.add([scans])) == (5, 1, 0, 4, 0, 0)
    assert codes(archive) == {
        "1.png": "K00005",
        "2.png": "K00001",
        "3.png": "K00002",
        "4.png": "K00003",
        "5.png": "K00004",
    }


def test_two_scans_that_swapped_names_are_followed_and_undone(archive: Archive, scans: Path) -> None:
    """Neither path is free at any moment, in the change and in taking it back."""
    draw(scans / "a.png", 1)
    draw(scans / "b.png", 2)
    archive.scans.add([scans])
    before = rows(archive, t.scan)
    (scans / "a.png").rename(scans / "c.png")
    (scans / "b.png").rename(scans / "a.png")
    (scans / "c.png").rename(scans / "b.png")
    assert counts(archive.scans.add([scans])) == (2, 0, 0, 2, 0, 0)
    assert codes(archive) == {"b.png": "K00001", "a.png": "K00002"}
    with archive.working("undo") as work:
        work.undo(2)
    assert rows(archive, t.scan) == before


def test_an_edited_scan_is_reported_and_measured_again(archive: Archive, scans: Path) -> None:
    """Same path, other bytes: code kept, and the bytes as first indexed remembered."""
    path = draw(scans / "a.jpg", 1)
    archive.scans.add([scans])
    first = rows(archive, t.scan)[0]
    Image.new("RGB", (50, 60)).save(path)
    result = archive.scans.add([scans])
    assert counts(result) == (1, 0, 0, 0, 1, 0)
    assert result.changed == (FiledScan(str(path), "K00001"),)
    now = rows(archive, t.scan)[0]
    assert (now["width"], now["height"], now["first_sha256"]) == (50, 60, first["sha256"])
    assert now["sha256"] != first["sha256"]
    assert codes(archive) == {"a.jpg": "K00001"}


def test_a_scan_saved_over_another_is_a_change_of_that_one(archive: Archive, scans: Path) -> None:
    """`b` moved onto `a`: a path is not taken from a scan that has nowhere to go."""
    draw(scans / "a.png", 1)
    draw(scans / "b.png", 2)
    archive.scans.add([scans])
    (scans / "b.png").replace(scans / "a.png")
    assert counts(archive.scans.add([scans])) == (1, 0, 0, 0, 1, 0)
    assert codes(archive) == {"a.png": "K00001", "b.png": "K00002"}
    assert counts(archive.scans.add([scans])) == (1, 0, 1, 0, 0, 0)


def test_a_copy_beside_its_original_is_reported_and_not_added(archive: Archive, scans: Path) -> None:
    """Whether both are new or the original is known; when the original goes, the copy takes its place."""
    original = draw(scans / "a.png")
    copy = Path(shutil.copy(original, scans / "b.png"))
    result = archive.scans.add([scans])
    assert counts(result) == (2, 1, 1, 0, 0, 0)
    assert result.duplicates == ((str(copy), str(original)),)
    assert archive.scans.add([scans]).duplicates == ((str(copy), str(original)),)
    original.unlink()
    assert counts(archive.scans.add([scans])) == (1, 0, 0, 1, 0, 0)
    assert codes(archive) == {"b.png": "K00001"}


def test_a_missing_file_deletes_nothing(archive: Archive, scans: Path) -> None:
    """The disk may only be unplugged."""
    draw(scans / "a.jpg")
    archive.scans.add([scans])
    (scans / "a.jpg").unlink()
    assert counts(archive.scans.add([scans])) == (0, 0, 0, 0, 0, 0)
    assert codes(archive) == {"a.jpg": "K00001"}


@pytest.mark.usefixtures("by_processes")
def test_unreadable_files_are_reported_and_the_rest_go_on(archive: Archive, scans: Path) -> None:
    """They get no code, and are tried again the next time."""
    draw(scans / "b.jpg")
    (scans / "a.jpg").write_bytes(b"")
    (scans / "c.jpg").write_text("a letter")
    result = archive.scans.add([scans])
    assert counts(result) == (3, 1, 0, 0, 0, 2)
    assert {Path(each.path).name: each.why.split(";")[0] for each in result.unreadable} == {
        "a.jpg": "the file is empty (0 bytes)",
        "c.jpg": "it is not a picture file",
    }
    draw(scans / "a.jpg", 9)
    assert counts(archive.scans.add([scans])) == (3, 1, 1, 0, 0, 1)


def test_the_archive_s_own_thumbnails_are_no_scans(scans: Path) -> None:
    """An archive may lie among the scans."""
    archive = Archive.create(scans)
    draw(scans / "a.jpg")
    archive.scans.add([scans])
    assert counts(archive.scans.add([scans])) == (1, 0, 1, 0, 0, 0)


def test_containers_nest_as_the_folders_do(archive: Archive, scans: Path) -> None:
    """From the folder that was named; folders added later join those above them."""
    for seed, name in enumerate(("a.jpg", "Album/b.jpg", "Album/Loose/c.jpg", "Attic/Trunk/d.jpg")):
        draw(scans / name, seed)
    archive.scans.add([scans / "Album"])
    archive.scans.add([scans / "Album" / "Loose", scans])
    containers = {row["id"]: row for row in rows(archive, t.container)}
    parents = {
        row["name"]: containers[row["parent_id"]]["name"] if row["parent_id"] else None for row in containers.values()
    }
    assert parents == {"Album": None, "Loose": "Album", "scans": None, "Attic": "scans", "Trunk": "Attic"}
    assert [row["position"] for row in rows(archive, t.photograph)] == [1] * 4


def test_a_container_can_be_named(archive: Archive, scans: Path) -> None:
    """Used again by the same name, with places counted on."""
    draw(scans / "x" / "a.jpg", 1)
    draw(scans / "y" / "b.jpg", 2)
    archive.scans.add([scans / "x"], container="Blue album")
    archive.scans.add([scans / "y"], container="Blue album")
    (container,) = rows(archive, t.container)
    assert (container["name"], container["folder"]) == ("Blue album", None)
    assert [row["position"] for row in rows(archive, t.photograph)] == [1, 2]


def test_a_container_s_name_must_be_plain(archive: Archive, scans: Path) -> None:
    """Two folders of one name need telling apart, and a blank is no name; both before anything is read."""
    draw(scans / "x" / "Box" / "a.jpg", 1)
    draw(scans / "y" / "Box" / "b.jpg", 2)
    archive.scans.add([scans])
    with pytest.raises(AmbiguousError, match="2 boxes are called 'Box'"):
        archive.scans.add([scans], container="Box")
    with pytest.raises(InvalidValueError, match="needs a name"):
        archive.scans.add([scans], container=" ")


def test_a_path_that_is_not_there_is_said(archive: Archive, scans: Path) -> None:
    """And nothing is added from the others."""
    draw(scans / "a.jpg")
    with pytest.raises(NotFoundError, match="no such file"):
        archive.scans.add([scans, scans / "nowhere"])
    assert rows(archive, t.photograph) == []


@pytest.mark.usefixtures("by_processes")
def test_the_whole_command_is_one_line_of_the_log(
    archive: Archive, scans: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many transactions it took; one undo takes all back, and undoing that has them again."""
    monkeypatch.setattr(scanning, "_BATCH_FILES", 2)
    monkeypatch.setattr(scanning, "_BATCH_SECONDS", 60)
    for seed in range(7):
        draw(scans / f"{seed}.jpg", seed)
    archive.scans.add([scans])
    before = rows(archive, t.scan), rows(archive, t.photograph), rows(archive, t.container)
    (line,) = rows(archive, t.change)
    assert line["what"] == f"added 7 scans in {scans}"
    with archive.working("undo") as work:
        work.undo(1)
    assert rows(archive, t.scan) == rows(archive, t.photograph) == rows(archive, t.container) == []
    with archive.working("undo") as work:
        work.undo(2)
    assert (rows(archive, t.scan), rows(archive, t.photograph), rows(archive, t.container)) == before


@pytest.mark.usefixtures("by_processes")
def test_another_change_in_between_begins_a_new_line(
    archive: Archive, scans: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that the log stays in the order in which things were done."""
    monkeypatch.setattr(scanning, "_BATCH_FILES", 2)
    monkeypatch.setattr(scanning, "_BATCH_SECONDS", 60)
    for seed in range(6):
        draw(scans / f"{seed}.jpg", seed)

    def somebody_else(done: int, _total: int) -> None:
        if done == 3:
            with archive.working("named somebody") as work:
                work.insert_one(t.informant, name="Aunt Elsbeth")

    archive.scans.add([scans], progress=somebody_else)
    what = [str(line["what"]).split(" in ")[0] for line in rows(archive, t.change)]
    assert what == ["added 2 scans", "named somebody", "added 4 scans"]


def test_a_code_is_never_given_twice(archive: Archive, scans: Path) -> None:
    """Not even after the photographs that had it were undone."""
    draw(scans / "a.jpg")
    archive.scans.add([scans])
    with archive.working("undo") as work:
        work.undo(1)
    archive.scans.add([scans])
    assert codes(archive) == {"a.jpg": "K00002"}


def test_estimates_do_not_keep_an_indexing_from_being_undone(archive: Archive, scans: Path) -> None:
    """They are derived and go with their photograph."""
    draw(scans / "a.jpg")
    archive.scans.add([scans])
    with archive.working("") as work:
        work.connection.execute(t.estimate.insert().values(photograph_id=1, earliest=1, latest=2, state="open"))
    with archive.working("undo") as work:
        work.undo(1)
    with archive.reading() as connection:
        assert connection.scalar(select(func.count()).select_from(t.estimate)) == 0


@pytest.mark.usefixtures("by_processes")
def test_progress_counts_the_files_that_are_opened(archive: Archive, scans: Path) -> None:
    """To the last one, and never above it."""
    for seed in range(3):
        draw(scans / f"{seed}.jpg", seed)
    calls: list[tuple[int, int]] = []
    archive.scans.add([scans], progress=lambda done, total: calls.append((done, total)))
    assert calls == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.usefixtures("by_processes")
def test_an_interruption_keeps_what_was_measured(archive: Archive, scans: Path) -> None:
    """Ctrl-C after the third of five: three are there, and the next run adds two."""
    for seed in range(5):
        draw(scans / f"{seed}.jpg", seed)

    def ctrl_c(done: int, _total: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        archive.scans.add([scans], progress=ctrl_c)
    assert len(codes(archive)) == 3
    assert counts(archive.scans.add([scans])) == (5, 2, 3, 0, 0, 0)


@pytest.mark.usefixtures("by_processes")
def test_killed_at_any_moment_it_leaves_nothing_half_done(archive: Archive, scans: Path) -> None:
    """SIGKILL ten times, a random moment after a random number of scans (seed 2): scans and photographs match, nothing
    that was kept is lost, and the next run goes on to the end."""
    for seed in range(120):
        draw(scans / f"box {seed % 3}" / f"{seed:03d}.png", seed)
    before = bytes_of(scans)
    archive.close()

    def add() -> None:
        scanning._BATCH_FILES = 5
        Archive.open(archive.folder).scans.add([scans], progress=lambda _done, _total: print("read", flush=True))

    kept, dice = 0, random.Random(2)
    for _ in range(10):
        run = Forked(add)
        for _ in range(dice.randrange(1, 12)):
            assert run.printed.readline() == "read\n"
        time.sleep(dice.uniform(0, 0.05))  # anywhere in the writing of what was read
        run.kill()
        run.ended()
        with closing(Archive.open(archive.folder)) as opened:
            photographs, indexed = rows(opened, t.photograph), rows(opened, t.scan)
        assert [row["id"] for row in photographs] == [row["photograph_id"] for row in indexed]
        assert len(indexed) >= kept
        kept = len(indexed)
    assert 0 < kept < 120
    archive = Archive.open(archive.folder)
    result = archive.scans.add([scans])
    assert (result.added, result.unchanged, result.photographs) == (120 - kept, kept, 120)
    assert counts(archive.scans.add([scans])) == (120, 0, 120, 0, 0, 0)
    assert bytes_of(scans) == before
    with archive.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        assert find_photograph(connection, "119.png")["code"].startswith("K")


def bytes_of(folder: Path) -> dict[Path, bytes]:
    """The bytes of every file below a folder."""
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}

"""Files that are there whole or not at all, also where the program is killed, the disk is full or nothing may be
written."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest

from kinphoto.errors import ArchiveError
from kinphoto.store import atomic
from kinphoto.store.atomic import atomic_write, new_folder, remove, remove_parts

PROBLEM = "the list cannot be written"


def write(path: Path, words: str) -> None:
    """Write a file with these words."""
    with atomic_write(path, PROBLEM) as part:
        part.write_text(words)


def names(folder: Path) -> list[str]:
    """What lies in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_a_file_gets_its_name_when_it_is_finished(tmp_path: Path) -> None:
    """Until then there is what was there before, also for somebody who reads it at that moment."""
    path = tmp_path / "list.txt"
    write(path, "old")
    with atomic_write(path, PROBLEM) as part:
        part.write_text("new")
        assert path.read_text() == "old"
        assert part.parent == tmp_path
    assert path.read_text() == "new"
    assert names(tmp_path) == ["list.txt"]


def test_what_goes_wrong_in_between_changes_nothing(tmp_path: Path) -> None:
    """Whatever it is goes on to whoever asked; nothing half written is left."""
    write(tmp_path / "list.txt", "old")
    with pytest.raises(ZeroDivisionError), atomic_write(tmp_path / "list.txt", PROBLEM) as part:  # noqa: PT012
        part.write_text("half")
        _ = 1 / 0
    assert (tmp_path / "list.txt").read_text() == "old"
    assert names(tmp_path) == ["list.txt"]


def test_whoever_removes_the_part_changes_nothing(tmp_path: Path) -> None:
    """So a file that turns out the same as before is left alone."""
    write(tmp_path / "list.txt", "old")
    before = (tmp_path / "list.txt").stat()
    with atomic_write(tmp_path / "list.txt", PROBLEM) as part:
        part.write_text("old")
        part.unlink()
    assert (tmp_path / "list.txt").stat() == before


def run(code: str, *arguments: object) -> subprocess.Popen[str]:
    """A process of its own that writes a file; `atomic` and `path` are there already."""
    begin = "import sys, time\nfrom pathlib import Path\nfrom kinphoto.store import atomic\npath = Path(sys.argv[1])\n"
    return subprocess.Popen(
        [sys.executable, "-c", begin + code, *map(str, arguments)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(place for place in sys.path if place)},
    )


HALF = """
with atomic.atomic_write(path, "the list cannot be written") as part, part.open("w") as file:
    file.write("half of it")
    file.flush()
    print("half", flush=True)
    time.sleep(60)
"""


def test_a_program_that_is_killed_leaves_the_old_file(tmp_path: Path) -> None:
    """SIGKILL leaves no time to clean up: what it had written lies beside the file until an hour has passed."""
    path = tmp_path / "list.txt"
    write(path, "old")
    process = run(HALF, path)
    assert process.stdout is not None
    assert process.stdout.readline() == "half\n"
    process.kill()
    process.communicate()
    assert process.returncode == -signal.SIGKILL
    assert path.read_text() == "old"
    [left] = [each for each in tmp_path.iterdir() if each != path]
    assert left.read_text() == "half of it"

    write(path, "new")
    assert left.exists()  # somebody may still be at work there
    os.utime(left, (time.time() - 4000,) * 2)
    write(path, "newer")
    assert names(tmp_path) == ["list.txt"]
    assert path.read_text() == "newer"


def test_what_a_process_left_half_written_can_be_removed_at_once(tmp_path: Path) -> None:
    """By its number, for whoever knows that it has ended; what others are writing stays."""
    process = run(HALF, tmp_path / "list.txt")
    assert process.stdout is not None
    process.stdout.readline()
    process.kill()
    process.communicate()
    with atomic_write(tmp_path / "other.txt", PROBLEM) as part:
        part.write_text("ours")
        remove_parts(tmp_path, process.pid)
        assert names(tmp_path) == [part.name]
    assert names(tmp_path) == ["other.txt"]


FULL = """
import resource
resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
from kinphoto.errors import ArchiveError
try:
    with atomic.atomic_write(path, "the list cannot be written", "Make room.") as part:
        part.write_bytes(bytes(20_000))
except ArchiveError as problem:
    print(problem)
"""


def test_a_full_disk(tmp_path: Path) -> None:
    """The system writes no more than 10 kB of it: the old file stays, and it is said what is wrong, where, and what to
    do."""
    path = tmp_path / "list.txt"
    write(path, "old")
    said, _ = run(FULL, path).communicate()
    assert said == f"{path}: the list cannot be written (File too large). Make room.\n"
    assert path.read_text() == "old"
    assert names(tmp_path) == ["list.txt"]


def test_a_folder_that_may_only_be_read(
    shared: Path, without_rights: Callable[[], AbstractContextManager[None]]
) -> None:
    """The file may be written to, but not its folder: nothing changes, and it is said."""
    write(shared / "list.txt", "old")
    (shared / "list.txt").chmod(0o666)
    shared.chmod(0o555)
    with without_rights(), pytest.raises(ArchiveError, match=rf"{PROBLEM} \(Permission denied\)\. Check free space"):
        write(shared / "list.txt", "new")
    assert (shared / "list.txt").read_text() == "old"
    assert names(shared) == ["list.txt"]


def test_something_else_in_the_place(tmp_path: Path) -> None:
    """A folder is no file that could be replaced; a file is no folder to write to."""
    (tmp_path / "list.txt").mkdir()
    with pytest.raises(ArchiveError, match=PROBLEM):
        write(tmp_path / "list.txt", "new")
    assert names(tmp_path) == ["list.txt"]
    (tmp_path / "file").write_text("")
    with pytest.raises(ArchiveError, match=PROBLEM):
        write(tmp_path / "file" / "list.txt", "new")


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_a_file_that_is_replaced_gives_on_its_permissions(tmp_path: Path, mode: int) -> None:
    """Whom it was shared with can read the new one, and nobody else."""
    write(tmp_path / "list.txt", "old")
    (tmp_path / "list.txt").chmod(mode)
    write(tmp_path / "list.txt", "new")
    assert stat.S_IMODE((tmp_path / "list.txt").stat().st_mode) == mode


def test_a_private_file_is_nobody_elses_at_any_moment(tmp_path: Path) -> None:
    """Neither before it has its name nor where it replaces one that everybody could read."""
    write(tmp_path / "keys", "old")
    (tmp_path / "keys").chmod(0o644)
    with atomic_write(tmp_path / "keys", PROBLEM, private=True) as part:
        assert stat.S_IMODE(part.stat().st_mode) == 0o600
        part.write_text("new")
    assert stat.S_IMODE((tmp_path / "keys").stat().st_mode) == 0o600


def test_the_bytes_are_on_the_disk_before_the_name_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the power could go when there is a name and nothing behind it (common practice: fsync the file, rename
    it, fsync the folder). What can be made again need not wait."""
    done: list[str] = []

    def fsync(descriptor: int) -> None:
        is_folder = stat.S_ISDIR(os.fstat(descriptor).st_mode)
        done.append(f"{'folder' if is_folder else 'file'}, {'named' if path.exists() else 'not named'}")

    path = tmp_path / "list.txt"
    monkeypatch.setattr(atomic.os, "fsync", fsync)
    write(path, "new")
    assert done == ["file, not named", "folder, named"]
    with atomic_write(tmp_path / "thumbnail", PROBLEM, durable=False) as part:
        part.write_text("small")
    assert len(done) == 2


def test_a_folder_can_be_made_whole_too(tmp_path: Path) -> None:
    """Whoever comes second finds its equal in the place, and leaves nothing behind."""
    for words in ("first", "second"):
        with atomic_write(tmp_path / "tiles" / "ab", PROBLEM, within=tmp_path, durable=False) as part:
            part.mkdir()
            (part / "0.txt").write_text(words)
    assert (tmp_path / "tiles" / "ab" / "0.txt").read_text() == "first"
    assert names(tmp_path) == ["tiles"]


def test_what_cannot_even_be_looked_for_is_left_alone(tmp_path: Path) -> None:
    """A name longer than the disk takes: whoever cleans up afterwards still gets to tell what went wrong."""
    beside = tmp_path / "beside"
    beside.write_text("kept")
    remove(tmp_path / ("9" * 1000) / "part")
    assert beside.read_text() == "kept"
    remove(beside)
    assert names(tmp_path) == []


def test_a_folder_is_there_when_it_is_whole(tmp_path: Path) -> None:
    """It never takes the place of one that has its name already, and what was begun is gone when something fails."""
    (tmp_path / "package").mkdir()
    with new_folder(tmp_path, "package", "the package cannot be written") as made:
        made.part.mkdir()
        (made.part / "list.txt").write_text("all")
        assert not (tmp_path / "package-2").exists()
    assert made.path == tmp_path / "package-2"
    assert (made.path / "list.txt").read_text() == "all"
    with (  # noqa: PT012
        pytest.raises(ArchiveError, match="the package cannot be written"),
        new_folder(tmp_path, "package", "the package cannot be written") as failed,
    ):
        failed.part.mkdir()
        (failed.part / "no such folder" / "list.txt").write_text("all")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["package", "package-2"]

"""Watching a folder: what is complete, what is being written, what is gone, and a folder that is away."""

from __future__ import annotations

from pathlib import Path
from threading import Event, Thread

from PIL import Image

from kinphoto.scans.watching import SETTLED, FolderLook, WatchedFolder, is_on_network, looks


class Clock:
    """A clock that goes on when it is told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def watched(folder: Path) -> tuple[WatchedFolder, Clock]:
    clock = Clock()
    return WatchedFolder(str(folder), clock=clock), clock


def complete(look: FolderLook) -> list[str]:
    return [Path(each.path).name for each in look.complete]


def test_a_file_is_waited_for_until_it_is_still(tmp_path: Path) -> None:
    """While it grows it is being written, however long; then it is complete, once; and again when it has changed."""
    folder, clock = watched(tmp_path)
    scan = tmp_path / "tin_0001.jpg"
    for size in range(1, 6):
        scan.write_bytes(bytes(size))
        look = folder.look()
        assert (complete(look), look.writing) == ([], (str(scan),))
        clock.now += SETTLED + 0.1
    assert complete(folder.look()) == ["tin_0001.jpg"]
    assert folder.look() == FolderLook()
    scan.write_bytes(bytes(20))
    folder.look()
    clock.now += SETTLED + 0.1
    assert complete(folder.look()) == ["tin_0001.jpg"]


def test_an_empty_file_is_never_complete(tmp_path: Path) -> None:
    """Some scanners make the file first, and write into it when the lamp is back."""
    folder, clock = watched(tmp_path)
    (tmp_path / "tin_0001.jpg").touch()
    folder.look()
    clock.now += 60
    assert complete(folder.look()) == []


def test_a_file_that_vanishes(tmp_path: Path) -> None:
    """Whether it was complete or not."""
    folder, clock = watched(tmp_path)
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / name).write_bytes(b"one")
    folder.look()
    clock.now += SETTLED + 0.1
    folder.look()
    (tmp_path / "c.jpg").write_bytes(b"two")
    folder.look()
    (tmp_path / "a.jpg").unlink()
    (tmp_path / "c.jpg").unlink()
    assert [Path(path).name for path in folder.look().gone] == ["a.jpg", "c.jpg"]


def test_a_folder_that_is_away(tmp_path: Path) -> None:
    """It is gone, or an empty one is in its place, as where a disk was mounted: nothing counts as deleted, and what is
    there afterwards is not new."""
    place = tmp_path / "scans"
    place.mkdir()
    for name in ("a.jpg", "b.jpg"):
        (place / name).write_bytes(b"one")
    folder, clock = watched(place)
    folder.look()
    clock.now += SETTLED + 0.1
    assert complete(folder.look()) == ["a.jpg", "b.jpg"]
    place.rename(tmp_path / "away")
    assert folder.look() == FolderLook(away=True)
    place.mkdir()
    assert folder.look() == FolderLook(away=True)
    place.rmdir()
    (tmp_path / "away").rename(place)
    assert folder.look() == FolderLook()


def test_it_wakes_up_by_itself_and_ends(tmp_path: Path) -> None:
    """The looks go on until they are stopped, whether the system reports or is not asked."""
    for network in (False, True):
        stop, seen = Event(), Event()
        folder = WatchedFolder(str(tmp_path))

        def run(folder: WatchedFolder = folder, stop: Event = stop, seen: Event = seen, there: bool = network) -> None:
            for look in looks(folder, stop, there):
                if look.complete:
                    seen.set()

        thread = Thread(target=run)
        thread.start()
        Image.new("L", (8, 8)).save(tmp_path / f"{network}.png")
        assert seen.wait(30)
        stop.set()
        thread.join(30)
        assert not thread.is_alive()


def test_this_disk_is_here(tmp_path: Path) -> None:
    """A temporary folder is not on the network."""
    assert not is_on_network(str(tmp_path))

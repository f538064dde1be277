"""Watching what a scanner writes: each scan is indexed when it is complete; what goes wrong is said and survived."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Queue
from threading import Event, Thread

import pytest
from PIL import Image
from sqlalchemy import delete

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.settings import keep_setting
from kinphoto.archive.collection import reading_inside, watching
from kinphoto.archive.collection.watching import WatchEvent, WatchEventKind
from kinphoto.errors import ArchiveError, InvalidValueError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "tin"
    made.mkdir()
    return made


def draw(path: Path, seed: int) -> None:
    Image.linear_gradient("L").rotate(17 * seed).resize((60, 40)).save(path)


def titled(path: Path, title: str) -> None:
    """A scan whose file says what it shows."""
    exif = Image.Exif()
    exif[0x010E] = title  # ImageDescription (Exif 2.32)
    Image.linear_gradient("L").resize((50, 40)).save(path, exif=exif)


@contextmanager
def watched(archive: Archive, folder: Path, **more: str) -> Iterator[Callable[[], WatchEvent]]:
    """The folder watched by a thread; what is handed out waits for the next thing that happens."""
    happened: Queue[WatchEvent] = Queue()
    stop = Event()
    thread = Thread(target=archive.scans.watch, args=(folder, happened.put, stop), kwargs=more)
    thread.start()
    try:
        assert happened.get(timeout=60).what is WatchEventKind.STARTED
        yield lambda: happened.get(timeout=60)
    finally:
        stop.set()
        thread.join(60)
    assert not thread.is_alive()


@pytest.fixture
def fine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every picture passes the checks: small ones drawn for a test would not."""
    monkeypatch.setattr(watching, "findings", lambda *_: ())


def test_what_the_checks_find_is_said(archive: Archive, folder: Path) -> None:
    """A scan without its resolution is named while the print is still on the glass, with what to do."""
    with watched(archive, folder) as following:
        draw(folder / "tin_0001.png", 1)
        seen = following()
        [note] = [note for note in seen.notes if "resolution" in note.casefold()]
        assert note.startswith("No resolution in the file")
        assert "Set the resolution in the scanning program" in note
        assert not seen.good


@pytest.mark.usefixtures("fine")
def test_each_scan_as_it_comes(archive: Archive, folder: Path) -> None:
    """Its photograph, the next name and tonight's count; the container is set once."""
    with watched(archive, folder, container="Blue tin") as following:
        for number in (1, 2):
            draw(folder / f"tin_000{number}.png", number)
            seen = following()
            assert (seen.what, seen.photograph, seen.notes) == (WatchEventKind.SCAN, f"K0000{number}", ())
            assert (seen.next, seen.tonight.photographs) == (f"tin_000{number + 1}", number)
            assert seen.good
    assert [box.name for box in archive.photographs.container_names()] == ["Blue tin"]


@pytest.mark.usefixtures("fine")
def test_what_is_odd_about_a_name(archive: Archive, folder: Path, tmp_path: Path) -> None:
    """A number that was left out, a slip in the theme, a name that another scan has."""
    other = tmp_path / "other"
    other.mkdir()
    draw(other / "tin_0005.png", 50)
    archive.scans.add([other])
    with watched(archive, folder, theme="tin") as following:
        for number, name in enumerate(("tin_0001", "tin_0003", "tni_0004", "tin_0005"), 1):
            draw(folder / f"{name}.png", number)
            notes = " ".join(following().notes)
            wanted = {"tin_0003": "tin_0002 was left out", "tni_0004": "begins with tni", "tin_0005": "another scan"}
            assert wanted.get(name, "") in notes
            assert bool(notes) is (name != "tin_0001")


def test_a_file_that_is_cut_off_and_then_whole(
    archive: Archive, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A scanner that pauses: the half file is not added, it is said after a while, and the whole one is."""
    monkeypatch.setattr(watching, "PATIENCE", 0.0)
    draw(tmp_path / "whole.png", 1)
    whole = (tmp_path / "whole.png").read_bytes()
    with watched(archive, folder) as following:
        (folder / "tin_0001.png").write_bytes(whole[: len(whole) // 2])
        seen = following()
        assert (seen.what, seen.good) == (WatchEventKind.UNREADABLE, False)
        assert "cut off" in seen.words or "damaged" in seen.words
        (folder / "tin_0001.png").write_bytes(whole)
        assert following().what is WatchEventKind.SCAN


def test_a_folder_that_drops_and_comes_back(archive: Archive, folder: Path) -> None:
    """It is said once each, nothing is noted as missing, and what came meanwhile is caught up with."""
    with watched(archive, folder) as following:
        for number in (1, 2):
            draw(folder / f"tin_000{number}.png", number)
            following()
        folder.rename(folder.with_name("away"))
        assert following().what is WatchEventKind.AWAY
        draw(folder.with_name("away") / "tin_0003.png", 3)
        folder.with_name("away").rename(folder)
        assert following().what is WatchEventKind.BACK
        seen = following()
        assert (seen.what, Path(seen.path).name) == (WatchEventKind.SCAN, "tin_0003.png")
    assert archive.scans.add([folder]).vanished == ()


def test_a_file_that_vanishes(archive: Archive, folder: Path) -> None:
    """It is said; a file that `scans rename` gave another name is not one, nor is it added twice."""
    with watched(archive, folder) as following:
        for number in (1, 2, 3):
            draw(folder / f"scan{number}.png", number)
            following()
        (folder / "scan3.png").unlink()
        seen = following()
        assert (seen.what, seen.words) == (WatchEventKind.GONE, "scan3.png is gone.")
        archive.scans.rename(["scan1.png"])
        draw(folder / "scan4.png", 4)
        assert Path(following().path).name == "scan4.png"


def test_a_full_disk(archive: Archive, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is said once, tried again, and everything is caught up with when there is room."""
    real, full = watching.add_scans, [True]

    def add(*args: object, **more: object) -> object:
        if full[0]:
            raise ArchiveError("the disk is full", remedy="Free some space.")
        return real(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(watching, "add_scans", add)
    monkeypatch.setattr(watching, "RETRY", 0.05)
    with watched(archive, folder) as following:
        draw(folder / "tin_0001.png", 1)
        seen = following()
        assert (seen.what, seen.words.startswith("The disk is full. Free some space.")) == (WatchEventKind.STUCK, True)
        draw(folder / "tin_0002.png", 2)
        full[0] = False
        assert following().what is WatchEventKind.CAUGHT_UP
        found = {Path(following().path).name}
        if len(found) < 2 and archive.scans.tonight().scans < 2:
            found.add(Path(following().path).name)
    assert archive.scans.tonight().scans == 2


def test_a_second_copy(archive: Archive, folder: Path) -> None:
    """The same bytes under another name: somebody saved the last scan twice."""
    with watched(archive, folder) as following:
        draw(folder / "tin_0001.png", 1)
        following()
        (folder / "tin_0002.png").write_bytes((folder / "tin_0001.png").read_bytes())
        seen = following()
        assert (seen.what, seen.words) == (WatchEventKind.COPY, "tin_0002.png is the same file as tin_0001.png.")
        assert not seen.good


def test_what_is_there_already_is_one_line(archive: Archive, folder: Path) -> None:
    """A folder of many scans is not told one by one."""
    for number in range(1, 7):
        draw(folder / f"tin_000{number}.png", number)
    with watched(archive, folder) as following:
        assert following().words == "6 scans were there already and are added: K00001 to K00006."


def test_no_folder(archive: Archive, tmp_path: Path) -> None:
    """It has to be there at the start, where a slip in its name is likelier than a dropped disk."""
    with pytest.raises(InvalidValueError, match="there is no such folder"):
        archive.scans.watch(tmp_path / "tni", lambda _: None, Event())


def test_the_back_the_rescan_and_their_undoing(archive: Archive, folder: Path) -> None:
    """What the newest scan is to the one before, by one press each."""
    for number in (1, 2, 3):
        draw(folder / f"tin_000{number}.png", number)
    archive.scans.add([folder])
    assert archive.scans.back_of_previous().photograph == "K00002"
    assert [one.photograph for one in archive.scans.latest()] == ["K00002", "K00002", "K00001"]
    archive.statements.undo()
    done = archive.scans.scanned_again()
    assert (done.photograph, Path(done.scan).name) == ("K00002", "tin_0003.png")


def test_the_next_name_follows_the_folder_and_a_new_box_begins_anew(archive: Archive, folder: Path) -> None:
    """As the scans in the folder are called; in a box as its own are, and one with none yet gets its own name."""
    draw(folder / "harbour_0003.png", 1)
    archive.scans.add([folder])
    where = str(folder)
    assert archive.scans.theme_in_use(where) == "harbour"
    assert archive.scans.theme_in_use(where, "From Clara") == "from-clara"
    draw(folder / "harbour_0004.png", 2)
    archive.scans.add([folder], "From Clara")
    assert archive.scans.theme_in_use(where, "From Clara") == "harbour"
    assert archive.scans.theme_in_use(where, "From Clara", "picnic") == "picnic"


def test_the_next_scan_does_not_wait_for_what_earlier_files_say(archive: Archive, folder: Path, tmp_path: Path) -> None:
    """An archive made before files were read for words: while somebody scans only the new file is read, and all others
    the next time that scans are added."""
    box = tmp_path / "box"
    box.mkdir()
    for number in range(reading_inside.A_FEW + 1):
        draw(box / f"{number}.jpg", number)
    titled(box / "0.jpg", "Old words")
    archive.scans.add([box])
    with archive.working("as if files had never been read") as work:
        keep_setting(work.connection, reading_inside.READ_TO, "0")
        work.connection.execute(delete(t.statement))
    with watched(archive, folder) as following:
        titled(folder / "new.jpg", "New words")
        while following().what is not WatchEventKind.SCAN:
            pass
    assert [one.texts for one in archive.scans.written_words()] == [("New words",)]
    draw(box / "more.jpg", 100)
    archive.scans.add([box])
    assert sorted(one.texts for one in archive.scans.written_words()) == [("New words",), ("Old words",)]

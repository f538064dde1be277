"""Everything dated again in the background."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from time import monotonic, sleep

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.dates import background as background_dating
from kinphoto.archive.dates import whole
from kinphoto.archive.dates.background import BackgroundRefresh, Doing
from kinphoto.archive.statements.claims import NewClaim


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two photographs, never dated."""
    return archive_with(tmp_path, scans=2)


@pytest.fixture(autouse=True)
def in_a_process_of_its_own(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two photographs are too many to be dated in this process, but where a test is about just that."""
    if "in_this_process" not in request.node.name:
        monkeypatch.setattr(whole, "HELD", 0)


@pytest.fixture(autouse=True)
def without_standing_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """That process has no low priority: where tests keep all processors busy, its turn might not come for minutes."""
    begin = "import sys; from kinphoto.archive.dates.background import main; sys.exit(main(sys.argv[1:]))"
    monkeypatch.setattr(background_dating, "_COMMAND", (sys.executable, "-c", begin))


@pytest.fixture
def background(archive: Archive) -> Iterator[BackgroundRefresh]:
    """The background, stopped afterwards."""
    made = BackgroundRefresh(archive, quiet=0.05)
    yield made
    made.stop()


def until(true: Callable[[], bool]) -> None:
    """Wait for something that must come about, ten minutes at most: a busy machine may be slow to begin a process."""
    end = monotonic() + 600
    while not true():
        assert monotonic() < end, "it did not come about"
        sleep(0.02)


def test_what_was_changed_before_and_after(archive: Archive, background: BackgroundRefresh) -> None:
    """It dates what was changed before it began, then what is changed after; what is kept is as of that change."""
    assert background.progress().as_of is None
    background.start()
    until(lambda: background.progress().fresh)
    said, _ = archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    assert not background.progress().fresh
    background.poke()
    until(lambda: background.progress().fresh)
    until(lambda: background.progress().doing is Doing.IDLE)
    assert background.progress().as_of == said.change
    assert [d.estimate.edtf for d in archive.dates.kept_estimates(["K1"]).photographs] == ["1924"]


def test_a_family_s_archive_in_this_process(archive: Archive, background: BackgroundRefresh) -> None:
    """Little is dated by the server itself, which then holds what was concluded."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    background.start()
    until(lambda: background.progress().fresh and background.progress().doing is Doing.IDLE)
    assert background._process is None
    assert archive.engine in whole._HELD
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1931"))
    background.poke()
    until(lambda: background.progress().fresh)


def test_in_a_quiet_moment_what_was_changed_is_brought_into_the_file(
    archive: Archive, background: BackgroundRefresh, tmp_path: Path
) -> None:
    """While the pages are served, `kinphoto.db` alone has the newest change soon after nobody changes anything more."""

    def copied() -> list[str]:
        copy = tmp_path / "copy.db"
        shutil.copyfile(archive.folder / "kinphoto.db", copy)
        with closing(sqlite3.connect(f"{copy.as_uri()}?immutable=1", uri=True)) as connection:
            return [name for (name,) in connection.execute("SELECT name FROM person")]

    background.start()
    until(lambda: background.progress().fresh)
    archive.people.add("Ada Marsh")
    assert copied() == []
    background.poke()
    until(lambda: copied() == ["Ada Marsh"])


def test_what_failed_is_told(archive: Archive, background: BackgroundRefresh) -> None:
    """When the process cannot do it, the last line it said is kept until the next try."""
    (archive.folder / "kinphoto.db").rename(archive.folder / "away.db")
    background._fresh = lambda: False  # type: ignore[method-assign]
    background.start()
    until(lambda: background._doing is Doing.FAILED)
    assert "kinphoto.db is missing" in background._why
    (archive.folder / "away.db").rename(archive.folder / "kinphoto.db")
    del background._fresh
    background.poke()
    until(lambda: background.progress().fresh)
    until(lambda: background.progress().why == "")


def test_it_can_be_stopped_at_any_time(archive: Archive) -> None:
    """Before it was started, while it waits and while it works; nothing is left running."""
    BackgroundRefresh(archive).stop()
    waiting = BackgroundRefresh(archive, quiet=1000)
    waiting.start()
    waiting.stop()
    working = BackgroundRefresh(archive, quiet=0)
    working.start()
    until(lambda: working._process is not None)
    process = working._process
    working.stop()
    assert process is not None
    assert process.poll() is not None


def test_the_command(archive: Archive) -> None:
    """By itself it dates everything once; what it cannot do it says in a line."""
    command = [sys.executable, "-m", "kinphoto.archive.dates.background"]
    done = subprocess.run([*command, str(archive.folder)], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
    assert archive.dates.freshness().fresh
    missing = subprocess.run([*command, str(archive.folder / "nothing")], capture_output=True, text=True, check=False)
    assert missing.returncode == 1
    assert missing.stderr.count("\n") == 1
    assert subprocess.run(command, capture_output=True, check=False).returncode == 2

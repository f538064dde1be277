"""While nobody uses the pages, a server makes a backup a day and reads scans again."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from building import archive_with
from sqlalchemy import update

from kinphoto.archive import Archive
from kinphoto.archive.keeping import background
from kinphoto.archive.keeping.background import Upkeep, backup_is_due, is_due, main, portion
from kinphoto.archive.keeping.backup import backups_in
from kinphoto.archive.keeping.notes import BACKUP, read_note, write_note
from kinphoto.store import tables as t
from kinphoto.store.session import deriving


@pytest.fixture
def family(tmp_path: Path) -> Iterator[Archive]:
    """An archive with three scans that were added long ago."""
    with closing(archive_with(tmp_path, scans=3)) as archive:
        long_ago = (datetime.now(UTC) - timedelta(days=100)).isoformat(timespec="seconds")
        with archive.engine.begin() as connection:
            connection.execute(update(t.scan).values(indexed_at=long_ago))
        yield archive


def wait_until(what: Callable[[], bool]) -> None:
    """Wait until it is so, ten minutes at most: a busy machine may be slow to begin a process."""
    end = time.monotonic() + 600
    while not what():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.02)


def test_scans_are_read_while_nobody_asks_for_pages(family: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """A process of its own does it; then nothing is due any more, and the history has no line of it."""
    begin = "import sys; from kinphoto.archive.keeping.background import main; sys.exit(main(sys.argv[1:]))"
    monkeypatch.setattr(background, "_COMMAND", (sys.executable, "-c", begin))  # without its low priority
    log = family.statements.history(9)
    upkeep = Upkeep(family.engine, idle=0.0, look=0.02)
    upkeep.start()
    try:
        wait_until(lambda: family.keep.state().overdue == 0)
    finally:
        upkeep.stop()
    assert family.statements.history(9) == log
    with family.reading() as connection:
        assert not is_due(connection)


def test_nothing_is_done_while_somebody_asks_for_pages(family: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is put off as long as requests come."""
    done: list[bool] = []
    looked: list[bool] = []
    monkeypatch.setattr(Upkeep, "_one_portion", lambda self: done.append(True))
    monkeypatch.setattr(background, "monotonic", lambda: looked.append(True) or time.monotonic())
    upkeep = Upkeep(family.engine, idle=3600.0, look=0.01)
    upkeep.start()
    try:
        wait_until(lambda: len(looked) > 5)
        assert done == []
        upkeep._idle = 0.0
        wait_until(lambda: bool(done))
    finally:
        upkeep.stop()


def test_one_backup_a_day(family: Archive, tmp_path: Path) -> None:
    """None unless it was asked for; one when the last is of yesterday; none when the disk is not plugged in."""
    with family.reading() as connection:
        assert not backup_is_due(connection)
    family.keep.back_up(tmp_path / "disk")
    family.keep.set_daily(wanted=True)
    with family.reading() as connection:
        assert not backup_is_due(connection)
    with deriving(family.engine) as connection:
        note = read_note(connection, BACKUP)
        assert note is not None
        yesterday = (datetime.now(UTC) - timedelta(days=1)).isoformat(timespec="seconds")
        write_note(connection, BACKUP, {**note, "at": yesterday})
    (tmp_path / "disk").rename(tmp_path / "unplugged")
    with family.reading() as connection:
        assert not backup_is_due(connection)
    (tmp_path / "unplugged").rename(tmp_path / "disk")
    before = len(backups_in(tmp_path / "disk"))
    portion(family.engine)
    assert len(backups_in(tmp_path / "disk")) >= before
    with family.reading() as connection:
        assert not backup_is_due(connection)
    family.keep.set_daily(wanted=False)
    assert family.keep.state().daily is None


def test_the_command_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One line and a status: no archive, no folder named."""
    assert main([str(tmp_path)]) == 1
    assert "there is no archive here" in capsys.readouterr().err
    assert main([]) == 2
    assert background.NICE > 0

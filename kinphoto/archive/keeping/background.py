"""What a server does for the archive while nobody uses its pages: a backup a day, and reading scans again.

`python -m kinphoto.archive.keeping.background DIR` does one portion of it, with low priority, and ends. A server has
one `Upkeep`, which learns of every request; when none came for a while and something is due, it runs that command.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from time import monotonic

from sqlalchemy import Connection, Engine

from kinphoto.archive.keeping.backup import back_up
from kinphoto.archive.keeping.fixity import overdue, verify
from kinphoto.archive.keeping.notes import BACKUP, DAILY, read_note
from kinphoto.errors import KinphotoError
from kinphoto.store import opening, root_rows
from kinphoto.store.session import reading

IDLE = 120.0
"""Seconds without a request before something is done."""
LOOK = 60.0
"""Seconds between looks."""
NICE = 19
_COMMAND = (sys.executable, "-m", "kinphoto.archive.keeping.background")
_PORTION = 0.5  # minutes of reading, after which it is looked again whether anybody uses the pages
_AGAIN_AFTER = timedelta(days=60)  # so that a server which runs now and then reads all in a quarter of a year
_DAILY = timedelta(hours=20)


class Upkeep:
    """Keeps the archive of a server while nobody uses its pages."""

    def __init__(self, engine: Engine, idle: float = IDLE, look: float = LOOK) -> None:
        self._engine, self._idle, self._look = engine, idle, look
        self._seen = monotonic()
        self._stopping = Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._thread: Thread | None = None

    def start(self) -> None:
        """Begin to watch."""
        self._thread = Thread(target=self._run, name="upkeep", daemon=True)
        self._thread.start()

    def noticed(self) -> None:
        """Somebody asked for a page."""
        self._seen = monotonic()

    def stop(self) -> None:
        """End the thread and the process, if there is one; what that had done is kept."""
        self._stopping.set()
        process = self._process
        if process is not None:
            process.terminate()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        while not self._stopping.wait(self._look):
            if monotonic() - self._seen < self._idle:
                continue
            with suppress(KinphotoError, OSError):  # tried again at the next look
                self._one_portion()

    def _one_portion(self) -> None:
        with reading(self._engine) as connection:
            if not is_due(connection):
                return
        command = [*_COMMAND, str(opening.folder_of(self._engine).absolute())]
        nothing = subprocess.DEVNULL
        self._process = subprocess.Popen(command, stdin=nothing, stdout=nothing, stderr=nothing)
        if self._stopping.is_set():
            self._process.terminate()
        self._process.wait()
        self._process = None


def is_due(connection: Connection) -> bool:
    """Whether there is anything to do."""
    return backup_is_due(connection) or overdue(connection, _AGAIN_AFTER) > 0


def backup_is_due(connection: Connection) -> bool:
    """Whether one is wanted every day, the last is of an earlier day, and the place for it is there."""
    daily, last = read_note(connection, DAILY), read_note(connection, BACKUP)
    if daily is None or not Path(daily["target"]).is_dir():
        return False
    return last is None or datetime.now(UTC) - datetime.fromisoformat(last["at"]) > _DAILY


def portion(engine: Engine) -> None:
    """One portion of what is due."""
    with reading(engine) as connection:
        backup = backup_is_due(connection)
        target = (read_note(connection, DAILY) or {}).get("target")
    if backup:
        back_up(engine, target)
    else:
        verify(engine, _PORTION, younger_than=_AGAIN_AFTER)


def main(arguments: list[str]) -> int:
    """Do one portion for the archive folder given. The exit status is 1 with a line saying why not, 2 for usage."""
    if len(arguments) != 1:
        print("usage: python -m kinphoto.archive.keeping.background DIR", file=sys.stderr)
        return 2
    try:
        folder = Path(arguments[0])
        opening.require_archive(folder)
        engine = opening.connect(opening.database_url(folder))
        opening.check(engine)
        opening.refuse_to_change(engine)
        root_rows.follow_archive(engine)
        try:
            portion(engine)
        finally:
            opening.close(engine)
    except KinphotoError as problem:
        print(problem, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    if hasattr(os, "nice"):  # of this process alone: whoever calls `main` in their own keeps their priority
        os.nice(NICE)
    sys.exit(main(sys.argv[1:]))

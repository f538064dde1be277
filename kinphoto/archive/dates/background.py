"""Everything dated again in the background, in a process of its own, so that nobody who turns a page waits for it.

`python -m kinphoto.archive.dates.background DIR` does it once, with low priority. A server has one
`BackgroundRefresh` and pokes it after each change. It waits for a moment without changes, makes a checkpoint, runs that
command, and again if something was changed meanwhile. A refresh that is killed or fails costs nothing but its time. An
archive of a family's size is dated in the server's own process within seconds, and then held there (`whole`).
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from threading import Condition, Thread
from time import monotonic
from typing import TYPE_CHECKING

from kinphoto.archive.catalogue.freshness import freshness

if TYPE_CHECKING:
    from kinphoto.archive import Archive

QUIET = 2.0
"""Seconds without a change before everything is dated again."""
LOOK = 60.0
"""Seconds between looks at what other programs may have changed."""
NICE = 10
"""The niceness of the process."""
_COMMAND = (sys.executable, "-m", "kinphoto.archive.dates.background")
_PATIENCE = 10.0  # seconds given to the process when it is asked to end


class Doing(StrEnum):
    """What the background is doing."""

    IDLE = "idle"
    WAITING = "waiting"
    """For a moment without changes."""
    WORKING = "working"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class RefreshState:
    """After which change everything was last dated (None: never), whether that is the newest, what is being done about
    it, and `why` it failed."""

    as_of: int | None
    fresh: bool
    doing: Doing
    why: str = ""


class BackgroundRefresh:
    """Dates the whole archive again after changes: `poke` after each, `stop` before the server ends.

    Changes made by other programs are found within a minute. A refresh that failed is tried again after the next poke.
    """

    def __init__(self, archive: Archive, quiet: float = QUIET) -> None:
        self._archive = archive
        self._quiet = quiet
        self._changed = Condition()
        self._due: float | None = None
        self._stopping = False
        self._doing = Doing.IDLE
        self._why = ""
        self._process: subprocess.Popen[str] | None = None
        self._thread: Thread | None = None

    def start(self) -> None:
        """Begin with what was changed while no server ran."""
        self._thread = Thread(target=self._run, name="background refresh", daemon=True)
        self._thread.start()
        self.poke()

    def poke(self) -> None:
        """Look again: something may have been changed."""
        with self._changed:
            self._due = monotonic() + self._quiet
            self._changed.notify_all()

    def stop(self) -> None:
        """End the thread and the process, if there is one, and wait for both."""
        with self._changed:
            self._stopping = True
            process = self._process
            self._changed.notify_all()
        if process is not None:
            _end(process)
        if self._thread is not None:
            self._thread.join()

    def progress(self) -> RefreshState:
        """How old what is kept is, and what is being done about it."""
        with self._archive.reading() as connection:
            age = freshness(connection)
        with self._changed:
            return RefreshState(age.as_of, age.fresh, self._doing, self._why)

    def _run(self) -> None:
        while self._wait():
            self._archive.checkpoint()
            try:
                self._refresh()
            except Exception as problem:  # the thread must outlive any problem of the archive
                self._set(Doing.FAILED, str(problem) or type(problem).__name__)

    def _wait(self) -> bool:
        """Wait until something was changed and nothing has been for a moment; False when it is time to stop."""
        with self._changed:
            while not self._stopping:
                if self._due is None:
                    if self._changed.wait(LOOK) or self._doing is Doing.FAILED:
                        continue
                    return True
                left = self._due - monotonic()
                if left <= 0:
                    self._due = None
                    return True
                if self._doing is not Doing.FAILED:
                    self._doing = Doing.WAITING
                self._changed.wait(left)
            return False

    def _fresh(self) -> bool:
        with self._archive.reading() as connection:
            fresh = freshness(connection).fresh
        if fresh:
            self._set(Doing.IDLE)
        return fresh

    def _refresh(self) -> None:
        with self._changed:
            if self._stopping:
                return
            self._doing, self._why = Doing.WORKING, ""
        if (self._archive.dates.refresh_in_memory() or self._refresh_apart()) and not self._fresh():
            self.poke()  # something was changed meanwhile

    def _refresh_apart(self) -> bool:
        """Date everything in a process of its own; False when there is nothing more to do."""
        if self._fresh():
            return False
        with self._changed:
            if self._stopping:
                return False
            command = [*_COMMAND, str(self._archive.folder.absolute())]
            pipe = subprocess.PIPE
            self._process = process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stderr=pipe, text=True)
        _, errors = process.communicate()
        with self._changed:
            self._process = None
            if self._stopping:
                self._doing = Doing.IDLE
                return False
        if process.returncode:
            lines = errors.strip().splitlines()
            self._set(Doing.FAILED, lines[-1] if lines else f"it ended with status {process.returncode}")
        return not process.returncode

    def _set(self, doing: Doing, why: str = "") -> None:
        with self._changed:
            self._doing, self._why = doing, why


def _end(process: subprocess.Popen[str]) -> None:
    """Ask the process to end, and insist."""
    process.terminate()
    try:
        process.wait(_PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()


def main(arguments: list[str]) -> int:
    """Date everything in the archive folder given. The exit status is 1 with a line saying why not, 2 for usage."""
    from kinphoto.archive import Archive
    from kinphoto.errors import KinphotoError

    if len(arguments) != 1:
        print("usage: python -m kinphoto.archive.dates.background DIR", file=sys.stderr)
        return 2
    try:
        archive = Archive.open(Path(arguments[0]))
        archive.refuse_to_change()
        archive.dates.refresh()
        archive.close()
    except KinphotoError as problem:
        print(problem, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    if hasattr(os, "nice"):  # of this process alone: whoever calls `main` in their own keeps their priority
        os.nice(NICE)
    sys.exit(main(sys.argv[1:]))

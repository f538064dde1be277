"""Something done in a process of its own, which may be killed, or whose limits may be lowered.

The process is forked from that of the test, for a new interpreter takes longer to load kinphoto than it is needed for.
It opens archives of its own: whoever begins it has closed theirs, as SQLite asks (https://www.sqlite.org/howtocorrupt.html,
section 2.6).
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
from collections.abc import Callable
from contextlib import suppress


class Forked:
    """A process that does something and ends. What it prints can be read while it goes on."""

    def __init__(self, do: Callable[[], object]) -> None:
        ours, theirs = os.pipe()
        self._process = os.fork()
        if self._process == 0:
            os.close(ours)
            _only(do, theirs)
        os.close(theirs)
        self.printed = os.fdopen(ours, encoding="utf-8")

    def kill(self) -> None:
        """SIGKILL, unless it has ended."""
        with suppress(ProcessLookupError):
            os.kill(self._process, signal.SIGKILL)

    def ended(self) -> tuple[int, str]:
        """Once it has: its exit status (negative: the signal that ended it), and what it printed that was not read."""
        with self.printed:
            rest = self.printed.read()
        return os.waitstatus_to_exitcode(os.waitpid(self._process, 0)[1]), rest


def _only(do: Callable[[], object], output: int) -> None:
    """Do it and end, with nothing of what pytest would do at its end."""
    code = 1
    try:
        os.dup2(output, 1)
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        do()
        sys.stdout.flush()
        code = 0
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)

"""kinphoto's commands, each in a process of its own as for those who type them.

The processes are forked from one that has imported the program: a new interpreter takes longer to do that than most
commands take to answer. Nothing else is shared, and for the same reason they measure scans themselves. What a new
interpreter loads is tested in `cli/test_help.py`, how it writes to terminals in `cli/test_output.py`, and how processes
measure in `archive/collection/test_scanning.py`.
"""

from __future__ import annotations

import atexit
import gc
import importlib
import json
import os
import pkgutil
import select
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from contextlib import ExitStack, suppress
from functools import cache
from pathlib import Path
from typing import TextIO
from unittest import mock

from typer.testing import CliRunner, Result

SOURCES = [place for place in sys.path if place]


def with_same_modules() -> dict[str, str]:
    """The environment of a process that must find the same modules."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(SOURCES)}


def invoked(words: Sequence[str], *, catch_exceptions: bool = True) -> Result:
    """What a command does in the process of the test, and what it does when it ends. As when it is typed, it alone is
    put together: all of them take longer than most take to answer."""
    from kinphoto.cli.main import asked_for

    at_its_end: list[Callable[[], object]] = []
    with mock.patch.object(atexit, "register", at_its_end.append):
        done = CliRunner().invoke(asked_for(list(words)), words, catch_exceptions=catch_exceptions)
    for last in reversed(at_its_end):
        last()
    return done


def run_command(folder: Path, *words: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """What `kinphoto WORDS`, typed in this folder, ends with and prints."""
    with tempfile.TemporaryDirectory() as place:
        out, err = Path(place, "out"), Path(place, "err")
        command = list(map(str, words))
        code = Started(folder, command, {**os.environ, **environment}, out, err).wait()
        return subprocess.CompletedProcess(command, code, out.read_text("utf-8"), err.read_text("utf-8"))


def written_to(pipe: TextIO | int, patience: float | None) -> bool:
    """Whether something can be read from a pipe, within so many seconds at most (None: sooner or later)."""
    waiting = select.poll()  # `select.select` takes no file beyond the thousandth
    waiting.register(pipe, select.POLLIN)
    return bool(waiting.poll(None if patience is None else 1000 * patience))


class Started:
    """A command that prints into two files while the test goes on. No other can be started before it has ended."""

    def __init__(self, folder: Path, words: Sequence[str], environment: dict[str, str], out: Path, err: Path) -> None:
        self.returncode: int | None = None
        self._forking = _forking()
        order = json.dumps([words, str(folder), environment, str(out), str(err)])
        self._forking.stdin.write(f"{order}\n".encode())  # type: ignore[union-attr]
        self._pid = self._reply(None)

    def wait(self, patience: float | None = None) -> int:
        """What it ends with, when it does; an AssertionError if it has not after so many seconds."""
        if self.returncode is None:
            self.returncode = self._reply(patience)
        return self.returncode

    def send_signal(self, sent: signal.Signals) -> None:
        """As from outside."""
        os.kill(self._pid, sent)

    def _reply(self, patience: float | None) -> int:
        replies = self._forking.stdout
        assert written_to(replies, patience), "the command has not ended"
        return int(replies.readline())  # type: ignore[union-attr]


class Running(Started):
    """A command whose lines are read as it prints them. `with`: it is killed in the end, if it has not ended."""

    def __init__(self, folder: Path, *words: str, environment: dict[str, str]) -> None:
        with tempfile.TemporaryDirectory() as place, ExitStack() as opened:
            pipes = Path(place, "out"), Path(place, "err")
            for pipe in pipes:
                os.mkfifo(pipe)
            # Opened before somebody writes, which must not wait; when it has begun, reading does.
            self.stdout, self.stderr = (
                opened.enter_context(os.fdopen(os.open(pipe, os.O_RDONLY | os.O_NONBLOCK), encoding="utf-8"))
                for pipe in pipes
            )
            super().__init__(folder, words, environment, *pipes)
            for reading in (self.stdout, self.stderr):
                os.set_blocking(reading.fileno(), True)
            self._opened = opened.pop_all()

    def first_line(self, patience: float) -> str:
        """What it prints first, when it does; an AssertionError if it has not after so many seconds."""
        assert written_to(self.stdout, patience), "the command has printed nothing"
        return self.stdout.readline().rstrip("\n")

    def communicate(self, patience: float | None = None) -> tuple[str, str]:
        """What else it prints until it has ended."""
        self.wait(patience)
        return self.stdout.read(), self.stderr.read()

    def __enter__(self) -> Running:
        return self

    def __exit__(self, *problem: object) -> None:
        if self.returncode is None:
            self.send_signal(signal.SIGKILL)
            self.wait()
        self._opened.close()


@cache
def _forking() -> subprocess.Popen[bytes]:
    """The process that the others are forked from. It ends when its orders do."""
    begin = f"import sys; sys.path[:0] = {SOURCES!r}; import commands; commands.fork_for_each()"
    process = subprocess.Popen(
        [sys.executable, "-c", begin], stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0
    )  # fmt: skip
    atexit.register(process.communicate)
    return process


def fork_for_each() -> None:
    """Carry out the orders on standard input, each in a child, which ends as the command does."""
    from building import MEASURING, MeasuredHere

    import kinphoto
    from kinphoto.cli.main import app
    from kinphoto.errors import ArchiveError

    for module in pkgutil.walk_packages(kinphoto.__path__, "kinphoto."):
        if ".migrations." not in module.name:  # they are for Alembic to load
            importlib.import_module(module.name)
    for measuring in MEASURING:
        measuring.Workers = MeasuredHere  # type: ignore[attr-defined]
    # What is loaded when a command is first given is loaded by giving one: Typer brings in Pydantic only then.
    with suppress(ArchiveError):
        app(["log", "--archive", os.devnull], standalone_mode=False)
    gc.freeze()
    replies = os.fdopen(os.dup(1), "w")
    for order in iter(sys.stdin.readline, ""):
        child = os.fork()
        if child == 0:
            _become(*json.loads(order), replies)
            return
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), file=replies, flush=True)


def _become(words: list[str], folder: str, environment: dict[str, str], out: str, err: str, replies: TextIO) -> None:
    from kinphoto.cli.main import run

    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    time.tzset()
    for descriptor, place in ((0, os.devnull), (1, out), (2, err)):
        file = os.open(place, os.O_RDWR | os.O_CREAT)
        os.dup2(file, descriptor)
        os.close(file)
    # Python notes of each whether one can go back in it, which is so in a file and not in a pipe.
    sys.stdout = os.fdopen(1, "w", encoding="utf-8", errors=sys.stdout.errors, closefd=False)
    sys.stderr = os.fdopen(2, "w", 1, encoding="utf-8", errors=sys.stderr.errors, closefd=False)
    with replies:  # whoever waits for it can read from now on
        print(os.getpid(), file=replies)
    sys.argv[1:] = words
    code: object = 1
    try:
        run()
        code = 0
    except SystemExit as end:
        code = end.code or 0
    except BaseException:
        traceback.print_exc()
    finally:  # clearing away all that was loaded takes longer than most commands
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code if isinstance(code, int) else 1)

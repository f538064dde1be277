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
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path

from typer.testing import CliRunner, Result

SOURCES = [place for place in sys.path if place]


def with_same_modules() -> dict[str, str]:
    """The environment of a process that must find the same modules."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(SOURCES)}


def invoked(words: Sequence[str], *, catch_exceptions: bool = True) -> Result:
    """What a command does in the process of the test. As when it is typed, it alone is put together: all of them take
    longer than most take to answer."""
    from kinphoto.cli.main import asked_for

    return CliRunner().invoke(asked_for(list(words)), words, catch_exceptions=catch_exceptions)


def run_command(folder: Path, *words: object, **environment: str) -> subprocess.CompletedProcess[str]:
    """What `kinphoto WORDS`, typed in this folder, ends with and prints."""
    command = list(map(str, words))
    with tempfile.TemporaryDirectory() as place:
        out, err = Path(place, "out"), Path(place, "err")
        order = [command, str(folder), {**os.environ, **environment}, str(out), str(err)]
        process = _forking()
        print(json.dumps(order), file=process.stdin, flush=True)
        code = process.stdout.readline()  # type: ignore[union-attr]
        return subprocess.CompletedProcess(command, int(code), out.read_text("utf-8"), err.read_text("utf-8"))


@cache
def _forking() -> subprocess.Popen[str]:
    """The process that the others are forked from. It ends when its orders do."""
    begin = f"import sys; sys.path[:0] = {SOURCES!r}; import commands; commands.fork_for_each()"
    process = subprocess.Popen([sys.executable, "-c", begin], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
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
            _become(*json.loads(order))
            return
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), file=replies, flush=True)


def _become(words: list[str], folder: str, environment: dict[str, str], out: str, err: str) -> None:
    from kinphoto.cli.main import run

    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    for descriptor, place in ((0, os.devnull), (1, out), (2, err)):
        file = os.open(place, os.O_RDWR | os.O_CREAT)
        os.dup2(file, descriptor)
        os.close(file)
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

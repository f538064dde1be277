"""When the power fails, no change that was saved is lost.

No computer is switched off for it. The closest that can be had: a library in front of the C library keeps of each file
of the database only what was flushed (fsync), which is all that a disk must still have; the process is then killed at a
random moment. Disks that lie about flushing, and torn sectors, are not tried.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from kinphoto.archive import Archive

SAVING = """
import json
import os
import sys
from pathlib import Path
from sqlalchemy import event

import kinphoto.archive.people.people
from kinphoto.archive import Archive


def save(family, disk, weaker):
    print(os.getpid(), flush=True)
    os.environ["POWER"] = disk
    archive = Archive.open(Path(family))
    if weaker:
        @event.listens_for(archive.engine, "connect")
        def weaken(connection, _record):
            connection.execute(f"PRAGMA synchronous={weaker}").close()
        archive.engine.dispose()
    for number in range(100_000):
        archive.people.add(f"Ada /Marsh {number}/")
        print(number, flush=True)
        if number % 7 == 3:
            archive.checkpoint()
    os._exit(0)


for order in sys.stdin:
    child = os.fork()
    if child == 0:
        save(*json.loads(order))
    os.waitpid(child, 0)
    print("dead", flush=True)
"""
"""For each order a process of its own, which says its number, saves one person after another, says each that is saved,
and makes a checkpoint now and then. All are forked from one that has loaded kinphoto."""

pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or not (shutil.which("cc") or shutil.which("gcc")), reason="needs Linux and a C compiler"
)


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[subprocess.Popen[str]]:
    """What saves people, with the library in front of the C library that keeps what was flushed."""
    library = tmp_path_factory.mktemp("power") / "drops_unsynced.so"
    source = Path(__file__).with_name("drops_unsynced.c")
    compiler = shutil.which("cc") or "gcc"
    subprocess.run([compiler, "-shared", "-fPIC", "-O1", "-o", library, source, "-ldl"], check=True)
    places = {**os.environ, "LD_PRELOAD": str(library), "PYTHONPATH": os.pathsep.join(sys.path)}
    pipe = subprocess.PIPE
    with subprocess.Popen([sys.executable, "-c", SAVING], stdin=pipe, stdout=pipe, text=True, env=places) as started:
        yield started


def saved_until_the_cut(
    place: Path, program: subprocess.Popen[str], seconds: float, weaker: str = ""
) -> tuple[int, list[str]]:
    """How many people the program said were saved before the power failed, and the names the disk holds after that."""
    assert program.stdin is not None
    assert program.stdout is not None
    family, disk = place / "family", place / "disk"
    Archive.create(family).close()
    disk.mkdir()
    shutil.copy(family / "kinphoto.db", disk)
    print(json.dumps([str(family), str(disk), weaker]), file=program.stdin, flush=True)
    process = int(program.stdout.readline())
    program.stdout.readline()
    time.sleep(seconds)
    os.kill(process, signal.SIGKILL)
    said = [0, *(int(line) for line in iter(program.stdout.readline, "dead\n"))]
    with closing(sqlite3.connect(disk / "kinphoto.db")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        return said[-1] + 1, [row[0] for row in connection.execute("SELECT name FROM person ORDER BY id")]


def test_what_was_saved_is_there_after_a_power_cut(tmp_path: Path, program: subprocess.Popen[str]) -> None:
    """Eight cuts at random moments (seed 5): the database is sound, and everybody who was said to be saved is in it."""
    moment = random.Random(5)
    for number in range(8):
        (place := tmp_path / str(number)).mkdir()
        said, there = saved_until_the_cut(place, program, moment.uniform(0, 0.4))
        assert said <= len(there) <= said + 1
        with closing(Archive.open(place / "disk")) as archive:
            assert len(archive.statements.history(said + 5)) == len(there)


def test_the_test_would_notice(tmp_path: Path, program: subprocess.Popen[str]) -> None:
    """With SQLite's weaker setting the same cut takes saved people back, so flushing is what keeps them: "WAL mode does
    lose durability. A transaction committed in WAL mode with synchronous=NORMAL might roll back following a power loss"
    (https://www.sqlite.org/pragma.html#pragma_synchronous)."""
    lost = 0
    for number in range(5):
        (place := tmp_path / str(number)).mkdir()
        said, there = saved_until_the_cut(place, program, 0.05 + 0.03 * number, "NORMAL")
        lost += max(0, said - len(there))
    assert lost

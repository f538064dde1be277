"""Renaming killed at fifty random moments, and how long it takes to rename 2,000 scans.

    python tests/bench/bench_renaming.py

After each kill every file must have its old name or its new one, with its bytes; the next command must put all of them
right, and the archive must know where they are.
"""

from __future__ import annotations

import hashlib
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

from kinphoto.archive import Archive
from kinphoto.store import tables as t

CODE = """
import sys
from pathlib import Path
from kinphoto.archive import Archive
from kinphoto.archive.collection import renaming
from kinphoto.scans import file_moves
carry_out = file_moves.carry_out
def told(begun):
    print("begun", flush=True)
    carry_out(begun)
file_moves.carry_out = told
archive = Archive.open(Path(sys.argv[1]))
archive.scans.rename()
print("kept", flush=True)
"""
"""Says when the first file is about to be renamed, and when everything is kept."""


def make(place: Path, count: int) -> tuple[Archive, Path]:
    """An archive of so many small scans in one folder."""
    folder = place / "tin"
    folder.mkdir()
    for number in range(count):
        image = Image.new("L", (24, 24), number % 251)
        image.putpixel((number % 24, number // 24 % 24), 255 - number // 576)
        image.save(folder / f"IMG_{number:04}.png")
    archive = Archive.create(place / "archive")
    archive.scans.add([folder])
    return archive, folder


def bytes_of(folder: Path) -> list[str]:
    """The bytes of all files, whatever they are called."""
    return sorted(hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir())


def started(archive: Archive) -> subprocess.Popen[bytes]:
    """A process that is about to rename the first file."""
    run = subprocess.Popen([sys.executable, "-c", CODE, str(archive.folder)], stdout=subprocess.PIPE)
    assert run.stdout is not None
    assert run.stdout.readline() == b"begun\n"
    return run


def killed(count: int, times: int) -> None:
    """Kill, look, put right, look again."""
    dice = random.Random(16)
    with tempfile.TemporaryDirectory() as place:
        archive, folder = make(Path(place), count)
        kept, old = bytes_of(folder), {path.name for path in folder.iterdir()}
        archive.close()
        run = started(archive)
        began = time.monotonic()
        run.stdout.readline()  # type: ignore[union-attr]
        longest = time.monotonic() - began
        run.communicate()
        Archive.open(archive.folder).statements.undo()
        results = {"before": 0, "in the middle": 0, "after": 0}
        for _ in range(times):
            run = started(archive)
            time.sleep(dice.uniform(0, longest))
            run.send_signal(signal.SIGKILL)
            run.communicate()
            there = {path.name for path in folder.iterdir()}
            assert all(name in old or name.startswith("tin_") for name in there)
            assert set(bytes_of(folder)) == set(kept)
            new = sum(name.startswith("tin_") for name in there)
            results["before" if new == 0 else "after" if new == count else "in the middle"] += 1
            opened = Archive.open(archive.folder)
            opened.scans.add([folder])
            assert bytes_of(folder) == kept
            with opened.reading() as connection:
                paths = sorted(connection.scalars(t.scan.select().with_only_columns(t.scan.c.path)))
            assert paths == sorted(map(str, folder.iterdir()))
            if any(path.name.startswith("tin_") for path in folder.iterdir()):
                opened.statements.undo()
            opened.close()
        found = ", ".join(f"{number} {words}" for words, number in results.items())
        print(f"{count} files, killed {times} times ({found} of the names): none lost, no byte changed")


def timed(count: int) -> None:
    """How long the plan, the renaming and its undoing take."""
    with tempfile.TemporaryDirectory() as place:
        archive, _ = make(Path(place), count)
        times = []
        for step in (archive.scans.plan_names, archive.scans.rename, archive.statements.undo):
            began = time.perf_counter()
            step()
            times.append(time.perf_counter() - began)
        plan, rename, undo = times
        print(f"{count:,} files: plan {plan:.2f} s, renamed in {rename:.2f} s, undone in {undo:.2f} s")
        archive.close()


if __name__ == "__main__":
    killed(300, 50)
    timed(2000)

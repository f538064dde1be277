"""Reading scans again, packing them, and backing up a large archive while four others write.

    python tests/bench/bench_keep.py [--small]

*Fixity*: scans of 4 MB, read again by `keep.verify`, against a bare loop that hashes the same files with one process
per core. Bound: 90 % of its throughput.
*Package*: scans of 1 MB, packed with tables and pages, against a bare loop that copies and hashes them with one process
per core. Bound: 1.3 times. Each side runs in a process of its own, in turn; both let the system forget the files first,
both flush what they wrote, and the quickest of three counts, since whatever else the machine does only adds.
*Backup*: the database of an archive of 100,000 photographs, while four processes name faces, twenty a second each.
Bounds: 5 s, and nobody waits for more than 1 s.
*Saving*: what flushing each change costs (`synchronous` FULL against NORMAL).
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import large
from sqlalchemy import event

from kinphoto.archive import Archive
from kinphoto.store import tables as t
from kinphoto.store.root_rows import add_roots

VERIFY = """
import sys, time
from pathlib import Path
from kinphoto.archive import Archive
import kinphoto.archive.keeping.fixity
archive = Archive.open(Path(sys.argv[1]))
start, processor = time.perf_counter(), time.process_time()
done = archive.keep.verify()
print(time.perf_counter() - start, time.process_time() - processor)
assert not done.problems and done.read == int(sys.argv[2])
"""
BARE_HASH = """
import hashlib, multiprocessing, os, resource, sys, time
from pathlib import Path

def one(path):
    with open(path, "rb", buffering=0) as file:
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return hashlib.file_digest(file, "sha256").hexdigest()

if __name__ == "__main__":
    paths = sorted(map(str, Path(sys.argv[1]).rglob("*.jpg")))
    with multiprocessing.Pool(len(os.sched_getaffinity(0))) as pool:
        pool.map(len, ["ready"] * 8)
        start = time.perf_counter()
        for _ in pool.imap_unordered(one, paths):
            pass
        seconds = time.perf_counter() - start
        pool.close()
        pool.join()
    print(seconds, sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2]))
"""
PACK = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
import kinphoto.archive.keeping.package
archive = Archive.open(Path(sys.argv[1]))
start, processor = time.perf_counter(), time.process_time()
archive.keep.make_package(sys.argv[2])
seconds, processor = time.perf_counter() - start, time.process_time() - processor
print(seconds, processor, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
BARE_COPY = """
import hashlib, multiprocessing, os, resource, shutil, sys, time
from pathlib import Path

def one(pair):
    shutil.copy2(*pair)
    with open(pair[1], "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()

if __name__ == "__main__":
    paths = sorted(Path(sys.argv[1]).rglob("*.jpg"))
    to = Path(sys.argv[2])
    to.mkdir(parents=True)
    pairs = [(str(path), str(to / f"{number}.jpg")) for number, path in enumerate(paths)]
    with multiprocessing.Pool(len(os.sched_getaffinity(0))) as pool:
        pool.map(len, ["ready"] * 8)
        start = time.perf_counter()
        for _ in pool.imap_unordered(one, pairs):
            pass
        os.sync()
        seconds = time.perf_counter() - start
        pool.close()
        pool.join()
    print(seconds, sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2]))
"""
NAMING = """
import sys, time
from pathlib import Path
from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
archive = Archive.open(Path(sys.argv[1]))
number, slowest, count = int(sys.argv[2]), 0.0, 0
PER = int(sys.argv[4]) // 4
print("ready", flush=True)
end = Path(sys.argv[3])
while not end.exists():
    start = time.perf_counter()
    archive.statements.link(Link(photograph=f"K{PER * number + count % PER + 1:05}", person=f"I{1 + count % 999}"))
    slowest, count = max(slowest, time.perf_counter() - start), count + 1
    time.sleep(0.05)
print(count, slowest)
"""


def run(code: str, *words: object) -> list[float]:
    """What a process of its own prints."""
    command = [sys.executable, "-c", code, *map(str, words)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env={**os.environ, "PYTHONPATH": PATHS})
    return [float(word) for word in done.stdout.split()]


def quickest(runs: list[list[float]]) -> list[float]:
    """The least of each figure."""
    return [min(figures) for figures in zip(*runs, strict=True)]


PATHS = os.pathsep.join(place for place in sys.path if place)


def family(place: Path, count: int, size: int) -> Path:
    """An archive with a photograph and a scan of noise, each of that size, in boxes of two hundred."""
    dice = random.Random(1)
    archive = Archive.create(place / "archive")
    scans, photographs = [], []
    for number in range(count):
        path = place / "scans" / f"box {number // 200 + 1:03}" / f"print {number % 200 + 1:03}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        data = dice.randbytes(size)
        path.write_bytes(data)
        sha256, facts = hashlib.sha256(data).hexdigest(), path.stat()
        photographs.append({"code": f"K{number + 1:05}", "indexed": large.SCANNED, "title": f"Print {number}"})
        scans.append({
            "path": str(path), "sha256": sha256, "first_sha256": sha256, "size": size, "mtime_ns": facts.st_mtime_ns,
            "file_type": "JPEG", "width": 900, "height": 640, "indexed_at": large.SAID_AT,
        })  # fmt: skip
    add_roots(archive.engine, [str(place / "scans")])
    with archive.working("scans") as work:
        made = work.insert(t.photograph, photographs)
        work.insert(t.scan, [{**scan, "photograph_id": id_} for scan, id_ in zip(scans, made, strict=True)])
    archive.close()
    return place / "archive"


def forget(folder: Path) -> None:
    """Let the system forget what it read of these files."""
    os.sync()
    for path in folder.rglob("*.jpg"):
        with path.open("rb") as file:
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def fixity(place: Path, count: int) -> None:
    """Reading again against hashing."""
    archive = family(place, count, 4_000_000)
    ours, bare = [], []
    for _ in range(3):
        forget(place / "scans")
        bare.append(run(BARE_HASH, place / "scans"))
        forget(place / "scans")
        ours.append(run(VERIFY, archive, count))
    (least, least_of_processor), (seconds, processor) = map(quickest, (bare, ours))
    print(
        f"fixity, {count:,} scans of 4 MB: {count * 4 / seconds:,.0f} MB/s, {least / seconds:.0%} of a bare loop (at "
        f"least 90 %); of the processor {processor:.2f} s against {least_of_processor:.2f} s",
        flush=True,
    )


def package(place: Path, count: int) -> None:
    """Packing against copying and hashing."""
    archive = family(place, count, 1_000_000)
    ours, bare = [], []
    for number in range(3):
        forget(place / "scans")
        bare.append(run(BARE_COPY, place / "scans", place / "copies" / str(number)))
        shutil.rmtree(place / "copies")
        forget(place / "scans")
        ours.append(run(PACK, archive, place / "packages"))
        shutil.rmtree(place / "packages")
    (least, least_of_processor), (seconds, processor, memory) = map(quickest, (bare, ours))
    print(
        f"package, {count:,} scans of 1 MB: {seconds:.1f} s, {seconds / least:.2f} times copying and hashing (at most "
        f"1.3), of the processor {processor / least_of_processor:.2f} times ({processor:.1f} s); {memory:.0f} MB of "
        "memory (at most 500)",
        flush=True,
    )


def backup(place: Path, photographs: int) -> None:
    """A backup while four name faces."""
    archive = large.archive(place, photographs, photographs // 2)
    end = place / "end"
    end.unlink(missing_ok=True)
    command = [sys.executable, "-c", NAMING, str(archive.folder)]
    writers = [
        subprocess.Popen([*command, str(n), str(end), str(photographs)], stdout=subprocess.PIPE, text=True,
                         env={**os.environ, "PYTHONPATH": PATHS})
        for n in range(4)
    ]  # fmt: skip
    for writer in writers:
        assert writer.stdout is not None
        writer.stdout.readline()
    time.sleep(2)
    start, processor = time.perf_counter(), time.process_time()
    archive.keep.back_up(place / "backup", scans=False)
    seconds, processor = time.perf_counter() - start, time.process_time() - processor
    end.touch()
    found = [writer.communicate()[0].split() for writer in writers]
    archive.close()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"backup of the archive of {photographs:,} photographs while four name faces: {seconds:.1f} s, "
        f"{processor:.1f} s of the processor (under 5); "
        f"{sum(int(count) for count, _ in found)} names, the slowest {max(float(slow) for _, slow in found):.2f} s "
        f"(under 1); {memory:.0f} MB of memory"
    )
    shutil.rmtree(place / "backup")


def saving(place: Path) -> None:
    """One change after another, flushed each and not."""
    times = {}
    for setting in ("NORMAL", "FULL", "NORMAL", "FULL"):
        folder = place / f"saving {len(times)} {setting}"
        shutil.rmtree(folder, ignore_errors=True)
        archive = Archive.create(folder)
        archive.engine.dispose()
        event.listen(archive.engine, "connect", weaken(setting))
        start = time.perf_counter()
        for number in range(200):
            archive.people.add(f"Ada /Marsh {number}/")
        times[setting] = min(times.get(setting, 9e9), (time.perf_counter() - start) / 200)
        archive.close()
    full, normal = 1000 * times["FULL"], 1000 * times["NORMAL"]
    print(f"saving a person: {full:.1f} ms flushed, {normal:.1f} ms not, {full / normal:.2f} times", flush=True)


def weaken(setting: str) -> Callable[[Any, Any], None]:
    """Connections that flush as this setting has it."""
    return lambda connection, _record: connection.execute(f"PRAGMA synchronous={setting}").close()


def main() -> None:
    """All of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a tenth of the files, and an archive of 5,000")
    parser.add_argument("--large", type=Path, help="a folder for the large archive, kept from run to run")
    small = (arguments := parser.parse_args()).small
    for measure, count in ((fixity, 100 if small else 500), (package, 1_000 if small else 10_000)):
        with tempfile.TemporaryDirectory() as name:
            measure(Path(name), count)
    with tempfile.TemporaryDirectory() as name:
        saving(Path(name))
        backup(arguments.large or Path(name), 5_000 if small else 100_000)


if __name__ == "__main__":
    main()

"""`kinphoto scans add` and `kinphoto tree import`, killed at random moments while they are at work.

    python tests/bench/bench_kill.py [MOMENTS]

400 small scans, and a tree of 3,000 people, each brought into a new archive and killed (SIGKILL, with every process
it started) 50 times. A whole run is measured first, from the end of its imports to its end; the moments are spread over
that time, one at random in each of 50 equal parts. A kill that came too late is tried again at another moment.

After each kill: the database opens and is sound, nothing is half written, and the scans' bytes are what they were. Then
the same command is run again to its end, and the archive must equal one that was never killed: the same rows but for
ids, times and the lines of the log, the same thumbnails, no other file.

Last, a process that saves a person and makes a checkpoint, again and again, with a second one that reads, is killed
half as often. Whoever was told as saved is there, the database is sound, and after it was closed it is one file again.
"""

from __future__ import annotations

import os
import platform
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

from making import make_family, make_scans, write_gedcom
from PIL import Image
from sqlalchemy import Connection, Table, select

from kinphoto.archive import Archive
from kinphoto.scans.thumbnails import FOLDER, thumbnail_path
from kinphoto.scans.workers import cores
from kinphoto.store import tables as t

KINPHOTO = """
import kinphoto.archive.collection.scanning, kinphoto.archive.tree.importing
from kinphoto.cli.main import run
print("at work", flush=True)
run()
"""
CHECKPOINTS = """
import sys
from pathlib import Path
from kinphoto.archive import Archive
archive = Archive.open(Path(sys.argv[1]))
if sys.argv[2] == "read":
    while True:
        archive.people.find()
number = 0
print("at work", flush=True)
while True:
    number += 1
    archive.people.add(f"Somebody {number}", note="x" * 20_000)
    print(number, flush=True)
    archive.checkpoint() if number % 5 else archive.close()
"""
TIMES = {"id", "indexed", "indexed_at", "imported_at", "said_at", "at"}
APART = {t.change, t.change_row, t.counter, t.setting}
"""Tables of the log and of numbers, which tell how often something was begun."""

Content = dict[str, list[str]]


@dataclass(frozen=True)
class Job:
    """One command, `words`, and what `is_whole` makes sure of after a kill; it returns how much was kept."""

    words: tuple[str, ...]
    is_whole: Callable[[Archive, Connection], int]


@dataclass
class Tally:
    """What was seen: how much each kill left behind where all was well, how many came too late, what went wrong."""

    kept: list[int] = field(default_factory=list)
    late: int = 0
    failures: list[str] = field(default_factory=list)


# --- what is checked --------------------------------------------------------------------------------------------------


def nobody_or_everybody(archive: Archive, connection: Connection) -> int:
    """A tree is in the archive, or nothing is: that it is the whole tree, the comparison tells."""
    tables = (t.person, t.name, t.event, t.family, t.partner, t.parent_link, t.tree_file, t.change)
    counts = [len(connection.execute(select(table.c.id)).all()) for table in tables]
    assert all(counts) or not any(counts), f"half a tree: {counts}"
    return counts[0]


def scans_with_all_that_is_theirs(archive: Archive, connection: Connection) -> int:
    """Every photograph has a scan and a container, every scan a photograph and a whole thumbnail."""
    scans = connection.execute(select(t.scan.c.photograph_id, t.scan.c.sha256)).all()
    photographs = connection.execute(select(t.photograph.c.id, t.photograph.c.container_id)).all()
    assert sorted(id_ for id_, _ in scans) == sorted(id_ for id_, _ in photographs), "photographs without a scan"
    assert all(container for _, container in photographs), "photographs without a container"
    for _, sha256 in scans:
        with Image.open(thumbnail_path(archive.folder / FOLDER, sha256)) as thumbnail:
            assert thumbnail.format == "JPEG"
            thumbnail.load()  # raises when it is cut short
    return len(scans)


def sound(connection: Connection) -> None:
    """The database is whole, and every reference leads somewhere."""
    assert connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() == ["ok"], "integrity"
    assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == [], "foreign keys"


def content(connection: Connection) -> Content:
    """The rows of each table by what they say: no ids or times, and in place of a reference the row it leads to."""
    rows = {
        table.name: {row["id"]: dict(row) for row in connection.execute(select(table)).mappings()}
        for table in t.metadata.sorted_tables
        if table not in APART and "id" in table.c
    }
    told: dict[tuple[str, int], tuple[Any, ...]] = {}

    def tell(table: Table, id_: int) -> tuple[Any, ...]:
        if (table.name, id_) not in told:
            told[table.name, id_] = tuple(
                refer(table, column, value) for column, value in rows[table.name][id_].items() if column not in TIMES
            )
        return told[table.name, id_]

    def refer(table: Table, column: str, value: Any) -> Any:
        to = next((key.column.table for key in table.c[column].foreign_keys), None)
        return value if to is None or value is None else tell(to, value)

    return {name: sorted(repr(tell(t.metadata.tables[name], id_)) for id_ in found) for name, found in rows.items()}


def files(folder: Path) -> set[str]:
    """The files of an archive but for those that the database keeps beside itself while it is open."""
    found = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    return {path for path in found if not path.endswith(("-wal", "-shm"))}


def bytes_of(folder: Path) -> dict[Path, bytes]:
    """The bytes of every file below a folder."""
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# --- runs and kills ---------------------------------------------------------------------------------------------------


def begin(job: Job, folder: Path) -> subprocess.Popen[bytes]:
    """Start the command; it is about to work when this returns."""
    command = [sys.executable, "-P", "-c", KINPHOTO, *job.words, "--archive", str(folder)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert process.stdout is not None
    assert process.stdout.readline() == b"at work\n"
    return process


def whole_run(job: Job, folder: Path) -> float:
    """Run the command to its end; the seconds it was at work."""
    with begin(job, folder) as process:
        start = time.perf_counter()
        process.communicate()
        taken = time.perf_counter() - start
    assert process.returncode == 0, f"the run ended with {process.returncode}"
    return taken


def killed(job: Job, folder: Path, moment: float) -> bool:
    """Kill the command at a moment, with the processes it started; False when it was done before."""
    with begin(job, folder) as process:
        time.sleep(moment)
        family = [process.pid, *children(process.pid)]
        for pid in family if process.poll() is None else ():
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        process.communicate()
    assert process.returncode in (0, -signal.SIGKILL), f"the run ended with {process.returncode}"
    return process.returncode != 0


def children(process: int) -> list[int]:
    """The processes that a process started, where the system tells (on Linux)."""
    told = Path(f"/proc/{process}/task").glob("*/children")
    return [int(pid) for task in told for pid in task.read_text().split()]


def one_kill(job: Job, empty: Path, folder: Path, moment: float, whole: tuple[Content, set[str]]) -> int | None:
    """Kill the command in a new archive, look, run it again, and compare. How much was kept, None when too late."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(empty, folder)
    if not killed(job, folder, moment):
        return None
    archive = Archive.open(folder)
    with archive.reading() as connection:
        sound(connection)
        kept = job.is_whole(archive, connection)
    archive.engine.dispose()
    for part in folder.glob(f"{FOLDER}/*.part"):
        os.utime(part, (0, 0))  # as the next day, when nobody can be writing it any more
    whole_run(job, folder)
    assert looked_at(job, folder) == whole, "not the archive that was never killed"
    return kept


def looked_at(job: Job, folder: Path) -> tuple[Content, set[str]]:
    """What an archive holds when all is done."""
    archive = Archive.open(folder)
    with archive.reading() as connection:
        sound(connection)
        job.is_whole(archive, connection)
        found = content(connection)
    archive.engine.dispose()
    return found, files(folder)


def many_kills(job: Job, work: Path, scans: Path, moments: int) -> tuple[float, int, Tally]:
    """Measure, kill and check. The seconds of a whole run, what it brings, and what was seen."""
    dice = random.Random(moments)
    empty, never, folder = work / "empty", work / "never-killed", work / "killed"
    Archive.create(empty).engine.dispose()
    taken = []
    for _ in range(3):
        shutil.rmtree(never, ignore_errors=True)
        shutil.copytree(empty, never)
        taken.append(whole_run(job, never))
    length, whole, before = median(taken), looked_at(job, never), bytes_of(scans)
    tally = Tally()
    for number in range(moments):
        moment = (number + dice.random()) / moments * length
        try:
            while (kept := one_kill(job, empty, folder, moment, whole)) is None:
                tally.late += 1
                moment = dice.uniform(0, length)
            assert bytes_of(scans) == before, "scans were written to"
            tally.kept.append(kept)
        except Exception as problem:  # whatever it is, it is what is looked for
            tally.failures.append(f"killed after {moment:.3f} s: {type(problem).__name__}: {problem}")
    return length, len(whole[0]["scan"] or whole[0]["person"]), tally


def one_checkpoint_killed(folder: Path, moment: float) -> int:
    """Kill who saves and makes checkpoints at a moment, and who reads meanwhile; how many were told as saved."""
    shutil.rmtree(folder, ignore_errors=True)
    Archive.create(folder).close()
    command = [sys.executable, "-P", "-c", CHECKPOINTS, str(folder)]
    with (
        subprocess.Popen([*command, "write"], stdout=subprocess.PIPE, text=True) as writer,
        subprocess.Popen([*command, "read"]) as reader,
    ):
        assert writer.stdout is not None
        assert writer.stdout.readline() == "at work\n"
        time.sleep(moment)
        writer.kill()
        told = writer.stdout.read()
        reader.kill()
    saved = [int(line) for line in told.splitlines(keepends=True) if line.endswith("\n")]
    archive = Archive.open(folder)
    with archive.reading() as connection:
        sound(connection)
        there = connection.scalars(select(t.person.c.name)).all()
    assert len(there) - len(saved) in (0, 1), f"{len(saved)} told as saved, {len(there)} there"
    assert there == [f"Somebody {number}" for number in range(1, len(there) + 1)]
    archive.close()
    beside = sorted(path.name for path in folder.glob("kinphoto.db*"))
    assert beside == ["kinphoto.db"], beside
    return len(saved)


def many_checkpoints_killed(work: Path, moments: int) -> tuple[list[int], list[str]]:
    """How many were saved before each kill, and what went wrong."""
    dice, kept, failures = random.Random(moments), [], []
    for number in range(moments):
        moment = (number + dice.random()) / moments * 2.0
        try:
            kept.append(one_checkpoint_killed(work / "checkpoints", moment))
        except Exception as problem:  # whatever it is, it is what is looked for
            failures.append(f"checkpoints killed after {moment:.3f} s: {type(problem).__name__}: {problem}")
    return kept, failures


def main() -> None:
    """Run all three and print a table."""
    moments = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    os.environ["PYTHONPATH"] = os.pathsep.join(place for place in sys.path[1:] if place)
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        scans, tree = work / "scans", work / "tree.ged"
        make_scans(scans, 400, seed=5)
        write_gedcom(tree, *make_family(3_000, seed=5))
        print(f"{cores()} cores, Python {platform.python_version()}; kept: nothing, a part, everything")
        print(f"{'':14}{'whole run':>10}{'kills':>7}{'too late':>10}{'kept':>14}{'all well':>10}")
        failures = []
        for job in (Job(("scans", "add", str(scans)), scans_with_all_that_is_theirs),
                    Job(("tree", "import", str(tree)), nobody_or_everybody)):  # fmt: skip
            with tempfile.TemporaryDirectory(dir=work) as place:
                length, everything, tally = many_kills(job, Path(place), scans, moments)
            nothing, all_ = tally.kept.count(0), tally.kept.count(everything)
            kept = f"{nothing}, {len(tally.kept) - nothing - all_}, {all_}"
            well = f"{len(tally.kept)} of {moments}"
            print(f"{' '.join(job.words[:2]):14}{length:9.2f}s{moments:7}{tally.late:10}{kept:>14}{well:>10}")
            failures += tally.failures
        saved, lost = many_checkpoints_killed(work, max(1, moments // 2))
        well = f"{len(saved)} of {len(saved) + len(lost)}"
        print(f"{'checkpoints':14}{'':10}{len(saved) + len(lost):7}{'':10}{f'{sum(saved)} saved':>14}{well:>10}")
        failures += lost
    sys.exit("\n".join(failures) or None)


if __name__ == "__main__":
    main()

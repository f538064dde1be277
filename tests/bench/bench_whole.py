"""A whole archive dated, from the database to written estimates: how long each part takes, and how much memory.

    python tests/bench/bench_whole.py [--folder DIR] [--photographs 100000] [--people 50000]

The archive is that of the pages (`large`): 2.65 appearances to a photograph, each with a judged age, three births in
ten vague or not told, 200 contradictions planted. `Archive.dates.refresh` runs in a process of its own. Bounds for
100,000 photographs on two cores: 40 s and 2 GB for everything, 25 s for reasoning, 10 s for what to set aside.

The peer of the hard bounds is the bare sweeps they needed, in the same process: as many times as `network.solve` had to
sweep, every arc offers its day and `minimum.reduceat` takes the least of each target. Bound: 3 times. One name with an
age is then recorded and its photograph dated again at once; bound 1 % of the time that everything took.

The archive takes some minutes to make; with --folder it is kept, and a copy of its database is measured.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import large
import numpy as np

from kinphoto.archive import DATABASE, Archive
from kinphoto.archive.dates import estimates
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.reason import dating as reasoned
from kinphoto.reason.hard import laws, network

RUNS = 5
AGAIN = 20
"""Names that are recorded one by one."""
BOUNDS = {"everything": 40, "reasoning": 25, "setting aside": 10}
"""Seconds."""


@contextmanager
def timed(module: Any, name: str, into: Counter[str], title: str) -> Iterator[None]:
    """Add up the seconds that a function of a module takes."""
    real: Callable[..., object] = getattr(module, name)

    def clocked(*given: object, **named: object) -> object:
        start = perf_counter()
        try:
            return real(*given, **named)
        finally:
            into[title] += perf_counter() - start

    setattr(module, name, clocked)
    try:
        yield
    finally:
        setattr(module, name, real)


def measured(folder: Path) -> dict[str, Any]:
    """Date the archive in this process; seconds of each part, and megabytes at the peak."""
    archive, took = Archive.open(folder), Counter[str]()
    with (
        timed(estimates, "gather", took, "reading"),
        timed(reasoned, "date_archive", took, "reasoning"),
        timed(reasoned, "settle", took, "setting aside"),
        timed(estimates, "keep_all", took, "writing"),
        timed(estimates, "refresh", took, "everything"),
    ):
        archive.dates.refresh()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    return {**took, "megabytes": peak, **_swept(archive), "one more": _one_more(archive, folder / DATABASE)}


def _swept(archive: Archive) -> dict[str, float]:
    """Seconds of solving all bounds, and of the bare sweeps that it needed."""
    with archive.reading() as connection:
        net = network.build(laws.build_constraints(gather(connection)))
    bounds = network.solve(net)
    sweeps, relax = 0, network._relax

    def counted(*given: Any) -> Any:
        nonlocal sweeps
        sweeps += 1
        return relax(*given)

    network._relax = counted
    network.solve(net)
    network._relax = relax
    first = np.flatnonzero(np.concatenate([[True], net.target[1:] != net.target[:-1]]))
    nodes, days = net.target[first], bounds.days.copy()

    def bare() -> None:
        for _ in range(sweeps):
            least = np.minimum.reduceat(days[net.source] + net.weight, first)
            days[nodes] = np.minimum(days[nodes], least)

    solved, swept = (median(_clocked(what) for _ in range(RUNS)) for what in (lambda: network.solve(net), bare))
    return {"constraints": len(net.source), "sweeps": sweeps, "hard bounds": solved, "bare sweeps": swept}


def _clocked(what: Callable[[], object]) -> float:
    start = perf_counter()
    what()
    return perf_counter() - start


def _one_more(archive: Archive, database: Path) -> float:
    """Seconds, in the median, to date a photograph again after somebody was named in it."""
    with sqlite3.connect(database) as connection:
        codes = [row[0] for row in connection.execute("SELECT code FROM photograph WHERE page = 0 ORDER BY id")]
        people = [row[0] for row in connection.execute("SELECT code FROM person WHERE outside = 0 ORDER BY id")]
    connection.close()
    found = []
    for n in range(AGAIN):
        code, person = codes[n * len(codes) // AGAIN], people[n * len(people) // AGAIN]
        archive.statements.link(Link(photograph=code, person=person, age="30-34"))
        found.append(_clocked(lambda code=code: archive.dates.refresh_photographs([code])))  # type: ignore[misc]
    return median(found)


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--folder", type=Path)
    arguments.add_argument("--photographs", type=int, default=100_000)
    arguments.add_argument("--people", type=int, default=50_000)
    arguments.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    asked = arguments.parse_args()
    if asked.measure:
        print(json.dumps(measured(asked.measure)))
        return
    with tempfile.TemporaryDirectory() as name:
        made = large.archive(asked.folder or Path(name) / "made", asked.photographs, asked.people)
        made.engine.dispose()
        (Path(name) / "copy").mkdir()
        copy = Path(name) / "copy" / DATABASE
        shutil.copyfile(made.folder / DATABASE, copy)
        with sqlite3.connect(copy) as connection:
            connection.execute("DELETE FROM setting WHERE key LIKE 'estimates%'")
        connection.close()
        done = subprocess.run(
            [sys.executable, __file__, "--measure", str(copy.parent)], check=True, capture_output=True, text=True
        )
    report(json.loads(done.stdout), asked)


def report(found: dict[str, float], asked: argparse.Namespace) -> None:
    """Print what was measured."""
    print(f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}; "
          f"{asked.photographs:,} photographs, {asked.people:,} people, {found['constraints']:,} arcs")  # fmt: skip
    for part in ("everything", "reading", "reasoning", "setting aside", "writing"):
        bound = f"at most {BOUNDS[part]} s" if part in BOUNDS else ""
        print(f"{part:24}{found[part]:9.1f} s   {bound}")
    print(f"{'memory at the peak':24}{found['megabytes']:9,.0f} MB  at most 2,000 MB")
    times = found["hard bounds"] / found["bare sweeps"]
    print(f"{'hard bounds':24}{found['hard bounds']:9.3f} s   {times:.1f} times the {found['sweeps']} bare sweeps they "
          f"needed ({found['bare sweeps']:.3f} s); at most 3")  # fmt: skip
    share = found["one more"] / found["everything"]
    print(f"{'one appearance more':24}{found['one more']:9.3f} s   {share:.2%} of everything; at most 1 %")


if __name__ == "__main__":
    main()

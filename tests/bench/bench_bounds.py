"""The hard bounds of 10,000 photographs and 5,000 people, against two linear programs over the same constraints.

    python tests/bench/bench_bounds.py [--small]

The least and the greatest sum of all variables are at all lower and at all upper bounds, so two solves of OR-tools'
GLOP give what one `network.solve` gives; that they do is checked. Compared is solving alone: GLOP with a model that is
built, each solve from the basis of the one before, against kinphoto with a network that is built. Bound: one tenth.
Twice: with all statements, and with those of strong or certain trust, which give the days that anybody is told.

Beside it: how long the constraints take to build, the whole hard layer (`conflict.settle`) and, with another archive of
that size, made of a tree, scans and a spreadsheet of links, the whole `kinphoto dates` as a process.
"""

from __future__ import annotations

import argparse
import os
import platform
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
from invented import large
from making import make_family, make_scans, write_gedcom, write_links
from oracles import BOX, glop_model, rows_of

from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.conflict import BELIEVED, settle
from kinphoto.reason.hard.constraints import Constraints
from kinphoto.reason.hard.laws import build_constraints
from kinphoto.reason.model.arrays import Ints
from kinphoto.scans.workers import cores

RUNS = 5
KINPHOTO = [sys.executable, "-P", "-c", "from kinphoto.cli.main import run; run()"]


def clocked(what: Callable[[], object]) -> float:
    """The seconds it takes."""
    start = perf_counter()
    what()
    return perf_counter() - start


def timed(what: Callable[[], object]) -> float:
    """The median of several runs."""
    return median(clocked(what) for _ in range(RUNS))


def against_glop(reading: str, told: Constraints, network: nw.Network, off: nw.Flags) -> None:
    """Time both sides on one reading, make sure that they agree, and print a line."""
    found = nw.solve(network, off)
    assert found.feasible
    solver, days = glop_model(network.size, rows_of(told, set(np.flatnonzero(off).tolist())))
    total = solver.Sum(days)
    rounds = []
    for _ in range(RUNS):
        seconds = 0.0
        for goal, expected in ((solver.Minimize, found.lower), (solver.Maximize, found.upper)):
            goal(total)
            seconds += clocked(solver.Solve)
            assert np.array_equal(walled([day.solution_value() for day in days]), expected)
        rounds.append(seconds)
    programs, ours = median(rounds), timed(lambda: nw.solve(network, off))
    print(f"{reading:44}{ours:9.3f}s{programs:9.3f}s{ours / programs:8.1%}  <= 10%")


def walled(days: list[float]) -> Ints:
    """Whole days; what lies beyond half of the program's box is open."""
    whole = np.rint(days).astype(np.int64)
    return np.where(np.abs(whole) > BOX // 2, np.sign(whole) * nw.FAR, whole)


def hard_layer(people: int, photographs: int) -> None:
    """Invent evidence and time what becomes of it."""
    evidence = large(people, photographs, seed=1)
    told = build_constraints(evidence)
    network = nw.build(told)
    print(
        f"{photographs:,} photographs, {people:,} people, {len(evidence.statements):,} statements: "
        f"{network.size:,} variables, {len(told.days):,} constraints; medians of {RUNS} runs"
    )
    print(f"{'':44}{'kinphoto':>10}{'GLOP':>10}{'ratio':>8}  bound")
    believed = np.array([s.trust in BELIEVED for s in told.statements], dtype=bool)
    against_glop("bounds from all statements", told, network, ~believed & False)
    against_glop("bounds from strong and certain statements", told, network, ~believed)
    print(f"{'constraints, made of statements':44}{timed(lambda: build_constraints(evidence)):9.3f}s")
    print(f"{'network, built of constraints':44}{timed(lambda: nw.build(told)):9.3f}s")
    print(f"{'settle, with all of these':44}{timed(lambda: settle(evidence)):9.3f}s")


def kinphoto(*words: object) -> None:
    """Run a command."""
    subprocess.run([*KINPHOTO, *map(str, words)], check=True, stdout=subprocess.DEVNULL)


def whole_command(folder: Path, people: int, photographs: int) -> None:
    """Make an archive and time `kinphoto dates`, with all estimates to make and with none."""
    everybody, homes = make_family(people, seed=1)
    write_gedcom(folder / "tree.ged", everybody, homes)
    write_links(folder / "links.csv", make_scans(folder / "scans", photographs, seed=1), homes, seed=1)
    archive = folder / "archive"
    kinphoto("init", archive)
    for words in (("tree", "import", folder / "tree.ged"), ("scans", "add", folder / "scans"),
                  ("link", "--from", folder / "links.csv")):  # fmt: skip
        kinphoto(*words, "--archive", archive)

    def anew() -> None:
        with sqlite3.connect(archive / "kinphoto.db") as connection:
            connection.execute("DELETE FROM setting WHERE key = 'estimates_as_of'")
        connection.close()
        again()

    def again() -> None:
        kinphoto("dates", "--archive", archive)

    print(f"{'kinphoto dates, all estimates made anew':44}{timed(anew):9.3f}s")
    print(f"{'kinphoto dates, nothing changed since':44}{timed(again):9.3f}s")


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--small", action="store_true", help="a tenth of everything, for a quick look")
    share = 10 if arguments.parse_args().small else 1
    people, photographs = 5_000 // share, 10_000 // share
    os.environ["PYTHONPATH"] = os.pathsep.join(place for place in sys.path[1:] if place)
    print(f"{cores()} cores, {platform.machine()}, Python {platform.python_version()}")
    hard_layer(people, photographs)
    with tempfile.TemporaryDirectory() as folder:
        whole_command(Path(folder), people, photographs)


if __name__ == "__main__":
    main()

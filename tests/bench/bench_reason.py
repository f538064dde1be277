"""How long the reasoner takes for a whole archive, how much memory, and how that grows.

    python tests/bench/bench_reason.py [--photographs 100000]

An archive drawn from the model (`drawn.family`): half as many people as photographs, 2.65 faces to a photograph, three
births in ten vague or not told at all. Timed is `date_archive`, from evidence to findings, in a process of its own; the
peer is what any reasoner would have to do at least, one sweep of `network.solve` and one pass over the statements, in
the same process. Half the archive tells how it grows.

It prints besides what share of the true dates lies in the likely ranges, and the errors found among judged ages.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import subprocess
import sys
from time import perf_counter, process_time

import numpy as np
from drawn import Archive, family

from kinphoto.archive.catalogue.garbage import no_collection
from kinphoto.reason.dating import date_archive
from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.laws import build_constraints
from kinphoto.reason.model.findings import Findings
from kinphoto.reason.model.lookup import look_up

YEAR = 365.2425


def measured(photographs: int) -> dict[str, float]:
    """One archive in this process."""
    archive = family(photographs, photographs // 2, seed=1)
    evidence = archive.evidence
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start, cpu = perf_counter(), process_time()
    with no_collection():  # as everything is dated
        findings = date_archive(evidence)
    took, worked = perf_counter() - start, process_time() - cpu
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = process_time()
    nw.solve(nw.build(build_constraints(evidence)))
    look_up(evidence)
    least = process_time() - start
    return {
        "statements": len(evidence.statements), "seconds": took, "cpu": worked, "least": least,
        "evidence_mb": before / 1000, "mb": most / 1000, "unsettled": len(findings.unconverged),
        **quality(archive, findings),
    }  # fmt: skip


def quality(archive: Archive, findings: Findings) -> dict[str, float]:
    """How the findings compare with the truth."""
    dated = [e for e in findings.estimates if e.likely_from is not None]
    true = np.array([archive.exposures[e.photograph] for e in dated])
    first, last, best = (np.array([getattr(e, n) for e in dated]) for n in ("likely_from", "likely_to", "best"))
    births = np.array([archive.births[b.person] for b in findings.births])
    held = [b.likely_from <= day < b.likely_to + 1 for b, day in zip(findings.births, births, strict=True)]
    caught = sum(u.statement in archive.wrong for u in findings.unlikely)
    return {
        "held": float(((first <= true) & (true < last + 1)).mean()),
        "years_off": float(np.abs(best - true).mean() / YEAR),
        "births_held": float(np.mean(held)), "reported": len(findings.unlikely), "caught": caught,
        "careless": len(archive.wrong), "expected_false": findings.expected_false_alarms,
    }  # fmt: skip


def apart(photographs: int) -> dict[str, float]:
    """The same in a process of its own, so that its memory is its own."""
    command = [sys.executable, __file__, "--measure", str(photographs)]
    done = subprocess.run(command, check=True, capture_output=True, text=True, env=os.environ | {
        "PYTHONPATH": os.pathsep.join(place for place in sys.path[1:] if place)})  # fmt: skip
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--photographs", type=int, default=100_000)
    arguments.add_argument("--measure", type=int, help=argparse.SUPPRESS)
    given = arguments.parse_args()
    if given.measure:
        print(json.dumps(measured(given.measure)))
        return
    print(f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}")
    print(
        f"{'photographs':>12}{'statements':>12}{'seconds':>9}{'cpu':>8}{'least':>8}{'ratio':>7}{'MB':>7}{'unsettled':>10}"
    )
    rows = [(n, apart(n)) for n in (given.photographs // 2, given.photographs)]
    for n, row in rows:
        print(f"{n:12,}{row['statements']:12,}{row['seconds']:9.1f}{row['cpu']:8.1f}{row['least']:8.2f}"
              f"{row['cpu'] / row['least']:7.1f}{row['mb']:7.0f}{row['unsettled']:10}")  # fmt: skip
    (_, half), (_, whole) = rows
    print(f"twice the archive takes {whole['cpu'] / half['cpu']:.2f} times as long (bound: 2.2)")
    print(f"likely ranges hold {whole['held']:.1%} of true dates, {whole['years_off']:.2f} years off in the mean; "
          f"of vague births {whole['births_held']:.1%}")  # fmt: skip
    print(f"of {whole['careless']:,} careless ages {whole['caught']:,} are reported, with "
          f"{whole['reported'] - whole['caught']:,} false alarms ({whole['expected_false']:.1f} expected)")  # fmt: skip


if __name__ == "__main__":
    main()

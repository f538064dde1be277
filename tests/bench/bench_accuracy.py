"""How much is lost against working everything out: a sampler, and integration where all births are known.

    python tests/bench/bench_accuracy.py [--archives 40] [--known 30]

Archives are those of `bench_dating`: ages judged as docs/method.md has it, one in twenty carelessly. The two others
(`peers`) get the same statements and the same priors, and simplify nothing. Printed is by how many years the best date
is off in the mean, for 1, 2, 3, 4 and more named faces, and how many times that is what the other is off by.

**Sampler.** Four births of twelve are vague. Beside it stands how far the medians of the first and of the second half
of its chains are off, and how far they are apart: its own noise.

**Integration.** All births are known. Once with what the photographs of a known day tell of the informants, which is
what kinphoto learns of them, and once with all photographs together, which tells a little more. How far the best date
and the ends of the likely range lie from those of the former is printed in days, and as a share of the range.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np
from bench_dating import DATED, Drawn, Judges, draw
from drawn import YEAR
from peers import CHAINS, Sampler, Told, integrated

from kinphoto.reason.dating import date_archive
from kinphoto.reason.model.findings import Estimate

Rows = dict[int, list[list[float]]]
"""By the number of named faces: the number of the archive, and what was found of one photograph of it."""


def undated(drawn: Drawn) -> dict[str, Estimate]:
    """What kinphoto concludes of the photographs that nobody dated."""
    return {e.photograph: e for e in date_archive(drawn.evidence).estimates if int(e.photograph[1:]) >= DATED}


def against_sampler(archives: int) -> Rows:
    """Years off by the number of faces: of kinphoto, of the sampler, of each half of it; and between the halves."""
    rows: Rows = defaultdict(list)
    dice = np.random.default_rng(11)
    for seed in range(archives):
        drawn = draw(dice, Judges())
        told, found = Told.of(drawn.evidence), undated(drawn)
        days = Sampler(told, np.random.default_rng(seed)).run()
        halves = np.median(days[: CHAINS // 2], axis=(0, 1)), np.median(days[CHAINS // 2 :], axis=(0, 1))
        for k, whole, one, other in zip(told.photographs, np.median(days, axis=(0, 1)), *halves, strict=True):
            if k in found:
                true = drawn.days[k]
                off = [abs(day - true) for day in (_best(found[k]), whole, one, other)]
                rows[min(len(drawn.faces[k]), 4)].append([seed, *(v / YEAR for v in (*off, abs(one - other)))])
    return rows


def against_integration(archives: int) -> tuple[Rows, np.ndarray, list[float]]:
    """Years off by the number of faces: of kinphoto and of both integrations. The days from the best date, the start
    and the end of the likely range to those of the first integration, and how long that range is there. How often
    the ranges of kinphoto and of both integrations hold the true day."""
    rows: Rows = defaultdict(list)
    apart, held = [], []
    dice = np.random.default_rng(13)
    for archive in range(archives):
        drawn = draw(dice, Judges(), vague=0)
        found = undated(drawn)
        for k, curves in integrated(Told.of(drawn.evidence)).items():
            e, true = found[k], drawn.days[k]
            days = [_best(e), *(float(curve.at(np.array(0.5))) for curve in curves)]
            rows[min(len(drawn.faces[k]), 4)].append([archive, *(abs(day - true) / YEAR for day in days)])
            ranges = [(float(e.likely_from or 0), (e.likely_to or 0) + 1.0), *(curve.shortest for curve in curves)]
            held.append([first <= true < last for first, last in ranges])
            (a, b), (c, d) = ranges[:2]
            apart.append([abs(days[0] - days[1]), abs(a - c), abs(b - d), d - c])
    return rows, np.array(apart), np.mean(held, axis=0).tolist()


def _best(e: Estimate) -> float:
    return (e.best or 0) + 0.5


def _print(rows: Rows, names: tuple[str, ...], ratios: dict[int, str]) -> None:
    """Means by the number of faces and over all, and kinphoto's as so many times another's."""
    print(f"{'faces':>6}{'photographs':>13}" + "".join(f"{name:>23}" for name in (*names, *ratios.values())))
    everything = [row for some in rows.values() for row in some]
    for faces, some in [*((str(n) if n < 4 else "4+", rows[n]) for n in sorted(rows)), ("all", everything)]:
        means = np.mean(some, axis=0)[1:]
        values = [*(f"{v:23.3f}" for v in means), *(f"{means[0] / means[i]:23.3f}" for i in ratios)]
        print(f"{faces:>6}{len(some):13,}" + "".join(values))
    for i, name in ratios.items():
        print(f"{name}: standard error {_error(np.array(everything), i):.4f}")


def _error(rows: np.ndarray, i: int) -> float:
    """The standard error of kinphoto's mean over another's, leaving out one archive at a time (jackknife)."""
    kept = [rows[rows[:, 0] != n].mean(axis=0)[1:] for n in np.unique(rows[:, 0])]
    ratios = np.array([means[0] / means[i] for means in kept])
    return float(np.sqrt((len(ratios) - 1) * ratios.var()))


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=40)
    arguments.add_argument("--known", type=int, default=30)
    given = arguments.parse_args()
    if given.archives:
        print(f"{given.archives} archives, four births of twelve vague: years off in the mean")
        _print(
            against_sampler(given.archives),
            ("kinphoto", "sampler", "its first half", "its second half", "between the halves"),
            {1: "kinphoto / sampler"},
        )
    if given.known:
        print(f"\n{given.known} archives, all births known: years off in the mean")
        rows, apart, held = against_integration(given.known)
        _print(rows, ("kinphoto", "integrated", "all together"), {1: "kinphoto / integrated", 2: "kinphoto / together"})
        print("likely ranges that hold the true day: " + ", ".join(f"{share:.3f}" for share in held))
        for i, name in enumerate(("best date", "start of the likely range", "its end")):
            days, share = apart[:, i], apart[:, i] / apart[:, 3]
            print(
                f"{name:26} apart by {days.mean():5.1f} days in the mean, {np.quantile(days, 0.95):5.1f} in 95 %, "
                f"{days.max():6.1f} at most; by {share.mean():.4f} of the range in the mean, {share.max():.3f} at most"
            )


if __name__ == "__main__":
    main()

"""How much of what lying together tells is gained: kinphoto beside a sampler of the whole model, on small archives.

    python tests/bench/bench_collection_sampler.py [--archives 20] [--calibration 100] [--sweeps 20]
        [--only kinds|vague|small] [--first 0] [--keep FILE] [--apart]

**Accuracy.** Collections of `collections_drawn`, which is not the model: 36 photographs in containers of 12 (the trunk:
all in one), or as the row says, all ages given unseen, scans of 1990. For each: years off in the mean of each
photograph by itself, of kinphoto, of the sampler (`collection_sampler`) and of each half of its chains; the share of
the sampler's gain that kinphoto has; kinphoto's error as so many times the sampler's; how often the likely range holds
the true day, of both; and how long kinphoto's is, as so many times the sampler's. In brackets the standard errors, by
leaving out one archive at a time.

**Calibration.** Archives of `collections_of_model`, drawn from what the sampler samples. Where the true day lies in the
posterior of one photograph of each, chosen by lot, in tenths, with p by the chi-square test.

The tables are printed again after every round, so that they can be looked at while they grow. With `--keep FILE` what
was found of each archive is added to a file, and tables are of all that it holds: several runs (`--first`) make one.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
from bench_collections import each_by_itself, together
from collection_line import Line
from collection_sampler import SWEEPS, sampled
from collections_drawn import Collection, Kind, Options
from collections_drawn import draw as drawn_collection
from collections_of_model import draw as drawn_of_model
from drawn import YEAR
from peers import Curve
from scipy.stats import chisquare, kstest

from kinphoto.reason.dating import Inference
from kinphoto.reason.model import evidence as ev

Array = np.ndarray
SCANNED = date(1990, 1, 1).toordinal()
KINDS = {
    f"{kind}, {'12 %' if dated else 'none'} dated": Options(
        kind, photographs=36, size=None if kind is Kind.TRUNK else 12, dated=dated, unseen=1.0
    )
    for kind in (Kind.ALBUMS, Kind.TINS, Kind.TRUNK, Kind.MIXED)
    for dated in (0.12, 0.0)
}
VAGUE = {
    f"births all vague, none dated, albums of {size}": Options(
        Kind.ALBUMS, photographs=40, size=size, dated=0.0, vague=1.0, unseen=1.0
    )
    for size in (8, 20)
}
SMALL = {f"albums of {n}": Options(Kind.ALBUMS, photographs=8 * n, size=n, unseen=1.0) for n in (1, 2, 3)}
EVERYTHING = KINDS | VAGUE | SMALL
SIZES = (8, 8, 6, 2)
"""Photographs in the containers of an archive of the model."""
COLUMNS = ("by itself", "kinphoto", "sampler", "first half", "second half")
"""Of which the years off stand in a row, after the number of the archive; then whether kinphoto's and the sampler's
range hold, and how long they are."""


def curves(line: Line, mass: Array) -> list[Curve]:
    """The posteriors of all photographs."""
    return [Curve(line.days[0] - line.step * YEAR / 2, line.step * YEAR, one) for one in mass]


def median(curve: Curve) -> float:
    """The best date."""
    return float(curve.at(np.array(0.5)))


def of_1990(evidence: ev.Evidence) -> ev.Evidence:
    """As if the scans were of 1990, where the sampler's line ends."""
    return replace(evidence, photographs=tuple(replace(p, indexed=SCANNED) for p in evidence.photographs))


def compared(one: Collection, number: int, line: Line, sweeps: int) -> list[list[float]]:
    """The rows of one archive."""
    evidence = of_1990(one.evidence)
    alone, found = (way(replace(one, evidence=evidence)).photographs for way in (each_by_itself, together))
    halves = sampled(evidence, number, line).run(sweeps // 2, sweeps)
    whole = curves(line, halves.mean(axis=0))
    first, second = (curves(line, half) for half in halves)
    rows = []
    for i in np.flatnonzero(~one.dated).tolist():
        if f"K{i}" in found and f"K{i}" in alone:
            best, day = found[f"K{i}"], one.days[i]
            days = alone[f"K{i}"][0], best[0], *(median(c[i]) for c in (whole, first, second))
            own = whole[i].shortest
            ranges = (best[1], best[2]), own
            rows.append([number, *(abs(d - day) / YEAR for d in days), *(float(a <= day < b) for a, b in ranges),
                         *((b - a) / YEAR for a, b in ranges)])  # fmt: skip
    return rows


def with_error(rows: Array, of: Callable[[Array], float]) -> tuple[float, float]:
    """A figure, and its standard error by leaving out one archive at a time (jackknife)."""
    numbers = np.unique(rows[:, 0])
    if len(numbers) < 2:
        return of(rows.mean(axis=0)), np.nan
    kept = [of(rows[rows[:, 0] != n].mean(axis=0)) for n in numbers]
    return of(rows.mean(axis=0)), float(((len(kept) - 1) * np.var(kept)) ** 0.5)


FIGURES: dict[str, Callable[[Array], float]] = {
    "share of the gain": lambda m: float((m[1] - m[2]) / (m[1] - m[3])),
    "kinphoto / sampler": lambda m: float(m[2] / m[3]),
    "held": lambda m: float(100 * m[6]),
    "held by the sampler": lambda m: float(100 * m[7]),
    "range / sampler's": lambda m: float(m[8] / m[9]),
}


def print_accuracy(found: dict[str, list[list[float]]]) -> None:
    """The table, with what is there."""
    print(f"| what | archives | photographs | {' | '.join((*COLUMNS, *FIGURES))} |")
    print("| --- " * (3 + len(COLUMNS) + len(FIGURES)) + "|")
    every = [np.array(some) for some in found.values()]
    pooled = np.concatenate(every)
    pooled[:, 0] += np.repeat(np.arange(len(every)) * 10_000, [len(some) for some in every])
    for name, rows in [*zip(found, every, strict=True), *([("pooled", pooled)] if len(every) > 1 else [])]:
        off = " | ".join(f"{value:.2f}" for value in rows.mean(axis=0)[1:6])
        figures = (with_error(rows, of) for of in FIGURES.values())
        told = " | ".join(f"{value:.{1 if value > 10 else 3}f} ({error:.2g})" for value, error in figures)
        print(f"| {name} | {len(np.unique(rows[:, 0]))} | {len(rows)} | {off} | {told} |", flush=True)


def accuracy(options: dict[str, Options], numbers: range, sweeps: int, keep: Path | None, line: Line) -> None:
    """Round by round, one archive of each kind."""
    found: dict[str, list[list[float]]] = defaultdict(list)
    for number in numbers:
        for name, some in options.items():
            seed = [700 + list(EVERYTHING).index(name), number]
            rows = compared(drawn_collection(np.random.default_rng(seed), some), number, line, sweeps)
            found[name] += rows
            if keep:
                with keep.open("a", encoding="utf-8") as file:
                    file.write("".join(f"{json.dumps([name, row])}\n" for row in rows))
        print(f"\nafter {number + 1} of each")
        print_accuracy(kept(keep) if keep else found)


def kept(file: Path) -> dict[str, list[list[float]]]:
    """All rows of a file, by kind."""
    found: dict[str, list[list[float]]] = defaultdict(list)
    for line in file.read_text(encoding="utf-8").splitlines():
        name, row = json.loads(line)
        found[name].append(row)
    return found


def calibration(archives: int) -> None:
    """Where true days lie in posteriors."""
    line, places, rows = Line(), [], []
    for number in range(archives):
        dice = np.random.default_rng([900, number])
        one = drawn_of_model(dice, line, SIZES)
        names = [p.id for p in one.evidence.photographs]
        posteriors = Inference(one.evidence).dated_exposures(names)
        halves = sampled(one.evidence, number, line).run()
        own = curves(line, halves.mean(axis=0))
        some = int(dice.choice([i for i, name in enumerate(names) if posteriors[name].posterior is not None]))
        for i, name in enumerate(names):
            posterior, day = posteriors[name].posterior, one.days[i]
            if posterior is None:
                continue
            rising = np.concatenate([[0.0], np.cumsum(own[i].mass)])
            place = float(np.interp(day, own[i].first + own[i].width * np.arange(len(rising)), rising))
            other = float(np.interp(day, posterior.edges, posterior.rising))
            if i == some:
                places.append((place, other))
            rows.append((number, abs(median(own[i]) - day) / YEAR, abs(posterior.quantile(0.5) - day) / YEAR))
        if number % 10 == 9:
            print_calibration(np.array(places), np.array(rows))


def print_calibration(places: Array, rows: Array) -> None:
    """The table, with what is there."""
    print(f"\n{len(places)} archives of the model")
    print(
        "| whose | share of true days in each tenth of the posterior, % | p, chi-square | p, Kolmogorov and Smirnov |"
    )
    print("| --- | --- | --- | --- |")
    for name, some in (("sampler", places[:, 0]), ("kinphoto", places[:, 1])):
        tenths = np.histogram(some, np.linspace(0, 1, 11))[0]
        told = ", ".join(f"{100 * value / len(some):.0f}" for value in tenths)
        print(f"| {name} | {told} | {chisquare(tenths).pvalue:.2f} | {kstest(some, 'uniform').pvalue:.2f} |")
    ratio, error = with_error(rows, lambda m: float(m[2] / m[1]))
    off = rows.mean(axis=0)
    print(f"years off: sampler {off[1]:.2f}, kinphoto {off[2]:.2f}, ratio {ratio:.3f} ({error:.3f})", flush=True)


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=20)
    arguments.add_argument("--calibration", type=int, default=100)
    arguments.add_argument("--first", type=int, default=0, help="number of the first archive")
    arguments.add_argument("--keep", type=Path)
    arguments.add_argument(
        "--apart", action="store_true", help="a sampler that knows of no occasions in shuffled boxes"
    )
    arguments.add_argument("--only", choices=("kinds", "vague", "small"))
    arguments.add_argument("--sweeps", type=int, default=SWEEPS, help="of the sampler, after half as many to warm up")
    given = arguments.parse_args()
    options = {"kinds": KINDS, "vague": VAGUE, "small": SMALL}.get(given.only, EVERYTHING)
    if given.archives:
        numbers = range(given.first, given.first + given.archives)
        accuracy(options, numbers, given.sweeps, given.keep, Line(occasions=not given.apart))
    if given.calibration:
        calibration(given.calibration)


if __name__ == "__main__":
    main()

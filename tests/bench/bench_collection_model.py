"""What lying together would add to today's dates: the plain model of `collection_model`, beside kinphoto.

    python tests/bench/bench_collection_model.py [--archives 12] [--whole]

Collections are those of `bench_collections`. Both are given the same: the posteriors that kinphoto has today. *Boxes*
adds a density for each container and nothing of their order, *order* also the sequence in which photographs lie (in
containers of up to 100; its time grows with the square of a container). Printed is the mean of how many years the best
date is off, that as so many times today's, how often the likely range holds the true date, and how long it is. With
`--whole` the cells are added in which births are all vague, judges few or containers small.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import numpy as np
from bench_collections import HEAD, KINDS, SPECIAL, Dates, Tally, Way, cells, collections, each_by_itself, tally
from collection_model import Given, Model, alone, given, messages, read
from collections_drawn import Collection, Options

WHOLE = tuple(name for name in SPECIAL if "fitted" not in name and "look" not in name and "200" not in name)
LONGEST = 100
"""Photographs of a container whose order is looked at."""


def by_model(model: Model) -> Callable[[Collection, Given], Dates]:
    """What a model makes of what photographs bring."""

    def dates(drawn: Collection, found: Given) -> Dates:
        longest = max(sum(path == other for other in drawn.paths) for path in set(drawn.paths))
        told = messages(drawn, found, model if longest <= LONGEST else alone(model))
        return Dates({f"K{i}": read(p, told[i], model) for i, p in enumerate(found.posteriors) if p is not None})

    return dates


def compared(options: Options, archives: int, seed: int) -> dict[str, Tally]:
    """Today, and with boxes and order, on the same collections."""
    model = Model()
    drawn = list(collections(options, archives, seed))
    brought = [given(one, model) for one in drawn]
    found = {"today": tally(iter(drawn), each_by_itself)}
    for name, some in (("boxes", alone(model)), ("order", model)):
        dates, known = by_model(some), iter(brought)
        found[name] = tally(iter(drawn), _way(dates, known.__next__))
    return found


def _way(dates: Callable[[Collection, Given], Dates], known: Callable[[], Given]) -> Way:
    return lambda one: dates(one, known())


def ratio(one: Tally, other: Tally) -> tuple[float, float]:
    """How many times the other's error one's is, with its standard error (leaving out one archive at a time)."""
    a, b = one.photographs, other.photographs
    kept = [a[a[:, 0] != n, 2].mean() / b[b[:, 0] != n, 2].mean() for n in np.unique(a[:, 0])]
    error = ((len(kept) - 1) * np.var(kept)) ** 0.5
    return float(a[:, 2].mean() / b[:, 2].mean()), float(error)


def row(name: str, options: Options, archives: int, seed: int) -> None:
    """Print one cell."""
    found = compared(options, archives, seed)
    for way, tallied in found.items():
        times, error = ratio(tallied, found["today"])
        print(f"| {name} | {way} | {cells(tallied.photographs)} | {times:.2f} ({error:.2f}) |", flush=True)


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=12)
    arguments.add_argument("--whole", action="store_true")
    options = arguments.parse_args()
    print(f"{options.archives} archives in each row\n| what | with | {HEAD} | times today's error (s.e.) |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for n, kind in enumerate(KINDS):
        for dated in (0.12, 0.0):
            row(f"{kind}, {'12 %' if dated else 'none'} dated", Options(kind, dated=dated), options.archives, n)
    for n, name in enumerate(WHOLE if options.whole else ()):
        row(name, SPECIAL[name], options.archives, 100 + n)


if __name__ == "__main__":
    main()

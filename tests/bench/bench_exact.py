"""Bounds and what is set aside, compared with general-purpose solvers on many random archives.

    python tests/bench/bench_exact.py [--networks 500] [--contradictions 300]

**Bounds** of networks with every kind of statement, rivals among them, against two linear programs (OR-tools' GLOP).
**What is set aside** in contradictory networks of up to 40 statements, against z3's Optimize; of up to 12 statements,
rivals among them, against every subset. The tests do the same for fewer, drawn anew.
"""

from __future__ import annotations

import argparse
import random
from itertools import combinations
from time import process_time

import numpy as np
import z3
from invented import puzzle
from oracles import BOX, bounds, by_glop, by_networkx, in_z3

from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.conflict import COST, settle
from kinphoto.reason.hard.laws import build_constraints


def same_bounds(seed: int) -> tuple[bool, bool, float, float]:
    """Whether GLOP agrees, whether everything fits together, and the seconds of both."""
    dice = random.Random(seed)
    told = build_constraints(puzzle(dice, dice.randrange(5, 40), dice.choice((0.0, 0.02, 0.1))))
    network = nw.build(told)
    start = process_time()
    found = nw.solve(network)
    ours = process_time() - start
    start = process_time()
    expected = bounds(told, (), by_glop)
    theirs = process_time() - start
    if expected is None or not found.feasible:
        return (expected is None) is not found.feasible, False, ours, theirs
    plain = range(len(told.variables.kinds) - len(told.hulls) - len(told.alternatives))
    mine = [np.clip(days[: len(plain)], -BOX, BOX) for days in (found.lower, found.upper)]
    walled = [
        [d if abs(d) < BOX // 2 else BOX if d > 0 else -BOX for d in (days[v] for v in plain)] for days in expected
    ]
    return all(np.array_equal(a, b) for a, b in zip(mine, walled, strict=True)), True, ours, theirs


def same_as_z3(seed: int) -> tuple[bool, int]:
    """Whether z3 sets aside as cheaply, and how many statements we do."""
    dice = random.Random(seed)
    settled = settle(puzzle(dice, dice.randrange(10, 41), dice.choice((0.2, 0.35, 0.5)), regions=False))
    told, optimize = settled.constraints, z3.Optimize()
    switch = in_z3(told, optimize)
    for statement in told.statements:
        optimize.add_soft(switch[statement.id], COST[statement.trust])
    assert optimize.check() == z3.sat
    least = sum(COST[s.trust] for s in told.statements if z3.is_false(optimize.model()[switch[s.id]]))
    return least == sum(COST[s.trust] for s in told.statements if s.id in settled.aside), len(settled.aside)


def same_as_subsets(seed: int) -> bool:
    """Whether no subset is cheaper to set aside."""
    dice = random.Random(seed)
    settled = settle(puzzle(dice, dice.randrange(4, 13), 0.5))
    told = settled.constraints
    cost = [COST[s.trust] for s in told.statements]
    ours = sum(cost[i] for i, s in enumerate(told.statements) if s.id in settled.aside)
    sets = [c for n in range(len(cost) + 1) for c in combinations(range(len(cost)), n)]
    for off in sorted(sets, key=lambda c: sum(cost[i] for i in c)):
        if sum(cost[i] for i in off) >= ours:
            return bounds(told, [told.statements.index(s) for s in told.statements if s.id in settled.aside],
                          by_networkx) is not None  # fmt: skip
        if bounds(told, off, by_networkx) is not None:
            return False
    return False


def main() -> None:
    """Print how many agree."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--networks", type=int, default=500)
    arguments.add_argument("--contradictions", type=int, default=300)
    given = arguments.parse_args()
    rows = [same_bounds(seed) for seed in range(given.networks)]
    agree, fit, ours, theirs = (sum(column) for column in zip(*rows, strict=True))
    print(f"bounds: {agree:.0f} of {len(rows)} agree with GLOP ({fit:.0f} fit together); "
          f"{ours:.2f} s against {theirs:.2f} s")  # fmt: skip
    sets = [same_as_z3(seed) for seed in range(given.contradictions)]
    aside = [n for _, n in sets]
    print(f"set aside: {sum(same for same, _ in sets)} of {len(sets)} are as cheap as z3's "
          f"({sum(n > 0 for n in aside)} contradictory, up to {max(aside)} statements)")  # fmt: skip
    few = [same_as_subsets(seed) for seed in range(given.contradictions // 6)]
    print(f"set aside: in {sum(few)} of {len(few)} no subset of up to 12 statements is cheaper")


if __name__ == "__main__":
    main()

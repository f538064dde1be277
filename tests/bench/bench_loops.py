"""Messages on rings, where they are near and not exact, against a sampler that knows nothing of messages.

    python tests/bench/bench_loops.py [--worlds 10]

Every birth is in several photographs and every photograph has several births, with random factors (`joints`). The
sampler (Gibbs) draws each birth and each photograph in turn from the factors alone, in 2,000 chains. Printed is the
total variation between messages and sampler, in the mean and at most, beside that between the two halves of the
sampler itself.
"""

from __future__ import annotations

import argparse

import numpy as np
from joints import BIRTHS, PHOTOS, World

CHAINS, WARM, KEPT = 2_000, 60, 300
JOINTS = tuple((b, x) for b in range(len(BIRTHS)) for x in range(len(PHOTOS)) if (b + x) % 3 != 2)


def sampled(world: World, dice: np.random.Generator) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Marginals of births and photographs, in each half of the samples."""
    factors = [world.factor(i) for i in range(len(JOINTS))]
    births = [dice.integers(0, n, CHAINS) for n in BIRTHS]
    photos = [dice.integers(0, n, CHAINS) for n in PHOTOS]
    counts = [[np.zeros(n) for n in (*BIRTHS, *PHOTOS)] for _ in range(2)]
    for sweep in range(WARM + KEPT):
        for b in range(len(BIRTHS)):
            mass = np.tile(world.prior[b], (CHAINS, 1))
            for i, (own, x) in enumerate(JOINTS):
                if own == b:
                    mass *= factors[i][:, photos[x]].T
            births[b] = _drawn(mass, dice)
        for x in range(len(PHOTOS)):
            mass = np.tile(world.unary[x], (CHAINS, 1))
            for i, (b, own) in enumerate(JOINTS):
                if own == x:
                    mass *= factors[i][births[b]]
            photos[x] = _drawn(mass, dice)
        if sweep >= WARM:
            half = counts[(sweep - WARM) * 2 // KEPT]
            for count, values in zip(half, [*births, *photos], strict=True):
                count += np.bincount(values, minlength=len(count))
    first, second = ([c / c.sum() for c in half] for half in counts)
    return first, second


def _drawn(mass: np.ndarray, dice: np.random.Generator) -> np.ndarray:
    """One index from each row."""
    rising = np.cumsum(mass, axis=1)
    return (rising < dice.random((len(mass), 1)) * rising[:, -1:]).sum(axis=1)


def main() -> None:
    """Print the differences."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--worlds", type=int, default=10)
    ours, own = [], []
    for seed in range(arguments.parse_args().worlds):
        world = World(JOINTS, seed)
        settled = world.run(np.float32, 0.003)
        first, second = sampled(world, np.random.default_rng(seed))
        log = settled.photos + np.log(np.concatenate(world.unary))
        parts = np.split(np.exp(log - log.max()), np.cumsum(PHOTOS)[:-1])
        mine = [*np.split(settled.births, np.cumsum(BIRTHS)[:-1]), *(p / p.sum() for p in parts)]
        ours += [np.abs(m - (a + b) / 2).sum() / 2 for m, a, b in zip(mine, first, second, strict=True)]
        own += [np.abs(a - b).sum() / 2 for a, b in zip(first, second, strict=True)]
    print(f"{len(ours)} variables, {len(JOINTS)} faces each world; total variation, mean and most")
    print(f"messages against the sampler   {np.mean(ours):.4f} {max(ours):.4f}")
    print(f"its first half against its second {np.mean(own):.4f} {max(own):.4f}")


if __name__ == "__main__":
    main()

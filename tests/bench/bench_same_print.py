"""How well the same print is found again, and how fast: 2,000 pictures, 6,000 altered ones, 500 near-twins.

    python tests/bench/bench_same_print.py [PICTURES [TWINS]]

The pictures are those of `altered_pictures.py`; each is altered in three of six ways and then looked for among all, as
`scans pair` does: the likeliest by look, each laid over it. Called right is the picture it was made of; called wrong is
any other. How alike the pictures themselves are is said first: many share a background, none is another's crop. Twins
are two exposures of one scene seconds apart. At last, 100,000 random looks that vary as those of the pictures do: one
question, and all against themselves. Times are processor time.

Bounds: recall 0.95, precision 0.99, of the twins 1 % called one print, 10 ms, two minutes.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict

import numpy as np
from altered_pictures import ALTERED, altered, scene

from kinphoto.archive.collection.same_print import SmallPicture, laid_over
from kinphoto.scans import look

MOST = 40
"""Pictures that one is laid over at most."""


def found_again(pictures: list[SmallPicture], all_: look.Looks) -> bool:
    """The table by alteration."""
    asked: dict[str, int] = defaultdict(int)
    right: dict[str, int] = defaultdict(int)
    wrong: dict[str, int] = defaultdict(int)
    candidates, spent = 0, 0.0
    for seed, picture in enumerate(pictures):
        rng = np.random.default_rng((17, seed))
        for how in rng.choice(ALTERED, 3, replace=False):
            again = SmallPicture(altered(picture.picture, str(how), rng))
            began = time.process_time()
            near = look.like(look.looks([look.look(again.picture)]), all_)[:MOST]
            # `near` says by how many quarters the other is turned from this one.
            called = [at for at, quarters, _ in near if laid_over(again, pictures[at], [quarters]) is not None]
            spent += time.process_time() - began
            candidates += len(near)
            asked[how] += 1
            right[how] += seed in called
            wrong[how] += len(called) - (seed in called)
    print(f"{'alteration':<18} {'asked':>6} {'found':>7} {'others called':>14}")
    for how in (*ALTERED, "all"):
        ours = [how] if how != "all" else list(ALTERED)
        n, r, w = (sum(table[each] for each in ours) for table in (asked, right, wrong))
        print(f"{how:<18} {n:>6} {r / n:>7.2%} {w:>14}")
    recall, precision = r / n, r / (r + w)
    print(f"recall {recall:.3f}, precision {precision:.4f}; {candidates / n:.1f} laid over each, {spent / n:.3f} s")
    return recall >= 0.95 and precision >= 0.99


def twins(count: int) -> bool:
    """How many pairs of exposures seconds apart are called one print."""
    called = 0
    for seed in range(count):
        rng = np.random.default_rng((18, seed))
        one = scene(100_000 + seed)
        first, second = SmallPicture(one.taken()), SmallPicture(altered(one.taken(rng), "JPEG 60", rng))
        called += laid_over(first, second, [0]) is not None
    print(f"{called} of {count} near-twins called one print")
    return called <= 0.01 * count


def distinct(pictures: list[SmallPicture], all_: look.Looks) -> bool:
    """Whether no two of the pictures are one: those that look most alike are laid over each other."""
    near = look.pairs(all_, all_, most=4000)
    called = sum(laid_over(pictures[one], pictures[other], [way]) is not None for one, other, way, _ in near[:400])
    print(
        f"{len(pictures):,} pictures; of their {len(pictures) * (len(pictures) - 1) // 2:,} pairs {len(near):,} look a "
        f"little alike, of the 400 likeliest {called} are called one print",
        flush=True,
    )
    return not called


def speed(like: look.Looks, count: int = 100_000) -> bool:
    """One among so many, and all against themselves."""
    spread = np.linalg.cholesky(np.cov(like.T) + 1e-6 * np.eye(like.shape[1]))
    rows = (np.random.default_rng(19).normal(size=(count, like.shape[1])) @ spread.T).astype(np.float32)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True)
    look.like(rows[:1], rows)
    began = time.process_time()
    for at in range(20):
        look.like(rows[at : at + 1], rows)
    one = (time.process_time() - began) / 20
    began = time.process_time()
    look.pairs(rows, rows)
    whole = time.process_time() - began
    print(f"one among {count:,}: {one * 1000:.1f} ms; all against themselves: {whole:.0f} s")
    return one < 0.01 and whole < 120


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]] + [2000, 500][len(sys.argv) - 1 :]
    pictures = [SmallPicture(scene(seed).taken()) for seed in range(numbers[0])]
    all_ = look.looks([look.look(each.picture) for each in pictures])
    good = [distinct(pictures, all_), found_again(pictures, all_), twins(numbers[1]), speed(all_)]
    print("within the bounds" if all(good) else "OUTSIDE THE BOUNDS")
    raise SystemExit(not all(good))

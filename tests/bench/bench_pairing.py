"""How well and how fast fronts find their backs: 500 generated folders, a folder of 2,000 and 2,000, and likeness.

    python tests/bench/bench_pairing.py

A folder has 20 to 60 prints of one to five nominal sizes, some with torn corners, a back missing here and a rescan of
a back there, and each of the three orders. The papers of one nominal size differ as they were cut: in each folder by
0.1 % (by a machine), 0.3 % or 0.6 % (trimmed by hand) a side, a judgement of the project; each scan measures its paper
with the error that `measured` finds on drawn scans. A second table says what is left when all papers of a size are
alike to the hair. What pairs belong together is known from the drawing.
"""

from __future__ import annotations

import io
import random
import time
from dataclasses import replace

import numpy as np
from PIL import Image
from scanned_prints import PHOTOGRAPHS, Print, photograph, scanned

from kinphoto.archive.collection.pairing import paper_size
from kinphoto.scans import near
from kinphoto.scans.checks.outline import outline as print_outline
from kinphoto.scans.pairing import SIDES, ScanOrder, Side, paired

MISSING, AGAIN = 0.03, 0.02
"""Shares of prints without a back, and of backs that were scanned twice."""
CUT, ALIKE = (0.001, 0.003, 0.006), (0.0,)
"""By how much the sides of papers of one size differ, as standard deviations."""
ERROR = 0.0015
"""The error of a side measured on a scan, likewise."""
SIZES = ((90, 60), (90, 90), (105, 74), (127, 89), (140, 90), (150, 100), (178, 127), (103, 64), (165, 108))


def outlines(dice: random.Random) -> tuple[np.ndarray, np.ndarray]:
    """The outline of a torn paper, and of its back: mirrored left to right."""
    sides = np.zeros((4, SIDES), dtype=np.float32)
    for _ in range(dice.randint(1, 3)):
        sides[dice.randrange(4), dice.randrange(SIDES)] = dice.uniform(0.03, 0.2)
    noise = np.random.default_rng(dice.getrandbits(32))
    back = sides[[0, 3, 2, 1], ::-1]
    return tuple((each + noise.normal(0, 0.002, each.shape)).astype(np.float32).ravel() for each in (sides, back))


def measured(count: int) -> None:
    """The error with which the size of a paper is measured, on thumbnails of drawn scans."""
    rng = np.random.default_rng(1)
    errors = []
    for seed in range(count):
        size, bed = (int(rng.integers(900, 2200)), int(rng.integers(700, 1500))), float(rng.choice([30, 246, 250]))
        how = replace(Print(size=size, margin=150), tilt=float(rng.uniform(-3, 3)), bed=bed)
        scan = scanned(photograph(PHOTOGRAPHS[seed % len(PHOTOGRAPHS)]), how, seed)
        small, file = scan.copy(), io.BytesIO()
        small.thumbnail((512, 512), Image.Resampling.HAMMING, reducing_gap=2.0)
        small.save(file, "JPEG", quality=85)
        found = print_outline(np.asarray(Image.open(file).convert("L")))
        if found is not None and found.corners:
            errors.append(np.log(np.array(paper_size(found, small.size, max(scan.size) / max(small.size))) / size))
    spread = np.std(errors, axis=0).max()
    print(
        f"papers measured on {len(errors)} of {count} drawn scans, with an error of {spread:.2%} (taken as {ERROR:.2%})"
    )


def folder(
    dice: random.Random, order: ScanOrder, prints: int, torn: float, cut: float = 0.003
) -> tuple[list[Side], dict[int, int]]:  # fmt: skip
    """Scans in their order, and which front each back belongs to; -1 less its place for a back that was scanned again,
    which may not be joined to any other's."""
    sizes = dice.sample(SIZES, dice.randint(1, 5))
    fronts, backs = [], []
    for number in range(prints):
        size = tuple(length * dice.gauss(1, cut) for length in dice.choice(sizes))
        outline = outlines(dice) if dice.random() < torn else (None, None)

        def side(tone: float, which: int, size: tuple[float, ...] = size, outline: tuple = outline) -> Side:
            width, height = (length * dice.gauss(1, ERROR) for length in size)
            return Side((width, height), tone, outline[which])

        fronts.append((number, side(dice.uniform(0.1, 0.9), 0)))
        if dice.random() > MISSING:
            backs.append((number, side(dice.uniform(0.0, 0.03), 1)))
            if dice.random() < AGAIN:
                backs.append((-1 - number, side(dice.uniform(0.0, 0.03), 1)))
    if order is ScanOrder.ALTERNATING:
        laid, at = [], 0
        for number, front in fronts:
            laid.append(("front", number, front))
            while at < len(backs) and backs[at][0] in (number, -1 - number):
                laid.append(("back", *backs[at]))
                at += 1
    else:
        laid = [("front", *each) for each in fronts]
        laid += [("back", *each) for each in (backs[::-1] if order is ScanOrder.REVERSED else backs)]
    place = {number: at for at, (kind, number, _) in enumerate(laid) if kind == "front"}
    truth = {
        at: place[number] if number >= 0 else -1 - place[-1 - number]
        for at, (kind, number, _) in enumerate(laid)
        if kind == "back"
    }
    return [side for _, _, side in laid], truth


def folders(count: int, cuts: tuple[float, ...]) -> None:
    """Pairs found and pairs called sure, by order."""
    dice = random.Random(16)
    print("papers of one size differ by", ", ".join(f"{cut:.1%}" for cut in cuts))
    print(f"{'order':<12} {'backs':>6} {'right':>7} {'sure':>7} {'sure and wrong':>15}")
    totals = np.zeros(4, dtype=int)
    for order in ScanOrder:
        counts = np.zeros(4, dtype=int)
        for _ in range(count // 3 + (order is ScanOrder.ALTERNATING) * (count % 3)):
            sides, truth = folder(dice, order, dice.randint(20, 60), dice.choice((0.0, 0.1, 0.3)), dice.choice(cuts))
            found = {pair.back: pair for pair in paired(sides)}
            real = {back: front for back, front in truth.items() if front >= 0}
            right = sum(back in found and found[back].front == front for back, front in real.items())
            sure = [pair for pair in found.values() if pair.sure]
            wrong = sum(truth[pair.back] not in (pair.front, -1 - pair.front) for pair in sure)
            counts += (len(real), right, len(sure), wrong)
        totals += counts
        print(_row(order, counts))
    print(_row("all", totals))


def _row(name: str, counts: np.ndarray) -> str:
    backs, right, sure, wrong = map(int, counts)
    return f"{name:<12} {backs:>6} {right / backs:>7.2%} {sure / backs:>7.2%} {wrong:>6} in {sure:>6}"


def speed() -> None:
    """A folder of 2,000 fronts and 2,000 backs, and one picture among 100,000."""
    dice = random.Random(17)
    for order in (ScanOrder.ALTERNATING, ScanOrder.REVERSED):
        sides, _ = folder(dice, order, 2000, 0.1)
        began = time.perf_counter()
        found = paired(sides)
        print(f"2,000 fronts with their backs, {order}: {time.perf_counter() - began:.2f} s, {len(found)} pairs")
    rng = np.random.default_rng(18)
    hashes = rng.integers(0, 2**64, 100_000, dtype=np.uint64)
    near.like(int(hashes[0]), hashes, 8)
    began = time.perf_counter()
    for at in range(100):
        near.like(int(hashes[at]), hashes, 8)
    print(f"one picture among 100,000: {(time.perf_counter() - began) * 10:.2f} ms")
    began = time.perf_counter()
    count = sum(1 for _ in near.pairs([int(one) for one in hashes], 8))
    print(f"100,000 pictures against themselves: {time.perf_counter() - began:.1f} s, {count} pairs")


if __name__ == "__main__":
    measured(40)
    folders(500, CUT)
    folders(150, ALIKE)
    speed()

"""How well a print is found in a photograph of it: drawn captures, what was found against what was drawn.

The captures are of `captured_prints.py`. Corners count as found when all four lie within 0.5 % of the picture's width.
Numbers as arguments choose captures, "from to"; those from 1000 on were never looked at while the limits were set.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np
from captured_prints import Capture, drawn

from kinphoto.scans.captures.corners import corners_of
from kinphoto.scans.captures.straight import ratio_of_sides, seen


def off(capture: Capture, corners: object) -> float:
    """The largest distance of a corner from where it is, as a share of the picture's width."""
    found = np.array(corners) * capture.picture.size
    return min(
        float(np.hypot(*(np.roll(found, turn, axis=0) - capture.corners).T).max()) for turn in range(4)
    ) / capture.picture.width  # fmt: skip


def main(first: int = 1000, last: int = 1100) -> None:
    """Print the table."""
    offs, spent, wrong, by_table, missed = [], 0.0, [], Counter[str](), Counter[str]()
    sure = sure_wrong = 0
    ratios: dict[str, list[float]] = {"lens": [], "assumed": [], "sides": []}
    for seed in range(first, last):
        capture = drawn(seed)
        start = time.process_time()
        found = corners_of(capture.picture)
        spent += time.process_time() - start
        by_table[capture.table] += 1
        far = off(capture, found.corners) if found is not None else np.inf
        offs.append(far)
        if found is not None and found.sure:
            sure += 1
            sure_wrong += far > 0.005
        if far > 0.005:
            missed[capture.table] += 1
            wrong.append(
                (seed, capture.table, capture.border, round(far, 4), found and (round(found.score, 2), found.doubts))
            )
            continue
        assert found is not None
        size = capture.picture.size
        for how, ratio in (
            ("lens", seen(found.corners, size, capture.lens).ratio),
            ("assumed", seen(found.corners, size, None).ratio),
            ("sides", ratio_of_sides(found.corners, size)),
        ):
            truth = min((capture.ratio, 1 / capture.ratio), key=lambda one: abs(np.log(one / ratio)))
            ratios[how].append(abs(ratio / truth - 1))
    total = last - first
    print(f"found {total - len(wrong)} of {total}; median {np.median(offs):.2%} of the width off")
    print(f"sure {sure}, of these wrong {sure_wrong}; {spent / total:.2f} s a capture")
    for how, each in ratios.items():
        near = np.mean(np.array(each) <= 0.02)
        print(f"proportions, {how}: within 2 % {near:.1%}, median {np.median(each):.2%}, worst {max(each):.1%}")
    for table, count in sorted(by_table.items()):
        print(f"{table}: {count - missed[table]} of {count}")
    for each in wrong:
        print(*each)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

"""How well several prints on the glass are told apart: 200 drawn beds, what was found against what was drawn.

The beds are of `scanned_beds.py`: 2 to 8 prints, gaps from 2 mm, turned by up to 8 degrees, dust, hairs, shadows, white
borders on white lids. A print counts as found when all its corners are within 1 mm and its turn within 0.3 degrees. It
is lost when no outline and nothing that is reported as left lies over its middle, and the bed was not given back as one
on which nothing can be told. Numbers as arguments choose beds; `--boards` has pages of albums in place of the lid.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Sequence

import numpy as np
from scanned_beds import MM, Bed, drawn

from kinphoto.scans.beds.cutting import looked_at
from kinphoto.scans.beds.outlines import Outline
from kinphoto.scans.beds.places import Place

BEDS = 200


def apart(one: Place, other: Place) -> float:
    """The largest distance of two corners that belong together, in pixels."""
    return float(max(np.hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(one.corners, other.corners, strict=True)))


def judged(bed: Bed, found: tuple[Outline, ...], left: list[Place]) -> list[tuple[str, bool, bool, float, float]]:
    """For each drawn print its kind, whether it was found, whether sure, and by how much it is off (mm, degrees)."""
    answer = []
    for truth, kind in zip(bed.prints, bed.kinds, strict=True):
        best = min(found, key=lambda one: apart(one.place, truth), default=None)
        over = [one for one in (*(each.place for each in found), *left)
                if one.covered(np.float32(truth.y), np.float32(truth.x)).all()]  # fmt: skip
        if best is None or not over:
            answer.append((kind, False, bool(over), np.inf, np.inf))
            continue
        off, turned = apart(best.place, truth) / bed.ppi * MM, abs(best.place.turn - truth.turn)
        answer.append((kind, True, not best.doubts, off, turned))
    return answer


def main(seeds: Sequence[int] = range(BEDS)) -> None:
    """Print the table."""
    rows: list[tuple[str, bool, bool, float, float]] = []
    spent, extra, wrong = 0.0, 0, []
    for seed in seeds:
        bed = drawn(seed, board="--boards" in sys.argv)
        start = time.process_time()
        found = looked_at(bed.picture, bed.ppi)
        spent += time.process_time() - start
        left = [
            Place((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0, y1 - y0) for x0, y0, x1, y1 in (one.box for one in found.left)
        ]
        some = judged(bed, found.outlines, left)
        extra += max(0, len(found.outlines) - len(bed.prints))
        wrong += [(seed, *each) for each in some if each[3] > 1 or each[4] > 0.3]
        rows += some
    cost = f"{spent / len(seeds):.2f} s of processor time a bed"
    print(f"{len(seeds)} beds, {len(rows)} prints, {cost}; {extra} outlines too many")
    print(f"{'':36}{'prints':>7} {'within 1 mm, 0.3°':>18} {'sure':>6} {'sure and wrong':>15} {'lost':>5}")
    kinds = Counter(row[0] for row in rows)
    for kind in (*sorted(kinds), "all"):
        some = [row for row in rows if kind in (row[0], "all")]
        good = [row for row in some if row[3] <= 1 and row[4] <= 0.3]
        bad = [row for row in some if row[1] and row[2] and not (row[3] <= 1 and row[4] <= 0.3)]
        lost = [row for row in some if not row[1] and not row[2]]
        sure = sum(row[1] and row[2] for row in some)
        print(
            f"{kind:36}{len(some):7} {len(good) / len(some):17.1%} {sure / len(some):6.0%} {len(bad):15} {len(lost):5}"
        )
    off = np.array([row[3] for row in rows if np.isfinite(row[3])])
    turned = np.array([row[4] for row in rows if np.isfinite(row[4])])
    print(f"off by (median, 99th of 100): {np.median(off):.2f}, {np.quantile(off, 0.99):.2f} mm; "
          f"{np.median(turned):.3f}, {np.quantile(turned, 0.99):.3f} degrees")  # fmt: skip
    if "--show" in sys.argv:
        print(*wrong, sep="\n")


if __name__ == "__main__":
    chosen = [int(each) for each in sys.argv[1:] if each.isdecimal()]
    main(chosen or range(BEDS))

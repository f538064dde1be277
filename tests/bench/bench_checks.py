"""What the checks of scans add to indexing, in time of the processor.

python tests/bench/bench_checks.py

A JPEG and a TIFF of 35 megapixels are indexed (read, hashed, decoded, thumbnail, likeness) without checks and with
them, and checked alone, in turn in one process, on one thread as the workers of `scans add` do. Wanted: at most 35 %
added. Beside it stands what no check can do without: decoding some rows of the JPEG at full size once more. The
quickest of some runs counts. A second run measures nothing, because what was measured is kept under the bytes of the
file (`tests/archive/collection/test_scan_checks.py`). What the checks find is tried by `bench_findings.py`.
"""

from __future__ import annotations

import io
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"  # before NumPy is there

from bench_scans import scan_of_35_megapixels
from PIL import Image

from kinphoto.scans.checks.sources import JpegFile
from kinphoto.scans.measure import measure, measure_quality


def quickest(do: Callable[[], object], times: int = 3) -> float:
    """Seconds of the processor."""
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        do()
        best = min(best, time.process_time() - start)
    return best


ROWS = 576
"""As many as the checks read of this JPEG."""


def first_rows(jpeg: bytes) -> Image.Image:
    """What has to be decoded at full size."""
    return JpegFile(io.BytesIO(jpeg), (4800, 7200), Image.new("L", (600, 900))).first_rows(ROWS)


def main() -> None:
    """Print the shares."""
    jpeg, file = scan_of_35_megapixels(1), io.BytesIO()
    with Image.open(io.BytesIO(jpeg)) as image:
        image.save(file, "TIFF", dpi=(1200, 1200))
    print(f"{ROWS} rows at full size: {quickest(lambda: first_rows(jpeg), 6):.3f} s")
    with tempfile.TemporaryDirectory() as folder:
        thumbs = Path(folder) / "thumbs"
        for name, data in (("JPEG", jpeg), ("TIFF", file.getvalue())):
            path = Path(folder) / "large"
            path.write_bytes(data)
            alone = both = checks = float("inf")
            for _ in range(3):
                alone = min(alone, quickest(lambda path=path: measure(str(path), thumbs), 2))
                both = min(both, quickest(lambda path=path: measure(str(path), thumbs, check=True), 2))
                checks = min(checks, quickest(lambda path=path: measure_quality(str(path)), 2))
            print(
                f"{name} of 35 megapixels: indexed in {alone:.3f} s, with checks in {both:.3f} s "
                f"({both / alone - 1:.0%} more), checked alone in {checks:.3f} s",
                flush=True,
            )


if __name__ == "__main__":
    main()

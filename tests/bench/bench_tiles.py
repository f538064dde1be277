"""Cutting a scan into tiles, against Pillow merely decoding the file.

    python tests/bench/bench_tiles.py [--large]

A JPEG and an uncompressed TIFF of 35 megapixels (a print of 4 by 6 inches at 1200 ppi), as filed and turned, and with
a colour profile that has to be converted; with --large also a grey TIFF of 640 megapixels (a glass plate of 24 by 30 cm
at 2400 ppi), which needs 2 GB of disk. Each side runs in a process of its own, in turn, from a warm cache; the quickest
of the runs counts. Beside the times stands the peak memory of either process (Linux only). A view of 1600 pixels, the
first thing a page asks for, is shown too. Both sides decode once; what ours does more is hashing, turning, halving and
encoding 1.33 times the pixels. Pillow maps a grey TIFF into memory instead of decoding it, so there the ratio means
nothing.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from bench_scans import scan_of_35_megapixels
from PIL import Image, ImageCms

RUNS = 3
PEAK = """
found = re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())
print(json.dumps([taken, int(found[1]) // 1024]))
"""
DECODE = f"""
import json, re, sys, time
from pathlib import Path
from PIL import Image
Image.MAX_IMAGE_PIXELS = None
start = time.perf_counter()
Image.open(sys.argv[1]).load()
taken = time.perf_counter() - start
{PEAK}
"""
MAKE = f"""
import json, re, sys, time
from pathlib import Path
from kinphoto.scans import tiles
from kinphoto.scans.upright import ScanFile
scan = ScanFile(sys.argv[1], sys.argv[2], int(sys.argv[3]))
start = time.perf_counter()
getattr(tiles, sys.argv[5])(Path(sys.argv[4]), scan)
taken = time.perf_counter() - start
{PEAK}
"""


def another_profile() -> bytes:
    """sRGB under another name and with its red a little moved, so that colours are converted."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return profile.replace("sRGB".encode("utf-16-be"), "xRGB".encode("utf-16-be"))


def glass_plate(path: Path) -> None:
    """A grey TIFF of 22,680 by 28,346 pixels."""
    soft = Image.fromarray((np.random.default_rng(1).random((28, 22)) * 255).astype(np.uint8))
    soft.resize((22_680, 28_346), Image.Resampling.BILINEAR).save(path)


def measured(code: str, *arguments: object) -> tuple[float, int]:
    """Seconds and peak memory in MB that a Python program prints."""
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)], check=True, capture_output=True, text=True
    )
    seconds, peak = json.loads(done.stdout)
    return seconds, peak


def compare(name: str, path: Path, turn: int = 0, what: str = "pyramid") -> None:
    """One line of the table."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    bare, ours = [], []
    for _ in range(RUNS):
        bare.append(measured(DECODE, path))
        with tempfile.TemporaryDirectory() as folder:
            ours.append(measured(MAKE, path, digest, turn, folder, what))
    (slow, peak), (quick, low) = min(ours), min(bare)
    print(f"{name:44}{slow:8.2f} s{quick:8.2f} s{slow / quick:7.1f} x{peak:9} MB{low:9} MB", flush=True)


def main() -> None:
    """Make the scans, take the times, print the table."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--large", action="store_true", help="also 640 megapixels")
    large = arguments.parse_args().large
    work = Path(tempfile.mkdtemp())
    try:
        jpeg = scan_of_35_megapixels(1)
        (work / "a.jpg").write_bytes(jpeg)
        picture = Image.open(io.BytesIO(jpeg))
        picture.save(work / "a.tif")
        picture.save(work / "coloured.tif", icc_profile=another_profile())
        print(f"{'':44}{'kinphoto':>10}{'decoding':>10}{'ratio':>9}{'peak':>12}{'decoding':>12}")
        compare("tiles of a JPEG of 35 megapixels", work / "a.jpg")
        compare("the same, turned", work / "a.jpg", 1)
        compare("tiles of a TIFF of 35 megapixels", work / "a.tif")
        compare("the same with another colour profile", work / "coloured.tif")
        compare("a view of the JPEG, 1600 pixels long", work / "a.jpg", 0, "view_path")
        compare("a view of the TIFF, 1600 pixels long", work / "a.tif", 0, "view_path")
        if large:
            glass_plate(work / "plate.tif")
            compare("tiles of a grey TIFF of 640 megapixels", work / "plate.tif")
    finally:
        shutil.rmtree(work)


if __name__ == "__main__":
    main()

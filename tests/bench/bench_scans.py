"""Indexing scans, against a bare loop over the same files.

    python tests/bench/bench_scans.py [--small]

First run: 100 JPEG scans of 35 megapixels (a print of 4 by 6 inches at 1200 ppi), against a loop that does nothing but
hash and draft-decode them, with one process per core. Bound: 80 % of its throughput, both timed from the start of
their workers to the last file; the whole command, with the start of its interpreter, is shown beside it. Second run:
20,000 unchanged files, against os.scandir and stat over the same folders; both whole commands, with the same imports.
Bound: 6 times. Each side runs in a process of its own, in turn, from a warm cache; the quickest run counts, since
whatever else the machine does only adds. Needs 2 GB of disk.
"""

from __future__ import annotations

import argparse
import io
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

ADD = ["from kinphoto.cli.main import run; run()", "scans", "add", "--json"]
ADD_TIMED = """
import sys, time
from pathlib import Path
import kinphoto.archive.collection.scanning
from kinphoto.archive import Archive
archive = Archive.create(Path(sys.argv[2]))
start = time.perf_counter()
assert archive.scans.add([sys.argv[1]]).added == int(sys.argv[3])
print(time.perf_counter() - start)
"""
BARE_LOOP = """
import hashlib, multiprocessing, os, sys, time
from PIL import Image

def one(path):
    with open(path, "rb") as file:
        hashlib.file_digest(file, "sha256").hexdigest()
    with Image.open(path) as image:
        image.draft(None, (341, 512))
        image.load()

if __name__ == "__main__":
    paths = sorted(entry.path for entry in os.scandir(sys.argv[1]))
    start = time.perf_counter()
    with multiprocessing.Pool(len(os.sched_getaffinity(0))) as pool:
        for _ in pool.imap_unordered(one, paths):
            pass
    print(time.perf_counter() - start)
"""
BARE_WALK = """
import os, sys
import kinphoto.cli.main, kinphoto.archive.collection.scanning
waiting = [sys.argv[1]]
while waiting:
    for entry in os.scandir(waiting.pop()):
        if entry.is_dir():
            waiting.append(entry.path)
        else:
            entry.stat()
"""


def scan_of_35_megapixels(seed: int) -> bytes:
    """A JPEG of 4800 by 7200 pixels with the soft shapes and the grain of a scanned print, about 10 MB."""
    rng = np.random.default_rng(seed)
    soft = Image.fromarray((rng.random((90, 60, 3)) * 255).astype(np.uint8)).resize(
        (4800, 7200), Image.Resampling.BICUBIC
    )
    grain = rng.normal(0, 6, (7200, 4800, 1)).astype(np.int16)
    pixels = np.clip(np.asarray(soft).astype(np.int16) + grain, 0, 255).astype(np.uint8)
    return as_jpeg(Image.fromarray(pixels))


def as_jpeg(image: Image.Image) -> bytes:
    """The image as JPEG bytes."""
    file = io.BytesIO()
    image.save(file, "JPEG", quality=90, dpi=(1200, 1200))
    return file.getvalue()


def varied(jpeg: bytes, number: int) -> bytes:
    """The same picture with other bytes: a comment segment after the start of image."""
    words = b"scan %08d" % number
    return jpeg[:2] + b"\xff\xfe" + (len(words) + 2).to_bytes(2, "big") + words + jpeg[2:]


def seconds(command: list[str], *arguments: object) -> float:
    """How long a Python program takes from its start to its end."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", *command, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def printed(*arguments: object) -> float:
    """The seconds a Python program prints."""
    done = subprocess.run([sys.executable, *map(str, arguments)], check=True, capture_output=True, text=True)
    return float(done.stdout)


def new_archive(folder: Path) -> Path:
    """An empty archive."""
    subprocess.run([sys.executable, "-c", ADD[0], "init", str(folder)], check=True, stdout=subprocess.DEVNULL)
    return folder


def first_run(work: Path, count: int, runs: int) -> tuple[float, float, float]:
    """Seconds for indexing `count` large scans, for the bare loop over them, and for the whole command."""
    scans = work / "large"
    scans.mkdir()
    distinct = [scan_of_35_megapixels(seed) for seed in range(4)]
    for number in range(count):
        (scans / f"{number:04d}.jpg").write_bytes(varied(distinct[number % 4], number))
    loop = work / "loop.py"
    loop.write_text(BARE_LOOP)
    bare, ours, whole = [], [], []
    for run in range(runs):
        bare.append(printed(loop, scans))
        ours.append(printed("-c", ADD_TIMED, scans, work / f"timed-{run}", count))
        whole.append(seconds(ADD, "--archive", new_archive(work / f"whole-{run}"), scans))
    return min(ours), min(bare), min(whole)


def second_run(work: Path, count: int, runs: int) -> tuple[float, float]:
    """Seconds for adding `count` unchanged files again, and for walking them."""
    scans = work / "tiny"
    tiny = as_jpeg(Image.new("L", (16, 16), 128))
    for number in range(count):
        folder = scans / f"{number // 500:03d}"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{number:05d}.jpg").write_bytes(varied(tiny, number))
    archive = new_archive(work / "tiny-archive")
    seconds(ADD, "--archive", archive, scans)
    bare, ours = [], []
    for _ in range(runs):
        bare.append(seconds([BARE_WALK], scans))
        ours.append(seconds(ADD, "--archive", archive, scans))
    return min(ours), min(bare)


def main() -> None:
    """Run both and print a table."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--small", action="store_true", help="a tenth of the files, for a quick look")
    share = 10 if arguments.parse_args().small else 1
    os.environ["PYTHONPATH"] = os.pathsep.join(place for place in sys.path[1:] if place)
    with tempfile.TemporaryDirectory() as folder:
        print(f"{'':34}{'kinphoto':>10}{'bare':>10}{'ratio':>8}  bound")
        ours, bare, whole = first_run(Path(folder), 100 // share, 5)
        print(f"{f'index {100 // share} scans of 35 megapixels':34}{ours:9.2f}s{bare:9.2f}s{bare / ours:8.0%}  >= 80%")
        print(f"{'  the whole command':34}{whole:9.2f}s{bare:9.2f}s{bare / whole:8.0%}")
        ours, bare = second_run(Path(folder), 20_000 // share, 5)
        print(f"{f'again, {20_000 // share} unchanged files':34}{ours:9.2f}s{bare:9.2f}s{ours / bare:7.1f}x  <= 6x")


if __name__ == "__main__":
    main()

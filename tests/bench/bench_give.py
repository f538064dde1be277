"""What is given away against the least that could be done: copies with metadata inside against copying the files, the
pictures of a site against a bare loop that decodes, shrinks and saves them on all cores, the pages of a large site, and
a second run after one change.

    python tests/bench/bench_give.py [SHARE] [PHOTOGRAPHS]

SHARE of the scans that are copied, such as 0.1, and fewer PHOTOGRAPHS of the large site are for trying it out. Times
are of the processor, user and system, so that what else the machine does counts as little as it can; both sides take
turns, and the quickest run of each counts. The files are in the disk's cache for both.
"""

from __future__ import annotations

import hashlib
import io
import os
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import large
import numpy as np
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.scans.thumbnails import FOLDER, thumbnail_path
from kinphoto.scans.workers import cores
from kinphoto.store import tables as t
from kinphoto.store.root_rows import add_roots

SCANS = (  # what it is, width, height, quality, noise, how many
    ("small prints of 4 megapixels", 2400, 1800, 92, 12, 1000),
    ("10 x 15 cm at 600 ppi", 2362, 3543, 92, 14, 1000),
    ("35 megapixels", 5000, 7000, 90, 8, 300),
)
OF_A_SITE, OF_A_LARGE_SITE = 40, 10_000


def drawn(width: int, height: int, quality: int, noise: int) -> bytes:
    """A JPEG of shapes and noise."""
    rng = np.random.default_rng(5)
    small = rng.integers(60, 200, (height // 12, width // 12, 3), dtype=np.uint8)
    whole = np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BICUBIC)).astype(np.int16)
    whole += rng.normal(0, noise, whole.shape).astype(np.int16)
    out = io.BytesIO()
    Image.fromarray(np.clip(whole, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=quality, dpi=(600, 600))
    return out.getvalue()


def drawn_apart(*how: int) -> bytes:
    """The same in a process of its own, so that its memory is not counted."""
    with ProcessPoolExecutor(1) as pool:
        return pool.submit(drawn, *how).result()


def scans(folder: Path, data: bytes, count: int) -> list[Path]:
    """Files of this picture, no two the same: a comment makes each another, as encoding thousands takes long."""
    folder.mkdir(parents=True)
    paths = [folder / f"{number:05}.jpg" for number in range(count)]
    for number, path in enumerate(paths):
        note = f"scan {number}".encode()
        path.write_bytes(data[:2] + b"\xff\xfe" + (len(note) + 2).to_bytes(2, "big") + note + data[2:])
    return paths


def archive_of(place: Path, folder: Path, count: int) -> Archive:
    """An archive of these scans, with somebody who died long ago on each, dated."""
    place.mkdir(exist_ok=True)
    archive = Archive.create(place / "archive")
    archive.people.add("Ada Marsh", "1850", "1940")
    archive.scans.add([folder])
    _link(archive, place, count)
    return archive


def _link(archive: Archive, place: Path, count: int) -> None:
    with (place / "links.csv").open("w") as file:
        file.write("photo,person,left,top,width,height\n")
        file.writelines(f"K{number:05},X1,0.1,0.2,0.3,0.4\n" for number in range(1, count + 1))
    archive.statements.apply_spreadsheet("links", place / "links.csv")
    archive.dates.refresh()


def large_archive(place: Path, count: int) -> Archive:
    """An archive of many small pictures with their thumbnails, straight into the tables."""
    archive = Archive.create(place / "archive")
    archive.people.add("Ada Marsh", "1850", "1940")
    data = drawn(480, 320, 80, 6)
    rows = []
    for path in scans(place / "scans", data, count):
        sha256, facts = hashlib.sha256(path.read_bytes()).hexdigest(), path.stat()
        small = thumbnail_path(archive.folder / FOLDER, sha256)
        small.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, small)
        rows.append({
            "path": str(path), "sha256": sha256, "first_sha256": sha256, "size": facts.st_size,
            "mtime_ns": facts.st_mtime_ns, "file_type": "JPEG", "width": 480, "height": 320,
            "indexed_at": large.SAID_AT,
        })  # fmt: skip
    add_roots(archive.engine, [str(place / "scans")])
    with archive.working("scans") as work:
        photographs = [
            {"code": f"K{number:05}", "indexed": large.SCANNED, "title": f"Print {number}"}
            for number in range(1, count + 1)
        ]
        made = work.insert(t.photograph, photographs)
        work.insert(t.scan, [{**row, "photograph_id": id_} for row, id_ in zip(rows, made, strict=True)])
    _link(archive, place, count)
    return archive


def spent(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds of the processor, and of the clock."""
    start, clock = time.process_time(), time.perf_counter()
    work()
    return time.process_time() - start, time.perf_counter() - clock


def copies(place: Path, what: str, paths: list[Path], archive: Archive) -> None:
    """Copies against copying."""

    def copy_files() -> None:
        (place / "bare").mkdir()
        for path in paths:
            shutil.copyfile(path, place / "bare" / path.name)

    def give_copies() -> None:
        archive.give.write_copies(place / "copies", "public", write=True)

    bare, given = [], []
    for _ in range(4):
        for work, runs in ((copy_files, bare), (give_copies, given)):
            for old in ("bare", "copies"):
                shutil.rmtree(place / old, ignore_errors=True)
            os.sync()  # so that neither waits for what the other wrote
            runs.append(spent(work))
    least, ours = (tuple(map(min, zip(*runs, strict=True))) for runs in (bare, given))
    again, _ = spent(give_copies)
    print(
        f"copies of {len(paths):,} scans, {what}, {paths[0].stat().st_size / 1e6:.1f} MB: {ours[0]:.2f} s, copying "
        f"{least[0]:.2f} s, {ours[0] / least[0]:.2f} times (at most 1.5; by the clock {ours[1] / least[1]:.2f}); "
        f"again {again:.2f} s",
        flush=True,
    )


def pictures(place: Path, paths: list[Path], archive: Archive) -> None:
    """The pictures of a site against a bare loop."""

    def shrink(path: Path) -> None:
        with Image.open(path) as image:
            image.draft(None, (2048, 2048))
            image.load()
            image.thumbnail((2048, 2048), Image.Resampling.LANCZOS)
            image.save(place / "shrunk" / path.name, "JPEG", quality=92)

    def bare_pictures() -> None:
        (place / "shrunk").mkdir()
        with ThreadPoolExecutor(cores()) as pool:
            list(pool.map(shrink, paths))

    bare, made = [], []
    for _ in range(2):
        shutil.rmtree(place / "shrunk", ignore_errors=True)
        bare.append(spent(bare_pictures)[0])
        shutil.rmtree(place / "site", ignore_errors=True)
        made.append(spent(lambda: archive.give.write_site(place / "site", "public", write=True))[0])
    print(
        f"a site of {len(paths)} prints at 600 ppi: {min(made):.1f} s, its pictures by a bare loop {min(bare):.1f} s, "
        f"{min(made) / min(bare):.2f} times (at most 1.2)",
        flush=True,
    )


def large_site(place: Path, archive: Archive, count: int) -> None:
    """All of a site but its large pictures, and a second run."""

    def site() -> None:
        archive.give.write_site(place / "site", "public", write=True)

    first, clock = spent(site)
    print(
        f"a site of {count:,} photographs whose pictures are small already: {first:.1f} s of the processor (under 60), "
        f"{clock:.1f} s by the clock",
        flush=True,
    )
    archive.statements.link(Link(photograph="K00001", person="X1", region="0.5,0.5,0.1,0.1", role="likeness"))
    archive.dates.refresh()
    again, clock = spent(site)
    print(f"a second run after one change: {again:.2f} s (under 3), {clock:.2f} s by the clock", flush=True)


def main(share: float, photographs: int) -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory(prefix="kinphoto-bench-") as name:
        for what, *shape, quality, noise, many in SCANS:
            place, count = Path(name, what), max(20, round(many * share))
            paths = scans(place / "scans", drawn_apart(shape[0], shape[1], quality, noise), count)
            archive = archive_of(place, place / "scans", count)
            copies(place, what, paths, archive)
            archive.close()
            if "600" in what:
                few = scans(place / "few", drawn_apart(shape[0], shape[1], quality, noise + 1), OF_A_SITE)
                small = archive_of(place / "few site", place / "few", OF_A_SITE)
                pictures(place, few, small)
                small.close()
            shutil.rmtree(place)
        place = Path(name, "large")
        place.mkdir()
        archive = large_archive(place, photographs)
        large_site(place, archive, photographs)
        archive.close()
        print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most (under 500)")


if __name__ == "__main__":
    asked = sys.argv[1:]
    main(float(asked[0]) if asked else 1.0, int(asked[1]) if len(asked) > 1 else OF_A_LARGE_SITE)
